"""The pages on curves: what touches first and at which radius, the room along the path, the couplers at their worst."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from carwright.book.studied import Studied
from carwright.draw.blocks import Block, Columns, Heading, Note, Picture, Prose, Table
from carwright.draw.curvecharts import angle_chart, room_chart, tangent_chart
from carwright.draw.curveviews import pair_view, touch_views
from carwright.draw.labels import needs_words, short_name
from carwright.draw.model import Drawing
from carwright.findings import Verdict
from carwright.lengths import number_in
from carwright.plan.curvedocument import worst_of
from carwright.plan.curvemodel import CurveAnswer, CurveLimit
from carwright.working import Working

__all__ = ["curve_blocks"]

Units = Literal["in", "mm"]

_MOST_ROWS: Final = 12
"""Limits in the table: what bites on less is free on any curve that is laid."""

_ALIKE_MM: Final = 1.0
"""Radii as near as this are told as one: nobody lays track closer."""

_WORDS: Final = {"alone": "Alone", "pulled": "Pulled, with its like", "pushed": "Pushed, with its like"}

_FIGURES: Final[tuple[tuple[str, tuple[str, ...], str, str], ...]] = (
    ("Throw in", ("throw_in",), "throw_in", "mm"),
    ("Throw out", ("throw_out",), "throw_out", "mm"),
    ("Truck turns", ("truck_a", "truck_b"), "truck_angle", "deg"),
    ("Coupler swings", ("coupler_front", "coupler_rear"), "coupler_angle", "deg"),
    ("Gap, pulled", ("gap",), "body_gap", "mm"),
    ("Gap, pushed", ("gap_pushed",), "", "mm"),
)


def curve_blocks(studied: Studied, *, width_mm: float) -> tuple[Block, ...]:
    """Return the blocks of the pages on curves; what is missing is named where nothing can be said.

    Args:
        studied: the plan and its study; its car's sharpest radius is the curve.
        width_mm: room on the page.
    """
    answer = studied.curve
    if studied.plan.car.info.radius is None:
        return (Note("The car file names no curve. Write car.radius, the sharpest that the car must go round."),)
    if answer is None:
        return (Prose("The car cannot be placed on its curve."), *(Note(str(each)) for each in studied.troubles))
    half = (width_mm - 8.0) / 2.0
    blocks: list[Block] = [Prose(_summary(answer))]
    left: list[Block] = [Heading("Verdicts"), _verdicts(answer), Heading("Along the track"), _worst(answer)]
    right: list[Block] = []
    room = room_chart(answer, wide_mm=half - 14.0, high_mm=56.0)
    if room is not None:
        right = [Heading(room.title), Picture(room)]
    blocks.append(Columns(tuple(left), tuple(right), 0.5) if right else left[0])
    if not right:
        blocks += left[1:]
    blocks += _touching(answer, half)
    blocks += _couplers(answer, width_mm)
    return tuple(blocks)


def _told(radius: Working, units: Units) -> str:
    """Return a radius to a tenth of an inch or a millimetre: nobody lays track closer."""
    return f"{radius.value / 25.4:.1f}" if units == "in" else f"{radius.value:.0f}"


def _typed(radius: Working, units: Units) -> str:
    """Return the curve's radius as its owner wrote it."""
    text = radius.text.strip()
    return text if any(sign.isalpha() for sign in text) else f"{_told(radius, units)} {units}"


def _summary(answer: CurveAnswer) -> str:
    """Return which curve it is, and what bites first as the radius shrinks."""
    units = answer.plan.car.info.units
    told = []
    if answer.radius is not None:
        told.append(
            f"The curve is {_typed(answer.radius, units)} to the middle of the track, between two straights, with no "
            "easement."
        )
    first = [each for each in _joined(answer) if each.radius is not None]
    trucks = next((each for each in first if each.what.startswith("Truck")), None)
    couplers = next((each for each in first if each.what.startswith("Coupler") and "begins" in each.what), None)
    if trucks is not None and trucks.radius is not None:
        part = trucks.what.removeprefix("Truck on ").replace(", end", " at end")
        told.append(f"As it shrinks a truck first touches the {part}, at {_told(trucks.radius, units)} {units}.")
    if couplers is not None and couplers.radius is not None:
        told.append(
            f"A coupler reaches the end of its pocket below {_told(couplers.radius, units)} {units} where a curve "
            "begins without an easement."
        )
    needs = tuple(dict.fromkeys(key for limit in answer.limits for key in limit.needs))
    if needs:
        told.append(f"Not all is known yet: it needs {needs_words(needs)}.")
    return " ".join(told)


