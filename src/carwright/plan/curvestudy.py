"""Cars on a track as a study: worst figures and least radii, each a number that can be found again from its readings.

A study is reckoned once for a set of readings and kept while it is in use, so that all its numbers share one sweep.
Asked again with one reading moved it sweeps anew: that is what ``carwright curve --why`` shows and the tests do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from carwright.plan.curvecar import CurveCar, vehicle_of
from carwright.track.layout import legs_of
from carwright.track.limits import Bite, Place, least_radii
from carwright.track.path import Path
from carwright.track.placing import Vehicle
from carwright.track.sweep import Sweep, along
from carwright.track.trackfile import Segment
from carwright.working import Working, derived

__all__ = ["FIGURES", "Study"]

OTHER: Final = "other_"
"""What the names of the second car's sizes begin with."""

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
    """

    car: CurveCar
    other: CurveCar | None
    segments: Sequence[Segment]
    gauge: Working | None
    slack: Working | None = None
    file: str = ""
    _sweeps: dict[tuple[tuple[str, float], ...], Sweep] = field(default_factory=dict)
    _radii: dict[tuple[tuple[str, float], ...], tuple[Bite, ...]] = field(default_factory=dict)

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
        inputs, names = self._inputs(figure)
        track = self._track()

        def again(*values: float) -> float:
            return self.sweep(self._moved(names, inputs, values)).peaks[figure].value

        return derived(
            name,
            f"worst of {figure.replace('_', ' ')} along the track",
            {**inputs, **track},
            unit,
            note="cars placed every 5 mm along the track, then closed in on each peak",
            function=again,
        )

    def place(self, figure: str, name: str) -> Working:
        """Return where the worst value of a figure occurs, mm from the track's beginning to mid-car."""
        inputs, names = self._inputs(figure)

        def again(*values: float) -> float:
            return self.sweep(self._moved(names, inputs, values)).peaks[figure].at_mm

        return derived(
            name,
            f"place of the worst of {figure.replace('_', ' ')}",
            {**inputs, **self._track()},
            note="along the track from its beginning to the middle of the first car",
            function=again,
        )

    def radius(self, what: str, place: Place, places: Sequence[Place], name: str, *, push: bool = True) -> Working:
        """Return the least radius at which a limit does not bite yet, as a number with its working."""
        inputs, names = self._inputs(what, limit=True)

        def again(*values: float) -> float:
            found = self.radii(places, self._moved(names, inputs, values), push=push)
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

    def _inputs(self, figure: str, *, limit: bool = False) -> tuple[dict[str, Working], tuple[str, ...]]:
        """Return symbol to working, and the study's own name of each, in the same order."""
        own, others = _OF_FIGURE[figure]
        found: dict[str, Working] = {}
        for name in own:
            if name in self.car.sizes and not (self.other is not None and name in _ENDED and name not in _FRONT):
                found[name] = self.car.sizes[name]
        if self.other is not None:
            for name in others:
                if name in self.other.sizes and not (name in _ENDED and name not in _REAR):
                    found[OTHER + name] = self.other.sizes[name]
        if limit and figure == "coupler_front" and "swing_b" in self.car.sizes:
            found["swing_b"] = self.car.sizes["swing_b"]
        if limit and figure == "coupler_rear" and self.other is not None and "swing_a" in self.other.sizes:
            found[OTHER + "swing_a"] = self.other.sizes["swing_a"]
        if self.slack is not None and figure in ("push_front", "push_rear", "gap_pushed"):
            found["slack"] = self.slack
        return found, tuple(found)

    def _track(self) -> dict[str, Working]:
        found = {}
        for segment in self.segments:
            for leaf in segment.leaves:
                found[_symbol(leaf)] = leaf
        if self.gauge is not None and any(segment.kind == "turnout" for segment in self.segments):
            found["gauge"] = self.gauge
        return found

    def _moved(self, names: Sequence[str], inputs: Mapping[str, Working], values: Sequence[float]) -> dict[str, float]:
        """Return what differs from the readings as they are, by the names that ``vehicles`` and ``path`` know."""
        track = self._track()
        moved: dict[str, float] = {}
        for name, value in zip((*names, *track), values, strict=False):
            leaf = inputs.get(name) or track[name]
            if value != leaf.value:
                moved[leaf.key if name in track else name] = value
        return moved


def _symbol(leaf: Working) -> str:
    """Return a symbol for a leaf of the track: letters, digits and underscores only."""
    return "".join(sign if sign.isalnum() else "_" for sign in leaf.key).strip("_") or "track"
