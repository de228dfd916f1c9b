"""How a finish is said on screen, in the book and on the page alike: strip or not, order, paint, times, waits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from carwright.findings import listed
from carwright.finish.model import Pass, Rung, StripDecision
from carwright.finish.steps import Wait, Window
from carwright.finish.surfaces import surfaces_told
from carwright.plan.finishing import FinishPlan
from carwright.plan.paintneeds import PaintAnswer, PaintNeed, needs_told
from carwright.reference.citation import basis_words
from carwright.reference.kinds import slatted

__all__ = [
    "STRIP_TOLD",
    "amounts_told",
    "area_told",
    "bought_told",
    "fit_rungs",
    "gaps_told",
    "ladder_told",
    "masked_told",
    "misted_told",
    "numbers_told",
    "paint_notes",
    "pass_told",
    "seal_told",
    "time_told",
    "waits_told",
]

STRIP_TOLD: Final = {
    "strip": "Strip the old paint.",
    "keep": "Leave the old paint on.",
    "bare": "There is no old paint.",
    "unknown": "Whether the old paint comes off is not known: test first.",
}
"""What was decided about old paint, by its verdict."""

_BASIS: Final = {
    "seen": "published",
    "practice": "common practice",
    "memory": "from memory",
    "derived": "worked out",
}


def fit_rungs(strip: StripDecision) -> tuple[Rung, ...]:
    """Return the strippers that may be used, from the mildest on; none where old paint stays or there is none."""
    usable = ("worked", "next", "later") if strip.verdict in ("strip", "unknown") else ()
    return tuple(each for each in strip.ladder if each.status in usable)


def ladder_told(strip: StripDecision) -> tuple[str, ...]:
    """Return what is said beneath the ladder: spot and warmth, what the log rules out, what is unfit and why."""
    if strip.verdict not in ("strip", "unknown"):
        return ()
    told = [f"Try each on a hidden spot first; no bath warmer than {strip.warmest.value:.0f} °C."]
    log = [f"{each.name} ({each.because})" for each in strip.ladder if each.status in ("failed", "attacked")]
    told += [f"Tried and left out: {listed(log)}."] if log else []
    unfit: dict[str, list[str]] = {}
    for each in strip.ladder:
        if each.status == "unfit":
            unfit.setdefault(each.because, []).append(each.name)
    told += [f"Not for this car: {'; '.join(names)}. The reason: {because}." for because, names in unfit.items()]
    return tuple(told)


def masked_told(made: FinishPlan) -> str:
    """Return how often the car is masked and how much is covered: "masked twice, 3 parts under tape in all"."""
    times, covered = int(made.times.value), int(made.covered.value)
    if not times:
        return "no tape"
    often = {1: "once", 2: "twice"}.get(times, f"{times} times")
    return f"masked {often}, {covered} part{'' if covered == 1 else 's'} under tape in all"


def pass_told(made: Pass) -> str:
    """Return a colour with its surfaces and what is under tape meanwhile."""
    tape = f"under tape: {surfaces_told(made.masked)}" if made.masked else "no tape"
    return f"{made.coating.colour} on {surfaces_told(made.coating.surfaces)}; {tape}"


def seal_told(made: Pass) -> str:
    """Return with what the tape's edges are sealed, and why; "" where there is none."""
    if not made.seals:
        return ""
    seals = listed(f"{_coat_told(colour)} along {surfaces_told(edges)}" for colour, edges in made.seals)
    return f"The tape's edge is sealed with {seals}: {made.seal_because}."


def _coat_told(colour: str) -> str:
    return "the clear coat" if colour == "clear" else colour


def gaps_told(kind: str | None) -> str:
    """Return what to know of masking a kind of car whose sides are slats; "" for any other."""
    if not slatted(kind):
        return ""
    return (
        "The sides are drawn closed, but they are slats: paint goes through the gaps onto floor, ballast and the inside"
        " of the other side. Close the gaps from inside with card or tape, the floor out of the car (common practice)."
    )


def bought_told(need: PaintNeed) -> str:
    """Return how many cans or bottles to buy: "2 of 15 ml"; "" where nobody said what one holds."""
    if need.buy is None or need.contents is None:
        return ""
    count = int(need.buy.value)
    return f"{count} of {need.contents.value:g} ml" if count else "none, it lasts"


def area_told(need: PaintNeed, *, inches: bool) -> str:
    """Return the area that a paint covers in in² or cm², without its unit; "?" where it is not known."""
    return "?" if need.area is None else f"{need.area.value / (645.16 if inches else 100.0):.1f}"


