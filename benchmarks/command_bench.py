"""The commands as the user meets them: a process of their own, from the first instruction to the last."""

from __future__ import annotations

import subprocess
import sys
import sysconfig
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import carwright
from benchmarks.harness import Measured, Promise, forget_on_disk, measure

__all__ = ["benches"]

PACKAGE = Path(carwright.__file__).parent
CAR = PACKAGE / "demo" / "boxcar.toml"


def _command(*words: str) -> Callable[[], None]:
    """Return an act that runs a command; 1 says that a check on the car fails, which is no fault."""

    def act() -> None:
        done = subprocess.run(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=False)
        if done.returncode not in (0, 1):
            raise RuntimeError(f"{' '.join(words)} ended with {done.returncode}: {done.stderr.decode()}")

    return act


def _forget() -> None:
    """Make the next start cold: libraries, our own code and the car file."""
    forget_on_disk([Path(sysconfig.get_path("purelib")), PACKAGE])


def benches() -> Iterator[Measured]:
    """Yield the start, the plan, the true-size template and the build book, each against its promise."""
    program = str(Path(sys.executable).with_name("carwright"))
    bare = ("bare Python", _command(sys.executable, "-c", "pass"))
    yield measure(
        "carwright --version",
        _command(program, "--version"),
        runs=11,
        cold=_forget,
        beside=bare,
        promises=[Promise("median_ms", 100)],
    )
    yield measure("carwright --help", _command(program, "--help"), runs=11, beside=bare)
    yield measure(
        "carwright plan --json",
        _command(program, "plan", str(CAR), "--json"),
        cold=_forget,
        promises=[Promise("median_ms", 1000)],
    )
    with tempfile.TemporaryDirectory() as folder:
        out = str(Path(folder) / "template.pdf")
        yield measure(
            "template as PDF",
            _command(program, "draw", str(CAR), "--view", "template", "--format", "pdf", "--out", out),
            cold=_forget,
            promises=[Promise("median_ms", 1500)],
        )
        book = str(Path(folder) / "book.pdf")
        yield measure(
            "build book as PDF",
            _command(program, "book", str(CAR), "--out", book),
            cold=_forget,
            promises=[Promise("median_ms", 3000)],
        )