def _verdicts(answer: CurveAnswer) -> Table:
    units = answer.plan.car.info.units
    rows, marks = [], []
    for each in answer.verdicts:
        if each.name in _WORDS:
            least = "" if each.least_radius is None else _told(each.least_radius, units)
            rows.append((_WORDS[each.name], least, each.part))
            marks.append(each.verdict)
    return Table(
        ("", f"Least, {units}", "What decides"),
        tuple(rows),
        (0.0, 15.0, 43.0),
        (False, True, False),
        marks=tuple(marks),
    )


def _worst(answer: CurveAnswer) -> Table:
    units = answer.plan.car.info.units

    def cell(value: Working | None, unit: str) -> str:
        if value is None:
            return ""
        said = f"{value.value:.1f}°" if unit == "deg" else number_in(value.value, units)
        return said.replace("-", "\u2212")

    rows = []
    for words, figures, still, unit in _FIGURES:
        value, place = worst_of(answer, figures)
        steady: Working | None = getattr(answer.steady, still, None) if still else None
        if value is not None:
            rows.append((words, cell(value, unit), "" if place is None else _told(place, units), cell(steady, unit)))
    heads = (f"Worst, {units}", "Here", "At", "Steady")
    return Table(heads, tuple(rows), (0.0, 17.0, 19.0, 17.0), (False, True, True, True))


# --------------------------------------------------------------------------------------------------- what touches first


@dataclass(frozen=True, slots=True)
class _Row:
    """One line of the table: what, at which angle, on which radius."""

    what: str
    angle: Working | None
    radius: Working | None
    always: bool = False


def _joined(answer: CurveAnswer) -> list[_Row]:
    """Return what bites, the widest radius first; what bites alike at both ends stands once, with the wider radius."""
    rocked = {f"truck {each.end.upper()} against {each.part}" for each in answer.touching if each.only_rocked}
    best: dict[str, _Row] = {}
    for limit in answer.limits:
        if limit.bites not in ("below", "always"):
            continue
        name, end = _named(limit)
        if limit.what in rocked:
            name, end = f"{name}, only as it rocks", ""
        row = _Row(f"{name}, {end}" if end else name, limit.at, limit.radius, limit.bites == "always")
        known = best.get(name)
        if known is None or _size(row) > _size(known) + _ALIKE_MM:
            best[name] = row
        elif _alike(known, row):
            best[name] = _Row(name, known.angle, known.radius, known.always)
    return sorted(_once(best), key=lambda row: -_size(row))


def _once(best: dict[str, _Row]) -> Iterator[_Row]:
    """Yield the rows; what bites alike wherever it is on the track stands once."""
    for what in ("Coupler swing", "Bodies, pulled", "Bodies, pushed"):
        mine = [name for name in best if name.startswith(f"{what}, ")]
        if len(mine) == 3 and all(_alike(best[mine[0]], best[name]) for name in mine):
            row = best[mine[0]]
            yield _Row(f"{what}, wherever", row.angle, row.radius, row.always)
            for name in mine:
                del best[name]
    yield from best.values()


def _size(row: _Row) -> float:
    return float("inf") if row.always else row.radius.value if row.radius is not None else 0.0


def _alike(one: _Row, other: _Row) -> bool:
    """Return whether two rows are alike as they are told."""
    return one.always == other.always and (one.always or abs(_size(one) - _size(other)) <= _ALIKE_MM)


