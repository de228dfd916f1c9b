"""What the plan needs and the shelf does not have."""

from __future__ import annotations

import re
from collections.abc import Sequence

from carwright.car.model import ENDS, Car, End, Ends, RodStock, Sheet, Strip
from carwright.findings import listed
from carwright.frame.floor import Floor
from carwright.lengths import show_in
from carwright.pieces import Hole, Piece, bought_bolster, wire_bores
from carwright.plan.model import BuyLine
from carwright.reference import practice_value
from carwright.reference.wires import wire_limits
from carwright.ride.model import Alternative, EndSpec, Target
from carwright.working import Working, counted, derive, derived

__all__ = ["NO_SHEET", "shopping"]

NO_SHEET = "No sheet is written down on the shelf, so usual sizes were taken."
"""Why layers of the floor are to be bought: sheets of the shelf, where there are any, are the only ones taken."""


def _how_many(number: int, what: str) -> Working:
    return counted(number, f"quantity of {what}", note="as many as the car needs")


def _stack_wanted(car: Car, end: End, spec: EndSpec, target: Target | None, *, both: bool) -> BuyLine | None:
    """Return the line for what must stand between rail and floor at an end whose truck or bolster is missing.

    Args:
        car: the car.
        end: the end.
        spec: its stack.
        target: where its coupler should stand.
        both: whether the line speaks for both ends.
    """
    if (
        spec.mount == "truck"
        or spec.found is not None
        or target is None
        or (spec.seat is not None and (spec.bolster or _built(car, end)))
    ):
        return None
    units = car.info.units
    where = "each end" if both else end.upper()
    coupler = "each coupler" if both else f"coupler {where}"
    inputs: dict[str, Working] = {"T": target.height}
    formula = "T"
    assumed = ""
    drop = spec.drop
    if drop is None:
        drop = practice_value("coupler_drop_ho" if target.measured_at == "centre line" else "pocket_drop_h0")
        if car.info.ratio is not None:
            drop = derive("usual drop of a coupler, in proportion", "d*87.1/n", d=drop, n=car.info.ratio)
        assumed = f", if the coupler's drop is the usual {show_in(drop.value, units)} (common practice: measure yours)"
    formula += " + L"
    inputs["L"] = drop
    if spec.shank_offset is not None:
        formula += " - o"
        inputs["o"] = spec.shank_offset
    if spec.droop is not None:
        formula += " + d"
        inputs["d"] = spec.droop
    for i, part in enumerate(spec.shim):
        formula += f" + i{i + 1}"
        inputs[f"i{i + 1}"] = part.size
    if spec.recess is not None:
        formula += " - r"
        inputs["r"] = spec.recess
    for i, part in enumerate(spec.washers):
        formula += f" - v{i + 1}"
        inputs[f"v{i + 1}"] = part.size
    what = f"truck and body bolster at {where}"
    name = f"seat height + body bolster at {where}"
    if spec.seat is not None:
        formula, what, name = f"{formula} - J", f"the body bolster at {where}", f"body bolster at {where}"
        inputs["J"] = spec.seat
    elif spec.bolster:
        for i, part in enumerate(spec.bolster):
            formula += f" - K{i + 1}"
            inputs[f"K{i + 1}"] = part.size
        what, name = f"the seat of the truck at {where}", f"truck at {where}, by its seat height"
    size = derived(f"{name}, level car", formula, inputs, note="both ends alike, so that the car stands level")
    low = derive(f"least {name}", "s - m", s=size, m=target.limit)
    high = derive(f"greatest {name}", "s + m", s=size, m=target.limit)
    shown = show_in(size.value, units)
    if spec.seat is None and not spec.bolster:
        asked = f"{what} together must make {shown} from the rail to the floor"
    else:
        asked = f"{what} must measure {shown}"
    because = (
        f"For {coupler} to stand at {show_in(target.height.value, units)}, {asked} "
        f"({show_in(low.value, units)} to {show_in(high.value, units)}){assumed}."
    )
    return BuyLine(name, size, low, high, _how_many(2 if both else 1, name), because)


def _marks(spec: EndSpec, target: Target | None) -> tuple[object, ...]:
    """Return what the stack of an end is made of, by the entries of the file; alike where both ends are."""
    parts = (*spec.washers, *spec.bolster, *spec.shim)
    sizes = (spec.seat, spec.drop, spec.shank_offset, spec.droop, spec.recess, *(part.size for part in parts))
    return (spec.mount, target, *("" if size is None else size.key for size in sizes))


def _built(car: Car, end: End) -> bool:
    return car.underframe.build_bolster.at(end)


def _sheets(car: Car, floor: Floor) -> list[BuyLine]:
    """Return a line for each sheet of the floor that is not on the shelf."""
    units, lines = car.info.units, []
    for layer, on_hand in dict(zip(floor.layers, floor.layers_on_hand, strict=True)).items():
        if not on_hand:
            label = show_in(layer.value, units)
            lines.append(
                BuyLine(
                    f"{label} styrene sheet",
                    layer,
                    low=None,
                    high=None,
                    quantity=_how_many(1, f"{label} sheet"),
                    because="A layer of the floor.",
                    cut=True,
                )
            )
    return lines


