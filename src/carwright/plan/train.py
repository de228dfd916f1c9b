"""The study of a train: what each car drags, and what pull each one stands before it tips on a curve.

The pull at a car's front coupler is the drag of that car and of all behind it. What it stands is reckoned with that
pull at both of its couplers, which is on the safe side by the car's own drag; nothing hangs on the last car.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from carwright.car.model import Car, Ends
from carwright.findings import VERDICT_ORDER
from carwright.plan.curvecar import CurveCar, vehicle_of
from carwright.plan.trainchecks import train_findings
from carwright.plan.trainforces import available, pulls_along, pushes_along, steepest, total
from carwright.plan.trainkinds import kinds_of
from carwright.plan.trainmodel import CarInTrain, Kind, TrainAnswer
from carwright.problems import InputError, Problem
from carwright.reference import scale_gauge
from carwright.track.layout import legs_of, sharpest
from carwright.track.trackfile import Segment, Track
from carwright.weight.consist import Consist
from carwright.weight.standing import lever_of, pulls
from carwright.working import Working, derive, derived

__all__ = ["train_study"]

Where = Literal["own", "ahead", "behind"]

_STAND: Final = ("truck_a", "truck_b", "wheelbase_a", "wheelbase_b")


def train_study(
    consist: Consist,
    cars: Mapping[str, Car],
    *,
    grade: Working | None = None,
    track: Track | None = None,
    radius: Working | None = None,
    pushed: bool = False,
    file: str = "",
    track_file: str = "",
) -> TrainAnswer:
    """Return what a train asks of its locomotive and its track of each car.

    Args:
        consist: the train.
        cars: the cars that have a file, by the name that the consist gives it.
        grade: upward, percent; the whole train stands on it.
        track: each car is drawn over all of it; where its couplers draw hardest to one side counts.
        radius: of one steady curve, where there is no track, mm.
        pushed: whether the locomotive is behind the last car and pushes: every coupler then stands at its stop.
        file: name of the consist, for problems.
        track_file: name of the track file, for problems.

    Raises:
        InputError: a car or the track of another scale, a radius that cars cannot stand on, or a track too short.
    """
    up = None if grade is None or grade.value == 0.0 else grade
    kinds = kinds_of(consist, cars, up, file=file)
    gauge = scale_gauge(consist.scale, consist.standard)
    least = radius
    if track is not None:
        _same_scale(track, consist, track_file)
        least = sharpest(track.segments, gauge=gauge)
    _wide_enough(kinds, track, least, track_file)
    course = _Course(
        tuple(track.segments) if track is not None else (), radius if track is None else None, gauge, track_file
    )
    order = [kind for kind in kinds for _ in range(kind.row.many)]
    if pushed:
        drawn = {_key(order, at): _pushed(kind, first=at == 0, gauge=gauge) for at, kind in enumerate(order)}
    else:
        sides = _sides(course, order) if course.given else {}
        drawn = {key: _Drawn.of(side, course, gauge) for key, side in sides.items()}
    made = tuple(_cars(order, drawn, pushes_along(kinds) if pushed else pulls_along(kinds)))
    drag, mass = total(kinds, "drag", "drag of the train", "n"), total(kinds, "mass", "mass of the train", "g")
    where = "" if not course.given else "one steady curve" if track is None else track.name or track_file or "the track"
    answer = TrainAnswer(
        consist,
        up,
        pushed,
        where,
        least,
        kinds,
        made,
        drag,
        mass,
        available(consist, up),
        steepest(consist, kinds, mass),
        (),
    )
    findings = sorted(train_findings(answer), key=lambda each: (VERDICT_ORDER.index(each.verdict), each.check))
    return replace(answer, findings=tuple(findings))


# ----------------------------------------------------------------------------------------------- the cars on the curve


@dataclass(frozen=True, slots=True)
class _Course:
    """What the train is drawn round: a track's segments, or one steady radius."""

    segments: tuple[Segment, ...]
    radius: Working | None
    gauge: Working | None
    file: str

    @property
    def given(self) -> bool:
        return bool(self.segments) or self.radius is not None

    @property
    def where(self) -> str:
        return "on the track" if self.segments else "on the curve"

    def leaves(self) -> dict[str, Working]:
        """Return the track's sizes, or the radius, by symbols that a formula may have."""
        if self.radius is not None:
            return {"radius": self.radius}
        found = {
            "".join(sign if sign.isalnum() else "_" for sign in leaf.key).strip("_"): leaf
            for segment in self.segments
            for leaf in segment.leaves
        }
        if self.gauge is not None and any(segment.kind == "turnout" for segment in self.segments):
            found["gauge"] = self.gauge
        return found


