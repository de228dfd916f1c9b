"""Cars on a track as a study: worst figures and least radii, each a number that can be found again from its readings.

A study is reckoned once for a set of readings and kept while it is in use, so that all its numbers share one sweep.
Asked again with one reading moved it sweeps anew: that is what ``carwright curve --why`` shows and the tests do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from carwright.plan.curvecar import CurveCar, vehicle_of
from carwright.problems import InputError
from carwright.track.envelope import Envelope, swept
from carwright.track.layout import legs_of
from carwright.track.limits import Bite, Place, least_radii, limit_spots
from carwright.track.moving import Spot, moving_sizes
from carwright.track.path import Arc, Path
from carwright.track.placing import Vehicle, coupled, stand
from carwright.track.sweep import Sweep, along
from carwright.track.trackfile import Segment
from carwright.working import Working, chosen, derived, leaves

__all__ = ["FIGURES", "EnvelopeRow", "Study"]

OTHER: Final = "other_"
"""What the names of the second car's sizes begin with."""

_NUDGE: Final = 1e-3
_NEAR_MM: Final = 1e-3
_STILL_MM: Final = 2e-6
"""A reach that a thousandth of a size moves by less is not moved: a side is told at a few places only."""
_GRAZED_MM: Final = 80.0
"""Of a leg of which less is seen the sweep itself is asked whether it moves anything."""

_STAND: Final = ("truck_a", "truck_b", "wheelbase_a", "wheelbase_b")
_COUPLE: Final = (*_STAND, "coupler_a", "coupler_b", "link_a", "link_b")
_PUSH: Final = ("swing_a", "swing_b", "travel_a", "travel_b")

_OF_FIGURE: Final[Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "throw_in_bare": (_STAND, ()),
    "throw_in": ((*_STAND, "width"), ()),
    "throw_out_bare": ((*_STAND, "length"), ()),
    "throw_out": ((*_STAND, "length", "width"), ()),
    "truck_a": (_STAND, ()),
    "truck_b": (_STAND, ()),
    "coupler_front": (_COUPLE, _COUPLE),
    "coupler_rear": (_COUPLE, _COUPLE),
    "gap": ((*_COUPLE, "length", "width"), (*_COUPLE, "length", "width")),
    "push_front": ((*_COUPLE, *_PUSH), (*_COUPLE, *_PUSH)),
    "push_rear": ((*_COUPLE, *_PUSH), (*_COUPLE, *_PUSH)),
    "gap_pushed": ((*_COUPLE, *_PUSH, "length", "width"), (*_COUPLE, *_PUSH, "length", "width")),
}
"""Figure to the sizes of the first and of the second car that it hangs on."""

FIGURES: Final[Mapping[str, tuple[str, str]]] = {
    "throw_in": ("throw in", "mm"),
    "throw_out": ("throw out", "mm"),
    "throw_in_bare": ("throw in, without the width", "mm"),
    "throw_out_bare": ("throw out, without the width", "mm"),
    "truck_a": ("turn of truck A", "deg"),
    "truck_b": ("turn of truck B", "deg"),
    "coupler_front": ("swing of coupler B", "deg"),
    "coupler_rear": ("swing of coupler A of the car behind", "deg"),
    "gap": ("gap between the bodies", "mm"),
    "gap_pushed": ("gap between the bodies in a push", "mm"),
    "push_front": ("angle of the push to the first car", "deg"),
    "push_rear": ("angle of the push to the second car", "deg"),
}
"""Figure of a sweep to its name and unit."""

_FRONT: Final = frozenset({"coupler_b", "link_b", "swing_b", "travel_b"})
_REAR: Final = frozenset({"coupler_a", "link_a", "swing_a", "travel_a"})
_ENDED: Final = frozenset({*_PUSH, "coupler_a", "coupler_b", "link_a", "link_b"})
"""Sizes of couplers: of the front car only those at B matter, of the rear car only those at A."""


@dataclass(frozen=True, slots=True)
class EnvelopeRow:
    """How far a car reaches to both sides of the centre line at one place of the track, mm, both positive."""

    at: Working
    left: Working
    right: Working


