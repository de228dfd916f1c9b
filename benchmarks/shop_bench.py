"""The shop: what a save costs after ten, a thousand and ten thousand others, and how fast an existing shop opens."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import carwright
from benchmarks.harness import Measured, Promise, measure
from carwright.shop import Shop, open_shop
from carwright.shop.engine import engine_of, writing
from carwright.shop.papers import add_revision, paper_named
from carwright.shop.places import place_of

__all__ = ["benches"]

CAR = (Path(carwright.__file__).parent / "demo" / "boxcar.toml").read_bytes()
_RUNS = 101


def benches() -> Iterator[Measured]:
    """Yield a save after few and after many others, side by side, and the opening of a shop in a new process."""
    with tempfile.TemporaryDirectory() as folder:
        savers = {many: _saver(Path(folder) / f"{many}.carwright", many) for many in (10, 1_000, 10_000)}
        for many in (1_000, 10_000):
            yield measure(
                f"a save after {many:,} others",
                savers[many],
                runs=_RUNS,
                beside=("after 10 others", savers[10]),
                # A save must not grow with the history: 0.8 leaves room for what the disk does meanwhile.
                promises=[Promise("ratio", 0.8)],
            )
        existing = Path(folder) / "1000.carwright"
        program = f"from carwright.shop import open_shop; open_shop({str(existing)!r}).counts()"
        yield measure(
            "open a shop and count its cars",
            _process(program),
            runs=11,
            beside=("bare Python", _process("pass")),
            promises=[Promise("median_ms", 1000)],
        )


def _saver(path: Path, many: int) -> Callable[[], None]:
    """Make a shop with a car of so many revisions, and return an act that saves it once more."""
    shop = open_shop(path)
    slug = shop.add_car(CAR).slug
    _fill(path, slug, many)
    state = {"number": shop.car(slug).head.number}

    def act() -> None:
        state["number"] = _save(shop, slug, state["number"])

    return act


def _save(shop: Shop, slug: str, number: int) -> int:
    return shop.save(slug, CAR + b"# save %d\n" % number, based_on=number).revision


def _fill(path: Path, slug: str, many: int) -> None:
    """Add revisions as saves do, but all in one transaction: that they were flushed one by one is not measured here."""
    place = place_of(path)
    engine = engine_of(place)
    with writing(engine, place) as connection:
        for number in range(1, many):
            of = paper_named(connection, "car", slug)
            assert of is not None
            data = CAR + b"# filled %d\n" % number
            add_revision(connection, of, data, based_on=number, at=datetime.now(UTC), by="", note="", kind="saved")
    engine.dispose()


def _process(program: str) -> Callable[[], None]:
    def act() -> None:
        subprocess.run([sys.executable, "-c", program], check=True)

    return act