@dataclass(frozen=True, slots=True)
class _Side:
    """A car between two others: shapes and heights, and the angles of its couplers once they are reckoned."""

    own: Kind
    ahead: Kind | None
    behind: Kind | None
    angles: Ends[float] | None = None

    @property
    def shapes(self) -> dict[Where, CurveCar]:
        """Return the three shapes; where no car is coupled the car's like stands."""
        own = self.own.shape
        return {
            "own": own,
            "ahead": own if self.ahead is None else self.ahead.shape,
            "behind": own if self.behind is None else self.behind.shape,
        }

    @property
    def needs(self) -> tuple[str, ...]:
        """Return the keys of what is missing to know how it is drawn aside."""
        found = [*self.own.shape.wanting("truck", "wheelbase", "coupler", "link", "height")]
        for kind in (self.ahead, self.behind):
            if kind is not None:
                found += kind.shape.wanting("truck", "wheelbase", "coupler", "link")
        return tuple(dict.fromkeys(found))


def _sides(course: _Course, order: Sequence[Kind]) -> dict[tuple[int, int, int], _Side]:
    """Return each different car between its neighbours once, by the places of the three kinds, with its angles."""
    found: dict[tuple[int, int, int], _Side] = {}
    for at, kind in enumerate(order):
        key = _key(order, at)
        if key not in found:
            ahead = order[at - 1] if at else None
            behind = order[at + 1] if at + 1 < len(order) else None
            found[key] = _Side(kind, ahead, behind)
    known = {key: side for key, side in found.items() if not side.needs}
    angles = _angles(course, list(known.values()))
    return found | {key: replace(known[key], angles=each) for key, each in zip(known, angles, strict=True)}


def _key(order: Sequence[Kind], at: int) -> tuple[int, int, int]:
    ahead = order[at - 1].row.number if at else 0
    behind = order[at + 1].row.number if at + 1 < len(order) else 0
    return ahead, order[at].row.number, behind


def _angles(course: _Course, sides: Sequence[_Side], moved: Mapping[str, float] | None = None) -> list[Ends[float]]:
    """Return the angles of both couplers of each car where they draw it hardest to one side, degrees.

    Args:
        course: the track or the radius.
        sides: the cars; nothing may be missing of them.
        moved: other values, by the symbols of a working's inputs.
    """
    from carwright.track.path import Path
    from carwright.track.trio import Trio, hardest, steadily

    values = dict(moved or {})
    trios = []
    for side in sides:
        own, ahead, behind = (
            vehicle_of(shape, values, lead="own_" if shape is side.own.shape else f"{where}_")
            for where, shape in side.shapes.items()
        )
        high = [values.get(f"h{end}", _height(side.own, end)) for end in ("a", "b")]
        trios.append(Trio(ahead, own, behind, high[0], 0.0 if side.behind is None else high[1]))
    if course.radius is not None:
        found = steadily(trios, values.get("radius", course.radius.value))
    else:
        names = {symbol: leaf.key for symbol, leaf in course.leaves().items()}
        track = {names[symbol]: value for symbol, value in values.items() if symbol in names}
        gauge = None if course.gauge is None else track.get(course.gauge.key, course.gauge.value)
        path = Path(legs_of(course.segments, gauge_mm=gauge, values=track, file=course.file))
        longest = max((each.base_mm for each in trios), default=0.0)
        if path.length_mm < longest + 1.0:
            raise _too_short(course, path.length_mm, longest)
        found = hardest(path, trios)
    return [Ends(each.angle_a_deg, each.angle_b_deg) for each in found]


def _height(kind: Kind, end: str) -> float:
    height = kind.heights.a if end == "a" else kind.heights.b
    assert height is not None
    return height.value