@dataclass(slots=True)
class Study:
    """One or two cars on a track; see the module's head.

    Args:
        car: the front car, A end leading.
        other: the rear car, or None.
        segments: of the track.
        gauge: of the track.
        slack: by which the heads run together in a push, or None.
        file: name of the track file, for problems.
        asked: whether its numbers may be asked why; if not, workings may hold what does not move them.
    """

    car: CurveCar
    other: CurveCar | None
    segments: Sequence[Segment]
    gauge: Working | None
    slack: Working | None = None
    file: str = ""
    asked: bool = True
    _sweeps: dict[tuple[tuple[str, float], ...], Sweep] = field(default_factory=dict)
    _radii: dict[tuple[tuple[str, float], ...], tuple[Bite, ...]] = field(default_factory=dict)
    _moving: dict[object, frozenset[str]] = field(default_factory=dict)
    _rooms: dict[object, Envelope | None] = field(default_factory=dict)

    def path(self, moved: Mapping[str, float] | None = None) -> Path:
        """Return the track's path, with some of its sizes ``moved`` (by key)."""
        gauge = None if self.gauge is None else (moved or {}).get(self.gauge.key, self.gauge.value)
        return Path(legs_of(self.segments, gauge_mm=gauge, values=moved, file=self.file))

    def vehicles(self, moved: Mapping[str, float] | None = None) -> tuple[Vehicle, Vehicle | None]:
        """Return both cars with some of their sizes ``moved``."""
        first = vehicle_of(self.car, moved)
        return first, None if self.other is None else vehicle_of(self.other, moved, lead=OTHER)

    def sweep(self, moved: Mapping[str, float] | None = None) -> Sweep:
        """Return the worst figures along the track."""
        given = dict(moved or {})
        key = tuple(sorted(given.items()))
        found = self._sweeps.get(key)
        if found is None:
            car, other = self.vehicles(given)
            slack = given.get("slack", 0.0 if self.slack is None else self.slack.value)
            found = along(self.path(given), car, other, slack_mm=slack)
            self._sweeps[key] = found
        return found

    def radii(
        self, places: Sequence[Place], moved: Mapping[str, float] | None = None, *, push: bool = True
    ) -> tuple[Bite, ...]:
        """Return the least radii of the two cars; both must couple. Without ``push`` only those of a pull."""
        given = dict(moved or {})
        key = (("push", float(push)), *((place, 0.0) for place in places), *sorted(given.items()))
        found = self._radii.get(key)
        if found is None:
            car, other = self.vehicles(given)
            assert other is not None
            slack = given.get("slack", 0.0 if self.slack is None else self.slack.value)
            found = least_radii(car, other, slack_mm=slack, places=places, push=push)
            self._radii[key] = found
        return found

    def worst(self, figure: str, name: str, unit: str) -> Working:
        """Return the worst value of a figure as a number with its working."""
        inputs, names = self._inputs(figure, self._moving_worst(figure))
        track = self._track(figure)

        def again(*values: float) -> float:
            return self.sweep(self._moved(names, inputs, track, values)).peaks[figure].value

        return derived(
            name,
            f"worst of {figure.replace('_', ' ')} along the track",
            {**inputs, **track},
            unit,
            note="cars placed every 5 mm along the track, then closed in on each peak",
            function=again,
        )

    def place(self, figure: str, name: str) -> Working:
        """Return where the worst value of a figure occurs, mm from the track's beginning to mid-car.

        It was found by looking: the distance from the joint of the track behind it is chosen; where that joint is
        follows from the track.
        """
        path, peak = self.path(), self.sweep().peaks[figure]
        at = max((n for n, joint in enumerate(path.joints_mm) if joint <= peak.at_mm), default=0)
        beyond = chosen(
            peak.at_mm - path.joints_mm[at],
            "from the joint of the track behind it",
            note="found by placing the cars every 5 mm and closing in on each peak",
        )
        sizes = self._leaves()
        moving = {
            symbol: leaf
            for symbol, leaf in sizes.items()
            if any(
                abs(legs.joints_mm[at] - path.joints_mm[at]) > 1e-9 for legs in self._nudged(leaf) if legs is not None
            )
        }
        names = tuple(moving.values())

        def again(distance: float, *values: float) -> float:
            moved = {leaf.key: value for leaf, value in zip(names, values, strict=True) if value != leaf.value}
            return self.path(moved).joints_mm[at] + distance

        inputs = {"d": beyond, **moving}
        lengths = "the legs before it and d" if moving else "d"
        return derived(
            name,
            lengths,
            inputs,
            note="along the track from its beginning to the middle of the first car",
            function=again,
        )

    def radius(self, what: str, place: Place, places: Sequence[Place], name: str, *, push: bool = True) -> Working:
        """Return the least radius at which a limit does not bite yet, as a number with its working."""
        inputs, names = self._inputs(what, self._moving_limit(what, place, places, push=push), limit=True)

        def again(*values: float) -> float:
            found = self.radii(places, self._moved(names, inputs, {}, values), push=push)
            return next(each.radius_mm for each in found if (each.what, each.place) == (what, place))

        words = {
            "steady": "steady",
            "entry": "where a straight runs into the curve",
            "reverse": "in a bare reverse curve",
        }
        return derived(
            name,
            f"least radius for {what.replace('_', ' ')}, {words[place]}",
            inputs,
            note="both cars placed on curves of many radii; the one at which the limit is just met",
            function=again,
        )

    def envelope(self, stations: int = 120) -> tuple[EnvelopeRow, ...]:
        """Return how far the car reaches to both sides at places along the track, evenly apart, each with its working.

        Args:
            stations: how many at most, besides the end; they are at least 10 mm apart.

        Returns:
            Empty where the car's length or width is not known.
        """
        path = self.path()
        step = max(path.length_mm / stations, 10.0)
        room = self._room({}, step)
        if room is None:
            return ()
        names = tuple(name for name in (*_STAND, "length", "width") if name in self.car.sizes)
        track = self._leaves() if self.asked else {}
        inputs: dict[str, Working] = {name: self.car.sizes[name] for name in names} | track
        moving = {symbol: self._reach_moved(symbol, leaf, track, room, step) for symbol, leaf in inputs.items()}
        rows = []
        for at, place in enumerate(room.at_mm):
            told = chosen(float(place), "place along the track", note="places evenly apart, to tell the room by")
            sides = []
            for side in (0, 1):
                mine = {symbol: inputs[symbol] for symbol, moved in moving.items() if moved[side][at]}
                name = f"reach to the {'left' if side == 0 else 'right'}"
                sides.append(
                    derived(
                        name,
                        "farthest that the outline reaches there",
                        mine,
                        note="the car placed along the whole track; its sides and corners from the centre line",
                        function=self._again_at(mine, track, step, side, at),
                    )
                )
            rows.append(EnvelopeRow(told, sides[0], sides[1]))
        return tuple(rows)

    def _room(self, moved: Mapping[str, float], step_mm: float) -> Envelope | None:
        key = ("room", step_mm, *sorted(moved.items()))
        if key not in self._rooms:
            self._rooms[key] = swept(self.path(moved), self.vehicles(moved)[0], step_mm=step_mm)
        return self._rooms[key]

    def _again_at(
        self, mine: Mapping[str, Working], sizes: Mapping[str, Working], step_mm: float, side: int, at: int
    ) -> Callable[..., float]:
        """Return what finds one reach again from its inputs."""
        names = tuple(name for name in mine if name not in sizes)
        track = {symbol: leaf for symbol, leaf in mine.items() if symbol in sizes}
        order = (*names, *track)

        def again(*values: float) -> float:
            given = dict(zip(mine, values, strict=True))
            moved = self._moved(names, mine, track, [given[name] for name in order])
            room = self._room(moved, step_mm)
            assert room is not None
            reach = room.right_mm if side else room.left_mm
            return float(reach[min(at, len(reach) - 1)])

        return again

    def _reach_moved(
        self, symbol: str, leaf: Working, track: Mapping[str, Working], room: Envelope, step_mm: float
    ) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Return at which places a size moves the reach to the left, and to the right."""
        left = np.zeros(room.at_mm.shape, dtype=np.bool_)
        right = left.copy()
        for step in (1.0 + _NUDGE, 1.0 - _NUDGE):
            try:
                other = self._room({leaf.key if symbol in track else symbol: leaf.value * step}, step_mm)
            except InputError:
                continue
            if other is None:
                continue
            shared = min(len(other.at_mm), len(room.at_mm))
            left[:shared] |= np.abs(other.left_mm[:shared] - room.left_mm[:shared]) > _STILL_MM
            right[:shared] |= np.abs(other.right_mm[:shared] - room.right_mm[:shared]) > _STILL_MM
        return left, right

    def _inputs(
        self, figure: str, moving: frozenset[str] | None = None, *, limit: bool = False
    ) -> tuple[dict[str, Working], tuple[str, ...]]:
        """Return symbol to working, and the study's own name of each, in the same order; only of what is ``moving``."""
        own, others = _OF_FIGURE[figure]
        found: dict[str, Working] = {}
        for name in own:
            if name in self.car.sizes and not (self.other is not None and name in _ENDED and name not in _FRONT):
                found[name] = self.car.sizes[name]
        if self.other is not None:
            for name in others:
                if name in self.other.sizes and not (name in _ENDED and name not in _REAR):
                    found[OTHER + name] = self.other.sizes[name]
        if self.slack is not None and figure in ("push_front", "push_rear", "gap_pushed"):
            found["slack"] = self.slack
        if moving is not None:
            # By readings: one that moves the figure by another size, or elsewhere just as much, stays wherever it is.
            keys = {leaf.key for name, each in found.items() if name in moving for leaf in leaves(each)}
            found = {
                name: each
                for name, each in found.items()
                if name in moving or all(leaf.key in keys for leaf in leaves(each))
            }
        if limit and figure == "coupler_front" and "swing_b" in self.car.sizes:
            found["swing_b"] = self.car.sizes["swing_b"]
        if limit and figure == "coupler_rear" and self.other is not None and "swing_a" in self.other.sizes:
            found[OTHER + "swing_a"] = self.other.sizes["swing_a"]
        return found, tuple(found)

    def _moving_worst(self, figure: str) -> frozenset[str] | None:
        """Return the sizes, by the study's own names, that move the worst of a figure; None for all."""
        if not self.asked:
            return None
        if figure not in self._moving:
            peaks = {name: each for name, each in self.sweep().peaks.items() if math.isfinite(each.value)}
            spots = [Spot(name, each.s_first_mm) for name, each in peaks.items()]
            self._find_moving(self.path(), spots, list(peaks))
        return self._moving.get(figure)

    def _moving_limit(self, what: str, place: Place, places: Sequence[Place], *, push: bool) -> frozenset[str] | None:
        """Return the sizes that move a least radius, besides the swing that is its limit; None for all."""
        if not self.asked:
            return None
        if (what, place) not in self._moving:
            bites = [each for each in self.radii(places, push=push) if 0.0 < each.radius_mm < math.inf]
            car, other = self.vehicles()
            assert other is not None
            path, spots = limit_spots(bites, car, other, slack_mm=self._slack_mm)
            self._find_moving(path, spots, [(each.what, each.place) for each in bites])
        return self._moving.get((what, place))

    def _find_moving(self, path: Path, spots: Sequence[Spot], keys: Sequence[object]) -> None:
        car, other = self.vehicles()
        found = moving_sizes(path, spots, car, other, slack_mm=self._slack_mm)
        for key, (own, others, slides) in zip(keys, found, strict=True):
            slack = {"slack"} if slides else set[str]()
            self._moving[key] = frozenset({*own, *(OTHER + name for name in others), *slack})

    @property
    def _slack_mm(self) -> float:
        return 0.0 if self.slack is None else self.slack.value

    def _leaves(self) -> dict[str, Working]:
        """Return the track's own sizes, by symbol."""
        found = {_symbol(leaf): leaf for segment in self.segments for leaf in segment.leaves}
        if self.gauge is not None and any(segment.kind == "turnout" for segment in self.segments):
            found["gauge"] = self.gauge
        return found

    def _nudged(self, leaf: Working) -> tuple[Path | None, Path | None]:
        """Return the path with one of its sizes a little larger and smaller; None where that makes no path."""
        found: list[Path | None] = []
        for step in (1.0 + _NUDGE, 1.0 - _NUDGE):
            try:
                found.append(self.path({leaf.key: leaf.value * step}))
            except InputError:  # a closure may not be flatter than its frog allows
                found.append(None)
        return found[0], found[1]

    def _track(self, figure: str) -> dict[str, Working]:
        """Return the track's leaves that move the worst of a figure.

        What lies beyond the cars as they stand at the worst place does not move it; nor does the length of a leg
        of which the cars see one end only.
        """
        start, stop = self._reach(figure)
        before, value = self._seen(self.path(), start, stop), self.sweep().peaks[figure].value
        moving = {}
        for symbol, leaf in self._leaves().items():
            paths = [each for each in self._nudged(leaf) if each is not None]
            seen = [self._seen(each, start, stop) for each in paths]
            if all(len(one) == len(before) and np.allclose(one, before, rtol=1e-9, atol=1e-12) for one in seen):
                continue
            sides = self._seen(self.path(), start + _GRAZED_MM, stop - _GRAZED_MM)
            grazed = len(sides) < len(before) and all(
                np.allclose(self._seen(each, start + _GRAZED_MM, stop - _GRAZED_MM), sides, rtol=1e-9, atol=1e-12)
                for each in paths
                if len(each.legs) == len(self.path().legs)
            )
            if grazed:
                moved = [self.sweep({leaf.key: leaf.value * step}) for step in (1.0 + _NUDGE, 1.0 - _NUDGE)]
                if all(abs(each.peaks[figure].value - value) < 1e-7 for each in moved):
                    continue
            moving[symbol] = leaf
        return moving

    def _reach(self, figure: str) -> tuple[float, float]:
        """Return the lengths along the track between which the cars stand where a figure is at its worst."""
        path, peak = self.path(), self.sweep().peaks[figure]
        first, second = self.vehicles()
        with np.errstate(all="ignore"):
            standing = stand(path, np.array([peak.s_first_mm]), first)
            last = standing.s_last
            if second is not None and not figure.startswith(("throw", "truck")):
                last = coupled(path, standing, first, second).rear.s_last
        over = 0.0
        if figure.startswith("throw_out") and first.length_mm is not None:
            over = max((first.length_mm - first.base_mm) / 2.0, 0.0)
        return float(last[0]) - over, peak.s_first_mm + over

    def _seen(self, path: Path, start: float, stop: float) -> list[float]:
        """Return what cars between two places see of a path, as numbers: which legs is told by the track unmoved."""
        joints = self.path().joints_mm
        found: list[float] = [float(len(path.legs))]
        for at in range(min(len(path.legs), len(joints) - 1)):
            leg, low, high = path.legs[at], joints[at], joints[at + 1]
            if high <= start + _NEAR_MM or low >= stop - _NEAR_MM:
                continue
            if isinstance(leg, Arc):
                found.append(leg.curvature_per_mm)
            else:
                found += [1.0 / leg.radius_mm, leg.length_mm]
            if low >= start - _NEAR_MM and high <= stop + _NEAR_MM:
                found.append(leg.length_mm)
        return found

    def _moved(
        self,
        names: Sequence[str],
        inputs: Mapping[str, Working],
        track: Mapping[str, Working],
        values: Sequence[float],
    ) -> dict[str, float]:
        """Return what differs from the readings as they are, by the names that ``vehicles`` and ``path`` know."""
        moved: dict[str, float] = {}
        for name, value in zip((*names, *track), values, strict=False):
            leaf = inputs.get(name) or track[name]
            if value != leaf.value:
                moved[leaf.key if name in track else name] = value
        return moved


def _symbol(leaf: Working) -> str:
    """Return a symbol for a leaf of the track: letters, digits and underscores only."""
    return "".join(sign if sign.isalnum() else "_" for sign in leaf.key).strip("_") or "track"
