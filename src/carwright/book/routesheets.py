"""Sheets for the paint shop: one for each evening, to hang above the bench; one for each car, to go with it.

An evening's sheet tells what is done act by act and what is looked at first. A car's route sheet tells every step with
its day, what must be ticked before the next one, and in bold when it must not be done.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime

from carwright.book.cautions import CAUTIONS, LABELS_FIRST
from carwright.calendar.agenda import Agenda, Drying, agendas
from carwright.calendar.batch import Batch, Calendar, Placed
from carwright.calendar.edges import Edges, day_words, edges_of, late_words, moment_words, span_words, wait_words
from carwright.draw.blocks import Block, Caution, Facts, Heading, Hold, Note, Page, Prose, StepLine, Steps, Table
from carwright.findings import listed
from carwright.finish.steps import BOOTH, Step

__all__ = ["caution_words", "evening_pages", "route_pages"]

_Key = tuple[str, str]


def evening_pages(made: Calendar, batch: Batch) -> tuple[Page, ...]:
    """Return a sheet for each evening on which something is done; one that says so where nothing is."""
    edges = edges_of(made)
    pages = tuple(_evening(each, batch, edges) for each in agendas(made, batch))
    return pages or (_empty("Evening sheets"),)


def route_pages(made: Calendar) -> tuple[Page, ...]:
    """Return a route sheet for each car, in the order in which they are begun."""
    edges = edges_of(made)
    cars = dict.fromkeys(each.step.car for each in made.placed)
    pages = tuple(_route(car, [each for each in made.placed if each.step.car == car], edges) for car in cars)
    return pages or (_empty("Route sheets"),)


def caution_words(steps: Iterable[Step]) -> str:
    """Return what can hurt in these steps, "" where nothing is stripped or sprayed."""
    every = list(steps)
    said = []
    if any(step.act == "strip" for step in every):
        said.append(CAUTIONS["strip"])
    if any(step.colour or any(use.facility == BOOTH for use in step.facilities) for step in every):
        said.append(CAUTIONS["spray"])
    return " ".join(said)


def _empty(title: str) -> Page:
    return Page(title, "", "", (Prose("No calendar was found, so there is nothing to do."),), bars=False)


def _evening(evening: Agenda, batch: Batch, edges: Mapping[_Key, Edges]) -> Page:
    own = [each.placed for each in evening.acts if each.placed is not None]
    blocks: list[Block] = [Facts(tuple(_facts(evening, batch, own)))]
    caution = caution_words(each.step for each in own)
    if caution:
        blocks.append(Caution(f"{caution} Labels and safety sheets come first."))
    if evening.checks:
        blocks.append(Heading("Look first"))
        for alike in evening.checks:
            step = alike[0].step
            cars = tuple(each.step.car for each in alike)
            blocks.append(Hold(_sentence(f"{step.hold_point} (after {_small(step.title)})"), places=cars))
    blocks.append(Heading("In this order"))
    lines = []
    for act in evening.acts:
        minutes = round((act.end - act.start).total_seconds() / 60)
        if act.placed is None:
            lines.append(StepLine(f"{act.start:%H:%M}", f"{act.words} ({minutes} min)"))
            continue
        step = act.placed.step
        edge = edges[step.car, step.id]
        lines.append(
            StepLine(
                f"{act.start:%H:%M}",
                f"{step.car}: {_small(step.title)} ({minutes} min)",
                after=_early(edge, act.start),
                limit=_sentence(late_words(edge, act.start)),
                checks=(step.hold_point,) if step.hold_point and act.placed not in evening.later else (),
            )
        )
    blocks.append(Steps(tuple(lines)))
    if evening.left:
        blocks += [Heading("On the rack when you leave"), _rack(evening.left)]
    acts = f"{len(own)} act{'s' * (len(own) != 1)}"
    return Page(
        day_words(evening.start),
        f"{evening.minutes} minutes at work, {acts}",
        f"{evening.start:%H:%M} to {evening.end:%H:%M}, {evening.start:%Y}",
        tuple(blocks),
        bars=False,
        foot="hands-on times are estimates; what a label says comes before this sheet",
    )


def _facts(evening: Agenda, batch: Batch, own: Sequence[Placed]) -> Iterator[tuple[str, str]]:
    yield "Cars", listed(dict.fromkeys(each.step.car for each in own))
    colours = dict.fromkeys(each.step.colour for each in own if each.step.colour)
    if colours:
        yield "Colours", ", then ".join(colours)
    jigs = dict.fromkeys(use.facility for each in own for use in each.step.facilities if use.facility != BOOTH)
    if jigs:
        yield "Needed", listed(jigs)
    if evening.standing:
        places = "" if batch.rules.rack is None else f" of {batch.rules.rack} places"
        names = listed(each.placed.step.car for each in evening.standing)
        yield "On the rack now", f"{len(evening.standing)}{places}: {names}"
    if evening.free_from is not None and batch.rules.slack:
        yield "Kept free", f"from {evening.free_from:%H:%M}, for a damp day on which paint dries slowly"


def _rack(left: Sequence[Drying]) -> Table:
    rows = tuple(
        (each.placed.step.car, each.placed.step.title, moment_words(each.until, each.placed.end)) for each in left
    )
    return Table(("Car", "Wet from", "Stands until"), rows, (50.0, 0.0, 40.0), (False, False, False))


def _small(text: str) -> str:
    """Return a title as it stands behind a colon."""
    return text[:1].lower() + text[1:]


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _early(edge: Edges, seen: datetime) -> str:
    """Return the early edge of a step with its reason."""
    if edge.opens is None:
        return ""
    because = "" if edge.wait is None or not edge.wait.because else f": {edge.wait.because}"
    return f"Not before {moment_words(edge.opens, seen)}{because}."


def _route(car: str, own: Sequence[Placed], edges: Mapping[_Key, Edges]) -> Page:
    titles = {each.step.id: each.step.title for each in own}
    todo = [each for each in own if each.step.done_at is None]
    done = [each for each in own if each.step.done_at is not None]
    caution = caution_words(each.step for each in own)
    blocks: list[Block] = [Caution(LABELS_FIRST, "Labels first"), *([Caution(caution)] if caution else [])]
    if done:
        said = listed(f"{_small(each.step.title)} ({each.end:%a} {each.end.day} {each.end:%B %H:%M})" for each in done)
        blocks.append(Note(f"Done already: {said}."))
    day = None
    for each in todo:
        if each.start.date() != day:
            day = each.start.date()
            blocks.append(Heading(day_words(each.start)))
        edge = edges[each.step.car, each.step.id]
        places = [use.facility for use in each.step.facilities]
        where = f"; {listed(places)}" if places else ""
        rack = f", then {span_words(each.step.rack_min)} on the rack" if each.step.rack_min else ""
        counted = [wait_words(wait, _small(titles[wait.after])) for wait in each.step.waits]
        after = [_early(edge, each.start), _sentence("; ".join(filter(None, counted)))]
        line = StepLine(
            f"{each.start:%H:%M}",
            f"{each.step.title} ({each.step.hands_min} min{where}{rack})",
            after=" ".join(filter(None, after)),
            limit=_sentence(late_words(edge, each.start)),
        )
        blocks.append(Steps((line,)))
        if each.step.hold_point:
            blocks.append(Hold(f"{_sentence(each.step.hold_point)}", places=("seen on",)))
    blocks.append(
        Note(
            "Moments in the lines above hold if everything before them is done as planned. Where something came later, "
            "count from its end, and plan again what is left."
        )
    )
    last = own[-1].end
    what = f"{len(todo)} steps to do, finished {last:%a} {last.day} {last:%B %Y}" if todo else "finished"
    return Page(car, "Route sheet", what, tuple(blocks), bars=False, foot="tick each box before you go on")
