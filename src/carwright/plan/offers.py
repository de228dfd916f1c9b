"""What may be used: the owner's shelf, or the usual sizes where a shelf was not written down."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from carwright.car.model import Car, CarInfo, CouplerStock
from carwright.car.written import text_for
from carwright.frame.floor import Floor, SheetOffer
from carwright.lengths import show_in
from carwright.reference import practice_value, wheel_diameters
from carwright.reference.usual import usual_sheets, usual_washers
from carwright.ride.moves import Stock, StockPart
from carwright.working import Working, derived

__all__ = ["sheet_offers", "stock_of"]


def _label(size: Working, units: Literal["in", "mm"]) -> str:
    return show_in(size.value, "mm" if units == "mm" else "in")


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


def _part(size: Working, path: str, info: CarInfo, *, count: int | None, on_hand: bool, label: str = "") -> StockPart:
    return StockPart(size, count, on_hand, text_for(size, path, info), label or _label(size, info.units))


def _shank(stock: CouplerStock, info: CarInfo) -> StockPart | None:
    size = stock.shank_offset
    if size is None:
        return None
    side = "raised" if size.value > 0 else "lowered"
    label = stock.name or ("centred" if abs(size.value) < 1e-9 else f"{_label(size, info.units)} {side}")
    return StockPart(
        size,
        stock.count,
        True,
        text_for(size, "coupler.shank_offset", info),
        label,
        stock.drop,
        text_for(stock.drop, "coupler.drop", info) if stock.drop is not None else "",
        stock.length,
        text_for(stock.length, "coupler.length", info) if stock.length is not None else "",
    )


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
    info = car.info
    washers = tuple(
        _part(each.thickness, "trucks.washers", info, count=each.count, on_hand=each.count is None or each.count > 0)
        for each in car.shelf.washers
        if each.thickness is not None
    ) or tuple(_part(size, "trucks.washers", info, count=None, on_hand=False) for size in usual_washers())
    bolsters = tuple(
        _part(
            each.height,
            "underframe.bolster",
            info,
            count=each.count,
            on_hand=True,
            label=f"{_label(each.height, info.units)} bought",
        )
        for each in car.shelf.bolsters
        if each.height is not None and (each.count is None or each.count > 0)
    )
    sheets = tuple(
        _part(offer.thickness, "underframe.bolster", info, count=None, on_hand=offer.on_hand) for offer in offers
    )
    shanks = tuple(part for each in car.shelf.couplers if (part := _shank(each, info)) is not None)
    measured = car.trucks.a.wheel_diameter is not None and car.trucks.b.wheel_diameter is not None
    diameters = wheel_diameters(car.info.scale, car.info.standard) if measured else ()
    wheels = tuple(_wheels(size) for size in diameters)
    recesses: tuple[StockPart, ...] = ()
    if not floor.stays:
        recesses = tuple(
            _part(_recess(floor.layers[:i]), "coupler.recess", info, count=None, on_hand=True)
            for i in range(1, len(floor.layers))
        )
    return Stock(washers, bolsters, sheets, shanks, wheels, recesses)


def _recess(layers: tuple[Working, ...]) -> Working:
    """Return how deep a recess is that is left open in the lowest layers of the floor, with the doubt of them all.

    Layers may be of one sheet, which errs alike in each: their doubts are added, not their squares.
    """
    if len(layers) == 1:
        return layers[0]
    terms = {f"t{i + 1}": layer for i, layer in enumerate(layers)}
    depth = derived("depth of the recess", " + ".join(terms), terms)
    doubts = {f"d{i + 1}": layer.tolerance for i, layer in enumerate(layers) if layer.tolerance is not None}
    if not doubts:
        return depth
    tolerance = derived("± of the depth of the recess", " + ".join(doubts), doubts)
    return replace(depth, tolerance=tolerance, distribution=layers[0].distribution)


def scaled(name: str, car: Car) -> float:
    """Return a customary length that is given for HO, in mm, in proportion to the car's scale.

    Args:
        name: of the entry among the customary values.
        car: for its scale; HO where it has none.
    """
    ratio = car.info.ratio.value if car.info.ratio is not None else 87.1
    return practice_value(name).value * 87.1 / ratio
