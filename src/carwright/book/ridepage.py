"""The page on ride height: the cut through both ends, the stack, how sure it is, and the ways to stand."""

from __future__ import annotations

import math
from typing import Final, Literal

from carwright.car.model import ENDS, End
from carwright.draw.bell import bell
from carwright.draw.blocks import Block, Columns, Heading, Hold, Note, Picture, Prose, Table
from carwright.draw.labels import chance_said, needs_words, number, signed
from carwright.draw.ridediagram import ride_diagram, ride_scale
from carwright.draw.views import plan_shape
from carwright.findings import Verdict
from carwright.lengths import number_in, show_in
from carwright.plan.model import Plan
from carwright.ride.cures import chance_words
from carwright.ride.model import Alternative, EndRide
from carwright.working import Working, leaves

__all__ = ["ride_blocks", "ride_foot"]

_VARIANCE: Final = {"rect": 3.0, "normal": 4.0, "tri": 6.0}
"""Variance of a doubt of half-width t is t squared over this."""


def ride_blocks(plan: Plan, *, width_mm: float, hold: str) -> tuple[Block, ...]:
    """Return the page's blocks.

    Args:
        plan: the plan.
        width_mm: room on the page.
        hold: number of the step at which the gauge is put to the couplers, or "".
    """
    shape = plan_shape(plan)
    scale = ride_scale(plan, shape, width_mm=width_mm, height_mm=118.0)
    blocks: list[Block] = [Prose(_summary(plan)), Picture(ride_diagram(plan, shape, scale=scale))]
    left: list[Block] = [Heading("The stack"), _stack(plan)]
    right: list[Block] = [Heading("How sure"), *_sure(plan)]
    blocks.append(Columns(tuple(left), tuple(right), 0.54))
    if hold:
        blocks.append(
            Hold(
                f"Step {hold}: before any hole is drilled in the floor, set the floor on bolsters, washers and trucks, "
                "hold a coupler box under each end, and put the height gauge to both. Write what you read:",
                places=("A", "B"),
            )
        )
    bells = _bells(plan, (width_mm - 7.0) / 2)
    if bells:
        blocks.append(bells)
    blocks += _ways(plan)
    blocks += _better(plan)
    return tuple(blocks)


def ride_foot(plan: Plan) -> str:
    """Return where the height and its limit come from, for the page's foot."""
    target = plan.targets.a or plan.targets.b
    if target is None:
        return ""
    height, limit = (_known(each) for each in (target.height, target.limit))
    return f"height and limit: {height}" if height == limit else f"height: {height}; limit: {limit}"


def _known(value: Working) -> str:
    """Return in few words where a value is from, and how it is known."""
    if value.kind == "typed":
        return "the owner's own"
    source = value.source or next((leaf.source for leaf in leaves(value) if leaf.source), "")
    document = source.split(";")[0].split(", quoted")[0].split(" (")[0]
    known = source.rsplit("; ", 1)[-1]
    return document if known in document or known.startswith("confidence") else f"{document}, {known}"


def _summary(plan: Plan) -> str:
    units = plan.car.info.units
    told = []
    for end in ENDS:
        ride = plan.ride.ends.at(end)
        if ride.error is None or ride.coupler_height is None or ride.target is None:
            if ride.needs:
                told.append(f"Coupler {end.upper()} cannot be told yet: it needs {needs_words(ride.needs)}.")
            continue
        size = abs(ride.error.value)
        target = show_in(ride.target.value, units)
        off = show_in(size, units)
        side = "above" if ride.error.value > 0 else "below"
        where = f"{off} {side} {target}" if off != show_in(0.0, units) else "as it should"
        inside = ride.limit is not None and size <= ride.limit.value + 1e-9
        limit = "" if ride.limit is None else f", {'inside' if inside else 'outside'} ± {number(ride.limit, units)}"
        told.append(f"Coupler {end.upper()} stands at {show_in(ride.coupler_height.value, units)}, {where}{limit}.")
    told.append("Heights are measured from the top of the rail; each end is cut lengthwise.")
    return " ".join(told)