def _named(limit: CurveLimit) -> tuple[str, str]:
    """Return what bites, and at which end where it has one."""
    words = limit.what
    if words.startswith("truck "):
        end = words[6].upper()
        part = short_name(limit.part).replace("center", "centre")
        for side in (" A", " B", " left", " right"):
            part = part.removesuffix(side)
        return f"Truck on {part}", f"end {end}"
    if words.startswith("coupler swing"):
        return words[:1].upper() + words[1:], limit.part
    return words[:1].upper() + words[1:], ""


def _touching(answer: CurveAnswer, half_mm: float) -> list[Block]:
    """Return the table of limits and the trucks as they touch first."""
    units = answer.plan.car.info.units
    rows = _joined(answer)
    shown = rows[:_MOST_ROWS]
    blocks: list[Block] = []
    if shown:
        lines = tuple(
            (
                row.what,
                "" if row.angle is None else f"{row.angle.value:.1f}°",
                "always" if row.always else _told(row.radius, units) if row.radius is not None else "",
            )
            for row in shown
        )
        marks: tuple[Verdict, ...] = tuple(_mark(answer, row) for row in shown)
        blocks += [
            Heading("At which radius what touches first"),
            Table(
                ("What, the widest radius first", "At", f"Below, {units}"),
                lines,
                (0.0, 20.0, 26.0),
                (False, True, True),
                marks=marks,
            ),
        ]
        free = _free(answer)
        more = ["Marked for this car's own curve; half filled: only in a reverse, which this curve is not."]
        more += [f"{len(rows) - len(shown)} more bite only on smaller radii still." if len(rows) > len(shown) else ""]
        more.append(f"Free on any curve: {', '.join(free)}." if free else "")
        words = " ".join(each for each in more if each)
        if words:
            blocks.append(Note(words))
    touches = touch_views(answer, wide_mm=half_mm, high_mm=58.0)[:2]
    if touches:
        blocks.append(_side_by_side(touches))
    return blocks


def _free(answer: CurveAnswer) -> list[str]:
    """Return what no truck touches on any curve, parts of one kind once."""
    touched = {_kind(each) for each in answer.limits if each.bites != "never"}
    free = {_kind(each) for each in answer.limits if each.bites == "never" and each.what.startswith("truck ")}
    return sorted(free - touched)


def _kind(limit: CurveLimit) -> str:
    """Return a part's name without its number, its side and what belongs to it."""
    return re.sub(r" (\d+( \w+)?|bottom|top|side|flange|web)$", "", _named(limit)[0].removeprefix("Truck on "))


def _mark(answer: CurveAnswer, row: _Row) -> Verdict:
    """Return whether a limit bites on the car's own curve: that of a reverse is worth a look, for the curve is none."""
    if answer.radius is None or _size(row) <= answer.radius.value:
        return "ok"
    return "watch" if "reverse" in row.what or row.always else "fail"


def _side_by_side(drawings: tuple[Drawing, ...]) -> Block:
    columns = [(Heading(each.title), Picture(each)) for each in drawings]
    return Columns(columns[0], columns[1] if len(columns) > 1 else (), 0.5)


# ----------------------------------------------------------------------------------------------------------- couplers


def _couplers(answer: CurveAnswer, width_mm: float) -> list[Block]:
    """Return both cars at their worst, the angle along a bare reverse curve, and what a straight between does."""
    blocks: list[Block] = []
    wide = width_mm - 24.0
    for drawing in (
        pair_view(answer, wide_mm=width_mm - 4.0, high_mm=62.0),
        angle_chart(answer, reverse=True, wide_mm=wide, high_mm=35.0),
        tangent_chart(answer, wide_mm=wide, high_mm=35.0),
    ):
        if drawing is not None:
            blocks += [Heading(drawing.title), Picture(drawing)]
    if blocks:
        blocks.append(
            Note(
                "The pocket's stops are the car file's coupler.side_play or coupler.swing. Push the real car by hand "
                "through the sharpest place before a train is trusted to it: a coupler that binds drags cars off the "
                "track, and what falls off a table breaks."
            )
        )
    return blocks
