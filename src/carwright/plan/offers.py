"""What may be used: the owner's shelf, or the usual sizes where a shelf was not written down."""

from __future__ import annotations

from typing import Literal

from carwright.car.model import Car, CouplerStock
from carwright.frame.floor import Floor, SheetOffer
from carwright.lengths import LENGTH_TOL_MM, parse_length, show_in
from carwright.problems import InputError
from carwright.reference import practice_value, wheel_diameters
from carwright.reference.usual import usual_sheets, usual_washers
from carwright.ride.moves import Stock, StockPart
from carwright.working import Working, derived

__all__ = ["sheet_offers", "stock_of"]


def _label(size: Working, units: Literal["in", "mm"]) -> str:
    return show_in(size.value, "mm" if units == "mm" else "in")


def _text(size: Working, units: Literal["in", "mm"]) -> str:
    """Return how the car file would write a size so that it reads the same: in the owner's words where they do."""
    if size.kind == "typed" and size.text and _reads_alike(size, units):
        return size.text
    text, doubt = _exactly(size.value, units), size.tolerance
    return f"{text} ± {_exactly(doubt.value, units)} {size.distribution}" if doubt is not None else text


def _exactly(mm: float, units: Literal["in", "mm"]) -> str:
    """Return a length with its unit, in the file's own where four places hold it."""
    inches = round(mm / 25.4, 4)
    return f"{inches:.4f} in" if units == "in" and abs(inches * 25.4 - mm) < LENGTH_TOL_MM else f"{mm:.4f} mm"


def _reads_alike(size: Working, units: Literal["in", "mm"]) -> bool:
    """Return whether the car file's own units and instruments give the text the same value and the same doubt."""
    try:
        read = parse_length(size.text, units=units)
    except InputError:
        return False
    same_value = abs(read.mm - size.value) < LENGTH_TOL_MM
    return (
        same_value and read.distribution == size.distribution and abs(read.tolerance_mm - size.tolerance_value) < 1e-6
    )


def sheet_offers(car: Car) -> tuple[SheetOffer, ...]:
    """Return each thickness of sheet on the shelf, or the usual ones (not on hand) where the shelf has no sheet."""
    units = car.info.units
    seen: set[float] = set()
    offers = []
    for sheet in car.shelf.sheets:
        if sheet.thickness is None or (sheet.count is not None and sheet.count < 1) or sheet.material != "styrene":
            continue
        mark = round(sheet.thickness.value, 6)
        if mark not in seen:
            seen.add(mark)
            offers.append(SheetOffer(sheet.thickness, True, _label(sheet.thickness, units)))
    if offers:
        return tuple(offers)
    return tuple(SheetOffer(size, False, _label(size, units)) for size in usual_sheets(units))


def _part(size: Working, units: Literal["in", "mm"], *, count: int | None, on_hand: bool, label: str = "") -> StockPart:
    return StockPart(size, count, on_hand, _text(size, units), label or _label(size, units))


def _shank(stock: CouplerStock, units: Literal["in", "mm"]) -> StockPart | None:
    size = stock.shank_offset
    if size is None:
        return None
    label = stock.name or (
        "centred" if abs(size.value) < 1e-9 else f"{_label(size, units)} {'raised' if size.value > 0 else 'lowered'}"
    )
    return StockPart(size, stock.count, True, _text(size, units), label, stock.drop, stock.length)


def _wheels(size: Working) -> StockPart:
    """Return wheels of a tabled diameter; the file names them by their prototype's, which is exact."""
    prototype = size.name.removesuffix(" wheel")
    return StockPart(size, None, False, f"{prototype} scale", prototype)


def stock_of(car: Car, floor: Floor, offers: tuple[SheetOffer, ...]) -> Stock:
    """Return everything that may serve as a cure of a wrong height.

    Args:
        car: the car with its shelf.
        floor: whose lower layers may be let in as a recess for the coupler.
        offers: sheet for laminated bolsters and shims.
    """
    units = car.info.units
    washers = tuple(
        _part(each.thickness, units, count=each.count, on_hand=each.count is None or each.count > 0)
        for each in car.shelf.washers
        if each.thickness is not None
    ) or tuple(_part(size, units, count=None, on_hand=False) for size in usual_washers())
    bolsters = tuple(
        _part(each.height, units, count=each.count, on_hand=True, label=f"{_label(each.height, units)} bought")
        for each in car.shelf.bolsters
        if each.height is not None and (each.count is None or each.count > 0)
    )
    sheets = tuple(_part(offer.thickness, units, count=None, on_hand=offer.on_hand) for offer in offers)
    shanks = tuple(part for each in car.shelf.couplers if (part := _shank(each, units)) is not None)
    measured = car.trucks.a.wheel_diameter is not None and car.trucks.b.wheel_diameter is not None
    diameters = wheel_diameters(car.info.scale, car.info.standard) if measured else ()
    wheels = tuple(_wheels(size) for size in diameters)
    recesses = []
    if not floor.stays:
        for i in range(1, len(floor.layers)):
            terms = {f"t{j + 1}": layer for j, layer in enumerate(floor.layers[:i])}
            depth = floor.layers[0] if i == 1 else derived("depth of the recess", " + ".join(terms), terms)
            recesses.append(StockPart(depth, None, True, f"{depth.value:.4f} mm", _label(depth, units)))
    return Stock(washers, bolsters, sheets, shanks, wheels, tuple(recesses))


def scaled(name: str, car: Car) -> float:
    """Return a customary length that is given for HO, in mm, in proportion to the car's scale.

    Args:
        name: of the entry among the customary values.
        car: for its scale; HO where it has none.
    """
    ratio = car.info.ratio.value if car.info.ratio is not None else 87.1
    return practice_value(name).value * 87.1 / ratio
