"""Ballast: what the shelf has of it, and each piece of it as it is cut and placed, with mass and middle as numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from carwright.car.model import BallastStock, Car
from carwright.reference import density, practice_value
from carwright.weight.cavities import Cavity, Form, Stock, Way
from carwright.working import Working, chosen, counted, derive, derived

__all__ = ["Placed", "place", "stocks_of", "total_of"]

_FORMS: Final = {"sheet": "sheet", "bar": "bar", "shot": "shot", "putty": "putty", "nut": "nuts"}
_STEP_MM: Final = 0.001
"""To what a cut size is rounded: far below what a saw or shears can do, so that the sums stay true to 0.1 g."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Ballast in one cavity: ``count`` pieces of one size, or a bed of shot or putty.

    Args:
        cavity: where.
        stock: what.
        layers: how many lie on each other.
        count: pieces to cut, over both sides where the cavity is a pair.
        length: of one piece, along the car, mm; None for nuts.
        width: across the car, mm; None for nuts.
        thickness: of one piece, or depth of the bed, mm.
        mass: of all of it, g.
        x: its middle from mid-car, mm.
        y: to the left, mm.
        z: above the rail, mm.
    """

    cavity: Cavity
    stock: Stock
    layers: int
    count: Working
    length: Working | None
    width: Working | None
    thickness: Working
    mass: Working
    x: Working
    y: Working
    z: Working


def stocks_of(car: Car) -> tuple[tuple[Stock, ...], tuple[str, ...]]:
    """Return the ballast on the shelf, or usual sheet lead to buy where it names none, and the keys still needed."""
    if not car.shelf.ballast:
        lead = density("lead")
        sizes = [practice_value(f"ballast_sheet_{word}") for word in ("thin", "thick")]
        return tuple(
            Stock(f"{_label(each)} sheet lead", "sheet", "lead", lead, each, on_hand=False) for each in sizes
        ), ()
    found: list[Stock] = []
    needs: list[str] = []
    for row in car.shelf.ballast:
        if row.count == 0:
            continue
        missing = _missing(row)
        if missing:
            needs += [f"{row.key}.{name}" for name in missing]
        else:
            found.append(_stock(row))
    return tuple(found), tuple(needs)


def _label(size: Working) -> str:
    return size.text or f"{size.value:.2f} mm"


def _missing(row: BallastStock) -> list[str]:
    """Return the keys without which a row of the shelf says nothing."""
    wanted = {"sheet": ("thickness",), "bar": ("thickness",), "nut": ("mass", "thickness", "width")}.get(row.form, ())
    missing = [name for name in wanted if getattr(row, name) is None]
    if row.form != "nut" and not missing and _density(row) is None:
        missing.append("material")
    return missing


def _stock(row: BallastStock) -> Stock:
    name = row.name or f"{_label(row.thickness) if row.thickness is not None else ''} {_FORMS[row.form]} {row.material}"
    weighed = row.form in ("shot", "putty", "nut")
    return Stock(
        name.strip(),
        row.form,
        row.material,
        None if row.form == "nut" else _density(row),
        row.thickness,
        row.width,
        row.length,
        row.mass if weighed else None,
        row.count,
    )


def _density(row: BallastStock) -> Working | None:
    """Return the density, g/cm3: of a weighed piece of known size its own, of shot as it lies, else the material's."""
    form: Form = row.form
    if form in ("sheet", "bar") and row.mass is not None:
        sizes = {"t": row.thickness, "w": row.width, "l": row.length}
        known = {symbol: size for symbol, size in sizes.items() if size is not None}
        if len(known) == len(sizes):
            return derived(
                f"density of {row.name or row.material}, as weighed",
                "1000*m/(t*w*l)",
                {"m": row.mass, **known},
                "g/cm3",
            )
    if form == "putty":
        return density(f"{row.material} putty") or density(
            "tungsten putty" if row.material == "tungsten" else row.material
        )
    if form != "shot":
        return density(row.material)
    loose = density(f"{row.material} shot")
    solid, of_lead, lead = density(row.material), density("lead shot"), density("lead")
    if loose is not None or solid is None or of_lead is None or lead is None:
        return loose
    return derive(
        f"density of {row.material} shot, poured",
        "d*s/p",
        "g/cm3",
        note="packed as lead shot is",
        d=solid,
        s=of_lead,
        p=lead,
    )


