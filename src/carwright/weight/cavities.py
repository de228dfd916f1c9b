"""Cavities for ballast, what ballast is made of, and every way in which the one fits into the other.

A *cavity* is a box with level sides; in a *pair* there are two of them, one on each side of the car. A *stock* is a row
of the shelf. A *way* is a stock in so many pieces of a size in a cavity: it holds a *filling* (``choice.py``), of which
less may be used by cutting every piece shorter.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from carwright.weight.choice import Filling
from carwright.working import Working

__all__ = ["Cavity", "Form", "Stock", "Way", "ways"]

Form = Literal["sheet", "bar", "shot", "putty", "nut"]

_LEVELS: Final = 4
"""Depths to which a cavity is filled with shot or putty: quarters of its height."""
_FIT: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Cavity:
    """Room for ballast.

    Args:
        name: stable name ("bay_1", "floor_a", "tank").
        where: in words.
        x: middle along the car, mm from mid-car.
        y: middle across the car, mm; of a pair, of the left one.
        length: along the car, mm, clearance taken off.
        width: across the car, mm, of one of a pair.
        height: mm.
        base: height above the rail, mm, of the face on which ballast lies, or from which it hangs.
        hung: whether ballast hangs from ``base`` downward.
        pair: whether there is another one on the right.
        closes: what shuts it, in words, or "" where it stays open.
    """

    name: str
    where: str
    x: Working
    y: Working
    length: Working
    width: Working
    height: Working
    base: Working
    hung: bool = False
    pair: bool = False
    closes: str = ""

    @property
    def volume_mm3(self) -> float:
        """Return its volume, that of both where it is a pair."""
        return self.length.value * self.width.value * self.height.value * (2.0 if self.pair else 1.0)


@dataclass(frozen=True, slots=True)
class Stock:
    """What ballast is made of.

    Args:
        name: in words.
        form: see ``Form``.
        material: "lead", "steel" ...
        density: g/cm3, of shot as it lies; None for nuts.
        thickness: of sheet or bar, height of a nut, mm.
        width: of sheet or bar, across a nut, mm.
        length: of sheet or bar, mm.
        mass: of one nut, or all there is of shot or putty, g.
        count: pieces on hand; None for no end of them.
        on_hand: whether it is on the shelf.
    """

    name: str
    form: Form
    material: str
    density: Working | None
    thickness: Working | None = None
    width: Working | None = None
    length: Working | None = None
    mass: Working | None = None
    count: int | None = None
    on_hand: bool = True

    @property
    def supply_g(self) -> float:
        """Return how much of it there is, g; infinite where there is no end of it."""
        if self.count is None:
            return math.inf
        if self.mass is not None:
            return self.count * self.mass.value
        sizes = (self.thickness, self.width, self.length, self.density)
        if any(each is None for each in sizes):
            return math.inf
        return self.count * math.prod(each.value for each in sizes if each is not None) / 1000.0


@dataclass(frozen=True, slots=True)
class Way:
    """A stock in a cavity.

    Args:
        cavity: where.
        stock: what.
        filling: its mass, height and number of pieces.
        length_mm: of one piece at most, along the car.
        width_mm: of one piece, across the car.
        deep_mm: of one piece.
        layers: how many lie on each other.
    """

    cavity: Cavity
    stock: Stock
    filling: Filling
    length_mm: float
    width_mm: float
    deep_mm: float
    layers: int


def ways(cavities: Sequence[Cavity], stocks: Sequence[Stock], *, need_g: float, most_layers: int) -> tuple[Way, ...]:
    """Return every way in which a stock fits a cavity, but for those that hold more than is wanted twice over.

    Args:
        cavities: in the order of ``Filling.cavity``.
        stocks: in the order of ``Filling.stock``.
        need_g: what is wanted; more layers than hold all of it are left out.
        most_layers: of one sheet or bar on each other.
    """
    found: list[Way] = []
    for at, cavity in enumerate(cavities):
        for of, stock in enumerate(stocks):
            for way in _ways_of(cavity, stock, at, of, need_g, most_layers):
                found.append(way)
                if way.filling.mass_g >= need_g and not way.filling.counted:
                    break
    return tuple(found)


def _ways_of(cavity: Cavity, stock: Stock, at: int, of: int, need_g: float, most_layers: int) -> Iterator[Way]:
    if min(cavity.length.value, cavity.width.value, cavity.height.value) <= 0.0:
        return
    if stock.form == "sheet":
        yield from _sheets(cavity, stock, at, of, most_layers)
    elif stock.form == "bar":
        yield from _bars(cavity, stock, at, of, most_layers)
    elif stock.form == "nut":
        yield from _nuts(cavity, stock, at, of, need_g)
    else:
        yield from _poured(cavity, stock, at, of)


def _level(cavity: Cavity, deep_mm: float) -> float:
    """Return the height above the rail of the middle of ballast so deep."""
    return cavity.base.value + (-deep_mm / 2.0 if cavity.hung else deep_mm / 2.0)


def _layered(cavity: Cavity, at: int, of: int, layers: int, layer_g: float, deep_mm: float, pieces: int) -> Filling:
    """Return a filling of so many layers; what one layer less holds is left to that, unless more of them hang lower."""
    least = 0.0 if cavity.hung else (layers - 1) * layer_g
    return Filling(at, of, layers * layer_g, _level(cavity, deep_mm), pieces, least_g=least)


def _sides(cavity: Cavity) -> int:
    return 2 if cavity.pair else 1


def _split(size_mm: float, most_mm: float | None) -> int:
    """Return into how many parts a size is cut so that each comes out of a stock of so much."""
    return 1 if most_mm is None else max(1, math.ceil(size_mm / most_mm - _FIT))


def _sheets(cavity: Cavity, stock: Stock, at: int, of: int, most_layers: int) -> Iterator[Way]:
    thickness, density = stock.thickness, stock.density
    if thickness is None or density is None:
        return
    long, wide = cavity.length.value, cavity.width.value
    sizes = (stock.length.value if stock.length else None, stock.width.value if stock.width else None)
    along, across = min(
        ((_split(long, a), _split(wide, b)) for a, b in (sizes, sizes[::-1])), key=lambda each: each[0] * each[1]
    )
    pieces = along * across * _sides(cavity)
    layer_g = long * wide * thickness.value * density.value / 1000.0 * _sides(cavity)
    for layers in range(1, min(most_layers, int(cavity.height.value / thickness.value + _FIT)) + 1):
        deep = layers * thickness.value
        filling = _layered(cavity, at, of, layers, layer_g, deep, layers * pieces)
        yield Way(cavity, stock, filling, long / along, wide / across, thickness.value, layers)


def _bars(cavity: Cavity, stock: Stock, at: int, of: int, most_layers: int) -> Iterator[Way]:
    thickness, density = stock.thickness, stock.density
    if thickness is None or density is None:
        return
    breadth = stock.width if stock.width is not None else thickness
    along = _split(cavity.length.value, stock.length.value if stock.length else None)
    for deep, wide in dict.fromkeys(((thickness.value, breadth.value), (breadth.value, thickness.value))):
        side_by_side = int(cavity.width.value / wide + _FIT)
        rows = min(most_layers, int(cavity.height.value / deep + _FIT))
        one_g = cavity.length.value * wide * deep * density.value / 1000.0 * _sides(cavity)
        for layers in range(1, rows + 1):
            if side_by_side == 0:
                break
            bars = layers * side_by_side
            pieces = bars * along * _sides(cavity)
            filling = _layered(cavity, at, of, layers, side_by_side * one_g, layers * deep, pieces)
            yield Way(cavity, stock, filling, cavity.length.value / along, wide, deep, layers)


def _nuts(cavity: Cavity, stock: Stock, at: int, of: int, need_g: float) -> Iterator[Way]:
    if stock.mass is None or stock.thickness is None or stock.width is None or stock.mass.value <= 0.0:
        return
    wide, high = stock.width.value, stock.thickness.value
    in_layer = int(cavity.length.value / wide + _FIT) * int(cavity.width.value / wide + _FIT)
    most = min(in_layer * int(cavity.height.value / high + _FIT), math.ceil(need_g / stock.mass.value / _sides(cavity)))
    if stock.count is not None:
        most = min(most, stock.count // _sides(cavity))
    for number in range(1, most + 1):
        layers = math.ceil(number / in_layer)
        full = layers - 1
        top = number - full * in_layer
        middle = (full * in_layer * full * high / 2.0 + top * (full + 0.5) * high) / number
        z = cavity.base.value + (-middle if cavity.hung else middle)
        pieces = number * _sides(cavity)
        filling = Filling(at, of, pieces * stock.mass.value, z, pieces, True)
        yield Way(cavity, stock, filling, wide, wide, high, layers)


def _poured(cavity: Cavity, stock: Stock, at: int, of: int) -> Iterator[Way]:
    if stock.density is None or (cavity.hung and stock.form == "shot"):
        return
    full_g = cavity.volume_mm3 * stock.density.value / 1000.0
    for level in range(1, _LEVELS + 1):
        deep = cavity.height.value * level / _LEVELS
        filling = _layered(cavity, at, of, level, full_g / _LEVELS, deep, _sides(cavity))
        yield Way(cavity, stock, filling, cavity.length.value, cavity.width.value, deep, 1)