def _rows(plan: Plan, end: End) -> list[tuple[str, float, Working | None]]:
    """Return the stack of one end as it adds up: what, its signed size in mm, and the reading with its doubt."""
    ride, car = plan.ride.ends.at(end), plan.car
    truck, coupler, letter = car.trucks.at(end), car.coupler.at(end), end.upper()
    readings: dict[str, Working | None] = {"seat": truck.seat_height}
    rows: list[tuple[str, float, Working | None]] = []
    built = next((piece.layers_mm for piece in plan.pieces if piece.name == f"bolster_{end}"), ())
    washers, bolsters = list(truck.washers), list(car.underframe.bolster.at(end) or built)
    for layer in ride.stack:
        if layer.name == "coupler":
            continue
        size = layer.top.value - layer.bottom.value
        name = " ".join(layer.name.replace(f" {letter}", "").replace(letter, " ").split()).strip(",")
        reading: Working | None = None
        if name.startswith("washer") and washers:
            reading = washers.pop(0)
        elif "bolster" in name and bolsters:
            reading = bolsters.pop(0)
        elif "seat" in name or "truck" in name:
            reading = readings["seat"]
        rows.append((name[:1].upper() + name[1:], size, reading))
    under, face, height = ride.floor_underside, ride.mounting_face, ride.coupler_height
    if under is not None and face is not None:
        shim = -coupler.shim.value if coupler.shim is not None else 0.0
        recess = coupler.recess.value if coupler.recess is not None else 0.0
        lean = face.value - under.value - shim - recess
        if abs(lean) > 5e-4:
            rows.append(("Floor's lean, truck to coupler", lean, None))
        if coupler.shim is not None:
            rows.append(("Shim under the floor", shim, coupler.shim))
        if coupler.recess is not None:
            rows.append(("Recess in the floor", recess, coupler.recess))
    if height is not None and face is not None:
        for name, part, sign in (
            ("Coupler's drop", coupler.drop, -1.0),
            ("Shank offset", coupler.shank_offset, 1.0),
            ("Droop", coupler.droop, -1.0),
        ):
            if part is not None:
                rows.append((name, sign * part.value, part))
    elif height is not None and coupler.height is not None:
        rows.append(("Coupler on its truck", coupler.height.value, coupler.height))
    return rows


def _stack(plan: Plan) -> Table:
    units = plan.car.info.units
    ends = {end: _rows(plan, end) for end in ENDS}
    names = list(dict.fromkeys([name for rows in ends.values() for name, _, _ in rows]))
    table: list[tuple[str, ...]] = []
    for name in names:
        cells: list[str] = []
        doubt: list[float] = []
        for end in ENDS:
            mine = [row for row in ends[end] if row[0] == name]
            cells.append("" if not mine else number_in(sum(row[1] for row in mine), units).replace("-", "\u2212"))
            doubt += [row[2].tolerance_value for row in mine if row[2] is not None]
        table.append((name, *cells, number_in(max(doubt), units) if doubt and max(doubt) > 0 else ""))
    a, b = plan.ride.ends.a, plan.ride.ends.b
    top = "Pocket top" if a.measured_at == "pocket top" else "Coupler height"
    bold = len(table)
    table.append((top, number(a.coupler_height, units), number(b.coupler_height, units), _wide(a, b, units)))
    table.append(("Should be", number(a.target, units), number(b.target, units), _limit(a, b, units)))
    table.append(("Error", _signed(a.error, units), _signed(b.error, units), ""))
    if a.found is not None or b.found is not None:
        table.append(("Gauged on the car", number(a.found, units), number(b.found, units), ""))
    heads = ("Layer", "End A", "End B", "±")
    return Table(heads, tuple(table), (0.0, 16.0, 16.0, 14.0), (False, True, True, True), bold_rows=(bold,))


def _wide(a: EndRide, b: EndRide, units: Literal["in", "mm"]) -> str:
    found = [each.rss.value for each in (a, b) if each.rss is not None]
    return number_in(max(found), units) if found else ""


def _limit(a: EndRide, b: EndRide, units: Literal["in", "mm"]) -> str:
    return number(a.limit or b.limit, units)


def _signed(working: Working | None, units: Literal["in", "mm"]) -> str:
    return "?" if working is None else signed(working.value, units)


