"""The steps of a finish: wash, prime, then each colour with its masking, gloss, lettering and flat coat."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from carwright.car.model import Span
from carwright.findings import listed
from carwright.finish.steps import BOOTH, Act, Step, Use, Wait, Window
from carwright.reference.citation import Entry
from carwright.reference.finishing import PaintFamily, compatibility, customary, families

__all__ = ["Coating", "finish_steps", "label_windows"]

_HANDS: Final[Mapping[Act, int]] = {
    "wash": 20,
    "prime": 10,
    "coat": 8,
    "mask": 12,
    "seal": 4,
    "unmask": 10,
    "gloss": 8,
    "letter": 45,
    "set": 10,
    "flat": 8,
    "weather": 30,
}
"""Minutes of hands-on work, our own estimate; masking counts for each surface that is covered."""

_MIST: Final = 10
"""Minutes after which a coat goes over a mist of paint, our own estimate."""

_SPRAYED: Final = frozenset({"prime", "coat", "seal", "gloss", "flat", "weather"})


@dataclass(frozen=True, slots=True)
class Coating:
    """A colour, its paint and where it goes.

    Args:
        colour: as the scheme names it.
        surfaces: which get it.
        family: of the paint; of an unknown one that which waits longest.
        windows: of the owner's label, or None.
        source: the key of that label.
    """

    colour: str
    surfaces: tuple[str, ...]
    family: PaintFamily
    windows: tuple[Window, ...] | None = None
    source: str = ""


def label_windows(spans: Sequence[Span]) -> tuple[Window, ...] | None:
    """Return the windows of a label, or None where none were typed."""
    windows = (
        Window(math.ceil(opens.value), None if closes is None else math.floor(closes.value)) for opens, closes in spans
    )
    return tuple(windows) or None


def _after(step: str, because: str, entry: Entry, *others: Entry) -> Wait:
    """Return a wait of the longest of some stored hours."""
    longest = max((entry, *others), key=lambda each: each.number)
    windows = (Window(math.ceil(longest.number * 60)),)
    return Wait(step, windows, because, longest.citation.basis, str(longest.citation))


def _recoat(paint: Coating, step: str) -> Wait:
    """Return when the second coat may follow the first: the label, else the family's custom."""
    because = "the next coat lifts a film that is half cured"
    if paint.windows is not None:
        return Wait(step, paint.windows, because, "", paint.source)
    start, end = paint.family.forbidden_from, paint.family.forbidden_to
    late = Window(math.ceil(end.number * 60))
    if end.number > start.number:
        windows = (Window(0, math.floor(start.number * 60)), late)
        return Wait(step, windows, because, end.citation.basis, str(end.citation))
    dry = paint.family.touch_dry
    return Wait(step, (Window(math.ceil(dry.number)),), because, dry.citation.basis, str(dry.citation))


@dataclass(slots=True)
class _Line:
    """Steps in the order in which they are made."""

    car: str
    steps: list[Step] = field(default_factory=list)

    def add(
        self,
        name: str,
        act: Act,
        title: str,
        waits: Sequence[Wait] = (),
        surfaces: tuple[str, ...] = (),
        colour: str = "",
        *,
        rack: float = 0,
        hold: str = "",
    ) -> str:
        """Add a step and return its name; without a wait of its own it follows the one before."""
        follows = (Wait(self.steps[-1].id),) if self.steps and all(w.after != self.steps[-1].id for w in waits) else ()
        times = max(1, len(surfaces)) if act == "mask" else 1
        uses = (Use(BOOTH),) if act in _SPRAYED else ()
        minutes = _HANDS[act] * times
        self.steps.append(
            Step(name, self.car, act, title, minutes, surfaces, uses, colour, (*waits, *follows), math.ceil(rack), hold)
        )
        return name