def _too_short(course: _Course, length_mm: float, longest_mm: float) -> InputError:
    last = course.segments[-1]
    return InputError(
        Problem(
            f"the track ends with segment {last.number} after {length_mm:.0f} mm: three coupled cars do not fit on it",
            f"{length_mm:.1f} mm",
            f"more than {longest_mm:.0f} mm, from the first axle of three cars to the last",
            "Write a longer straight before and behind the curves.",
            key=f"track.segment[{last.number}]",
            file=course.file,
            line=last.line or None,
        )
    )


def _coupler_angles(course: _Course, side: _Side) -> Ends[Working | None]:
    """Return the angles of a car's couplers as numbers with their working; at an end where nothing hangs, None."""
    a = _coupler_angle(course, side, "a")
    return Ends(a, None if side.behind is None else _coupler_angle(course, side, "b"))


def _coupler_angle(course: _Course, side: _Side, end: Literal["a", "b"]) -> Working:
    shapes, found = side.shapes, side.angles
    assert found is not None
    steady = course.radius is not None
    inputs: dict[str, Working] = {}

    def take(where: Where, *names: str) -> None:
        lead = "own_" if shapes[where] is side.own.shape else f"{where}_"
        for name in names:
            inputs.setdefault(lead + name, shapes[where].sizes[name])

    take("own", *_STAND)
    if end == "a" or not steady:
        take("own", "coupler_a", "link_a")
        take("ahead", *_STAND, "coupler_b", "link_b")
    if side.behind is not None and (end == "b" or not steady):
        take("own", "coupler_b", "link_b")
        take("behind", *_STAND, "coupler_a", "link_a")
        if not steady and side.own.heights.a is not side.own.heights.b:
            assert side.own.heights.a is not None
            assert side.own.heights.b is not None
            inputs |= {"ha": side.own.heights.a, "hb": side.own.heights.b}
    inputs |= course.leaves()
    base = tuple(each.value for each in inputs.values())

    def again(*values: float) -> float:
        angles = found if values == base else _angles(course, [side], dict(zip(inputs, values, strict=True)))[0]
        return angles.a if end == "a" else angles.b

    other = "car ahead" if end == "a" else "car behind"
    note = (
        f"coupled to the {other}" if not (end == "a" and side.ahead is None) else "behind the locomotive: as its like"
    )
    return derived(
        f"angle of {'front' if end == 'a' else 'rear'} coupler of {side.own.name} {course.where}",
        "where both couplers together draw it hardest to one side" if not steady else "steady, toward the inside",
        inputs,
        "deg",
        note=note,
        function=again,
    )


def _cars(
    order: Sequence[Kind], drawn: Mapping[tuple[int, int, int], _Drawn], forces: Sequence[Working | None]
) -> list[CarInTrain]:
    made: list[CarInTrain] = []
    names = _names(order)
    for at, kind in enumerate(order):
        side, pull = drawn.get(_key(order, at), _Drawn()), forces[at]
        margin = lift_margin = ounces = None
        if side.tip is not None and pull is not None:
            margin = derive(f"tipping pull of {names[at]} less the pull there", "T - p", "n", T=side.tip, p=pull)
        if side.lift is not None and pull is not None:
            lift_margin = derive(f"lifting pull of {names[at]} less the pull there", "T - p", "n", T=side.lift, p=pull)
        length = kind.shape.sizes.get("length")
        if kind.mass is not None and length is not None:
            ounces = derive(
                f"weight per inch of {kind.name}", "m/28.349523125/(A/25.4)", "oz/in", m=kind.mass, A=length
            )
        made.append(
            CarInTrain(
                names[at],
                at + 1,
                kind,
                pull,
                side.angles,
                side.lift,
                side.tip,
                margin,
                lift_margin,
                ounces,
                tuple(dict.fromkeys((*kind.needs, *side.needs))),
                side.stands,
            )
        )
    return made


