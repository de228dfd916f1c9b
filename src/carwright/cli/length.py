"""``carwright length``: one length in every style, and the nearest fraction, number drill and sheet."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from carwright.lengths import (
    Nearest,
    Reading,
    Style,
    nearest_fraction,
    nearest_of,
    number_in,
    parse_length,
    scale_inches,
    show,
    show_in,
    thousandths,
)
from carwright.problems import InputError

if TYPE_CHECKING:
    from carwright.car.model import Car

__all__ = ["command"]

_STYLES: tuple[Style, ...] = ("fraction", "inch", "mm", "scale")


@dataclass(frozen=True, slots=True)
class _Sheets:
    """Thicknesses to choose from, in mm, and whose they are."""

    thicknesses_mm: tuple[float, ...]
    origin: str


def command(
    text: str,
    /,
    *,
    scale: str | None = None,
    standard: Literal["NMRA", "NEM"] | None = None,
    units: Literal["in", "mm"] | None = None,
    shelf: Path | None = None,
    nominal: bool = False,
    as_json: Annotated[bool, Parameter(name="--json")] = False,
) -> int:
    """Show one length in every style, with the nearest 1/64, number drill and sheet.

    A length is written as on paper: 1-11/32, "0.284 in", "12.7 mm", "30 thou",
    "#61", "40 ft 6 in scale", "0.284 ± 0.002". Put quotes round a text that has
    a space, an inch mark or a # in it.

    Args:
        text: The length.
        scale: Scale of the model, such as HO, N or O. Without it, the car file's, else HO.
        standard: Whose scale ratio counts. Without it, the car file's, else NMRA.
        units: Unit of a bare number. Without it, the car file's, else inches.
        shelf: A car file, whose sheets on hand are looked through. Without it, the usual thicknesses are.
        nominal: Take the text as a size on paper, not as a reading: no ± bounds the digits shown.
        as_json: Print the result for other programs.
    """
    from carwright.reference import nearest_drill

    car = _car(shelf)
    chosen_scale = scale or (car.info.scale if car else "HO")
    chosen_units = units or (car.info.units if car else "in")
    ratio = _ratio(chosen_scale, standard or (car.info.standard if car else "NMRA"))
    reading = parse_length(
        text,
        units=chosen_units,
        ratio=ratio,
        taken="nominal" if nominal else "outside",
        measured_with=car.info.measured_with if car else "caliper",
    )
    tolerance_mm = reading.tolerance_mm
    styles: dict[str, str] = {
        style: show(reading.mm, style, ratio=ratio, tolerance_mm=tolerance_mm) for style in _STYLES
    }
    styles["scale_m"] = show(reading.mm, "scale", ratio=ratio, tolerance_mm=tolerance_mm, units="mm")
    drill = nearest_drill(reading.mm, kinds=("number",))
    sheets = _sheets(car, chosen_units)
    nearest = {
        "fraction": nearest_fraction(reading.mm),
        "drill": Nearest(
            f"{drill.name} ({show_in(drill.diameter.value, chosen_units)})", drill.diameter.value - reading.mm
        ),
        "sheet": nearest_of(reading.mm, sheets.thicknesses_mm, chosen_units),
    }
    if as_json:
        print(json.dumps(_document(text, reading, styles, nearest, sheets), ensure_ascii=False, indent=2))
    else:
        print("\n".join(_lines(reading, styles, nearest, sheets, scale=chosen_scale, ratio=ratio)))
    return 0


def _car(path: Path | None) -> Car | None:
    if path is None:
        return None
    from carwright.car.read import read_car_file  # late: it reads the key table

    return read_car_file(path).car


def _ratio(scale: str, standard: Literal["NMRA", "NEM"]) -> float:
    from carwright.reference import scale_ratio

    try:
        return scale_ratio(scale, standard).value
    except InputError as error:
        # The look-up speaks of the car file's key; here the scale came from an option.
        raise InputError(replace(each, key="--scale") for each in error.problems) from None


def _sheets(car: Car | None, units: Literal["in", "mm"]) -> _Sheets:
    on_hand = (
        ()
        if car is None
        else tuple(each.thickness.value for each in car.shelf.sheets if each.thickness is not None and each.count != 0)
    )
    if on_hand:
        return _Sheets(on_hand, "the sheets on the shelf")
    from carwright.reference.store import entry

    usual = entry("workshop", "stock", "sheet", f"thickness_{units}")
    values = usual.value if isinstance(usual.value, tuple) else (usual.value,)
    factor = 25.4 if units == "in" else 1.0
    thicknesses = tuple(each * factor for each in values if isinstance(each, int | float))
    return _Sheets(thicknesses, f"the usual thicknesses, {usual.citation.basis_words}")


def _document(
    text: str, reading: Reading, styles: dict[str, str], nearest: dict[str, Nearest], sheets: _Sheets
) -> dict[str, object]:
    found: dict[str, dict[str, object]] = {
        name: {"text": each.text, "error_mm": each.error_mm} for name, each in nearest.items()
    }
    found["sheet"]["origin"] = sheets.origin
    return {
        "text": text,
        "mm": reading.mm,
        "tolerance_mm": reading.tolerance_mm,
        "distribution": reading.distribution,
        "tolerance_from": reading.tolerance_from,
        "styles": styles,
        "nearest": found,
    }


def _lines(
    reading: Reading,
    styles: dict[str, str],
    nearest: dict[str, Nearest],
    sheets: _Sheets,
    *,
    scale: str,
    ratio: float,
) -> Iterable[str]:
    yield " ".join(reading.text.split())
    yield ""
    shown = (
        ("±", _doubt(reading)),
        ("fraction", styles["fraction"]),
        ("inches", styles["inch"]),
        ("millimetres", styles["mm"]),
        (f"{scale}, 1:{ratio:g}", " = ".join(styles[each].removesuffix(" scale") for each in ("scale", "scale_m"))),
    )
    width = max(12, *(len(name) for name, _ in shown))
    yield from (f"  {name:<{width}}  {text}" for name, text in shown)
    yield ""
    yield f"  {'':<{width}}  {'nearest':<16}  {'thou':>9}  {'mm':>9}  {'scale in':>9}"
    for name, label in (("fraction", "1/64 in"), ("drill", "number drill"), ("sheet", "sheet")):
        error = nearest[name].error_mm
        errors = (thousandths(error), number_in(error, "mm", signed=True), scale_inches(error, ratio))
        yield f"  {label:<{width}}  {nearest[name].text:<16}  " + "  ".join(f"{each:>9}" for each in errors)
    yield ""
    yield "  The three columns are the error, that size less the length."
    yield f"  Sheet: {sheets.origin}."


def _doubt(reading: Reading) -> str:
    if reading.tolerance_mm == 0.0:
        return "none: a nominal size"
    units: Literal["in", "mm"] = "mm" if reading.unit_typed in ("mm", "cm", "m") else "in"
    half = show_in(reading.tolerance_mm, units, tolerance_mm=reading.tolerance_mm)
    where = {
        "typed": "as typed",
        "text": "last place typed",
        "instrument": "rule" if reading.instrument == "rule" else f"caliper, {reading.instrument}",
        "nominal": "as tabled",
    }[reading.tolerance_from]
    return f"{half} ({where})"