def finish_steps(car: str, coatings: Sequence[Coating], *, lettering: bool, weather: bool) -> tuple[Step, ...]:
    """Return the steps of a finish, each after those that it waits for.

    Args:
        car: the car's name.
        coatings: in the order in which they are sprayed; at least one.
        lettering: gloss, lettering and its setting stand before the flat coat.
        weather: weathering stands behind it.
    """

    def default(name: str) -> Entry:
        return customary("schedule_defaults", name)

    line = _Line(car)
    primer = families()[str(default("primer_family").value)]
    wash = line.add("wash", "wash", "Wash the body, rinse and let it dry", hold="dry, no grease, no finger marks")
    wait = _after(wash, "water hides in corners", default("wash_and_dry_hours"))
    line.add("prime", "prime", "Prime everything", (wait,), colour="primer", rack=primer.touch_dry.number)
    last: list[tuple[str, Coating]] = []
    for number, paint in enumerate(coatings, 1):
        known = compatibility(paint.family.id, primer.id)
        cures = () if known is None else (known.wait,)
        ready = [_after("prime", "the primer has to be dry", default("primer_to_colour_hours"), *cures)]
        covered = tuple(surface for _, under in last for surface in under.surfaces)
        if covered:
            ready = [_covered(step, under, paint) for step, under in last]
            mask = line.add(
                f"mask_{number}", "mask", f"Mask {listed(covered)}", ready, covered, hold="edges pressed down"
            )
            seal = last[-1][1].colour if len(last) == 1 else "clear"
            line.add(f"seal_{number}", "seal", f"Mist {seal} along the tape", surfaces=covered, colour=seal)
            ready = [Wait(f"seal_{number}", (Window(_MIST),), "the mist has to flash off", "", "own estimate")]
        dry = paint.family.touch_dry.number
        where = f"{paint.colour} on {listed(paint.surfaces)}"
        first = line.add(
            f"colour_{number}", "coat", f"First coat: {where}", ready, paint.surfaces, paint.colour, rack=dry
        )
        again = [_recoat(paint, first)]
        second = f"colour_{number}_again"
        line.add(second, "coat", f"Second coat: {where}", again, paint.surfaces, paint.colour, rack=dry)
        last.append((second, paint))
        if covered:
            line.add(f"unmask_{number}", "unmask", "Pull the tape back on itself", _tape(second, mask), covered)
    coloured = [_after(step, "the colour has to cure", default("colour_to_gloss_hours")) for step, _ in last[-1:]]
    if lettering:
        line.add("gloss", "gloss", "Gloss where lettering goes", coloured, colour="gloss", hold="even gloss, no dust")
        line.add(
            "letter", "letter", "Letter", [_after("gloss", "the gloss has to cure", default("gloss_to_decal_hours"))]
        )
        line.add("set", "set", "Set the lettering, prick what is silvery", hold="film lies in every groove")
        coloured = [_after("set", "setting fluid has to dry out", default("decal_to_seal_hours"))]
    line.add("flat", "flat", "Flat coat over everything", coloured, colour="flat")
    if weather:
        line.add("weather", "weather", "Weather", [_after("flat", "flat first", default("flat_to_weathering_hours"))])
    return tuple(line.steps)


def _covered(step: str, below: Coating, over: Coating) -> Wait:
    """Return when tape, and the next family, may go on a colour."""
    known = compatibility(over.family.id, below.family.id)
    return _after(
        step, "the colour has to take the tape", below.family.mask_after, *(() if known is None else (known.wait,))
    )


def _tape(coat: str, mask: str) -> list[Wait]:
    """Return when tape comes off: soon after the last coat, and before it has stuck too long."""
    least, most = (customary("masking", "remove_tape_after_minutes", end) for end in ("low", "high"))
    limit = customary("masking", "max_time_on_hours")
    soon = Window(math.ceil(least.number), math.floor(most.number))
    return [
        Wait(coat, (soon,), "a cured film tears along the tape", most.citation.basis, str(most.citation)),
        Wait(
            mask,
            (Window(0, math.floor(limit.number * 60)),),
            "old tape leaves glue",
            limit.citation.basis,
            str(limit.citation),
        ),
    ]
