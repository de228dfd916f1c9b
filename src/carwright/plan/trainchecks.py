"""Findings on a train: does the locomotive pull it, does a car tip or lift a wheel, is one far lighter than others."""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence

from carwright.findings import Finding, Verdict, listed
from carwright.plan.trainmodel import CarInTrain, TrainAnswer
from carwright.reference import practice_value
from carwright.working import Working, derive

__all__ = ["train_findings"]

_NAMED = 4
"""How many cars a finding names before it counts the rest."""


def train_findings(answer: TrainAnswer) -> Iterator[Finding]:
    """Yield what was found on a train.

    Args:
        answer: the study, without its findings.
    """
    yield _pull(answer)
    yield from _standing(answer)
    light = _too_light(answer)
    if light is not None:
        yield light
    outliers = _outliers(answer)
    if outliers is not None:
        yield outliers


def _listed(names: Sequence[str]) -> str:
    shown = list(names[:_NAMED])
    if len(names) > _NAMED:
        shown[-1] = f"{len(names) - _NAMED + 1} more"
    return listed(shown)


def _up(answer: TrainAnswer) -> str:
    return "on level track" if answer.grade is None else f"up {answer.grade.value:g} %"


def _pull(answer: TrainAnswer) -> Finding:
    drag, pull = answer.drag, answer.available
    if drag is None:
        needs = tuple(dict.fromkeys(key for kind in answer.kinds if kind.mass is None for key in kind.needs))
        names = _listed([kind.name for kind in answer.kinds if kind.mass is None])
        because = f"What the train drags is not known: {names} {'has' if ' and ' not in names else 'have'} no mass."
        return Finding("locomotive_pull", "unknown", because, mend="Weigh it.", needs=needs, unit="n")
    many = len(answer.cars)
    cars = f"{many} car{'s' if many > 1 else ''}"
    where = f"push is greatest at the rear of {answer.cars[-1].name}"
    if not answer.pushed:
        where = f"pull is greatest at the front of {answer.cars[0].name}"
    drags = f"{cars} drag {drag.value:.2f} N {_up(answer)}; the {where}"
    if pull is None:
        return Finding(
            "locomotive_pull",
            "unknown",
            f"{drags}. What the locomotive pulls is not known.",
            drag,
            unit="n",
            mend="Pull it at the coupler with a spring balance until its wheels slip, and write locomotive_pull.",
            needs=("train.locomotive_pull",),
        )
    margin = derive("pull to spare", "P - D", "n", P=pull, D=drag)
    enough = margin.value >= 0.0
    because = f"{drags}. The locomotive pulls {pull.value:.2f} N there"
    if answer.grade is not None and answer.consist.locomotive is None:
        because += ", its own weight on the grade not counted (locomotive_mass is not given)"
    because += "."
    if answer.steepest is not None:
        steepest = answer.steepest.value
        because += f" It would take this train up {steepest:.1f} %." if steepest >= 0 else " Not even on the level."
    mend = ""
    if not enough:
        kept = _kept(answer, pull.value)
        left = many - kept
        end = "first" if answer.pushed else "last"
        mend = f"Leave off the {end} {left} car{'s' if left > 1 else ''}" if kept else "Take a heavier locomotive"
        mend += ", or put a second locomotive on."
    source = "balance of forces: m g (r + i) for each car"
    return Finding("locomotive_pull", "ok" if enough else "fail", because, drag, pull, margin, "n", mend, source)


def _kept(answer: TrainAnswer, pull_n: float) -> int:
    """Return how many cars, from the one next to it on, the locomotive can take."""
    total = 0.0
    for at, car in enumerate(_from_locomotive(answer)):
        total += car.kind.drag.value if car.kind.drag is not None else 0.0
        if total > pull_n:
            return at
    return len(answer.cars)


def _from_locomotive(answer: TrainAnswer) -> Sequence[CarInTrain]:
    return answer.cars[::-1] if answer.pushed else answer.cars


def _force(answer: TrainAnswer, car: CarInTrain) -> str:
    """Return the pull or push at a car, in words."""
    assert car.pull is not None
    if answer.pushed:
        return f"{car.pull.value:.2f} N push at its rear coupler {_up(answer)}"
    return f"{car.pull.value:.2f} N pull at its front coupler {_up(answer)}"


