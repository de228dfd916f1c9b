"""The steps of a finish: strip, wash, prime, each colour with its masks, gloss, lettering, flat coat, weathering."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from carwright.car.model import Span
from carwright.findings import listed
from carwright.finish.checks import dissolves
from carwright.finish.conflicts import barriers_between, exposed, spoils
from carwright.finish.model import Coating, Pass, StripDecision
from carwright.finish.steps import BOOTH, Act, Step, Use, Wait, Window
from carwright.finish.surfaces import surfaces_told
from carwright.finish.windows import Times, at_once, coat_of, flash_off, stored_minutes, window
from carwright.reference.finishing import Weathering, customary
from carwright.reference.leaves import leaf
from carwright.working import Working, chosen, counted, derive

__all__ = ["Order", "estimate", "finish_steps"]

_SPRAYED: Final = frozenset({"prime", "coat", "seal", "gloss", "flat"})

_SOFT_MIN: Final = 60.0
"""Minutes after lettering in which setting fluid still finds the film soft, our own estimate."""


@dataclass(frozen=True, slots=True)
class Order:
    """All that the steps of a finish follow from.

    Args:
        car: the car's name.
        strip: whether old paint comes off.
        primer: the first coat.
        passes: the colours in the order in which they are sprayed, without their steps.
        gloss: the coat under lettering, or None.
        lettered: surfaces that get lettering; empty for none.
        lettering: "decal" or "dry transfer".
        flat: the last coat.
        fitted_on: parts that are glued to bare plastic before the primer.
        weathering: ways of it, in their order.
        plain_weathering: it is weathered, and nobody said how.
        barrier: the owner takes a barrier coat where it cures a conflict.
        last_flat: a flat coat goes over the weathering.
        slatted: its sides are slats with gaps between them.
        glue_dry: when parts that were glued on may be washed, by the glue's label.
        old: the old paint, where it may stay on, or None.
        minutes: the owner's own for an act.
    """

    car: str
    strip: StripDecision
    primer: Coating
    passes: tuple[Pass, ...]
    gloss: Coating | None
    lettered: tuple[str, ...]
    lettering: str
    flat: Coating
    fitted_on: tuple[str, ...] = ()
    weathering: tuple[Weathering, ...] = ()
    plain_weathering: bool = False
    barrier: bool = False
    last_flat: bool = False
    slatted: bool = False
    glue_dry: tuple[Span, ...] = ()
    old: Coating | None = None
    minutes: Mapping[str, Working] = field(default_factory=dict)


def estimate(act: str, minutes: Mapping[str, Working]) -> Working:
    """Return the hands-on minutes of an act: the owner's own, else an estimate, which its note and source say."""
    own = minutes.get(act)
    if own is not None:
        return derive(f"minutes to {act}, your own", "n", "min", n=own)
    return leaf(customary("hands_minutes", act), f"minutes to {act.replace('_', ' ')}, estimate", "min", stored="min")


@dataclass(slots=True)
class _Line:
    """Steps in the order in which they are made."""

    order: Order
    steps: list[Step] = field(default_factory=list)

    def add(
        self,
        name: str,
        act: Act,
        title: str,
        waits: Sequence[Wait | None] = (),
        surfaces: tuple[str, ...] = (),
        colour: str = "",
        *,
        rack: Working | None = None,
        hold: str = "",
        booth: bool = False,
    ) -> str:
        """Add a step and return its name; without a wait of its own for the one before it follows that."""
        kept = [each for each in waits if each is not None]
        if self.steps and all(each.after != self.steps[-1].id for each in kept):
            kept.append(Wait(self.steps[-1].id))
        hands = estimate(act, self.order.minutes)
        if act == "mask" and len(surfaces) > 1:
            count = counted(len(surfaces), f"surfaces covered for {name}", note="as the order of colours has them")
            hands = derive(f"minutes to mask for {name}", "n*m", "min", n=count, m=hands)
        self.steps.append(
            Step(
                name,
                self.order.car,
                act,
                title,
                max(1, math.ceil(hands.value)),
                surfaces,
                (Use(BOOTH),) if act in _SPRAYED or booth else (),
                colour,
                tuple(kept),
                0 if rack is None else math.ceil(rack.value),
                hold,
                hands=hands,
                rack=rack,
            )
        )
        return name


