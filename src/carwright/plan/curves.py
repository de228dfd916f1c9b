"""The study of a car on curves: the plan's car on a track, what touches first, and from which radius it goes round.

The car is the plan's; nothing here changes it. Studies are slow beside a plan (about a second) and are made when asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from carwright.car.model import Car, Ends
from carwright.findings import VERDICT_ORDER, Verdict
from carwright.pieces import said_piece
from carwright.plan.curvecar import CurveCar, curve_car, extreme_car, under_another_name
from carwright.plan.curvechecks import curve_findings
from carwright.plan.curvemodel import CurveAnswer, CurveLimit, CurveVerdict, Mounting
from carwright.plan.curvestudy import FIGURES, Study
from carwright.plan.curvetrack import long_enough, reverses, same_scale, segments_of, train_mm, wide_enough
from carwright.plan.curveverdicts import PLACES, pair_verdict, part_of, radius_of, reaches, room_left, worse
from carwright.plan.model import Plan
from carwright.plan.stages import make_plan
from carwright.plan.touching import TouchAnswer, touches
from carwright.problems import InputError, Problem
from carwright.reference import scale_gauge
from carwright.reference.clearances import extremes
from carwright.track.layout import sharpest
from carwright.track.limits import Bite, Place, smallest_radius
from carwright.track.trackfile import Track
from carwright.working import Working, derived

__all__ = ["curve_study"]

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


def curve_study(
    car: Car,
    *,
    track: Track | None = None,
    radius: Working | None = None,
    neighbour: Car | None = None,
    slack: Working | None = None,
    file: str = "",
    brief: bool = False,
) -> CurveAnswer:
    """Return how a car goes round a track, or round one curve.

    Args:
        car: the car.
        track: the track; else ``radius`` stands for a straight, a curve to the left and a straight.
        radius: of that curve, mm; without it the car file's own.
        neighbour: the car coupled to it; without it the car's like, and the standard's extremes for ``coupled``.
        slack: by which the heads run together in a push.
        file: name of the track file, for problems.
        brief: leave out the standard's shortest and longest neighbour, which take longest; ``coupled`` is then unknown
            without a ``neighbour``.

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
    wide_enough(own, track, least, file, gauge=gauge)
    couples = own.couples and other.couples
    segments = segments_of(track, least, own, other)
    single = Study(own, None, segments, gauge, slack, file, not brief) if own.stands else None
    orders: list[Study] = []
    if couples:
        orders.append(Study(own, other, segments, gauge, slack, file, not brief))
        if neighbour is not None:
            orders.append(Study(other, own, segments, gauge, slack, file, not brief))
    for study in orders or ([single] if single is not None else []):
        long_enough(study, track, file)
    maker = _Maker(plan, own, neighbour is not None, track, least, single, tuple(orders), gauge, slack, file, brief)
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
    orders: tuple[Study, ...]
    gauge: Working | None
    slack: Working | None
    file: str
    brief: bool

    def answer(self) -> CurveAnswer:
        """Return the whole answer."""
        worst, places = self._worst()
        touching = touches(self.plan, self.own)
        limits = (*self._swing_limits(), *self._touch_limits(touching))
        verdicts = (
            self._alone(touching, worst),
            self._pair("pulled"),
            self._pair("pushed"),
            self._coupled(),
        )
        # Pictures show the order in which a coupler has least swing left.
        study = min(self.orders, key=room_left, default=None)
        neighbour = self.orders[0].other.name if self.named and self.orders and self.orders[0].other else ""
        answer = CurveAnswer(
            self.plan,
            neighbour,
            self.track.name or self.file if self.track is not None else "a straight, a curve and a straight",
            tuple(self.single.segments) if self.single is not None else (),
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
            self.single,
            self.orders,
        )
        findings = sorted(
            curve_findings(answer),
            key=lambda each: (VERDICT_ORDER.index(each.verdict), each.check),
        )
        return replace(answer, findings=tuple(findings))

    def _worst(self) -> tuple[dict[str, Working], dict[str, Working]]:
        """Return the worst of each figure and where: of this car, and of the joint in whichever order is worse."""
        worst: dict[str, Working] = {}
        places: dict[str, Working] = {}
        for figure, (name, unit) in FIGURES.items():
            asked = self.orders or ((self.single,) if self.single is not None else ())
            if figure.startswith(("throw", "truck")):
                asked = asked[:1]
            known = [each for each in asked if figure in each.sweep().peaks]
            known = [each for each in known if math.isfinite(each.sweep().peaks[figure].value)]
            if known:
                sign = -1.0 if figure.startswith("gap") else 1.0
                study = max(known, key=lambda each: sign * each.sweep().peaks[figure].value)
                worst[figure] = study.worst(figure, name, unit)
                places[figure] = study.place(figure, f"place of {name}")
        return worst, places

    # ------------------------------------------------------------------------------------------------------- limits

    def _swing_limits(self) -> list[CurveLimit]:
        if not self.orders:
            needs = self.own.wanting("truck", "wheelbase", "coupler", "link")
            return [CurveLimit("coupler swing", "couplers", None, None, "unknown", needs)]
        tightest: dict[tuple[Place, str, str], tuple[Study, Bite]] = {}
        for study in self.orders:
            for bite in study.radii(PLACES):
                key = (bite.place, _WHAT_WORDS[bite.what], part_of(study, bite.what))
                if key not in tightest or bite.radius_mm > tightest[key][1].radius_mm:
                    tightest[key] = (study, bite)
        found = [self._limit(study, bite, what, part) for (_, what, part), (study, bite) in tightest.items()]
        if not any(bite.what.startswith("coupler_") for _, bite in tightest.values()):
            found.insert(0, CurveLimit("coupler swing", "couplers", None, None, "unknown", ("coupler.side_play",)))
        return found

    @staticmethod
    def _limit(study: Study, bite: Bite, what: str, part: str) -> CurveLimit:
        words = f"{what}, {_PLACE_WORDS[bite.place]}"
        car, size = (study.car, "swing_b") if bite.what == "coupler_front" else (study.other, "swing_a")
        swing = car.sizes.get(size) if car is not None and bite.what.startswith("coupler") else None
        if not math.isfinite(bite.radius_mm):
            return CurveLimit(words, part, None, swing, "always")
        if bite.radius_mm <= 0.0:
            return CurveLimit(words, part, None, swing, "never")
        radius = study.radius(bite.what, bite.place, PLACES, f"least radius for {words}")
        return CurveLimit(words, part, radius, swing, "below")

    def _touch_limits(self, touching: Sequence[TouchAnswer]) -> list[CurveLimit]:
        found = []
        for each in touching:
            words = f"truck {each.end.upper()} against {said_piece(each.part)}"
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
            return CurveVerdict("alone", "fail", None, _touching(straight[0]))
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
        part = _touching(tightest) if tightest is not None else "trucks"
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

    def _pair(self, name: Literal["pulled", "pushed"]) -> CurveVerdict:
        """Return how two cars go round, in whichever order is worse."""
        if not self.orders:
            return CurveVerdict(name, "unknown", None, "")
        return worse([pair_verdict(each, name, self._place()) for each in self.orders], name)

    def _mounting(self) -> Mounting | None:
        """Return how the couplers do on the body and on the trucks; both are placed on the same track."""
        if not self.orders:
            return None
        on_truck = self.own.on_truck.b
        others = tuple(_mounted(each, on_truck=not on_truck) for each in self.orders)
        place = self._place()
        # As they are now the radii are known already, those of a push among them.
        places, push = ((place,), False) if on_truck else (PLACES, True)
        tightest: tuple[Study, Bite] | None = None
        for study in others if on_truck else self.orders:
            for bite in study.radii(places, push=push):
                here = bite.place == place and bite.what.startswith("coupler")
                if here and (tightest is None or bite.radius_mm > tightest[1].radius_mm):
                    tightest = (study, bite)
        radius = None
        if tightest is not None and 0.0 < tightest[1].radius_mm < math.inf:
            words = "least radius for couplers on the body"
            radius = tightest[0].radius(tightest[1].what, place, places, words, push=push)
        return Mounting(on_truck, _all(map(reaches, self.orders)), _all(map(reaches, others)), radius)

    @staticmethod
    def _placed(study: Study) -> bool:
        return study.sweep().placed

    def _place(self) -> Place:
        """Return where a least radius is looked for: in a bare reverse where the track has one, else at a beginning."""
        return "reverse" if self.track is not None and reverses(self.track.segments, self.own) else "entry"

    def _coupled(self) -> CurveVerdict:
        if self.named:
            if not self.orders:
                return CurveVerdict("coupled", "unknown", None, "")
            name = self.orders[0].other.name if self.orders[0].other is not None else ""
            return worse([self._pair("pulled"), self._pair("pushed")], "coupled", name)
        if self.brief:
            return CurveVerdict("coupled", "unknown", None, "")
        info = self.plan.car.info
        if not self.own.couples or "length" not in self.own.sizes:
            return CurveVerdict("coupled", "unknown", None, "")
        found: list[CurveVerdict] = []
        for extreme in extremes(info.scale, info.standard):
            other = extreme_car(self.own, name=extreme.name, length=extreme.length, centers=extreme.centers)
            segments = segments_of(self.track, self.radius, self.own, other)
            study = Study(self.own, other, segments, self.gauge, self.slack, self.file, not self.brief)
            first, second = study.vehicles()
            assert second is not None
            if study.path().length_mm < train_mm(first, second) + 1.0:
                found.append(CurveVerdict("coupled", "unknown", None, f"{extreme.name}: the track is too short for it"))
                continue
            if self.radius is not None and self.radius.value < smallest_radius(second):
                found.append(CurveVerdict("coupled", "watch", None, f"{extreme.name} does not stand on it"))
                continue
            place = self._place()
            alike = pair_verdict(study, "pulled", place, (place,), push=False)
            verdict = worse([alike], "coupled", extreme.name)
            # What is known of a neighbour only from memory fails nobody.
            capped: Verdict = "watch" if extreme.from_memory and verdict.verdict == "fail" else verdict.verdict
            found.append(replace(verdict, verdict=capped))
        if not found:
            return CurveVerdict("coupled", "unknown", None, "the data names no neighbours in this scale")
        return min(found, key=lambda each: (VERDICT_ORDER.index(each.verdict), -radius_of(each)))


def _touching(answer: TouchAnswer) -> str:
    """Return which truck meets what, in words."""
    return f"truck {answer.end.upper()} on {said_piece(answer.part)}"


def _mounted(study: Study, *, on_truck: bool) -> Study:
    """Return the same cars on the same track with all couplers on the trucks, or on the bodies."""
    assert study.other is not None
    turned = Ends(on_truck, on_truck)
    return replace(
        study,
        car=replace(study.car, on_truck=turned),
        other=replace(study.other, on_truck=turned),
        _sweeps={},
        _radii={},
        _moving={},
        _rooms={},
    )


def _all(found: Iterable[bool | None]) -> bool | None:
    """Return whether all are true; None where one is not known and none is false."""
    known = tuple(found)
    return False if False in known else None if None in known else True