@dataclass(frozen=True, slots=True)
class _Drawn:
    """How a car between its neighbours is drawn aside, and what it stands."""

    angles: Ends[Working | None] = field(default_factory=lambda: Ends(None, None))
    lift: Working | None = None
    tip: Working | None = None
    needs: tuple[str, ...] = ()
    stands: bool = True

    @classmethod
    def of(cls, side: _Side, course: _Course, gauge: Working | None) -> _Drawn:
        """Return it for one car."""
        if side.needs:
            return cls(needs=side.needs)
        angles = _coupler_angles(course, side)
        assert angles.a is not None
        if not math.isfinite(angles.a.value) or (angles.b is not None and not math.isfinite(angles.b.value)):
            return cls(stands=False)
        kind = side.own
        if kind.mass is None or gauge is None:
            return cls(angles, needs=kind.needs)
        assert kind.heights.a is not None
        where = f"{kind.name} {course.where}"
        if angles.b is None:
            lever = derive(
                f"lever arm of the front coupler, {where}", "h1*sin(radians(a1))", h1=kind.heights.a, a1=angles.a
            )
        else:
            assert kind.heights.b is not None
            lever = lever_of(Ends(kind.heights.a, kind.heights.b), Ends(angles.a, angles.b), where)
        both = pulls(kind.mass, kind.bearing or kind.mass, gauge, lever, where)
        if both is None:
            return cls(angles)
        return cls(angles, None if kind.bearing is None else both.lift, both.tip)


def _pushed(kind: Kind, *, first: bool, gauge: Working | None) -> _Drawn:
    """Return how a pushed car is thrown aside with its couplers at their stops; nothing is ahead of the first one."""
    sizes, heights = kind.shape.sizes, kind.heights
    needs = tuple(dict.fromkeys((*kind.needs, *kind.shape.wanting("swing_b" if first else "swing", "height"))))
    angles: Ends[Working | None] = Ends(None if first else sizes.get("swing_a"), sizes.get("swing_b"))
    if needs or kind.mass is None or gauge is None or heights.a is None or heights.b is None or angles.b is None:
        return _Drawn(angles, needs=needs)
    where = f"{kind.name} in a push, couplers at their stops"
    if angles.a is None:
        words = f"lever arm of the rear coupler, {where}"
        lever = derive(words, "h2*sin(radians(a2))", h2=heights.b, a2=angles.b)
    else:
        lever = lever_of(Ends(heights.a, heights.b), Ends(angles.a, angles.b), where)
    both = pulls(kind.mass, kind.bearing or kind.mass, gauge, lever, where)
    if both is None:
        return _Drawn(angles)
    return _Drawn(angles, None if kind.bearing is None else both.lift, both.tip)


def _names(order: Sequence[Kind]) -> list[str]:
    """Return a name for each car that no other car of the train has.

    Its own, with its number among its namesakes where there are more; a car without a name goes by its place.
    """
    plain = [kind.row.name or (kind.name if kind.row.file else "") for kind in order]
    many = Counter(plain)
    seen: Counter[str] = Counter()
    taken = {name for name, count in many.items() if count == 1}
    names = []
    for at, name in enumerate(plain):
        if name and many[name] == 1:
            names.append(name)
            continue
        stem, number = (name, seen[name] + 1) if name else ("Car", at + 1)
        while f"{stem} {number}" in taken:
            number += 1
        seen[name] = number
        taken.add(f"{stem} {number}")
        names.append(f"{stem} {number}")
    return names


# ------------------------------------------------------------------------------------------------------------- refusals


def _same_scale(track: Track, consist: Consist, file: str) -> None:
    if track.scale and track.scale != consist.scale:
        raise InputError(
            Problem(
                f"the track is in {track.scale} and the train in {consist.scale}",
                track.scale,
                consist.scale,
                "Take a track of the train's own scale.",
                key="track.scale",
                file=file,
            )
        )


def _wide_enough(kinds: Sequence[Kind], track: Track | None, least: Working | None, file: str) -> None:
    """Refuse a radius smaller than half of any car's truck centres, naming the car and the segment."""
    if least is None:
        return
    for kind in kinds:
        sizes = kind.shape.sizes
        if "truck_a" not in sizes or "truck_b" not in sizes:
            continue
        half = (sizes["truck_a"].value + sizes["truck_b"].value) / 2.0
        if least.value > half:
            continue
        segments = track.segments if track is not None else ()
        bad = next((each for each in segments if each.radius is least), None)
        raise InputError(
            Problem(
                f"{f'segment {bad.number}: ' if bad else ''}the radius is smaller than half the truck centres of "
                f"{kind.name}",
                least.text,
                f"more than {half:.1f} mm ({half / 25.4:.2f} in)",
                "Take a larger radius, or leave that car off.",
                key=least.key or "--radius",
                file=file,
                line=least.line,
            )
        )
