"""Make the project's own Python environment in .venv from a hashed lock, and install the project in it.

Meant for a machine that has only git, make and python3. The environment is made without pip, because a bare Debian's
Python has no ensurepip; a pip that exists elsewhere (or uv, if it is on the path) then installs into it. Only the
standard library is used here, and no package index is named: the installer's own settings decide.

    python3 tools/setup_environment.py LOCK [LOCK ...]
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import venv
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
OLDEST_PYTHON = (3, 11)
OLDEST_PIP = (22, 3)  # the first with --python, by pip's own release notes (from memory); 23.0 was tried


def environment_python() -> Path:
    """Return where the environment's interpreter stands on this system."""
    return ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def succeeds(command: Sequence[str]) -> bool:
    """Return whether a command exists and ends well; what it prints is not shown."""
    try:
        done = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
    except OSError:
        return False
    return done.returncode == 0


def make_environment() -> None:
    """Make .venv without pip, or again where its interpreter is too old or no longer runs."""
    fits = f"import sys; sys.exit(sys.version_info < {OLDEST_PYTHON!r})"
    if succeeds([str(environment_python()), "-c", fits]):
        return
    print(f"making {ENVIRONMENT.name} with Python {sys.version.split()[0]}", flush=True)
    venv.create(ENVIRONMENT, clear=True, symlinks=os.name != "nt", with_pip=False)


def pip_of(interpreter: str) -> list[str] | None:
    """Return the command of an interpreter's pip if it can install into another environment, else None."""
    try:
        shown = subprocess.run([interpreter, "-m", "pip", "--version"], capture_output=True, text=True, check=False)
    except OSError:
        return None
    words = shown.stdout.split()
    if shown.returncode or len(words) < 2:
        return None
    numbers = tuple(int(part) for part in words[1].split(".")[:2] if part.isdigit())
    return [interpreter, "-m", "pip"] if numbers >= OLDEST_PIP else None


def bundled_pip() -> list[str] | None:
    """Return the command of the pip that Python carries for ensurepip, run straight from its wheel, else None."""
    folders = [Path("/usr/share/python-wheels")]  # where Debian keeps it
    try:
        import ensurepip
    except ImportError:
        pass
    else:
        folders.append(Path(ensurepip.__file__).parent / "_bundled")
    wheels = sorted(wheel for folder in folders for wheel in folder.glob("pip-*.whl"))
    return [sys.executable, str(wheels[-1] / "pip")] if wheels else None


def as_root() -> list[str] | None:
    """Return what goes before a command to run it as root without asking, or None where that is not allowed."""
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        return []
    return ["sudo", "-n"] if succeeds(["sudo", "-n", "true"]) else None


def debian_pip() -> list[str] | None:
    """Install Debian's pip where that is allowed without asking, and return its command, else None."""
    rights = as_root() if shutil.which("apt-get") else None
    if rights is None:
        return None
    print("installing Debian's python3-pip", flush=True)
    quiet = [*rights, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq"]
    for step in (["update"], ["install", "-y", "--no-install-recommends", "python3-pip"]):
        subprocess.run([*quiet, *step], stdout=subprocess.DEVNULL, check=False)
    return pip_of("/usr/bin/python3")


def installer() -> list[str]:
    """Return the command that installs into .venv, up to and including ``install``.

    Raises:
        SystemExit: nothing on this machine can install, and nothing may be added to it.
    """
    into = str(environment_python())
    uv = shutil.which("uv")
    if uv:
        return [uv, "pip", "install", "--quiet", "--python", into]
    pip = pip_of(sys.executable) or pip_of("/usr/bin/python3") or bundled_pip() or debian_pip()
    if pip is None:
        raise SystemExit(
            "set-up needs pip 22.3 or later, or uv: found neither, and may not install Debian's python3-pip "
            "(not root, and sudo asks for a password). Install one of them, then run the same command again."
        )
    return [
        *pip,
        "--python",
        into,
        "--quiet",
        "--disable-pip-version-check",
        "install",
        "--no-warn-script-location",
    ]


def main(locks: Sequence[str]) -> None:
    """Make the environment, install each lock, then the project itself, editable.

    Raises:
        SystemExit: Python is too old, or a step failed; its own message stands above.
    """
    if sys.version_info < OLDEST_PYTHON:
        found = ".".join(str(part) for part in sys.version_info[:3])
        raise SystemExit(
            f"Carwright needs Python 3.11 or later; {sys.executable} is {found}. Try: make PYTHON=python3.12"
        )
    make_environment()
    install = installer()
    steps = [["--require-hashes", "--only-binary", ":all:", "-r", lock] for lock in locks]
    # Hashes and an editable install do not mix, so the project comes last, by itself, with the lock's own build tools.
    steps.append(["--no-deps", "--no-build-isolation", "--editable", "."])
    for step in steps:
        print(f"installing {step[-1] if step[-1] != '.' else 'carwright'}", flush=True)
        if subprocess.run([*install, *step], cwd=ROOT, check=False).returncode:
            raise SystemExit(f"set-up stopped: could not install {step[-1]}; the reason stands above.")


if __name__ == "__main__":
    main(sys.argv[1:])