def _standing(answer: TrainAnswer) -> Iterator[Finding]:
    if not answer.track and not answer.pushed:
        yield Finding(
            "tipping",
            "unknown",
            "Whether a car tips on a curve is not known: no curve is given.",
            mend="Give --track or --radius.",
            needs=("--track",),
            unit="n",
        )
        return
    off = [car.name for car in answer.cars if not car.stands]
    if off:
        yield Finding(
            "placed",
            "fail",
            f"{_listed(off)} cannot be coupled to {'its' if len(off) == 1 else 'their'} neighbours on this track.",
            mend="Take a larger radius, or put cars of like length side by side.",
            source="geometry",
        )
    needs = tuple(dict.fromkeys(key for car in answer.cars if car.margin is None for key in car.needs))
    if needs:
        names = _listed([car.name for car in answer.cars if car.margin is None and car.needs])
        yield Finding(
            "tipping_unknown",
            "unknown",
            f"Of {names} not enough is known to tell whether it tips.",
            mend="Measure what is missing.",
            needs=needs,
            unit="n",
        )
    told = [car for car in answer.cars if car.margin is not None]
    if not told:
        if not needs and not off:
            straight = all(car.tip is None for car in answer.cars)
            yield (
                Finding("tipping", "ok", "Nothing draws a car to one side: the track is straight.")
                if straight
                else (Finding("tipping", "unknown", "The pull is not known.", needs=("train.car",)))
            )
        return
    yield _tipping(answer, told)
    lifted = [car for car in told if car.lift_margin is not None]
    if lifted:
        yield _lifting(answer, lifted)


def _tipping(answer: TrainAnswer, told: Sequence[CarInTrain]) -> Finding:
    worst = min(told, key=lambda car: car.margin.value if car.margin is not None else 0.0)
    over = [car for car in told if car.margin is not None and car.margin.value < 0.0]
    assert worst.pull is not None
    assert worst.tip is not None
    because = f"{worst.name}, {_place(answer, worst)}, tips at {worst.tip.value:.2f} N; {_force(answer, worst)}."
    if len(over) > 1:
        rest = [car.name for car in over if car is not worst]
        because += f" So {'does' if len(rest) == 1 else 'do'} {_listed(rest)}."
    verdict: Verdict = "fail" if over else "ok"
    mend = _mend(answer, worst, worst.tip) if over else ""
    return Finding(
        "tipping", verdict, because, worst.pull, worst.tip, worst.margin, "n", mend, "balance of moments about the rail"
    )


def _place(answer: TrainAnswer, car: CarInTrain) -> str:
    if answer.pushed and car.place == len(answer.cars):
        return "right before the locomotive"
    return "right behind the locomotive" if car.place == 1 and not answer.pushed else f"place {car.place}"


def _mend(answer: TrainAnswer, car: CarInTrain, limit: Working) -> str:
    """Return where in the train a car could run that stands no more than ``limit``, and what it would have to weigh.

    Both are near: other neighbours and another weight's own drag change the angles and the pull a little.
    """
    kind = car.kind
    assert car.pull is not None
    assert kind.drag is not None
    assert kind.mass is not None
    room = limit.value - kind.drag.value
    behind, count = 0.0, 0
    for other in reversed(_from_locomotive(answer)):
        if other is car:
            continue
        behind += other.kind.drag.value if other.kind.drag is not None else 0.0
        if behind > room:
            break
        count += 1
    told = []
    if room > 0.0:
        end, side = ("front", "before") if answer.pushed else ("rear", "behind")
        told.append(
            f"put it at the {end}"
            if count == 0
            else f"put it nearer the {end}, with at most {count} car{'s' if count > 1 else ''} {side} it"
        )
    per_gram = limit.value / kind.mass.value
    dragged = kind.drag.value / kind.mass.value
    if per_gram > dragged:
        told.append(f"bring it to {(car.pull.value - kind.drag.value) / (per_gram - dragged):.0f} g")
    if not told:
        return "Its own drag is too much for it: lower its couplers, or take a larger radius."
    words = ", or ".join(told)
    return f"{words[:1].upper()}{words[1:]}."


