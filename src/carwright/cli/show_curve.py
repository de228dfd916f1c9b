"""The page of ``carwright curve``: verdicts, what bites at which radius, and the worst figures along the track."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from carwright.cli.page import heading, row, wrapped
from carwright.cli.show_plan import finding_lines
from carwright.lengths import number_in
from carwright.plan.curvedocument import worst_of
from carwright.plan.curvemodel import CurveAnswer, CurveLimit
from carwright.working import Working

__all__ = ["curve_lines"]

Units = Literal["in", "mm"]

_WORST: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("throw to the inside", ("throw_in",), "mm"),
    ("throw to the outside", ("throw_out",), "mm"),
    ("trucks turn", ("truck_a", "truck_b"), "deg"),
    ("couplers swing", ("coupler_front", "coupler_rear"), "deg"),
    ("gap, pulled", ("gap",), "mm"),
    ("gap, pushed", ("gap_pushed",), "mm"),
)
_VERDICT_WORDS = {"alone": "alone", "pulled": "pulled", "pushed": "pushed", "coupled": "coupled to others"}
_WORD = {"ok": "ok", "watch": "watch", "fail": "FAIL", "unknown": "unknown", "stale": "stale"}


def _radius(length: Working | None, units: Units) -> str:
    """Return a radius to a tenth of an inch or a millimetre; nobody lays track closer."""
    if length is None:
        return ""
    return f"{length.value / 25.4:.1f}" if units == "in" else f"{length.value:.0f}"


def _figure(value: Working | None, unit: str, units: Units) -> str:
    if value is None:
        return "?"
    return f"{value.value:.1f}°" if unit == "deg" else number_in(value.value, units)


def curve_lines(answer: CurveAnswer) -> Iterator[str]:
    """Yield the page, no line longer than 80 columns, in the car file's units.

    Args:
        answer: the study.
    """
    info = answer.plan.car.info
    units = info.units
    yield from wrapped(info.name or "A car")
    beside = f", with {answer.neighbour}" if answer.neighbour else ""
    shown = ""
    if answer.radius is not None:
        text = answer.radius.text
        shown = text if any(sign.isalpha() for sign in text) else f"{_radius(answer.radius, units)} {units}"
    yield from wrapped(f"On {answer.track}{f', sharpest {shown}' if shown else ''}{beside}")
    yield from heading("Verdicts", f"least radius, {units}")
    for each in answer.verdicts:
        yield from row(
            _VERDICT_WORDS[each.name], [_WORD[each.verdict], _radius(each.least_radius, units)], note=each.part
        )
    yield from _worst(answer, units)
    yield from _limits(answer, units)
    yield from finding_lines(answer.findings, units)


def _worst(answer: CurveAnswer, units: Units) -> Iterator[str]:
    yield from heading("Worst along the track, against the steady curve", units)
    yield from row("", ["worst", "at", "steady"])
    turning = answer.steady
    steady = (
        (turning.throw_in, turning.throw_out, turning.truck_angle, turning.coupler_angle, turning.body_gap, None)
        if turning is not None
        else (None,) * 6
    )
    for (words, figures, unit), still in zip(_WORST, steady, strict=True):
        value, place = worst_of(answer, figures)
        if value is None:
            continue
        cells = [_figure(value, unit, units), "" if place is None else _figure(place, "mm", units)]
        cells.append("" if still is None else _figure(still, unit, units))
        yield from row(words, cells)
    yield "  at: along the track from its start to the middle of the first car."


def _limits(answer: CurveAnswer, units: Units) -> Iterator[str]:
    order = {"always": 0, "below": 1, "unknown": 2}
    told = [limit for limit in answer.limits if limit.bites in order]
    told.sort(key=lambda each: (order[each.bites], -_bites_at(each)))
    if not told:
        return
    floor = answer.radius.value / 2 if answer.radius is not None else 0.0
    near = [limit for limit in told if limit.bites != "below" or _bites_at(limit) >= floor]
    yield from heading("What bites, the widest radius first", units)
    for limit in near:
        yield from row(_limit_words(limit), _limit_cells(limit, units), label_width=50)
    if len(near) < len(told):
        yield from wrapped(
            f"{len(told) - len(near)} more bite only on less than half the radius; --json lists them.", first="  "
        )


def _bites_at(limit: CurveLimit) -> float:
    return limit.radius.value if limit.radius is not None else 0.0


def _limit_words(limit: CurveLimit) -> str:
    """Return what bites as one says it, with the coupler's end."""
    swing = limit.what.startswith("coupler swing,")
    return limit.what.replace("coupler swing", f"{limit.part} swing") if swing else limit.what


def _limit_cells(limit: CurveLimit, units: Units) -> list[str]:
    angle = "" if limit.at is None else f"{limit.at.value:.1f}°"
    if limit.bites == "unknown":
        return ["?", ""]
    return ["always" if limit.bites == "always" else _radius(limit.radius, units), angle]