def place(way: Way, mass_g: float) -> Placed:
    """Return a way of filling a cavity, cut so that it weighs so much.

    Args:
        way: which stock, in how many pieces.
        mass_g: what of its mass is wanted, > 0; all of what is counted.
    """
    cavity, stock, filling = way.cavity, way.stock, way.filling
    count = counted(
        filling.pieces, f"pieces of ballast {cavity.where}", note="the fewest that hold what is wanted here"
    )
    if stock.form == "nut":
        return _nuts(way, count)
    share = min(mass_g / filling.mass_g, 1.0)
    if stock.form in ("shot", "putty"):
        return _bed(way, share, count)
    assert stock.thickness is not None
    assert stock.density is not None
    length = _along(way, share)
    thickness, width = stock.thickness, _across(way)
    if stock.form == "bar" and stock.width is not None and abs(way.deep_mm - thickness.value) > 1e-9:
        thickness, width = stock.width, stock.thickness
    mass = derive(
        f"ballast {cavity.where}", "n*l*w*t*d/1000", "g", n=count, l=length, w=width, t=thickness, d=stock.density
    )
    layers = counted(way.layers, f"layers of ballast {cavity.where}", note="of one stock, on each other")
    deep = thickness if way.layers == 1 else derive(f"depth of ballast {cavity.where}", "k*t", k=layers, t=thickness)
    return Placed(cavity, stock, way.layers, count, length, width, thickness, mass, *_middle(cavity, deep))


def _along(way: Way, share: float) -> Working:
    """Return the length of one piece: its part of the cavity's, or as much less as its mass asks."""
    cavity = way.cavity
    parts = max(1, round(cavity.length.value / way.length_mm))
    if share > 1.0 - 1e-9:
        if parts == 1:
            return cavity.length
        number = counted(parts, f"pieces along {cavity.where}", note="as many as the stock's length asks")
        return derive(f"length of ballast {cavity.where}", "l/n", l=cavity.length, n=number)
    size = math.floor(way.length_mm * share / _STEP_MM + 0.5) * _STEP_MM
    return chosen(size, f"length of ballast {cavity.where}", note="cut so that the car weighs and balances as wanted")


def _across(way: Way) -> Working:
    """Return the width of one piece: a bar's own, or its part of the cavity's."""
    cavity, stock = way.cavity, way.stock
    if stock.form == "bar":
        assert stock.thickness is not None
        return stock.width if stock.width is not None else stock.thickness
    parts = max(1, round(cavity.width.value / way.width_mm))
    if parts == 1:
        return cavity.width
    number = counted(parts, f"pieces across {cavity.where}", note="as many as the stock's width asks")
    return derive(f"width of ballast {cavity.where}", "w/n", w=cavity.width, n=number)


def _bed(way: Way, share: float, count: Working) -> Placed:
    """Return a bed of shot or putty, level over the whole cavity."""
    cavity, stock = way.cavity, way.stock
    assert stock.density is not None
    deep = chosen(
        way.deep_mm * share,
        f"depth of ballast {cavity.where}",
        note="filled so that the car weighs and balances as wanted",
    )
    inputs = {"l": cavity.length, "w": cavity.width, "t": deep, "d": stock.density}
    lead = ""
    if cavity.pair:
        inputs, lead = {"n": count, **inputs}, "n*"
    mass = derived(f"ballast {cavity.where}", f"{lead}l*w*t*d/1000", inputs, "g")
    return Placed(cavity, stock, 1, count, cavity.length, cavity.width, deep, mass, *_middle(cavity, deep))


def _nuts(way: Way, count: Working) -> Placed:
    cavity, stock = way.cavity, way.stock
    assert stock.mass is not None
    assert stock.thickness is not None
    mass = derive(f"ballast {cavity.where}", "n*m", "g", n=count, m=stock.mass)
    z = chosen(way.filling.z_mm, f"middle of ballast {cavity.where}, above the rail", note="nuts lie layer upon layer")
    x, y, _ = _middle(cavity, stock.thickness)
    return Placed(cavity, stock, way.layers, count, None, None, stock.thickness, mass, x, y, z)


def _middle(cavity: Cavity, deep: Working) -> tuple[Working, Working, Working]:
    """Return the middle of ballast so deep; of a pair midway between the two."""
    sign = "-" if cavity.hung else "+"
    z = derive(f"middle of ballast {cavity.where}, above the rail", f"b {sign} t/2", b=cavity.base, t=deep)
    if not cavity.pair:
        return cavity.x, cavity.y, z
    return cavity.x, chosen(0.0, f"ballast {cavity.where}, across", note="the same on both sides of the car"), z


def total_of(placed: Sequence[Placed]) -> Working:
    """Return the mass of all ballast, g."""
    inputs = {f"m{i + 1}": each.mass for i, each in enumerate(placed)}
    return derived("weight of the ballast", " + ".join(inputs) or "0", inputs, "g")