def finish_steps(order: Order, times: Times) -> tuple[tuple[Step, ...], tuple[Pass, ...]]:
    """Return the steps of a finish, each after those that it waits for, and the passes with their steps."""
    line = _Line(order)
    _stripping(line, order)
    hard: list[Wait | None] = []
    if order.fitted_on and order.strip.verdict in ("strip", "bare"):
        parts = listed(order.fitted_on)
        fit = line.add("fit", "fit", f"Glue on the bare plastic: {parts}", hold="joints hard, no glue beside them")
        hard.append(times.glued(order.glue_dry, fit))
    kept = order.strip.verdict in ("keep", "unknown")
    title = "Wash, scuff the old paint wet, rinse and let it dry" if kept else "Wash the body, rinse and let it dry"
    wash = line.add("wash", "wash", title, hard, hold="dry, no grease, no finger marks")
    dry = times.customary(wash, "water hides in corners", "wash_and_dry_hours")
    ready: list[Wait | None] = [
        dry,
        *_barrier(line, order, times, order.primer, [(wash, order.old)] if order.old else [], [dry]),
    ]
    rack = times.dry(order.primer)
    prime = line.add("prime", "prime", "Prime everything", ready, (), order.primer.colour, rack=rack)
    last: list[tuple[str, Coating]] = []
    passes = tuple(_pass(line, order, times, each, number, prime, last) for number, each in enumerate(order.passes, 1))
    before = _lettering(line, order, times, last) or _over_all(times, order.flat, last)
    before += _barrier(line, order, times, order.flat, last, before)
    flat = line.add(
        "flat",
        "flat",
        "Flat coat over everything",
        before,
        (),
        order.flat.colour,
        rack=times.dry(order.flat),
    )
    _weathering(line, order, times, flat)
    return _without_idle_waits(line.steps), passes