def _materials(car: Car, pieces: Sequence[Piece], floor: Floor, holes: Sequence[Hole]) -> list[BuyLine]:
    """Return a line for each rod, wire, block or sheet that pieces are made of and that the shelf has not.

    What only has to look right may be off by a share of its size, wire only as far as it slides through the holes that
    are drilled for it; the floor's own sheet is asked for by ``_sheets``.
    """
    share = practice_value("looks_percent")
    asked = {round(layer.value, 6) for layer in floor.layers}
    wanted: dict[tuple[str, str, float], tuple[Working, list[Piece]]] = {}
    for piece in pieces:
        size = piece.diameter_mm or piece.thickness_mm
        if not piece.made or piece.quantity.value < 1 or size is None:
            continue
        sizes = piece.layers_mm if piece.form == "plate" and piece.layers_mm else (size,)
        form = _STOCK_OF.get(piece.form, str(piece.form))
        for each in sizes:
            mark = round(each.value, 6)
            if form == "sheet" and (piece.name == "floor" or mark in asked or bought_bolster(piece)):
                continue
            wanted.setdefault((form, piece.material, mark), (each, []))[1].append(piece)
    lines: list[BuyLine] = []
    for (form, material, _), (size, users) in wanted.items():
        if any(line.name == f"{material} {form}" and _would_do(line, size) for line in lines):
            continue
        if form == "wire":
            low, high = wire_limits(size, [bore for piece in users for bore in wire_bores(piece, holes)])
        else:
            low = derive(f"least {form} that would do", "s*(1 - p/100)", s=size, p=share)
            high = derive(f"greatest {form} that would do", "s*(1 + p/100)", s=size, p=share)
        if any(low.value - 1e-6 <= have <= high.value + 1e-6 for have in _on_shelf(car, form, material)):
            continue
        name = f"{material} {form}"
        used = dict.fromkeys(_kind(piece) for piece in users)
        lines.append(
            BuyLine(
                name,
                size,
                low,
                high,
                _how_many(1, name),
                f"For {listed(used)}; the shelf lists none of it.",
                cut=form != "block",
            )
        )
    return lines


_STOCK_OF = {"plate": "sheet"}
"""What a form of piece is cut from, where that has another name."""

_WHEELSETS = 4
"""Of a car on two trucks."""


def _kind(piece: Piece) -> str:
    """Return what a piece is called without its number or end."""
    return re.sub(r"_(\d+|a|b)(?=_|$)", "", piece.name).replace("_", " ").replace("center", "centre")


def _would_do(line: BuyLine, size: Working) -> bool:
    return line.low is not None and line.high is not None and line.low.value <= size.value <= line.high.value


def _on_shelf(car: Car, form: str, material: str) -> list[float]:
    """Return the thicknesses or diameters of one kind of stock on the shelf, mm; wire may be of any metal."""
    shelf = car.shelf
    rods: list[tuple[Working | None, RodStock | Sheet | Strip]] = [
        (each.diameter, each) for each in shelf.rods if each.form == ("wire" if form == "wire" else "rod")
    ]
    plates: list[tuple[Working | None, RodStock | Sheet | Strip]] = [(each.thickness, each) for each in shelf.sheets]
    plates += [(each.thickness, each) for each in shelf.strips]
    return [
        size.value
        for size, stock in (rods if form in ("rod", "wire") else plates)
        if size is not None
        and (stock.count is None or stock.count > 0)
        and (form == "wire" or stock.material == material)
    ]


def shopping(
    car: Car,
    floor: Floor,
    specs: Ends[EndSpec],
    targets: Ends[Target | None],
    alternatives: Sequence[Alternative],
    pieces: Sequence[Piece],
    holes: Sequence[Hole],
) -> tuple[BuyLine, ...]:
    """Return what must be bought for the car as its file says it, and for its first cure where that is not on hand.

    Args:
        car: the car.
        floor: with its layers, on hand or not.
        specs: the stack at each end; what is missing in it is asked for.
        targets: where each coupler should stand; None where no target is known.
        alternatives: the cures, best first.
        pieces: everything that is made; stock for it that is not on the shelf is asked for.
        holes: that are drilled, through which wire has to slide.
    """
    lines: list[BuyLine] = []
    both = _marks(specs.a, targets.a) == _marks(specs.b, targets.b)
    for end in ENDS[:1] if both else ENDS:
        line = _stack_wanted(car, end, specs.at(end), targets.at(end), both=both)
        if line is not None:
            lines.append(line)
    lines += _sheets(car, floor)
    lines += _materials(car, pieces, floor, holes)
    if alternatives and not alternatives[0].as_it_is and not alternatives[0].on_hand:
        first = alternatives[0]
        wheels = first.name.endswith(" wheels") and ";" not in first.name
        name = f"{first.name.removesuffix(' wheels')} wheelsets" if wheels else first.name
        lines.append(
            BuyLine(
                name,
                size=None,
                low=None,
                high=None,
                quantity=_how_many(_WHEELSETS if wheels else 1, name),
                because=f"The first cure is not all on the shelf. {first.because[0].upper()}{first.because[1:]}",
            )
        )
    return tuple(lines)
