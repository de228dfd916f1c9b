"""What stands around a car's drawing: findings, heights, pieces and ways to stand, each with what it was before."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from carwright.car.keys import key_named
from carwright.car.model import ENDS
from carwright.draw.labels import chance_said, short_name
from carwright.draw.piecelist import piece_rows
from carwright.findings import VERDICT_ORDER, Finding, Verdict, listed
from carwright.pieces import Hole
from carwright.plan import Plan
from carwright.plan.checks import called
from carwright.ride.model import Alternative
from carwright.web.figures import NO_MARGIN, NOTHING_LEFT, Units, margin_text, unit_word, value_text
from carwright.web.sources import source_said
from carwright.working import Working

__all__ = [
    "FindingView",
    "Height",
    "Need",
    "PieceView",
    "StudyPart",
    "WayView",
    "findings_of",
    "heights_of",
    "pieces_of",
    "studied_of",
    "ways_of",
    "with_studies",
]

_TITLES: Final[Mapping[str, str]] = {"interference": "Parts in each other's way", "buy": "To buy"}
_STUDY_TITLES: Final[Mapping[str, str]] = {
    "curve_alone": "Curve, alone",
    "curve_pulled": "Curve, pulled",
    "curve_pushed": "Curve, pushed",
    "curve_coupled": "Curve, coupled to others",
    "curve_mount": "Couplers on the curve",
    "weight": "Weight with its ballast",
    "hold_before_closing": "Before the ballast is closed in",
    "lead_glue": "Lead and glue",
    "lead_handling": "Handling lead",
}
_SCALE_REACH: Final = 2.2
"""Half the width of a way's little scale, in limits."""


@dataclass(frozen=True, slots=True)
class Need:
    """A measurement that a finding waits for: the slot to type it in, letter and name."""

    path: str
    letter: str
    name: str


@dataclass(frozen=True, slots=True)
class FindingView:
    """A finding as it stands at the side; ``was_`` is "" where nothing moved.

    ``margin_word`` says which side of its limit the margin is, ``source`` is a sentence; ``doubted`` that the doubt of
    one reading alone would turn the verdict, ``study`` the name of the study that found it, "" for the plan.
    """

    check: str
    verdict: Verdict
    title: str
    margin: str
    unit: str
    margin_word: str
    because: str
    mend: str
    source: str
    why: str
    needs: tuple[Need, ...]
    was_margin: str = ""
    was_verdict: str = ""
    fresh: bool = False
    doubted: bool = False
    study: str = ""

    @property
    def nothing_left(self) -> bool:
        """Return whether the margin is none that could be written."""
        return not re.search("[1-9]", self.margin) or self.margin.startswith("<")


@dataclass(frozen=True, slots=True)
class StudyPart:
    """One study of a plan.

    Args:
        name: under which the page links to it.
        title: what it is called.
        drawings: as SVG for a page.
        found: its findings, the worst first.
        wants: what is missing where it cannot be made, else "".
    """

    name: str
    title: str
    drawings: tuple[str, ...]
    found: tuple[FindingView, ...]
    wants: str = ""


@dataclass(frozen=True, slots=True)
class Height:
    """One line of the heights above the rail, for both ends, each with what it was, and the path of its working."""

    name: str
    a: str
    b: str
    was_a: str
    was_b: str
    why_a: str
    why_b: str


@dataclass(frozen=True, slots=True)
class PieceView:
    """Like pieces in one row: sizes, material, holes, and the path of a working."""

    parts: tuple[str, ...]
    name: str
    many: int
    size: str
    was: str
    material: str
    cut: str
    holes: tuple[str, ...]
    why: str
    moved: bool


@dataclass(frozen=True, slots=True)
class WayView:
    """A way to stand: its number, name, what it comes to, and where its couplers stand on the scale, -100 to 100.

    ``drawn`` says that its changes are what stands in the fields.
    """

    number: int
    name: str
    because: str
    as_it_is: bool
    on_hand: bool
    a: float
    b: float
    errors: tuple[str, str]
    chance: str
    to_buy: str
    drawn: bool = False


def findings_of(plan: Plan, before: Plan) -> tuple[FindingView, ...]:
    """Return the findings of a plan, the worst first, with what moved since ``before``."""
    units = plan.car.info.units
    old = {each.check: each for each in before.findings}
    same = plan is before
    return tuple(_finding(each, old.get(each.check), units, same=same) for each in plan.findings)


def studied_of(findings: Sequence[Finding], units: Units) -> tuple[FindingView, ...]:
    """Return the findings of a study, in the order given; their workings are not among the numbers of the plan."""
    return tuple(
        replace(each, check=f"study_{each.check}", title=_STUDY_TITLES.get(finding.check, each.title), why="", needs=())
        for finding in findings
        for each in (_finding(finding, None, units, same=True),)
    )


def with_studies(plain: Sequence[FindingView], parts: Sequence[StudyPart]) -> tuple[FindingView, ...]:
    """Return the findings of a plan with what its studies found to fail or to watch, the worst first.

    What a study found stands before the plan's own of the same verdict: it is the closer look.
    """
    closer = [
        replace(each, study=part.name) for part in parts for each in part.found if each.verdict in ("fail", "watch")
    ]
    return tuple(sorted((*closer, *plain), key=lambda each: VERDICT_ORDER.index(each.verdict)))