def _without_idle_waits(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Return the steps without the waits that the others imply; a wait with a late edge or a gap is always kept."""
    made: list[Step] = []
    since: dict[str, dict[str, int]] = {}  # step -> earlier step -> least minutes from that one's end to its start
    hands = {each.id: each.hands_min for each in steps}

    def implied(waits: Sequence[Wait]) -> dict[str, int]:
        least: dict[str, int] = {}
        for wait in waits:
            opens = wait.windows[0].opens_min
            for before, minutes in (*since[wait.after].items(), (wait.after, -hands[wait.after])):
                least[before] = max(least.get(before, 0), minutes + hands[wait.after] + opens)
        return least

    for step in steps:
        kept = list(step.waits)
        for wait in sorted(step.waits, key=lambda each: (bool(each.because), each.windows[0].opens_min)):
            others = [each for each in kept if each is not wait]
            free = len(wait.windows) == 1 and wait.windows[0].closes_min is None
            if free and implied(others).get(wait.after, -1) >= wait.windows[0].opens_min:
                kept = others
        since[step.id] = implied(kept)
        made.append(replace(step, waits=tuple(kept)))
    return tuple(made)


def _stripping(line: _Line, order: Order) -> None:
    strip, rung = order.strip, order.strip.rung
    if strip.verdict == "unknown":
        hidden = stored_minutes(customary("strippers", "hidden_spot_hours"), "time on a hidden spot")
        source = customary("strippers", "hidden_spot_hours").citation
        test = line.add("test", "hold", "Try primer and thinner on a hidden spot of the old paint")
        because = "what it does to the old paint shows after a while"
        wait = Wait(test, (window(hidden),), because, source.basis, str(source))
        line.add("look", "hold", "Look at the hidden spot: strip, or go on", (wait,), hold="nothing lifted or wrinkled")
        return
    if strip.verdict == "strip" and rung is None:
        title = "Take the old paint off by hand, wet: no stripper that is known to suit is left"
        line.add("by_hand", "strip", title, hold="no old paint left, detail still sharp, no dust")
    if strip.verdict != "strip" or rung is None:
        return
    waits: tuple[Wait, ...] = ()
    if rung.status != "worked":
        spot = line.add(
            "try", "strip", f"Try {rung.name} on a hidden spot", hold="paint soft, plastic hard and not dull"
        )
        waits = (
            Wait(spot, (window(rung.first_check),), "the plastic has to show what it does", "practice", rung.source),
        )
    bath = line.add("bath", "strip", f"Lay the body in {rung.name}, never above {strip.warmest.value:.0f} °C", waits)
    by = (
        (window(rung.opens, rung.limit),) if rung.opens.value <= rung.limit.value else (window(rung.limit, rung.limit),)
    )
    because = "paint takes its time to lift, and plastic does not stand the bath for ever"
    wait = Wait(bath, by, because, "practice", rung.source)
    line.add("rinse", "strip", "Take it out, brush the paint off, rinse", (wait,), hold="no paint left in the corners")


def _pass(
    line: _Line,
    order: Order,
    times: Times,
    made: Pass,
    number: int,
    prime: str,
    last: list[tuple[str, Coating]],
) -> Pass:
    """Add the steps of one colour and return its pass with their ids."""
    coat, masked = made.coating, made.masked
    begun = len(line.steps)
    done = {coating.colour: (step, coating) for step, coating in last}
    ready: list[Wait | None] = [
        times.customary(prime, "the primer has to be dry", "primer_to_colour_hours"),
        times.over(coat, order.primer, prime),
    ]
    ready += [times.over(coat, done[each][1], done[each][0]) for each in made.beneath if each in done]
    covered = [each for each in done.values() if set(each[1].surfaces) & set(masked)]
    if last and last[-1][1].colour not in [each[1].colour for each in covered]:
        ready.append(times.carries(last[-1][1], last[-1][0], "handle"))
    below = [(prime, order.primer), *(each for each in done.values() if each[1].colour in made.beneath)]
    ready += _barrier(line, order, times, coat, below, ready)
    mask = ""
    if masked:
        ready += [times.carries(coating, step, "mask") for step, coating in covered]
        mask, ready = _taped(line, times, made, done, f"{number}", f"Mask {surfaces_told(masked)}", ready)
    where = f"{coat.colour} on {surfaces_told(coat.surfaces)}"
    first = line.add(
        f"colour_{number}", "coat", f"First coat: {where}", ready, coat.surfaces, coat.colour, rack=times.dry(coat)
    )
    recoat: Wait | None = times.recoat(coat, first)
    anew: list[Wait | None] = []
    if mask and recoat is not None:
        held = times.under_tape(recoat, _spent(line, mask, first))
        if held is None:
            title = "Pull the tape back on itself: it cannot stay on until the second coat"
            line.add(f"unmask_{number}_between", "unmask", title, times.tape(first, mask), masked)
            title = f"Mask {surfaces_told(masked)} anew"
            anew = [times.carries(coat, first, "handle")]
            mask, anew = _taped(line, times, made, done, f"{number}_anew", title, [*anew, recoat])
        recoat = held or recoat
    second = line.add(
        f"colour_{number}_again",
        "coat",
        f"Second coat: {where}",
        (recoat, *anew),
        coat.surfaces,
        coat.colour,
        rack=times.dry(coat),
    )
    last.append((second, coat))
    if mask:
        line.add(f"unmask_{number}", "unmask", "Pull the tape back on itself", times.tape(second, mask), masked)
    steps = tuple(each.id for each in line.steps[begun:])
    return Pass(coat, masked, made.beneath, made.seals, made.seal_because, steps)


def _taped(
    line: _Line,
    times: Times,
    made: Pass,
    done: Mapping[str, tuple[str, Coating]],
    name: str,
    title: str,
    ready: Sequence[Wait | None],
) -> tuple[str, list[Wait | None]]:
    """Add masking and the mist along its edges; return the id of the masking, and what the coat then waits for."""
    gaps = ", the gaps closed from inside" if line.order.slatted and "sides" in made.masked else ""
    mask = line.add(f"mask_{name}", "mask", title, ready, made.masked, hold=f"edges pressed down{gaps}")
    for place, (seal, edges) in enumerate(made.seals, 1):
        own = f"seal_{name}" if len(made.seals) == 1 else f"seal_{name}_{place}"
        where = "" if len(made.seals) == 1 else f" of {listed(edges)}"
        again = times.again(done[seal][1], done[seal][0]) if seal in done else None
        line.add(own, "seal", f"Mist {seal} along the tape{where}", [again], edges, seal)
    flash = flash_off()
    return mask, [Wait(line.steps[-1].id, (window(flash),), "the mist has to flash off", "practice", flash.source)]


def _spent(line: _Line, mask: str, first: str) -> float:
    """Return minutes from the end of masking to tape off, but for the wait between the coats: hands and flash-off."""
    ids = [each.id for each in line.steps]
    hands = sum(each.hands_min for each in line.steps[ids.index(mask) + 1 :])
    second = line.steps[ids.index(first)].hands_min
    return hands + second + flash_off().value + customary("masking", "remove_tape_after_minutes", "low").number


def _barrier(
    line: _Line,
    order: Order,
    times: Times,
    coat: Coating,
    beneath: Sequence[tuple[str, Coating]],
    ready: Sequence[Wait | None],
) -> list[Wait]:
    """Add a barrier coat where the owner takes it and it cures, and return what waits for it."""
    gloss = order.gloss if coat is order.flat else None
    spoilt = [
        (step, below)
        for step, below in beneath
        if spoils(coat, below)
        and (coat.role != "gloss" or set(below.surfaces) & set(coat.surfaces))
        and (not below.surfaces or exposed(below, coat, gloss, barrier=order.barrier))
    ]
    on = {below.family.id for _, below in beneath if below.known}
    between = [each for _, below in spoilt for each in barriers_between(coat.family.id, below.family.id, on)]
    if not order.barrier or not between:
        return []
    bare = [one for _, below in spoilt for one in exposed(below, coat, gloss, barrier=order.barrier)]
    surfaces = coat.surfaces or tuple(dict.fromkeys(bare if all(below.surfaces for _, below in spoilt) else ()))
    name = f"barrier_{coat.colour.replace(' ', '_')}"
    words = between[0].name.words
    cured = [
        times.cured(below, step, f"{below.colour} has to cure before the barrier")
        for step, below in spoilt
        if below is not order.old
    ]
    line.add(
        name, "seal", f"Mist {words} on {surfaces_told(surfaces) or 'everything'}", (*ready, *cured), surfaces, words
    )
    return [times.barrier(between[0], name)]


def _over_all(times: Times, coat: Coating, last: Sequence[tuple[str, Coating]]) -> list[Wait | None]:
    """Return what a clear coat waits for: the customary cure of the last colour, and each family beneath it."""
    newest = {coating.family.id: (step, coating) for step, coating in last}
    waits: list[Wait | None] = [
        times.customary(step, "the colour has to cure", "colour_to_gloss_hours") for step, _ in last[-1:]
    ]
    return waits + [_drifted(times.over(coat, below, step), coat, below) for step, below in newest.values()]


def _drifted(wait: Wait | None, coat: Coating, below: Coating) -> Wait | None:
    """Return a wait for a coat that is sprayed beside another, and only drifts onto it, with that as its reason."""
    if wait is None or not coat.surfaces or set(coat.surfaces) & set(below.surfaces):
        return wait
    return replace(wait, because=f"{below.colour} has to be ready for {coat.colour} that drifts onto it")


def _lettering(line: _Line, order: Order, times: Times, last: Sequence[tuple[str, Coating]]) -> list[Wait | None]:
    """Add gloss, lettering and its setting; return what the flat coat waits for, nothing where there is none."""
    if not order.lettered:
        return []
    base = last[-1]
    if order.gloss is not None:
        beneath = [each for each in last if set(each[1].surfaces) & set(order.lettered)] or [base]
        beneath = [each for each in beneath if each is not base] + [base]
        waits = _over_all(times, order.gloss, beneath)
        waits += _barrier(line, order, times, order.gloss, beneath, waits)
        title = f"Gloss where lettering goes: {surfaces_told(order.lettered)}"
        name, rack = order.gloss.colour, times.dry(order.gloss)
        gloss = line.add("gloss", "gloss", title, waits, order.lettered, name, rack=rack, hold="even gloss, no dust")
        ready = [times.lettering(order.gloss, gloss, "gloss_to_decal_hours")]
    else:
        ready = [times.lettering(coating, step, "colour_to_gloss_hours") for step, coating in last[-1:]]
        ready += [
            times.carries(coating, step, "handle")
            for step, coating in last
            if set(coating.surfaces) & set(order.lettered)
        ]
    if order.lettering != "decal":
        line.add("letter", "letter", "Rub the lettering on", ready, order.lettered, hold="every letter lies down")
        return [Wait("letter", (Window(0),))]
    line.add("letter", "letter", "Letter", ready, order.lettered)
    soft = chosen(_SOFT_MIN, "longest from lettering to its setting", "min", note="our own estimate")
    wait = Wait("letter", (window(at_once(), soft),), "film is set while it is soft", "practice", "own estimate")
    title = "Set the lettering, prick what is silvery"
    line.add("set", "set", title, (wait,), order.lettered, hold="film lies in every groove, no glue beside it")
    dry = times.customary("set", "setting fluid has to dry out", "decal_to_seal_hours")
    below = [] if order.gloss is None else [times.over(order.flat, order.gloss, "gloss")]
    return [dry, *below]


def _weathering(line: _Line, order: Order, times: Times, flat: str) -> None:
    """Add each way of weathering once what lies beneath it is dry, and the flat coat over all of it."""
    first = times.customary(flat, "the flat coat has to dry", "flat_to_weathering_hours")
    if order.plain_weathering and not order.weathering:
        line.add("weather", "weather", "Weather", (first,))
    made: list[tuple[str, Weathering]] = []
    for number, kind in enumerate(order.weathering, 1):
        waits: list[Wait | None] = [first]
        waits += [times.weathered(before, step, kind.name.words) for step, before in made[-1:]]
        if kind.family:
            under = [(step, coat_of(before)) for step, before in made if before.family]
            waits += [times.over(coat_of(kind), coat, step) for step, coat in under]
        if dissolves(kind, order.flat.family.id):
            waits.append(times.cured(order.flat, flat, "its thinner takes up fresh paint of this family"))
        name = "weather" if len(order.weathering) == 1 else f"weather_{number}"
        booth = kind.id.startswith("airbrushed")
        line.add(name, "weather", f"Weather: {kind.name.words}", waits, booth=booth)
        made.append((name, kind))
    if made and order.last_flat:
        over: list[Wait | None] = [times.weathered(kind, step, "the last flat coat") for step, kind in made]
        over += [times.over(order.flat, coat_of(kind), step) for step, kind in made if kind.family]
        title, rack = "Mist a last flat coat over the weathering", times.dry(order.flat)
        line.add("last_flat", "flat", title, over, (), order.flat.colour, rack=rack)
