"""The finish of a car: strip or not, colours in the order that masks best, steps with waits, conflicts, cautions."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from carwright.car.model import Car, Finish, Paint
from carwright.car.scheme import REST, read_scheme
from carwright.findings import VERDICT_ORDER, Finding, listed
from carwright.finish.checks import (
    bath_findings,
    lettering_findings,
    loosening,
    room_findings,
    slat_findings,
    weathering_findings,
)
from carwright.finish.conflicts import Layer, conflicts, exposed, spoils
from carwright.finish.making import Order, finish_steps
from carwright.finish.model import Coating, Conditions, Conflict, Pass, Role, StripDecision
from carwright.finish.order import Masking, best_order, judged, masked_before
from carwright.finish.paintchecks import closed_labels, impossible_waits, primer_taken, unused_paints
from carwright.finish.reach import reaches
from carwright.finish.steps import Step
from carwright.finish.stripping import family_of, strip_decision
from carwright.finish.windows import Times, coat_of
from carwright.problems import InputError, Problem
from carwright.reference.finishing import (
    Caution,
    PaintFamily,
    Weathering,
    adjoining,
    cautions,
    compatibility,
    customary,
    families,
    glues,
    weatherings,
)
from carwright.reference.kinds import car_kind, slatted
from carwright.working import Working, counted, derive, typed

__all__ = ["FinishPlan", "finish_plan"]

_LONGEST_WAIT: Final = "enamel"
"""The family whose rules an unknown paint is held to: it waits longest, and has a forbidden middle."""

_SHOWN: Final = {"box": ("sides", "ends", "roof"), "flat": ("sides", "ends", "deck"), "gondola": ("sides", "ends")}
"""Surfaces that everybody sees, by the kind of car."""


@dataclass(frozen=True, slots=True)
class FinishPlan:
    """The finish of one car.

    Args:
        strip: whether old paint comes off, why, and with what.
        steps: each after those that it waits for.
        passes: the colours in the order in which they are sprayed, each with what is masked meanwhile.
        masking: what the order costs, and what it rests on.
        times: how often the car is masked; no order that keeps the rules has fewer.
        covered: how many surfaces are covered in all, each time counted anew.
        coatings: the colours in the order in which they are sprayed.
        primer: the first coat.
        gloss: the coat under lettering, or None.
        flat: the last coat.
        paints: the owner's paint of each colour, or None.
        conflicts: paints that do not agree, or of which nothing is known, with what cures them.
        findings: these and all else that was found, the worst first.
        cautions: what can hurt in this finish.
        conditions: how warm and damp the room is.
    """

    strip: StripDecision
    steps: tuple[Step, ...]
    passes: tuple[Pass, ...]
    masking: Masking
    times: Working
    covered: Working
    coatings: tuple[Coating, ...]
    primer: Coating
    gloss: Coating | None
    flat: Coating
    paints: tuple[Paint | None, ...]
    conflicts: tuple[Conflict, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    conditions: Conditions

    @property
    def coats(self) -> tuple[Coating, ...]:
        """Every coat in its order: primer, colours, gloss where there is one, flat."""
        gloss = () if self.gloss is None else (self.gloss,)
        return (self.primer, *self.coatings, *gloss, self.flat)


def finish_plan(car: Car, *, lettering: bool = True, weather: bool = False, file: str = "") -> FinishPlan:
    """Return the finish that a car's colour scheme asks for.

    Args:
        car: with ``finish.scheme`` and, if the owner has typed them, paints and what is on the car now.
        lettering: the car gets lettering, where its file does not say that it gets none.
        weather: the car is weathered, where its file does not say how.
        file: the car file's name, for problems.

    Raises:
        InputError: no scheme, or one that cannot be read; a family, surface, glue, stripper or way of weathering that
            is not known; a temperature or humidity that is none.
    """
    reading = _Reading(car, file)
    finish = car.finish
    scheme = read_scheme(finish.scheme, file=file)
    coats = {colour: reading.coating(colour, "colour", surfaces) for colour, surfaces in scheme.items()}
    apart = reading.surfaces(finish.apart, "finish.apart") if finish.apart is not None else ("trucks",)

    def spoilt(over: str, below: str) -> bool:
        return spoils(coats[over], coats[below])

    light = finish.light_first is not False and bool(customary("masking", "light_before_dark").value)
    best = best_order(scheme, apart=apart, light_first=light, spoils=spoilt)
    own = reading.order(scheme)
    masking = judged(own, scheme, apart=apart, spoils=spoilt) if own else best
    primer, flat = reading.coating("primer", "primer"), reading.coating("flat", "flat")
    conditions = Conditions(reading.celsius(), reading.humidity())
    glued = None if finish.glued is None else reading.named(finish.glued, tuple(glues()), "finish.glued", "glue")
    loosens = loosening(glued or ())
    strip = strip_decision(finish, masking.order, primer.family.id, glued=loosens, file=file)
    lettered = reading.lettered(scheme) if lettering and finish.lettering != "none" else ()
    gloss = reading.gloss(coats.values(), lettered)
    kinds = tuple(
        weatherings()[each]
        for each in reading.named(finish.weathering, tuple(weatherings()), "finish.weathering", "way of weathering")
    )
    passes = tuple(_passes(masking.order, scheme, coats, apart, finish, reading))
    family = family_of(finish.old_family)
    old = Coating("old paint", (), families()[family or _LONGEST_WAIT], known=bool(family))
    stays = strip.verdict in ("keep", "unknown") and bool(finish.old_coat or finish.old_family)
    slats = slatted(car_kind(car.info.type))
    order = Order(
        car.info.name or "car",
        strip,
        primer,
        passes,
        gloss,
        lettered,
        finish.lettering or "decal",
        flat,
        finish.glue_to or (),
        kinds,
        weather,
        finish.barrier,
        finish.last_flat,
        slats,
        finish.glue_dry,
        old if stays else None,
        finish.minutes,
    )
    steps, passes = finish_steps(order, Times(conditions))
    weathered = tuple(coat_of(each) for each in kinds if each.family)
    layers = (
        *_layers(passes, primer, gloss, flat, old if stays else None, barrier=finish.barrier),
        *(Layer(each, (flat, *weathered[:place])) for place, each in enumerate(weathered)),
        *((Layer(flat, weathered),) if weathered and finish.last_flat else ()),
    )
    found = conflicts(
        layers, barrier=finish.barrier, other_order=lambda: best if best.spoilt < masking.spoilt else None
    )
    everything = (primer, *coats.values(), *((gloss,) if gloss is not None else ()), flat)
    findings = (
        *bath_findings(finish, strip, glued),
        *_unknown_paints(everything),
        *primer_taken(primer),
        *unused_paints(car.paints, tuple(scheme), ("primer", "gloss", "flat", "clear")),
        *impossible_waits(steps, {step.id: number for number, step in enumerate(steps, 1)}),
        *closed_labels(steps, passes),
        *_conflict_findings(found),
        *_order_findings(masking, best, own, scheme, apart, coats),
        *_twice(car.paints, everything),
        *_unsealed(passes, coats, Times(conditions)),
        *_unnamed(car, scheme),
        *(slat_findings(finish, lettered) if slats else ()),
        *lettering_findings(finish, tuple(coats.values()), lettered),
        *weathering_findings(kinds, flat, last_flat=finish.last_flat),
        *room_findings(conditions, tuple({each.family.id for each in everything if each.known})),
    )
    note = "as the order of colours has them"
    return FinishPlan(
        strip,
        steps,
        passes,
        masking,
        counted(masking.times, "times the car is masked", note=note),
        counted(masking.covered, "surfaces covered in all", note=note),
        tuple(coats[each] for each in masking.order),
        primer,
        gloss,
        flat,
        tuple(coats[each].paint for each in masking.order),
        found,
        tuple(sorted(findings, key=lambda each: VERDICT_ORDER.index(each.verdict))),
        tuple(_cautions(finish, strip, everything, kinds, steps)),
        conditions,
    )


# ------------------------------------------------------------------------------------------------------------- reading


@dataclass(frozen=True, slots=True)
class _Reading:
    """Reads what the car file says of paint."""

    car: Car
    file: str

    def refuse(self, problem: str, value: str, accepted: Sequence[str], key: str) -> InputError:
        near = difflib.get_close_matches(value.lower(), accepted, n=1)
        mend = f"Did you mean {near[0]}?" if near else ""
        return InputError(Problem(problem, value, ", ".join(accepted), mend, key, self.file))

    def coating(self, colour: str, role: Role, surfaces: tuple[str, ...] = ()) -> Coating:
        """Return a coat with the owner's paint of that colour: by its colour, else by its name."""
        for at, paint in enumerate(self.car.paints):
            if colour in (paint.colour.strip().lower(), paint.name.strip().lower()):
                family = self.family(paint, f"paint[{at}].family")
                known = family is not None
                return Coating(colour, surfaces, family or families()[_LONGEST_WAIT], role, paint, at, known)
        if role == "primer":
            return Coating(
                colour, surfaces, families()[str(customary("schedule_defaults", "primer_family").value)], role
            )
        return Coating(colour, surfaces, families()[_LONGEST_WAIT], role, known=False)

    def family(self, paint: Paint, key: str) -> PaintFamily | None:
        word = family_of(paint.family)
        if word and word not in families():
            raise self.refuse("there is no such family of paints", paint.family, tuple(families()), key)
        return families()[word] if word else None

    def named(self, given: Sequence[str], known: Sequence[str], key: str, what: str) -> tuple[str, ...]:
        """Return names as the data has them."""
        found = []
        for at, each in enumerate(given):
            word = each.strip().lower().replace(" ", "_").replace("-", "_")
            if word not in known:
                raise self.refuse(
                    f"there is no such {what}", each, [name.replace("_", " ") for name in known], f"{key}[{at}]"
                )
            found.append(word)
        return tuple(dict.fromkeys(found))

    def surfaces(self, given: Sequence[str], key: str) -> tuple[str, ...]:
        return self.named(
            [_PLURAL.get(word, word) for word in (each.strip().lower().removeprefix("the ") for each in given)],
            (*adjoining(), REST),
            key,
            "part of a car",
        )

    def order(self, scheme: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
        """Return the order that the owner wants, or nothing."""
        given = tuple(" ".join(each.lower().split()) for each in self.car.finish.order)
        for at, each in enumerate(given):
            if each not in scheme:
                raise self.refuse("the scheme has no such colour", each, tuple(scheme), f"finish.order[{at}]")
        if given and sorted(given) != sorted(scheme):
            missing = [each for each in scheme if each not in given]
            wrong = f"without {listed(missing)}" if missing else "a colour stands in it twice"
            mend = "Name each colour of the scheme once."
            raise InputError(
                Problem(
                    "this is not an order of all colours", wrong, ", ".join(scheme), mend, "finish.order", self.file
                )
            )
        return given

    def celsius(self) -> Working | None:
        text = self.car.finish.temperature.strip()
        found = re.fullmatch(r"([+-]?\d+(?:\.\d+)?)\s*°?\s*([CF])", text, re.IGNORECASE)
        if not text:
            return None
        key = "finish.temperature"
        if found is not None:
            number, fahrenheit = float(found[1]), found[2].upper() == "F"
            read = typed(number, "temperature", "°F" if fahrenheit else "°C", key=key, text=text)
            celsius = derive("temperature", "(f - 32)/1.8", "°C", f=read) if fahrenheit else read
            if 0 <= celsius.value <= 45:
                return celsius
        bare = re.fullmatch(r"[+-]?\d+(?:\.\d+)?", text)
        mend = f"Write its unit behind it: {text} F, or {text} C." if bare else "Paint needs a room fit to work in."
        raise InputError(
            Problem("this is no temperature of a room", text, "0 °C to 45 °C, 32 °F to 113 °F", mend, key, self.file)
        )

    def humidity(self) -> Working | None:
        text = self.car.finish.humidity.strip()
        if not text:
            return None
        found = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:%|percent)?", text)
        if found is None or not 0 <= float(found[1]) <= 100:
            key = "finish.humidity"
            raise InputError(Problem("this is no relative humidity", text, "0 % to 100 %", "", key, self.file))
        return typed(float(found[1]), "relative humidity", "percent", key="finish.humidity", text=text)

    def lettered(self, scheme: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
        """Return the surfaces that get lettering: the owner's, else sides and ends, else the rest, else all."""
        there = [each for surfaces in scheme.values() for each in surfaces]
        if self.car.finish.lettered:
            return self.surfaces(self.car.finish.lettered, "finish.lettered")
        usual = tuple(each for each in there if each in ("sides", "ends"))
        return usual or ((REST,) if REST in there else tuple(there))

    def gloss(self, coats: Collection[Coating], lettered: Sequence[str]) -> Coating | None:
        """Return the coat under decals, None where nothing needs one or the owner wants none."""
        finish = self.car.finish
        under = [each for each in coats if set(each.surfaces) & set(lettered)]
        shiny = bool(under) and all(each.paint is not None and each.paint.sheen == "gloss" for each in under)
        if (
            not lettered
            or finish.gloss is False
            or (finish.gloss is None and (shiny or finish.lettering == "dry transfer"))
        ):
            return None
        return self.coating("gloss", "gloss", tuple(lettered))


_PLURAL: Final = {"side": "sides", "end": "ends", "door": "doors", "truck": "trucks", "detail": "details"}


# -------------------------------------------------------------------------------------------------------------- passes


def _passes(
    order: Sequence[str],
    scheme: Mapping[str, tuple[str, ...]],
    coats: Mapping[str, Coating],
    apart: Collection[str],
    finish: Finish,
    reading: _Reading,
) -> Iterator[Pass]:
    clear = reading.coating("clear", "clear")
    for place, colour in enumerate(order):
        done = order[:place]
        masked = masked_before(colour, done, scheme, apart)
        beneath = tuple(each for each in done if reaches(scheme[each], scheme[colour], apart))
        under = {each: tuple(one for one in scheme[each] if one in masked) for each in done}
        edges = {each: surfaces for each, surfaces in under.items() if surfaces}
        seals, because = _seals(coats[colour], [coats[each] for each in edges], edges, clear, finish.seal)
        yield Pass(coats[colour], masked, beneath, seals, because, ())


def _seals(
    over: Coating, beneath: Sequence[Coating], edges: Mapping[str, tuple[str, ...]], clear: Coating, wish: str
) -> tuple[tuple[tuple[str, tuple[str, ...]], ...], str]:
    """Return with what the tape's edge is sealed, and why.

    One colour beneath seals itself: what creeps under the tape is not seen. Of several each seals its own edges, unless
    the owner has a clear that agrees with all of them: then one loading of the gun does it.
    """
    if not edges:
        return (), ""
    every = tuple(surface for surfaces in edges.values() for surface in surfaces)
    fits = clear.known and all(
        (found := compatibility(one.family.id, two.family.id)) is not None and found.good
        for one, two in [(over, clear), *((clear, each) for each in beneath if each.known)]
    )
    if wish == "clear":
        return (("clear", every),), "your choice: a clear coat along all edges"
    if len(edges) == 1:
        return tuple(edges.items()), "what creeps under the tape has the colour that is there"
    if fits and wish != "colours":
        return (
            ("clear", every),
        ), "one loading of the gun for edges of several colours, and your clear coat agrees with them"
    why = "each colour along its own edges" + (
        "" if wish == "colours" else "; you named no clear coat that agrees with them"
    )
    return tuple(edges.items()), why


def _layers(
    passes: Sequence[Pass],
    primer: Coating,
    gloss: Coating | None,
    flat: Coating,
    old: Coating | None,
    *,
    barrier: bool,
) -> Iterator[Layer]:
    """Yield each coat with what lies beneath it."""
    if old is not None:
        yield Layer(primer, (old,))
    coats = {each.coating.colour: each.coating for each in passes}
    for each in passes:
        yield Layer(each.coating, (primer, *(coats[below] for below in each.beneath)))
    if gloss is not None:
        yield Layer(
            gloss,
            tuple(each for each in coats.values() if set(each.surfaces) & set(gloss.surfaces)) or tuple(coats.values()),
        )
    under = tuple(each for each in coats.values() if not exposed(each, flat, gloss, barrier=barrier))
    yield Layer(flat, (*coats.values(), *((gloss,) if gloss is not None else ())), gloss, under)


# ------------------------------------------------------------------------------------------------------------ findings


def _unknown_paints(coats: Sequence[Coating]) -> Iterator[Finding]:
    unsaid = [each for each in coats if not each.known]
    if unsaid:
        called = listed(each.colour if each.role == "colour" else f"the {each.colour} coat" for each in unsaid)
        many = "family" if len(unsaid) == 1 else "families"
        yield Finding(
            "paint_families",
            "unknown",
            f"The {many} of {called} {'was' if len(unsaid) == 1 else 'were'} not said. So that no wait and no bottle "
            f"falls short whichever it is, waits are those of {_LONGEST_WAIT}, which waits longest, and amounts those "
            "of the family that takes most.",
            mend=f'Add a [[paint]] with colour = "{unsaid[0].colour}" and its family, and test on scrap first.',
            needs=("paint[].family",),
        )


def _conflict_findings(found: Sequence[Conflict]) -> Iterator[Finding]:
    told: set[str] = set()
    for each in found:
        check = "_over_".join(each.families)
        if check in told:
            check = f"{check}_{each.over}_{each.below}".replace(" ", "_")
        told.add(check)
        yield Finding(
            check,
            each.verdict,
            each.because,
            mend=" Or: ".join(mend.words for mend in each.mends),
            source=each.source,
        )


def _order_findings(
    masking: Masking,
    best: Masking,
    own: Sequence[str],
    scheme: Mapping[str, Sequence[str]],
    apart: Collection[str],
    coats: Mapping[str, Coating],
) -> Iterator[Finding]:
    if masking.dark_under:
        saves = "so that no paint spoils another" if not own and not masking.spoilt else "as you want it"
        yield Finding(
            "light_under_dark",
            "watch",
            f"Much lighter paint goes over the spray of darker in {masking.dark_under} "
            f"place{'s' if masking.dark_under > 1 else ''}, {saves}; it takes more coats to cover.",
            mend="Prime those surfaces again before the light colour, or mask them against the dark one.",
            source=str(customary("masking", "light_before_dark").citation),
        )
    if own and (masking.times, masking.covered) > (best.times, best.covered):
        yield Finding(
            "order",
            "ok",
            f"Your order: masked {_times(masking)}. In the order {', '.join(best.order)}: {_times(best)}.",
        )
    free = best_order(scheme, apart=apart, light_first=False)
    if not own and (free.times, free.covered) < (masking.times, masking.covered):
        yield Finding(
            "masking",
            "ok",
            f"In the order {', '.join(free.order)} the car would be masked {_times(free)}, not {_times(masking)}; but "
            "light paint would go over dark, or paint over what it spoils.",
            mend="Where light before dark alone stands against it, finish.light_first = false takes that order.",
        )


def _twice(paints: Sequence[Paint], coats: Sequence[Coating]) -> Iterator[Finding]:
    """Yield colours for which more than one paint is typed: the first is taken."""
    for coat in coats:
        same = [each for each in paints if each.colour.strip().lower() == coat.colour]
        if coat.paint is not None and len(same) > 1:
            yield Finding(
                f"paints_of_{coat.colour.replace(' ', '_')}",
                "watch",
                f"{len(same)} paints have the colour {coat.colour}; {coat.paint.name} is taken.",
                mend="Take the others out, or name the one that you mean in the scheme.",
            )


def _unsealed(passes: Sequence[Pass], coats: Mapping[str, Coating], times: Times) -> Iterator[Finding]:
    """Yield colours that would seal the tape's edge when their label lets nothing over them any more."""
    seals = dict.fromkeys(colour for each in passes for colour, _ in each.seals if colour in coats)
    for colour in seals:
        coat = coats[colour]
        if coat.paint is not None and times.again(coat, "") is None:
            yield Finding(
                f"seal_with_{colour.replace(' ', '_')}",
                "watch",
                f"{coat.paint.name} takes tape only once the last window of its label has closed: its own mist along "
                "the tape may lift it.",
                mend='Seal with a clear that agrees with it (finish.seal = "clear"), or test on scrap of the same age.',
                source=f"label of {coat.paint.name}",
            )


def _times(masking: Masking) -> str:
    times = f"{masking.times} time{'' if masking.times == 1 else 's'}"
    return f"{times} ({masking.covered} surface{'' if masking.covered == 1 else 's'})"


def _unnamed(car: Car, scheme: Mapping[str, Sequence[str]]) -> Iterator[Finding]:
    named = {surface for surfaces in scheme.values() for surface in surfaces}
    if REST in named:
        return
    missing = [each for each in _SHOWN.get(car_kind(car.info.type) or "", ("sides", "ends")) if each not in named]
    if missing:
        yield Finding(
            "unnamed_surfaces",
            "watch",
            f"The scheme gives no colour for {listed(missing)}: they stay in primer.",
            mend='Give them a colour in the scheme, or give "the rest" one.',
        )


def _cautions(
    finish: Finish, strip: StripDecision, coats: Sequence[Coating], kinds: Sequence[Weathering], steps: Sequence[Step]
) -> Iterator[Caution]:
    """Yield what applies to this finish, in the order of the data."""
    solvent = any(not each.known or each.family.id != "acrylic" for each in coats)
    when = {
        "spray": True,
        "solvent": solvent or any(each.carrier for each in kinds) or strip.verdict == "strip",
        "two_part": any(each.known and each.family.id == "two_part" for each in coats),
        "strip": strip.verdict in ("strip", "unknown"),
        "old_paint": finish.old_coat != "none",
        "knife": any(each.act == "mask" for each in steps),
    }
    yield from (each for each in cautions() if any(when[word] for word in each.when))