def _finding(finding: Finding, old: Finding | None, units: Units, *, same: bool) -> FindingView:
    margin = margin_text(finding.margin, units)
    was = margin_text(old.margin, units) if old is not None else ""
    path = next((name for name in ("margin", "value", "limit") if getattr(finding, name) is not None), "")
    needs = []
    for place in dict.fromkeys(finding.needs):
        key = key_named(place)
        slot = f"{place}[0]" if key is not None and key.places and not place.endswith("]") else place
        needs.append(Need(slot, key.letter if key is not None else "", key.called if key is not None else place))
    because = finding.because
    return FindingView(
        finding.check,
        finding.verdict,
        _TITLES.get(finding.check, short_name(finding.check)),
        margin,
        unit_word(finding.unit, units) if margin and margin != NO_MARGIN else "",
        _margin_word(finding.margin),
        because,
        finding.mend,
        source_said(finding.source),
        f"findings.{finding.check}.{path}" if path else "",
        tuple(needs),
        was if not same and old is not None and was != margin else "",
        old.verdict if not same and old is not None and old.verdict != finding.verdict else "",
        not same and old is None,
        bool(finding.hangs_on),
    )


def _margin_word(margin: Working | None) -> str:
    if margin is None:
        return ""
    return "outside" if margin.value < 0 and abs(margin.value) > NOTHING_LEFT else "to spare"


def heights_of(plan: Plan, before: Plan) -> tuple[Height, ...]:
    """Return what the ride comes to at both ends."""
    units = plan.car.info.units
    lines = (
        ("Floor underside, at the truck", "floor_underside", "floor_underside_mm", False),
        ("Mounting face", "mounting_face", "mounting_face_mm", False),
        ("Coupler height", "coupler_height", "coupler_height_mm", False),
        ("Where it should stand", "target", "target_mm", False),
        ("Accepted ±", "limit", "limit_mm", False),
        ("Error, high is +", "error", "error_mm", True),
        ("Doubt ±, worst case", "worst_case", "worst_case_mm", False),
        ("Doubt ±, root sum square", "rss", "rss_mm", False),
        ("Chance of passing", "pass_probability", "pass_probability", False),
        ("Gauged on the car", "found", "found_mm", False),
    )
    found = []
    for name, field, path, signed in lines:
        now = [getattr(plan.ride.ends.at(end), field) for end in ENDS]
        if field == "found" and not any(now):
            continue
        was = [getattr(before.ride.ends.at(end), field) for end in ENDS]
        texts = [_height(each, field, units, signed=signed) for each in now]
        olds = [_height(each, field, units, signed=signed) for each in was]
        told = [old if old != text else "" for old, text in zip(olds, texts, strict=True)]
        ways = [f"ride.{end}.{path}" if each is not None else "" for end, each in zip(ENDS, now, strict=True)]
        found.append(Height(name, texts[0], texts[1], told[0], told[1], ways[0], ways[1]))
    return tuple(found)


def _height(working: Working | None, field: str, units: Units, *, signed: bool) -> str:
    if field == "pass_probability" and working is not None:
        return chance_said(working)
    return value_text(working, units, signed=signed)


def pieces_of(plan: Plan, before: Plan) -> tuple[PieceView, ...]:
    """Return what is made, like pieces together, with holes, and then what is bought and only drawn."""
    old = {part: row for row in piece_rows(before) for part in row.pieces}
    holes: dict[str, list[Hole]] = {}
    for hole in plan.holes:
        holes.setdefault(hole.piece, []).append(hole)
    found = []
    for row in piece_rows(plan):
        size = _size(row.along, row.across, row.thick)
        was = old.get(row.pieces[0])
        was_size = _size(was.along, was.across, was.thick) if was is not None else ""
        found.append(
            PieceView(
                row.pieces,
                row.name,
                row.many,
                size,
                was_size if was_size != size else "",
                f"{row.material}, {row.stock}" if row.stock else row.material,
                row.cut,
                tuple(_holes(holes, row.pieces, plan.car.info.units)),
                f"pieces.{row.pieces[0]}.length_mm",
                was is not None and was_size != size,
            )
        )
    return tuple(found)


def _size(*sizes: str) -> str:
    return " × ".join(each for each in sizes if each)


def _holes(holes: Mapping[str, list[Hole]], parts: tuple[str, ...], units: Units) -> Iterator[str]:
    told = set()
    for part in parts:
        for hole in holes.get(part, ()):
            place = "place not known"
            if hole.x_mm is not None:
                along, across = (value_text(each, units, signed=True) for each in (hole.x_mm, hole.y_mm))
                place = f"{along} along, {across} across"
            if hole.needs:
                place = f"do not drill yet: it needs {', '.join(called(each) for each in hole.needs)}"
            line = f"{hole.drill}, {hole.purpose}: {place}"
            if line not in told:
                told.add(line)
                yield line


def ways_of(plan: Plan, drawn: int = 0) -> tuple[WayView, ...]:
    """Return the ways to stand that are worth reading, best first; ``drawn`` is the number of that in the fields."""
    return tuple(_way(each, plan, number, drawn=number == drawn) for number, each in enumerate(plan.ways, 1))


def _way(way: Alternative, plan: Plan, number: int, *, drawn: bool) -> WayView:
    units = plan.car.info.units
    limits = [plan.ride.ends.at(end).limit for end in ENDS]
    places = []
    for end, limit in zip(ENDS, limits, strict=True):
        reach = _SCALE_REACH * limit.value if limit is not None and limit.value else 1.0
        places.append(round(max(-100.0, min(100.0, 100.0 * way.error.at(end).value / reach)), 1))
    errors = tuple(value_text(way.error.at(end), units, signed=True) for end in ENDS)
    return WayView(
        number,
        way.name,
        way.because.partition(": ")[2] or way.because,
        way.as_it_is,
        way.on_hand,
        places[0],
        places[1],
        (errors[0], errors[1]),
        chance_said(way.pass_probability),
        listed(f"{many} × {name}" for name, many in way.to_buy),
        drawn,
    )
