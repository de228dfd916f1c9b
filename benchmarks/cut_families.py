"""Cutting tasks by the published schemes, from a seed, and tasks read from files.

The schemes are as remembered from their publications; where a scheme leaves a choice open, or could only be remembered
in part, the docstring says what was chosen. Nothing here is one of the published instances itself.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

__all__ = [
    "BarTask",
    "SheetTask",
    "bar_tasks",
    "falkenauer_triplet",
    "falkenauer_uniform",
    "monaci",
    "read_tasks",
    "rectangles",
    "schoenfield",
    "scholl_first",
    "scholl_hard",
    "scholl_second",
    "sheet_tasks",
    "valued",
]


@dataclass(frozen=True, slots=True)
class BarTask:
    """Pieces out of bars, in whole numbers.

    Args:
        name: family, size and seed.
        stocks: (length, cost of one, count or None for any number).
        kerf: width of the cut.
        items: (length, how many).
        best: best cost known, where that is published.
    """

    name: str
    stocks: tuple[tuple[int, int, int | None], ...]
    kerf: int
    items: tuple[tuple[int, int], ...]
    best: int | None = None


@dataclass(frozen=True, slots=True)
class SheetTask:
    """Rectangles out of equal sheets, or out of one for the greatest value, by edge-to-edge cuts.

    Args:
        name: family, size and seed.
        sheet: width and height.
        turn: whether pieces may be turned.
        items: (width, height, how many or at most, value or 0).
        valued: whether one sheet is filled for its value; else the fewest sheets are sought.
        best: best number or value known, where that is published.
    """

    name: str
    sheet: tuple[int, int]
    turn: bool
    items: tuple[tuple[int, int, int, int], ...]
    valued: bool
    best: int | None = None


def _draw(name: str) -> random.Random:
    return random.Random(name)  # noqa: S311 - seeded on purpose, nothing is secret


def _counted(sizes: Iterable[int]) -> tuple[tuple[int, int], ...]:
    return tuple(sorted(Counter(sizes).items(), reverse=True))


def _equal_bars(name: str, length: int, sizes: Iterable[int]) -> BarTask:
    return BarTask(name, ((length, 1, None),), 0, _counted(sizes))


def falkenauer_uniform(n: int, seed: int) -> BarTask:
    """Return n pieces of 20 to 100 out of bars of 150 (E. Falkenauer, Journal of Heuristics 2, 1996)."""
    draw = _draw(name := f"uniform {n} no. {seed}")
    return _equal_bars(name, 150, (draw.randint(20, 100) for _ in range(n)))


def falkenauer_triplet(n: int, seed: int) -> BarTask:
    """Return n / 3 bars of 1000 cut into three without waste (E. Falkenauer, Journal of Heuristics 2, 1996).

    The first piece is 380 to 490, the second from 250 to half of what is left.
    """
    draw = _draw(name := f"triplet {n} no. {seed}")
    sizes: list[int] = []
    for _ in range(n // 3):
        first = draw.randint(380, 490)
        second = draw.randint(250, (1000 - first) // 2)
        sizes += [first, second, 1000 - first - second]
    return _equal_bars(name, 1000, sizes)


def scholl_first(n: int, length: int, least: int, seed: int) -> BarTask:
    """Return n pieces of ``least`` to 100 out of bars of 100, 120 or 150.

    First set of A. Scholl, R. Klein, C. Juergens, Computers & OR 24 (1997): n of 50 to 500, least 1, 20 or 30.
    """
    draw = _draw(name := f"first {n}/{length}/{least} no. {seed}")
    return _equal_bars(name, length, (draw.randint(least, 100) for _ in range(n)))


def scholl_second(n: int, in_bar: int, spread: float, seed: int) -> BarTask:
    """Return n pieces of which about ``in_bar`` go into a bar of 1000, spread by 0.2, 0.5 or 0.9 of their mean.

    Second set of A. Scholl, R. Klein, C. Juergens, Computers & OR 24 (1997): in_bar 3, 5, 7 or 9.
    """
    draw = _draw(name := f"second {n}/{in_bar}/{spread} no. {seed}")
    mean = 1000 / in_bar
    low, high = max(1, round(mean * (1 - spread))), round(mean * (1 + spread))
    return _equal_bars(name, 1000, (draw.randint(low, high) for _ in range(n)))


def scholl_hard(seed: int, n: int = 200) -> BarTask:
    """Return 200 pieces of 20000 to 35000 out of bars of 100000, the third set of Scholl, Klein and Juergens (1997)."""
    draw = _draw(name := f"third {n} no. {seed}")
    return _equal_bars(name, 100_000, (draw.randint(20_000, 35_000) for _ in range(n)))


def schoenfield(n: int, seed: int) -> BarTask:
    """Return n (160 to 200) pieces of 1 to 800 out of bars of 1000, in the manner of J. E. Schoenfield's 28 (2002).

    His were picked out of many for being hard; these are not.
    """
    draw = _draw(name := f"wide {n} no. {seed}")
    return _equal_bars(name, 1000, (draw.randint(1, 800) for _ in range(n)))


def monaci(
    n: int, kinds: int, least: int, seed: int, *, kerf: int = 0, leftovers: int = 0, long: bool = False
) -> BarTask:
    """Return n pieces of ``least`` to 100 out of three or five kinds of bar that cost their length.

    Classes of M. Monaci (thesis, Bologna, 2002): bars of 100, 120, 150, or of 60, 80, 100, 120, 150. Added here: a
    kerf, one-off leftovers of half to nine tenths of the shortest bar, and with ``long`` bars of 3, 6 and 10 m in mm
    with pieces of 200 to 2800.
    """
    draw = _draw(name := f"kinds {n}/{kinds}/{least}/{kerf}/{leftovers}{'/long' if long else ''} no. {seed}")
    lengths = [3000, 6000, 10000] if long else [100, 120, 150] if kinds == 3 else [60, 80, 100, 120, 150]
    top = 2800 if long else min(100, lengths[0] if kinds == 5 else 100)
    low = 200 if long else least
    stocks: list[tuple[int, int, int | None]] = [(length, length, None) for length in lengths]
    for _ in range(leftovers):
        length = draw.randint(lengths[0] // 2, lengths[0] * 9 // 10)
        stocks.append((length, length, 1))
    return BarTask(name, tuple(stocks), kerf, _counted(draw.randint(low, top) for _ in range(n)))


_SIDES = {1: (10, 10), 2: (10, 30), 3: (35, 40), 4: (35, 100), 5: (100, 100), 6: (100, 300)}
"""Largest side of a piece and side of the sheet in the classes of Berkey and Wang."""


def rectangles(kind: int, n: int, seed: int, *, turn: bool = False) -> SheetTask:
    """Return n rectangles for square sheets.

    Classes 1 to 6: J. O. Berkey, P. Y. Wang, JORS 38 (1987), both sides uniform. Classes 7 to 10: S. Martello, D. Vigo,
    Management Science 44 (1998), sheets of 100: seven tenths of the pieces wide and low, tall and narrow, large, or
    small; the others one tenth each.
    """
    draw = _draw(name := f"class {kind} {n}{' turned' if turn else ''} no. {seed}")
    if kind <= 6:
        side, sheet = _SIDES[kind]
        sizes = [(draw.randint(1, side), draw.randint(1, side)) for _ in range(n)]
        return _sheets(name, (sheet, sheet), sizes, turn=turn)
    ranges = (((67, 100), (1, 50)), ((1, 50), (67, 100)), ((50, 100), (50, 100)), ((1, 50), (1, 50)))
    sizes = []
    for _ in range(n):
        often = draw.choices(range(4), [7 if k == kind - 7 else 1 for k in range(4)])[0]
        (a, b), (c, d) = ranges[often]
        sizes.append((draw.randint(a, b), draw.randint(c, d)))
    return _sheets(name, (100, 100), sizes, turn=turn)


def _sheets(name: str, sheet: tuple[int, int], sizes: list[tuple[int, int]], *, turn: bool) -> SheetTask:
    items = tuple((w, h, number, 0) for (w, h), number in sorted(Counter(sizes).items(), reverse=True))
    return SheetTask(name, sheet, turn, items, valued=False)


def valued(scheme: str, seed: int, *, turn: bool = False) -> SheetTask:
    """Return pieces with values for one sheet.

    - "quarter": J. E. Beasley, JORS 36 (1985): sheet of 250 or 500, sides from a quarter to three quarters of it, value
      the area, 10 to 50 kinds as often as wanted.
    - "few": N. Christofides, C. Whitlock, Operations Research 25 (1977): areas up to a quarter of the sheet's, value
      the area by a factor of 1 to 3, one to three copies.
    - "even": J. F. Oliveira, J. S. Ferreira (1990): 10 kinds for a sheet of 70 x 40, value the area, one to four
      copies.
    - "large": D. Fayard, M. Hifi, V. Zissimopoulos, JORS 49 (1998): sides from a tenth to seven tenths of a sheet of
      100 to 500, value the area by a factor of 0.25 to 0.75, up to ten copies.

    Ranges that could not be remembered are chosen.
    """
    draw = _draw(name := f"{scheme}{' turned' if turn else ''} no. {seed}")
    items: list[tuple[int, int, int, int]] = []
    if scheme == "quarter":
        width = height = draw.choice((250, 500))
        for _ in range(draw.choice((10, 20, 30, 50))):
            w, h = draw.randint(width // 4, width * 3 // 4), draw.randint(height // 4, height * 3 // 4)
            items.append((w, h, (width // w) * (height // h), w * h))
    elif scheme == "few":
        width, height, kinds = draw.choice(((15, 10, 7), (40, 70, 10), (40, 70, 20)))
        while len(items) < kinds:
            w, h = draw.randint(1, width), draw.randint(1, height)
            if 4 * w * h <= width * height:
                items.append((w, h, draw.randint(1, 3), round(w * h * draw.uniform(1, 3))))
    elif scheme == "even":
        width, height = 70, 40
        for _ in range(10):
            w, h = draw.randint(8, 40), draw.randint(6, 32)
            items.append((w, h, draw.randint(1, 4), w * h))
    elif scheme == "large":
        width, height = draw.randint(100, 500), draw.randint(100, 500)
        for _ in range(draw.randint(15, 30)):
            w, h = draw.randint(width // 10, width * 7 // 10), draw.randint(height // 10, height * 7 // 10)
            most = min((width // w) * (height // h), draw.randint(1, 10))
            items.append((w, h, most, max(1, round(w * h * draw.uniform(0.25, 0.75)))))
    else:
        raise ValueError(scheme)
    return SheetTask(name, (width, height), turn, tuple(items), valued=True)


def bar_tasks() -> Iterator[BarTask]:
    """Yield the bars of the benchmark: each family, in small and large."""
    for n in (120, 250, 500):
        yield falkenauer_uniform(n, 1)
    for n in (60, 120, 249):
        yield falkenauer_triplet(n, 1)
    for n, length, least in ((50, 120, 20), (200, 100, 1), (500, 150, 30)):
        yield scholl_first(n, length, least, 1)
    for n, in_bar, spread in ((50, 5, 0.2), (100, 7, 0.5), (200, 3, 0.5), (200, 9, 0.9)):
        yield scholl_second(n, in_bar, spread, 1)
    yield scholl_hard(1)
    yield schoenfield(180, 1)
    yield monaci(25, 3, 20, 1)
    yield monaci(60, 3, 10, 1, kerf=2, leftovers=2)
    yield monaci(100, 5, 10, 1, kerf=1)
    yield monaci(200, 5, 1, 1, leftovers=3)
    yield monaci(80, 3, 200, 1, kerf=8, leftovers=3, long=True)


def sheet_tasks() -> Iterator[SheetTask]:
    """Yield the sheets of the benchmark: every class, the schemes with values, some turned."""
    for kind in range(1, 11):
        yield rectangles(kind, (20, 40, 60)[kind % 3], 1, turn=kind % 4 == 1)
    for scheme in ("quarter", "few", "even", "large"):
        yield valued(scheme, 1)
        yield valued(scheme, 2, turn=scheme == "few")


def read_tasks(folder: Path) -> Iterator[BarTask | SheetTask]:
    """Yield the cutting tasks of all JSON files in a folder.

    A file is a list of records ``{name, kind, data, known_best}``. Of ``kind`` "cut1d", ``data`` has ``stocks``
    (``length``, ``cost``, ``count``), ``kerf``, ``items`` [length, quantity]; of "guillotine_bins" ``sheet`` [W, H],
    ``rotate``, ``items`` [w, h, quantity]; of "guillotine_value" the items are [w, h, most, value]. Other kinds are
    left.
    """
    for path in sorted(folder.glob("*.json")):
        for record in json.loads(path.read_text(encoding="utf-8")):
            kind = record.get("kind") if isinstance(record, dict) else None
            if kind == "cut1d":
                yield _read_bars(record)
            elif kind in ("guillotine_bins", "guillotine_value"):
                yield _read_sheets(record)


def _read_bars(record: dict[str, Any]) -> BarTask:
    data = record["data"]
    stocks = tuple((stock["length"], stock["cost"], stock["count"]) for stock in data["stocks"])
    items = tuple((length, number) for length, number in data["items"])
    return BarTask(record["name"], stocks, data["kerf"], items, record.get("known_best"))


def _read_sheets(record: dict[str, Any]) -> SheetTask:
    data = record["data"]
    width, height = data["sheet"]
    items = tuple((w, h, most, *(rest or [0])) for w, h, most, *rest in data["items"])
    return SheetTask(
        record["name"],
        (width, height),
        bool(data.get("rotate")),
        items,
        record["kind"] == "guillotine_value",
        record.get("known_best"),
    )
