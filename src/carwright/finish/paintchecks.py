"""What is checked of paints and their waits: paints that the scheme does not name, waits that cannot both be kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from carwright.car.keys import near_words
from carwright.car.model import Paint
from carwright.findings import Finding, listed
from carwright.finish.conflicts import family_words
from carwright.finish.model import Coating, Pass
from carwright.finish.steps import Step, Wait, Window

__all__ = ["closed_labels", "impossible_waits", "primer_taken", "unused_paints"]

_LATER_MIN = 10_000_000


def unused_paints(paints: Sequence[Paint], colours: Sequence[str], roles: Sequence[str]) -> Iterator[Finding]:
    """Yield paints whose colour is none of the scheme's, so that their label and bottle count for nothing.

    Args:
        paints: the owner's.
        colours: of the scheme, in small letters.
        roles: what else a paint may be for ("primer", "gloss").
    """
    for place, paint in enumerate(paints):
        colour = " ".join(paint.colour.lower().split())
        if not colour or colour in (*colours, *roles):
            continue
        near = near_words(colour, (*colours, *roles), many=1) or [
            each for each in colours if set(each.split()) & set(colour.split())
        ]
        yield Finding(
            f"paint_{place + 1}_unused",
            "watch",
            f"{paint.name or colour} is paint for {colour}, which the scheme does not name, so it is left out "
            "of the plan.",
            mend=f"Write its colour as the scheme does: {' or '.join(near or colours)}.",
        )


def primer_taken(primer: Coating) -> Iterator[Finding]:
    """Yield that the primer's family was not said and which is taken."""
    if primer.paint is None:
        yield Finding(
            "primer_family",
            "unknown",
            f"The family of the primer was not said; {family_words(primer.family.id)} is taken, as is usual. Were it "
            "enamel, a lacquer over it would lift it.",
            mend='Add a [[paint]] with colour = "primer" and its family.',
            source="common practice",
            needs=("paint[].family",),
        )


def impossible_waits(steps: Sequence[Step], numbers: dict[str, int]) -> Iterator[Finding]:
    """Yield steps that are to wait for one and the same step in ways that cannot both be kept."""
    for step in steps:
        by: dict[str, list[Wait]] = {}
        for wait in step.waits:
            by.setdefault(wait.after, []).append(wait)
        for after, waits in by.items():
            left: tuple[Window, ...] = waits[0].windows
            for wait in waits[1:]:
                left = tuple(_met(one, two) for one in left for two in wait.windows if _meet(one, two))
            if not left:
                reasons = listed(dict.fromkeys(f"{each.because} ({each.source})" for each in waits if each.because))
                yield Finding(
                    f"waits_of_{step.id}",
                    "fail",
                    f"Act {numbers[step.id]}, {step.title[:1].lower()}{step.title[1:]}, cannot keep all its waits "
                    f"after act {numbers[after]}: {reasons}.",
                    mend="Read the label again, take another paint, or an order in which they do not meet.",
                )


def _meet(one: Window, two: Window) -> bool:
    return max(one.opens_min, two.opens_min) <= min(one.closes_min or _LATER_MIN, two.closes_min or _LATER_MIN)


def _met(one: Window, two: Window) -> Window:
    closes = min(one.closes_min or _LATER_MIN, two.closes_min or _LATER_MIN)
    return Window(max(one.opens_min, two.opens_min), None if closes == _LATER_MIN else closes)


def closed_labels(steps: Sequence[Step], passes: Sequence[Pass]) -> Iterator[Finding]:
    """Yield paints that get another coat only after the last window of their label has closed.

    Of each colour that is the first other paint on its own surfaces, at the earliest that all waits allow.
    """
    starts: dict[str, int] = {}
    ends: dict[str, int] = {}
    for step in steps:
        starts[step.id] = max((ends[wait.after] + wait.windows[0].opens_min for wait in step.waits), default=0)
        ends[step.id] = starts[step.id] + step.hands_min
    for each in passes:
        paint, done = each.coating.paint, [one for one in steps if one.id in each.steps and one.act == "coat"]
        if paint is None or not paint.windows or paint.over or not done:
            continue
        closes = paint.windows[-1][1]
        after = [
            one
            for one in steps
            if one.act in ("coat", "gloss", "flat")
            and one.colour != each.coating.colour
            and starts[one.id] >= ends[done[-1].id]
            and (not one.surfaces or set(one.surfaces) & set(each.coating.surfaces))
        ]
        if closes is None or not after:
            continue
        name = paint.name or each.coating.colour
        waited = starts[after[0].id] - ends[done[-1].id]
        if waited > closes.value:
            yield Finding(
                f"late_over_{each.coating.colour.replace(' ', '_')}",
                "watch",
                f"{after[0].colour.capitalize()} goes on {each.coating.colour} {waited / 60:.0f} h after it at the "
                f"earliest, and the label of {name} lets nothing on after {closes.value / 60:g} h.",
                mend="Ask the label what may follow once it has cured (paint[].over), scuff it, and test on scrap.",
                source=f"label of {name}",
            )