def _lifting(answer: TrainAnswer, told: Sequence[CarInTrain]) -> Finding:
    worst = min(told, key=lambda car: car.lift_margin.value if car.lift_margin is not None else 0.0)
    over = [car for car in told if car.lift_margin is not None and car.lift_margin.value < 0.0]
    assert worst.pull is not None
    assert worst.lift is not None
    because = (
        f"{worst.name}, {_place(answer, worst)}, has an outer wheel off the rail from {worst.lift.value:.2f} N, until "
        f"the truck that rocks is at its stop; {_force(answer, worst)}."
    )
    if len(over) > 1:
        rest = [car.name for car in over if car is not worst]
        because += f" So {'has' if len(rest) == 1 else 'have'} {_listed(rest)}."
    mend = _mend(answer, worst, worst.lift) if over else ""
    return Finding(
        "wheel_lift",
        "watch" if over else "ok",
        because,
        worst.pull,
        worst.lift,
        worst.lift_margin,
        "n",
        mend,
        "balance of moments about the rail",
    )


def _too_light(answer: TrainAnswer) -> Finding | None:
    """Return which cars do not come up to the weight that they are taken to have; None where all do."""
    short = [
        (kind, derive(f"missing from {kind.name}", "m - r", "g", m=kind.mass, r=kind.reached))
        for kind in answer.kinds
        if kind.reached is not None and kind.mass is not None
    ]
    if not short:
        return None
    told = [
        f"{kind.name} ({kind.reached.value:.1f} g, {missing.value:.1f} g less than the {kind.mass.value:.1f} g)"
        for kind, missing in short
        if kind.reached is not None and kind.mass is not None
    ]
    worst, most = max(short, key=lambda pair: pair[1].value)
    masses = listed(f'mass = "{kind.reached.value:.1f} g"' for kind, _ in short[:1] if kind.reached is not None)
    because = (
        f"Taken at the weight that {'it' if len(short) == 1 else 'each'} should have, which all its ballast does not "
        f"reach: {_listed(told)}."
    )
    mend = (
        f"Find more room or denser ballast (`carwright weigh {worst.row.file}`), or write what it weighs into the "
        f"consist: {masses}."
    )
    return Finding("finished_weight", "watch", because, most, unit="g", mend=mend, source="geometry")


def _outliers(answer: TrainAnswer) -> Finding | None:
    """Return the car whose weight per inch is farthest from the train's middle; None in a train of fewer than three."""
    known = [(car, car.ounces) for car in answer.cars if car.ounces is not None]
    if len(known) < 3:
        return None
    values = [ounces.value for _, ounces in known]
    middle_value = statistics.median_low(values)
    middle = next(ounces for _, ounces in known if ounces.value == middle_value).renamed(
        "middle weight per inch of the train", note="as many cars are heavier as lighter"
    )
    share = practice_value("outlier_share")

    def off(ounces: Working) -> float:
        return abs(ounces.value / middle_value - 1.0) * 100.0

    worst, ounces = max(known, key=lambda pair: off(pair[1]))
    away = derive(f"{worst.name} off the middle", "abs(o/m - 1)*100", "percent", o=ounces, m=middle)
    margin = derive("share to spare", "s - d", "percent", s=share, d=away)
    over = [car.name for car, each in known if off(each) > share.value + 1e-9]
    because = (
        f"The middle of the train weighs {middle_value:.2f} oz per inch; {worst.name} weighs {ounces.value:.2f}, "
        f"{away.value:.0f} % {'less' if ounces.value < middle_value else 'more'}; {share.value:g} % are usual."
    )
    rest = [name for name in over if name != worst.name]
    if rest:
        because += f" So {'is' if len(rest) == 1 else 'are'} {_listed(rest)}."
    light = ounces.value < middle_value
    far, near = ("front", "rear") if answer.pushed else ("rear", "front")
    mend = "" if not over else f"Add weight, or run it near the {far}." if light else f"Run it near the {near}."
    verdict: Verdict = "watch" if over else "ok"
    return Finding("weight_per_inch", verdict, because, away, share, margin, "percent", mend, "common practice")
