"""The study of a car on curves: the plan's car on a track, what touches first, and from which radius it goes round.

The car is the plan's; nothing here changes it. Studies are slow beside a plan (about a second) and are made when asked.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from carwright.car.model import Car, Ends
from carwright.findings import VERDICT_ORDER, Verdict
from carwright.plan.curvecar import CurveCar, curve_car, extreme_car, under_another_name
from carwright.plan.curvechecks import curve_findings
from carwright.plan.curvemodel import CurveAnswer, CurveLimit, CurveVerdict, Mounting
from carwright.plan.curvestudy import Study
from carwright.plan.curvetrack import long_enough, reverses, same_scale, segments_of, train_mm, wide_enough
from carwright.plan.model import Plan
from carwright.plan.stages import make_plan
from carwright.plan.touching import TouchAnswer, touches
from carwright.problems import InputError, Problem
from carwright.reference import scale_gauge
from carwright.reference.clearances import extremes
from carwright.track.layout import sharpest
from carwright.track.limits import Bite, Place, smallest_radius
from carwright.track.sweep import Sweep
from carwright.track.trackfile import Track
from carwright.working import Working, derived, typed

__all__ = ["curve_study", "slack_of"]

_PLACES: Final[tuple[Place, ...]] = ("steady", "entry", "reverse")
_PLACE_WORDS: Final[Mapping[Place, str]] = {
    "steady": "on the steady curve",
    "entry": "where the curve begins",
    "reverse": "in a bare reverse curve",
}
_WHAT_WORDS: Final = {
    "coupler_front": "coupler swing",
    "coupler_rear": "coupler swing",
    "gap": "bodies, pulled",
    "gap_pushed": "bodies, pushed",
}
_PART_WORDS: Final = {"coupler_front": "coupler B", "coupler_rear": "coupler A", "gap": "body corners"}


def curve_study(
    car: Car,
    *,
    track: Track | None = None,
    radius: Working | None = None,
    neighbour: Car | None = None,
    slack: Working | None = None,
    file: str = "",
) -> CurveAnswer:
    """Return how a car goes round a track, or round one curve.

    Args:
        car: the car.
        track: the track; else ``radius`` stands for a straight, a curve to the left and a straight.
        radius: of that curve, mm; without it the car file's own.
        neighbour: the car coupled to it; without it the car's like, and the standard's extremes for ``coupled``.
        slack: by which the heads run together in a push.
        file: name of the track file, for problems.

    Raises:
        InputError: no radius, a track that is shorter than the train or of another scale, or a radius smaller than
            half the truck centres.
    """
    own = curve_car(car)
    other = own if neighbour is None else under_another_name(curve_car(neighbour), "with.")
    gauge = scale_gauge(car.info.scale, car.info.standard)
    if track is not None:
        same_scale(track, car, file)
        least = sharpest(track.segments, gauge=gauge)
    else:
        least = radius if radius is not None else car.info.radius
        if least is None:
            raise InputError(
                Problem(
                    "no radius is given",
                    mend="Give --radius or --track, or car.radius in the car file.",
                    key="--radius",
                )
            )
    plan = make_plan(replace(car, info=replace(car.info, radius=least)))
    wide_enough(own, track, least, file)
    single = Study(own, None, segments_of(track, least, own, own), gauge, slack, file) if own.stands else None
    pair = None
    if own.couples and other.couples:
        pair = Study(own, other, segments_of(track, least, own, other), gauge, slack, file)
    if single is not None:
        long_enough(single, pair, track, file)
    maker = _Maker(plan, own, neighbour is not None, track, least, single, pair, gauge, slack, file)
    return maker.answer()


@dataclass(frozen=True, slots=True)
class _Maker:
    """Puts the answer together from the studies."""

    plan: Plan
    own: CurveCar
    named: bool
    track: Track | None
    radius: Working | None
    single: Study | None
    pair: Study | None
    gauge: Working | None
    slack: Working | None
    file: str

    def answer(self) -> CurveAnswer:
        """Return the whole answer."""
        study = self.pair or self.single
        worst, places = self._worst(study)
        touching = touches(self.plan, self.own)
        bites = self.pair.radii(_PLACES) if self.pair is not None else ()
        limits = (*self._swing_limits(bites), *self._touch_limits(touching))
        verdicts = (
            self._alone(touching, worst),
            _pair_verdict(self.pair, "pulled", self._place()),
            _pair_verdict(self.pair, "pushed", self._place()),
            self._coupled(),
        )
        neighbour = self.pair.other.name if self.named and self.pair is not None and self.pair.other is not None else ""
        answer = CurveAnswer(
            self.plan,
            neighbour,
            self.track.name or self.file if self.track is not None else "a straight, a curve and a straight",
            tuple(study.segments) if study is not None else (),
            self.radius,
            self.plan.steady,
            worst,
            places,
            limits,
            verdicts,
            touching,
            (),
            self._mounting(),
            study,
        )
        findings = sorted(
            curve_findings(answer),
            key=lambda each: (VERDICT_ORDER.index(each.verdict), each.check),
        )
        return replace(answer, findings=tuple(findings))

    def _worst(self, study: Study | None) -> tuple[dict[str, Working], dict[str, Working]]:
        if study is None:
            return {}, {}
        worst, places = {}, {}
        for figure, (name, unit) in FIGURES.items():
            if figure in study.sweep().peaks and math.isfinite(study.sweep().peaks[figure].value):
                worst[figure] = study.worst(figure, name, unit)
                places[figure] = study.place(figure, f"place of {name}")
        return worst, places

    # ------------------------------------------------------------------------------------------------------- limits

    def _swing_limits(self, bites: Sequence[Bite]) -> list[CurveLimit]:
        if self.pair is None:
            needs = self.own.wanting("truck", "wheelbase", "coupler", "link")
            return [CurveLimit("coupler swing", "couplers", None, None, "unknown", needs)]
        found = []
        for bite in bites:
            swing = self._swing(self.pair, bite.what)
            words = f"{_WHAT_WORDS[bite.what]}, {_PLACE_WORDS[bite.place]}"
            part = _PART_WORDS.get(bite.what, "body corners")
            found.append(self._limit(self.pair, bite, words, part, swing))
        if not any(each.what.startswith("coupler_") for each in bites):
            needs = ("coupler.side_play",)
            found.insert(0, CurveLimit("coupler swing", "couplers", None, None, "unknown", needs))
        return found

    def _limit(self, pair: Study, bite: Bite, words: str, part: str, swing: Working | None) -> CurveLimit:
        if not math.isfinite(bite.radius_mm):
            return CurveLimit(words, part, None, swing, "always")
        if bite.radius_mm <= 0.0:
            return CurveLimit(words, part, None, swing, "never")
        radius = pair.radius(bite.what, bite.place, _PLACES, f"least radius for {words}")
        return CurveLimit(words, part, radius, swing, "below")

    @staticmethod
    def _swing(pair: Study, what: str) -> Working | None:
        if what == "coupler_front":
            return pair.car.sizes.get("swing_b")
        if what == "coupler_rear" and pair.other is not None:
            return pair.other.sizes.get("swing_a")
        return None

    def _touch_limits(self, touching: Sequence[TouchAnswer]) -> list[CurveLimit]:
        found = []
        for each in touching:
            words = f"truck {each.end.upper()} against {each.part}"
            if each.needs:
                found.append(CurveLimit(words, each.part, None, None, "unknown", each.needs))
            elif each.angle is None:
                found.append(CurveLimit(words, each.part, None, None, "never"))
            elif each.radius is None:
                found.append(CurveLimit(words, each.part, None, each.angle, "always"))
            else:
                found.append(CurveLimit(words, each.part, each.radius, each.angle, "below"))
        return found

    # ----------------------------------------------------------------------------------------------------- verdicts

    def _alone(self, touching: Sequence[TouchAnswer], worst: Mapping[str, Working]) -> CurveVerdict:
        if self.single is None:
            return CurveVerdict("alone", "unknown", None, "")
        if not self._placed(self.single):
            return CurveVerdict("alone", "fail", self._stands(), "trucks")
        hard = [each for each in touching if each.angle is not None and not each.only_rocked]
        straight = [each for each in hard if each.radius is None]
        if straight:
            return CurveVerdict("alone", "fail", None, f"truck {straight[0].end.upper()} on {straight[0].part}")
        tightest = max(
            (each for each in hard), key=lambda each: each.radius.value if each.radius else 0.0, default=None
        )
        hit = [
            each
            for each in hard
            if each.angle is not None
            and f"truck_{each.end}" in worst
            and worst[f"truck_{each.end}"].value >= each.angle.value
        ]
        part = f"truck {tightest.end.upper()} on {tightest.part}" if tightest is not None else "trucks"
        least = tightest.radius if tightest is not None else self._stands()
        if hit:
            return CurveVerdict("alone", "fail", least, part)
        if any(each.needs for each in touching):
            return CurveVerdict("alone", "unknown", least, part)
        rocked = any(each.only_rocked for each in touching)
        return CurveVerdict("alone", "watch" if rocked else "ok", least, part)

    def _stands(self) -> Working:
        """Return the radius below which the trucks do not stand on the curve at all."""
        sizes = self.own.sizes
        inputs = {"a": sizes["truck_a"], "c": sizes["truck_b"], "b": sizes["wheelbase_a"]}
        return derived("least radius on which the trucks stand", "hypot((a + c)/2, b/2)", inputs)

    def _mounting(self) -> Mounting | None:
        """Return how the couplers do on the body and on the trucks; both are placed on the same track."""
        pair = self.pair
        if pair is None or pair.other is None:
            return None
        on_truck = pair.car.on_truck.b
        turned = Ends(not on_truck, not on_truck)
        other = replace(
            pair,
            car=replace(pair.car, on_truck=turned),
            other=replace(pair.other, on_truck=turned),
            _sweeps={},
            _radii={},
        )
        place = self._place()
        body = other if on_truck else pair
        bites = [each for each in body.radii((place,), push=False) if each.what.startswith("coupler")]
        tightest = max(bites, key=lambda each: each.radius_mm, default=None)
        radius = None
        if tightest is not None and 0.0 < tightest.radius_mm < math.inf:
            words = "least radius for couplers on the body"
            radius = body.radius(tightest.what, place, (place,), words, push=False)
        return Mounting(on_truck, _reaches(pair), _reaches(other), radius)

    @staticmethod
    def _placed(study: Study) -> bool:
        return study.sweep().placed

    def _place(self) -> Place:
        """Return where a least radius is looked for: in a bare reverse where the track has one, else at a beginning."""
        return "reverse" if self.track is not None and reverses(self.track.segments, self.own) else "entry"

    def _coupled(self) -> CurveVerdict:
        if self.named:
            both = [_pair_verdict(self.pair, name, self._place()) for name in ("pulled", "pushed")]
            named = self.pair.other.name if self.pair is not None and self.pair.other is not None else ""
            return _worse(both, named)
        info = self.plan.car.info
        if not self.own.couples or "length" not in self.own.sizes:
            return CurveVerdict("coupled", "unknown", None, "")
        found: list[CurveVerdict] = []
        for extreme in extremes(info.scale, info.standard):
            other = extreme_car(self.own, name=extreme.name, length=extreme.length, centers=extreme.centers)
            segments = segments_of(self.track, self.radius, self.own, other)
            study = Study(self.own, other, segments, self.gauge, self.slack, self.file)
            first, second = study.vehicles()
            assert second is not None
            if study.path().length_mm < train_mm(first, second) + 1.0:
                found.append(CurveVerdict("coupled", "unknown", None, f"{extreme.name}: the track is too short for it"))
                continue
            if self.radius is not None and self.radius.value < smallest_radius(second):
                found.append(CurveVerdict("coupled", "watch", None, f"{extreme.name} does not stand on it"))
                continue
            place = self._place()
            verdict = _worse([_pair_verdict(study, "pulled", place, (place,), push=False)], extreme.name)
            # What is known of a neighbour only from memory fails nobody.
            capped: Verdict = "watch" if extreme.from_memory and verdict.verdict == "fail" else verdict.verdict
            found.append(replace(verdict, verdict=capped))
        if not found:
            return CurveVerdict("coupled", "unknown", None, "the data names no neighbours in this scale")
        return min(found, key=lambda each: (VERDICT_ORDER.index(each.verdict), -_radius_of(each)))


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


def _radius_of(verdict: CurveVerdict) -> float:
    return verdict.least_radius.value if verdict.least_radius is not None else 0.0


def _worse(verdicts: Sequence[CurveVerdict], neighbour: str) -> CurveVerdict:
    """Return the worse of some verdicts as that of "coupled", naming the neighbour."""
    worst = min(verdicts, key=lambda each: (VERDICT_ORDER.index(each.verdict), -_radius_of(each)))
    least = max(verdicts, key=_radius_of)
    part = f"{neighbour}: {least.part}" if least.part else neighbour
    return CurveVerdict("coupled", worst.verdict, least.least_radius, part)


def _pair_verdict(
    pair: Study | None,
    name: Literal["pulled", "pushed"],
    place: Place,
    places: Sequence[Place] = _PLACES,
    *,
    push: bool = True,
) -> CurveVerdict:
    """Return how two cars go round, pulled or pushed, and from which radius.

    Args:
        pair: the two cars; None where they cannot be coupled for want of sizes.
        name: which of the two.
        place: where a least radius is looked for.
        places: all those that are looked at together with it.
        push: whether they are pushed, too.
    """
    if pair is None or pair.other is None:
        return CurveVerdict(name, "unknown", None, "")
    sweep: Sweep = pair.sweep()
    if not sweep.placed:
        return CurveVerdict(name, "fail", None, "cars cannot be placed")
    own_gap = "gap" if name == "pulled" else "gap_pushed"
    wanted = ("coupler_front", "coupler_rear", own_gap)
    failing = False
    unknown = False
    for figure in wanted:
        peak = sweep.peaks.get(figure)
        if figure.startswith("coupler"):
            swing = pair.car.sizes.get("swing_b") if figure == "coupler_front" else pair.other.sizes.get("swing_a")
            unknown = unknown or swing is None or peak is None
            failing = failing or (swing is not None and peak is not None and peak.value > swing.value)
        else:
            unknown = unknown or peak is None
            failing = failing or (peak is not None and peak.value < 0.0)
    bites = [each for each in pair.radii(places, push=push) if each.place == place and each.what in wanted]
    tightest = max(bites, key=lambda each: each.radius_mm, default=None)
    part, least = "", None
    if tightest is not None and tightest.radius_mm > 0.0:
        part = _PART_WORDS.get(tightest.what, "body corners")
        if math.isfinite(tightest.radius_mm):
            least = pair.radius(tightest.what, place, places, f"least radius, {name}", push=push)
    on_truck = pair.car.on_truck.b or pair.other.on_truck.a
    verdict: Verdict = "fail" if failing else "unknown" if unknown else "ok"
    if verdict == "ok" and name == "pushed" and on_truck:
        verdict, part = "watch", part or "couplers on the trucks"
    return CurveVerdict(name, verdict, least, part)


def _reaches(pair: Study) -> bool | None:
    """Return whether both couplers stay within their swing on the track; None where a swing is not known."""
    assert pair.other is not None
    sweep = pair.sweep()
    swings = (
        ("coupler_front", pair.car.sizes.get("swing_b")),
        ("coupler_rear", pair.other.sizes.get("swing_a")),
    )
    if any(swing is None for _, swing in swings):
        return None
    return sweep.placed and all(
        figure in sweep.peaks and sweep.peaks[figure].value <= swing.value
        for figure, swing in swings
        if swing is not None
    )


def slack_of(text: str, value_mm: float) -> Working:
    """Return the slack given on the command line as a leaf."""
    return typed(value_mm, "slack between the heads", key="--slack", text=text)