def _sure(plan: Plan) -> list[Block]:
    """Return the least and most error of each end, three ways, with a verdict for each."""
    units = plan.car.info.units
    rows: list[tuple[str, ...]] = []
    marks: list[Verdict] = []
    for end in ENDS:
        ride = plan.ride.ends.at(end)
        if ride.error is None or ride.worst_case is None or ride.rss is None:
            continue
        for words, half in (("worst case", ride.worst_case.value), ("root sum square", ride.rss.value)):
            low, high = ride.error.value - half, ride.error.value + half
            inside = ride.limit is not None and max(-low, high) <= ride.limit.value + 1e-9
            marks.append("ok" if inside else "watch")
            told = "inside" if inside else "outside"
            rows.append((f"{end.upper()}, {words}", signed(low, units), signed(high, units), told))
    if not rows:
        return [Note("Nothing can be said before both heights can be told.")]
    table = Table(
        ("Error reckoned as", "Least", "Most", "Limit"),
        tuple(rows),
        (0.0, 15.0, 15.0, 19.0),
        (False, True, True, False),
        marks=tuple(marks),
    )
    blocks: list[Block] = [table]
    told_chances = [
        f"{end.upper()} {chance_words(chance.value)}"
        for end in ENDS
        if (chance := plan.ride.ends.at(end).pass_probability) is not None
    ]
    both = plan.ride.pass_probability
    if told_chances:
        together = "" if both is None else f"; both at once {chance_words(both.value)}"
        blocks.append(Note(f"Chance of passing, 16384 sampled cars: {', '.join(told_chances)}{together}."))
    return blocks


def _better(plan: Plan) -> list[Block]:
    """Return every doubt with its ± and its share at each end, the greatest first."""
    units = plan.car.info.units
    shares = {end: {s.name: s.share.value for s in plan.ride.ends.at(end).shares} for end in ENDS}
    named: dict[str, Working] = {}
    for each in plan.ride.contributors:
        named.setdefault(each.name, each.tolerance)
    told = [(max(shares["a"].get(name, 0.0), shares["b"].get(name, 0.0)), name, size) for name, size in named.items()]
    rows = tuple(
        (
            name[:1].upper() + name[1:],
            number_in(size.value, units, tolerance_mm=size.value) if size.unit == "mm" else f"{size.value:g}",
            _percent(shares["a"].get(name)),
            _percent(shares["b"].get(name)),
        )
        for _, name, size in sorted(told, key=lambda each: (-each[0], each[1]))
    )
    if not rows:
        return []
    heads = ("What to measure better", "±", "Share at A", "Share at B")
    return [
        Heading("Where the doubt comes from"),
        Table(heads, rows, (0.0, 24.0, 24.0, 24.0), (False, True, True, True)),
    ]


def _percent(share: float | None) -> str:
    if share is None:
        return ""
    return f"{100 * share:.0f} %" if share >= 0.005 else "< 1 %"


def _sigma(plan: Plan, end: End) -> float:
    """Return the standard deviation of one coupler's height, mm, for the curve."""
    total = 0.0
    for each in plan.ride.contributors:
        sensitivity = each.at_a if end == "a" else each.at_b
        if sensitivity is not None:
            size = sensitivity.value * each.tolerance.value
            total += size**2 / _VARIANCE[each.reading.distribution]
    return math.sqrt(total)


def _bells(plan: Plan, width_mm: float) -> Block | None:
    units = plan.car.info.units
    best = _best(plan)
    drawn: list[Block] = []
    for end in ENDS:
        ride = plan.ride.ends.at(end)
        if ride.error is None or ride.limit is None or ride.rss is None or ride.worst_case is None:
            return None
        title = f"End {end.upper()} against the gauge"
        drawing = bell(
            title=title,
            error_mm=ride.error.value,
            limit_mm=ride.limit.value,
            sigma_mm=_sigma(plan, end),
            worst_mm=ride.worst_case.value,
            rss_mm=ride.rss.value,
            units=units,
            width_mm=width_mm,
            cured_mm=None if best is None else best.error.at(end).value,
        )
        drawn += [Heading(title), Picture(drawing)]
    return Columns(tuple(drawn[:2]), tuple(drawn[2:]))


def _best(plan: Plan) -> Alternative | None:
    """Return the first way to stand, where it is another than as it is."""
    return next((each for each in plan.alternatives[:1] if not each.as_it_is), None)


def _ways(plan: Plan) -> list[Block]:
    if not plan.alternatives:
        return []
    units = plan.car.info.units
    rows = tuple(
        (
            f"{each.rank.value:.0f}",
            each.listed,
            signed(each.error.a.value, units),
            signed(each.error.b.value, units),
            chance_said(each.pass_probability),
            "" if each.as_it_is else "on hand" if each.on_hand else "to buy",
        )
        for each in plan.ways
    )
    bold = tuple(place for place, each in enumerate(plan.ways) if each.as_it_is)
    table = Table(
        ("", "Way to stand, best first", "A", "B", "Both pass", ""),
        rows,
        (7.0, 0.0, 16.0, 16.0, 18.0, 16.0),
        (True, False, True, True, True, False),
        bold_rows=bold,
    )
    words = "A and B are errors, high positive. carwright plan CAR --take N writes way N into the file. Bold: as it is."
    return [Heading("Ways to stand"), table, Note(words)]
