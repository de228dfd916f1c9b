"""From a track's segments to the legs of its path, and the track that a bare radius stands for."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from carwright.problems import InputError, Problem
from carwright.track.path import Arc, Easement, Leg, turnout_legs
from carwright.track.trackfile import LONGEST_PATH_MM, Segment
from carwright.working import Working, chosen

__all__ = ["curve_between_straights", "legs_of", "reverse_between_straights", "sharpest"]

_HALF_CIRCLE_DEG: Final = 180.0


def legs_of(
    segments: Sequence[Segment],
    *,
    gauge_mm: float | None,
    values: Mapping[str, float] | None = None,
    file: str = "",
) -> tuple[Leg, ...]:
    """Return the legs of a path.

    Args:
        segments: in order.
        gauge_mm: of the track, mm; needed where there is a turnout.
        values: other sizes for some leaves, by key.
        file: name of the track file, for problems.

    Raises:
        InputError: a turnout without a gauge or with a radius that does not fit its frog, an easement that turns by
            more than half a circle, or a path that is far too long; each names its segment.
    """
    moved = values or {}

    def of(leaf: Working | None, otherwise: float = 0.0) -> float:
        return otherwise if leaf is None else moved.get(leaf.key, leaf.value)

    legs: list[Leg] = []
    problems: list[Problem] = []

    def refuse(segment: Segment, problem: str, leaf: Working | None, accepted: str, mend: str) -> None:
        problems.append(
            Problem(
                f"segment {segment.number}: {problem}",
                leaf.text if leaf is not None else "",
                accepted,
                mend,
                key=leaf.key if leaf is not None else f"track.segment[{segment.number}]",
                file=file,
                line=(leaf.line if leaf is not None else segment.line) or None,
            )
        )

    total = 0.0
    for segment in segments:
        made = _legs(segment, of, gauge_mm, refuse)
        legs.extend(made)
        total += sum(each.length_mm for each in made)
        if total > LONGEST_PATH_MM and not problems:
            refuse(segment, "the track is too long by here", segment.length, "200 m in all", "Check the units.")
    if problems:
        raise InputError(problems)
    return tuple(legs)


def _legs(
    segment: Segment,
    of: Callable[..., float],
    gauge_mm: float | None,
    refuse: Callable[[Segment, str, Working | None, str, str], None],
) -> tuple[Leg, ...]:
    if segment.kind == "straight":
        return (Arc(of(segment.length)),)
    if segment.kind == "curve":
        radius = of(segment.radius)
        turn = of(segment.length) if segment.angle is None else math.radians(of(segment.angle)) * radius
        return (Arc(turn, (1.0 if segment.left else -1.0) / radius),)
    if segment.kind == "easement":
        radius, length = of(segment.radius), of(segment.length)
        most = math.pi if segment.form == "clothoid" else 1.0
        if length / (2.0 * radius) > most:
            refuse(
                segment,
                f"the easement is too long for its radius{'' if segment.form == 'clothoid' else ', as a cubic'}",
                segment.length,
                f"at most {'6.28' if segment.form == 'clothoid' else '2'} times the radius",
                "Take a shorter easement.",
            )
            return ()
        return (Easement(radius, length, segment.left, segment.out, segment.form),)
    return _turnout(segment, of, gauge_mm, refuse)


def _turnout(
    segment: Segment,
    of: Callable[..., float],
    gauge_mm: float | None,
    refuse: Callable[[Segment, str, Working | None, str, str], None],
) -> tuple[Leg, ...]:
    if gauge_mm is None:
        refuse(segment, "the gauge of this scale is not known, so that a turnout has no geometry", None, "", "")
        return ()
    frog = of(segment.frog)
    most = 2.0 * gauge_mm * frog * frog
    radius = None if segment.radius is None else of(segment.radius)
    if radius is not None and radius > most * (1.0 + 1e-9):
        refuse(
            segment,
            "an arc of that radius does not reach the frog",
            segment.radius,
            f"at most {most:.1f} mm, which is 2 G N²",
            "Leave the radius out for one arc from the points to the frog.",
        )
        return ()
    return turnout_legs(
        frog=frog,
        gauge_mm=gauge_mm,
        left=segment.left,
        out=segment.out,
        radius_mm=radius,
        points_mm=of(segment.points),
    )


def curve_between_straights(radius: Working, *, train_mm: float) -> tuple[Segment, ...]:
    """Return the track that a bare radius stands for: a straight, a curve to the left, a straight.

    Each is long enough for the whole train, so that it begins on the straight, stands wholly on the curve, and leaves
    it again; the curve is at most half a circle.

    Args:
        radius: of the curve, mm.
        train_mm: length of the train, mm.
    """
    room = 1.25 * train_mm
    degrees = min(math.degrees(room / radius.value), _HALF_CIRCLE_DEG)
    note = "long enough for the whole train"
    straight = chosen(room, "straight before and behind the curve", note=note)
    turn = chosen(degrees, "angle of the curve", "deg", note=f"{note}, at most half a circle")
    return (
        Segment(1, 0, "straight", length=straight),
        Segment(2, 0, "curve", radius=radius, angle=turn),
        Segment(3, 0, "straight", length=straight),
    )


def reverse_between_straights(radius: Working, *, train_mm: float) -> tuple[Segment, ...]:
    """Return a bare reverse curve: a straight, a curve to the left, one to the right, a straight.

    Each is a little longer than one of two coupled cars, so that the peak where the curves meet is none of the ends'.

    Args:
        radius: of both curves, mm.
        train_mm: length of the train, mm.
    """
    room = 0.7 * train_mm
    degrees = min(math.degrees(room / radius.value), _HALF_CIRCLE_DEG)
    note = "longer than one of the two cars"
    straight = chosen(1.1 * train_mm, "straight before and behind the curves", note="long enough for the whole train")
    turn = chosen(degrees, "angle of each curve", "deg", note=f"{note}, at most half a circle")
    return (
        Segment(1, 0, "straight", length=straight),
        Segment(2, 0, "curve", radius=radius, angle=turn),
        Segment(3, 0, "curve", left=False, radius=radius, angle=turn),
        Segment(4, 0, "straight", length=straight),
    )


def sharpest(segments: Sequence[Segment], *, gauge: Working | None) -> Working | None:
    """Return the least radius of a track as a number with its working; None where it is straight.

    Args:
        segments: in order.
        gauge: of the track.
    """
    from carwright.working import derive

    radii: list[Working] = []
    for segment in segments:
        if segment.kind == "turnout" and segment.radius is None and segment.frog is not None and gauge is not None:
            radii.append(
                derive(
                    f"radius of turnout {segment.number}, one arc from the points to the frog",
                    "2*G*N*N",
                    G=gauge,
                    N=segment.frog,
                    note="an assumption: the turnout's own radius is not given",
                )
            )
        elif segment.radius is not None:
            radii.append(segment.radius)
    return min(radii, key=lambda each: each.value, default=None)