def amounts_told(need: PaintNeed) -> tuple[str, str]:
    """Return how many ml a paint takes and how many at most; "?" where it is not known."""
    return ("?", "?") if need.amount is None else (f"{need.amount.likely.value:.1f}", f"{need.amount.most.value:.1f}")


def misted_told(made: FinishPlan) -> str:
    """Return what is only misted, as a barrier or along tape, and is to be there too; "" where there is none."""
    reckoned = {each.colour for each in made.coats}
    misted = dict.fromkeys(each.colour for each in made.steps if each.act == "seal" and each.colour not in reckoned)
    return f"Have at hand too, for mist only: {listed(map(_coat_told, misted))}." if misted else ""


def paint_notes(paint: PaintAnswer, made: FinishPlan) -> Iterator[str]:
    """Yield what is to be known of the amounts: what they rest on, what was taken, what is missing."""
    yield (
        "The amount is wet paint for all coats, with the middle of what is usual for thickness, solids and what goes "
        "past small parts; “at most” has the thickest film, the least solids and the greatest loss. What stays in "
        "the gun and what is misted along tape come on top."
    )
    if any(each.contents is None for each in paint.needs):
        yield "How many to buy is told once it is said what one can or bottle holds (paint[].contents)."
    if any(each.family == "lacquer" for each in paint.needs):
        yield "The amount of a lacquer is of paint thinned for spraying; that of the others is of paint as it comes."
    yield from filter(None, (misted_told(made), needs_told(paint)))


def numbers_told(numbers: Sequence[int]) -> str:
    """Return the numbers of acts as they are told: "act 2", "acts 3 and 4", "acts 5 to 9"."""
    first, last = numbers[0], numbers[-1]
    if first == last:
        return f"act {first}"
    if len(numbers) > 2 and list(numbers) == list(range(first, last + 1)):
        return f"acts {first} to {last}"
    return f"acts {listed(str(each) for each in numbers)}"


def waits_told(waits: Sequence[Wait], numbers: Mapping[str, int], *, sources: bool = False) -> tuple[str, ...]:
    """Return waits as sentences, each with how it is known; those that differ in the act alone are one.

    Args:
        waits: of a step; one without a reason only orders the acts, and is not told.
        numbers: of each step by its id.
        sources: name the document, not only what kind of knowledge it is.
    """
    alike: dict[tuple[str, str, str, str], list[int]] = {}
    for wait in waits:
        if wait.because:
            spans = ", or ".join(_span(each) for each in wait.windows) + ("," if len(wait.windows) > 1 else "")
            known = _document(wait) if sources else _known(wait)
            late = ", or ".join(_span(each) for each in wait.late)
            alike.setdefault((spans, wait.because, known, late), []).append(numbers[wait.after])
    return tuple(
        f"{spans[:1].upper()}{spans[1:]} after {numbers_told(sorted(after))}: {because} ({known})."
        + (
            f" Missed that? Pull the tape; {late} after {numbers_told(sorted(after))} mask anew and spray."
            if late
            else ""
        )
        for (spans, because, known, late), after in alike.items()
    )


def _document(wait: Wait) -> str:
    if not wait.basis:
        return wait.source or "as you wish"
    if wait.basis == "seen":
        return f"published: {wait.source.replace('; edition not seen', '').replace('; read', '')}"
    return wait.source if basis_words(wait.basis) in wait.source else f"{basis_words(wait.basis)}: {wait.source}"


def _known(wait: Wait) -> str:
    if "own estimate" in wait.source:
        return "published; that it flashes off first is an estimate" if wait.basis == "seen" else "an estimate"
    if wait.basis:
        return _BASIS[wait.basis]
    told = ("label", "your label"), ("finish.log", "your log"), (_BASIS["practice"], _BASIS["practice"])
    return next((words for word, words in told if word in wait.source), "an estimate")


def _span(window: Window) -> str:
    opens, closes = window.opens_min, window.closes_min
    if closes is None:
        return f"not before {time_told(opens)}" if opens else "at once or later"
    return f"{time_told(opens)} to {time_told(closes)}" if opens else f"within {time_told(closes)}"


def time_told(minutes: float) -> str:
    """Return a time in the largest unit that a label would print."""
    minutes = round(minutes)
    if minutes >= 60 and minutes % 60 == 0:
        hours = minutes // 60
        return f"{hours // 24} days" if hours >= 72 and hours % 24 == 0 else f"{hours} h"
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60} min"
