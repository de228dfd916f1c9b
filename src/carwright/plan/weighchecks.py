"""What a study of a car's weight finds: target met or missed, sources that disagree, balance, pulls, cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from carwright.findings import Finding, listed
from carwright.frame.layout import usual
from carwright.lengths import show_in
from carwright.plan.cavities import INSIDE
from carwright.plan.checks import called
from carwright.plan.weighmodel import WeighAnswer
from carwright.reference import other_weight_rules, practice_value
from carwright.reference.kinds import slatted
from carwright.weight.ballast import Placed
from carwright.working import Working, derive

__all__ = ["weigh_findings"]

_IRON = ("steel", "iron")
_NOTHING_G = 0.05
"""Half of the tenth of a gram that is told."""


def weigh_findings(answer: WeighAnswer, needs: Sequence[str]) -> Iterator[Finding]:
    """Yield what was found.

    Args:
        answer: the study, without its findings.
        needs: keys of measurements that masses, places and cavities wait for.
    """
    yield _weight(answer)
    yield from _sources(answer)
    yield from _missing(answer, needs)
    yield from _balance(answer)
    yield _pull(answer)
    yield from _cautions(answer)


def _wanting(keys: Sequence[str]) -> str:
    return listed(called(key) for key in dict.fromkeys(keys)) or "more readings"


def _weight(answer: WeighAnswer) -> Finding:
    sums, short = answer.plan.weight, answer.short
    if short is None or answer.whole is None or sums.target is None or sums.low is None or sums.high is None:
        needs = sums.needs or ("weight.target",)
        return Finding(
            "weight",
            "unknown",
            f"What the finished car weighs is not known yet: it needs {_wanting(needs)}.",
            mend="Weigh it, or leave it: nothing is taken as zero.",
            needs=needs,
        )
    assert sums.present is not None
    assert sums.to_fit is not None
    ballast = 0.0 if answer.ballast is None else answer.ballast.value
    where = _places(answer.placed)
    told = (
        f"{sums.present.value:.1f} g are there, {sums.to_fit.value:.1f} g will be fitted and {ballast:.1f} g of "
        f"ballast placed{f' ({where})' if where else ''}"
    )
    whole, missing = answer.whole, short.value
    if missing > _NOTHING_G:
        told += f": {missing:.1f} g less than the {sums.target.value:.1f} g of {sums.rule}."
    elif missing < -_NOTHING_G:
        told += f": {-missing:.1f} g more than the {sums.target.value:.1f} g of {sums.rule}."
    else:
        told += f": the {sums.target.value:.1f} g of {sums.rule}."
    light = whole.value < sums.low.value - _NOTHING_G
    heavy = whole.value > sums.high.value + _NOTHING_G
    limit = sums.high if whole.value > sums.target.value + _NOTHING_G else sums.low
    margin = (
        derive("weight to spare", "h - W", "g", h=limit, W=whole)
        if limit is sums.high
        else derive("weight to spare", "W - l", "g", W=whole, l=limit)
    )
    mend = ""
    if light:
        room = "No cavity is left" if answer.placed else "There is no cavity for it"
        heavier = practice_value("density_heaviest").value / 2.0
        dense = ", put a denser ballast on the shelf" if _densest(answer) < heavier else ""
        mend = (
            f'{room}: name one with [[body.block]] kind = "cavity" (under a load, in a tank){dense}, or keep the car '
            "light and run it at the rear."
        )
    elif heavy:
        mend = "Leave ballast out, or keep it: a heavy car runs at the head of the train."
    source = sums.source + (
        "; the band is common practice" if answer.plan.car.weight.tolerance is None else "; the band is the owner's"
    )
    return Finding(
        "weight", "fail" if light else "watch" if heavy else "ok", told, whole, limit, margin, "g", mend, source
    )


def _places(placed: Sequence[Placed]) -> str:
    """Return where ballast lies in words; the bays under the floor together."""
    bays = [each for each in placed if each.cavity.name.startswith("bay_")]
    found = list(dict.fromkeys(each.cavity.where for each in placed if each not in bays))
    if len(bays) > 2:
        found.append(f"under the floor in {len(bays)} bays")
    else:
        found += [each.cavity.where for each in bays]
    return ", ".join(found)


def _densest(answer: WeighAnswer) -> float:
    return max((each.stock.density.value for each in answer.placed if each.stock.density is not None), default=0.0)


def _sources(answer: WeighAnswer) -> Iterator[Finding]:
    """Yield the published figures that disagree with the rule in use, each with what it would ask of this car."""
    sums, car = answer.plan.weight, answer.plan.car
    length = car.body.length
    if sums.target is None or sums.rule == "own" or length is None:
        return
    for other in other_weight_rules(sums.rule, car.info.scale):
        asked = other.target(length)
        spread = derive("how far the sources are apart", "abs(o - T)", "g", o=asked, T=sums.target)
        if spread.value < _NOTHING_G:
            continue
        yield Finding(
            "weight_sources",
            "watch",
            f"Published sources disagree for {car.info.scale}: {other.name} asks {asked.value:.1f} g of this car, "
            f"{spread.value:.1f} g {'more' if asked.value > sums.target.value else 'less'} than the "
            f"{sums.target.value:.1f} g that are used.",
            asked,
            sums.target,
            spread,
            "g",
            'Choose: rule = "own" and a target of your own overrules both.',
            f"{sums.source}; against {other.per_mm.source}",
        )


def _missing(answer: WeighAnswer, needs: Sequence[str]) -> Iterator[Finding]:
    sums = answer.plan.weight
    if answer.whole is not None and "coupler.mass" in sums.needs:
        yield Finding(
            "coupler_mass",
            "unknown",
            "The couplers were not weighed: they are not counted, and the finished car will be that much heavier.",
            mend="Weigh one with its box, and give coupler.mass.",
            needs=("coupler.mass",),
        )
    if answer.centre.x is None:
        wanted = tuple(dict.fromkeys((*needs, *(key for key in sums.needs if key != "coupler.mass"))))
        yield Finding(
            "center_of_gravity",
            "unknown",
            f"Where the car's weight has its middle is not known yet: it needs {_wanting(wanted)}.",
            mend="Measure it, or leave it: what the car should weigh is told all the same.",
            needs=wanted,
        )


def _balance(answer: WeighAnswer) -> Iterator[Finding]:
    loads, whole = answer.loads, answer.whole
    if loads is None or whole is None:
        return
    apart = derive("loads of the trucks apart", "abs(a - b)", "g", a=loads.a, b=loads.b)
    limit = derive("what they may differ by", "W*p/100", "g", W=whole, p=practice_value("balance_band"))
    margin = derive("balance to spare", "m - d", "g", m=limit, d=apart)
    ok = margin.value >= -_NOTHING_G
    heavier = "A" if loads.a.value >= loads.b.value else "B"
    alike = "alike" if apart.value < _NOTHING_G else f"{apart.value:.1f} g apart, {heavier} the heavier"
    yield Finding(
        "balance",
        "ok" if ok else "watch",
        f"Truck A carries {loads.a.value:.1f} g and truck B {loads.b.value:.1f} g: {alike}.",
        apart,
        limit,
        margin,
        "g",
        "" if ok else f"Move weight toward {'B' if heavier == 'A' else 'A'}, or find room for ballast there.",
        "common practice",
    )
    if answer.lean is None:
        yield Finding(
            "lean",
            "unknown",
            "The car leans as far as its trucks' stops let it, and those are not known.",
            mend="Give trucks.rock, or bring its weight nearer to the middle.",
            needs=("trucks.rock",),
        )
    elif answer.lean.value > 0.0:
        yield Finding(
            "lean",
            "watch",
            f"The car leans by {answer.lean.value:.1f}°, to the stop of a truck that rocks.",
            answer.lean,
            unit="deg",
            mend="Bring its weight nearer to the middle, or set one truck so that it only turns.",
            source="geometry",
        )


def _pull(answer: WeighAnswer) -> Finding:
    curved, hanging = answer.curved, answer.trailing
    if not curved.where:
        given = answer.plan.car.info.radius
        example = given.text if given is not None and given.text else "18 in"
        return Finding(
            "pull_on_curve",
            "unknown",
            "What pull tips the car is not known: no curve was given.",
            mend=f'Give --radius "{example}", or --track with a track file.',
            needs=("car.radius",),
        )
    if curved.needs:
        return Finding(
            "pull_on_curve",
            "unknown",
            f"What pull tips the car {curved.where} is not known yet: it needs {_wanting(curved.needs)}.",
            mend="Measure it, or leave it: weight and balance are told all the same.",
            needs=curved.needs,
        )
    if curved.pulls is None:
        missing = tuple(answer.plan.weight.needs) or ("weight.target",)
        if answer.whole is None or answer.loads is None:
            return Finding(
                "pull_on_curve",
                "unknown",
                f"What pull tips the car {curved.where} is not known yet: it needs {_wanting(missing)}.",
                needs=missing,
            )
        return Finding("pull_on_curve", "ok", f"Nothing draws the car to one side {curved.where}.", source="geometry")
    pulls = curved.pulls
    because = (
        f"A pull of {pulls.lift.value:.2f} N {curved.where} lifts an outer wheel, one of {pulls.tip.value:.2f} N tips "
        "the car."
    )
    if hanging is not None:
        up = "on level track" if hanging.grade is None else f"up {hanging.grade.value:g} %"
        if hanging.pulled is not None:
            because += (
                f" So {hanging.pulled.value:.0f} cars of {hanging.mass.value:.0f} g may trail it {up}, if each begins "
                f"to roll by itself on a grade of {hanging.rolling.value:g} %."
            )
        if hanging.pushed is not None:
            because += f" It may push {hanging.pushed.value:.0f} of them, couplers at their stops."
    return Finding(
        "pull_on_curve", "ok", because, pulls.lift, unit="n", source="balance of moments about the inner rail"
    )


def _cautions(answer: WeighAnswer) -> Iterator[Finding]:
    lead = [each for each in answer.placed if "lead" in each.stock.material.lower()]
    if lead:
        yield Finding(
            "lead_handling",
            "watch",
            "The ballast is lead, which is poisonous when it is breathed in or swallowed.",
            mend="Cut it with snips or a knife, never sand, file or saw it dry; wash your hands, do not eat beside it, "
            "keep it from children; seal it in paint.",
            source="common practice",
        )
        shut = list(dict.fromkeys(each.cavity.where for each in lead if each.cavity.closes))
        yield Finding(
            "lead_glue",
            "watch",
            "Lead shut in with white glue swells as it corrodes and has burst car bodies open"
            + (f": it lies {', '.join(shut)}." if shut else "."),
            mend="Fix it with epoxy or contact cement and let that harden in the open; white glue gives off acid.",
            source="common practice",
        )
    iron = [each for each in answer.placed if any(word in each.stock.material.lower() for word in _IRON)]
    reach = usual("magnet_reach_ho", "reach of an uncoupling magnet", answer.plan.car)
    near = [each for each in iron if _underside(each.z, each.thickness, each.layers) < reach.value]
    if near:
        units = answer.plan.car.info.units
        lowest = min(near, key=lambda each: _underside(each.z, each.thickness, each.layers))
        yield Finding(
            "iron_near_magnets",
            "watch",
            f"Iron or steel {lowest.cavity.where} lies {show_in(lowest.z.value, units)} above the rail: the magnets of "
            "uncouplers between the rails draw it, and the car jerks over them.",
            lowest.z,
            reach,
            derive("distance to spare", "z - r", z=lowest.z, r=reach),
            mend="Take lead, brass or tungsten there, or try it over your magnets before it is glued in.",
            source="common practice",
        )
    inside = [each for each in answer.placed if each.cavity.name in INSIDE]
    if inside and slatted(answer.plan.kind):
        yield Finding(
            "ballast_seen",
            "watch",
            f"The sides are slats: ballast {_places(inside)} is seen through them.",
            mend="Lay a false floor of scribed sheet over it, or paint it flat in the colour of the floor before it "
            "goes in; a load of animals or straw hides it too. Under the floor, between the sills, nobody sees it.",
            source="common practice",
        )
    closed = [each for each in answer.placed if each.cavity.closes]
    if closed:
        when = " and before ".join(dict.fromkeys(each.cavity.closes for each in closed))
        yield Finding(
            "hold_before_closing",
            "watch",
            f"Ballast {_places(closed)} cannot be reached later: hold before {when}.",
            mend="Weigh the car and balance it on a pencil first; close it only when both are right.",
            source="common practice",
        )


def _underside(z: Working, thickness: Working, layers: int) -> float:
    return z.value - thickness.value * layers / 2.0
