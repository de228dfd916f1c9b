"""A car's page put together: what was typed, the plan of it, its drawing, and the parts that repaint by themselves."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from threading import Lock
from typing import TYPE_CHECKING, Any, Final

from markupsafe import Markup
from starlette.requests import Request

from carwright.car.keys import key_named, path_of
from carwright.car.write import Written, set_values
from carwright.draw.lettered import SCREEN_VIEWS, ScreenView, screen_drawing
from carwright.draw.svg import page_svg
from carwright.findings import listed
from carwright.plan import Plan
from carwright.plan.taking import changes_for
from carwright.problems import InputError, Problem
from carwright.web.choicewords import choice_said
from carwright.web.deskview import (
    FindingView,
    Height,
    Need,
    PieceView,
    StudyPart,
    WayView,
    findings_of,
    heights_of,
    pieces_of,
    ways_of,
    with_studies,
)
from carwright.web.figures import mended, stacked
from carwright.web.moments import moment
from carwright.web.moved import Move, Turned, moves_of, said_of, short_said, turned_of
from carwright.web.pages import shop_of, templates
from carwright.web.planning import NOTHING, Draft, Planner
from carwright.web.readings import Group, counts_for_neither, fields_at, groups_of, texts_of
from carwright.web.studies import Studies
from carwright.web.turns import Turns
from carwright.web.words import label_of

if TYPE_CHECKING:
    from carwright.shop import CarState

__all__ = [
    "VIEW_WORDS",
    "Desk",
    "Edit",
    "Workbench",
    "desk_of",
    "note_of",
    "told_within",
    "typed_for",
    "view_named",
    "way_note",
    "workbench_of",
]

VIEW_WORDS: Final[Mapping[ScreenView, str]] = {
    "side": "Side and below",
    "end": "End",
    "section": "Sections",
    "ride": "Ride height",
    "exploded": "Apart",
    "parts": "Truck, coupler",
}


class Workbench:
    """What the pages of all cars share: plans made, studies in work, whose turn it is, documents read from the shop."""

    def __init__(self) -> None:
        self.planner = Planner()
        self.studies = Studies()
        self.turns = Turns()
        self._documents: dict[tuple[str, int], bytes] = {}
        self._lock = Lock()

    def document(self, slug: str, number: int, fetch: Callable[[], bytes]) -> bytes:
        """Return a revision's document, which never changes."""
        with self._lock:
            found = self._documents.get((slug, number))
        if found is None:
            found = fetch()
            with self._lock:
                if len(self._documents) > 200:
                    self._documents.clear()
                self._documents[slug, number] = found
        return found


def workbench_of(request: Request) -> Workbench:
    """Return the application's one workbench."""
    state = request.app.state
    with _LOCK:
        if not hasattr(state, "workbench"):
            state.workbench = Workbench()
    found: Workbench = state.workbench
    return found


_LOCK: Final = Lock()

_IDLE: Final = "It counts for neither end: each has its own value."

_BRIEF_SIGNS: Final = 20
"""So much of what was typed is repeated in the bar of changes; it stands whole in its field."""

_WIDE_SIGNS: Final = 92
_NARROW_SIGNS: Final = 60
"""Signs of the changes that have room in two lines of the bar, beside how much moved and how many there are more."""

_NOTE_SIGNS: Final = 400
"""So long a revision's note becomes and no longer; what was changed beyond that is counted."""


@dataclass(frozen=True, slots=True)
class Edit:
    """One slot in which something else stands than in the file."""

    slot: str
    name: str
    old: str
    new: str

    @property
    def brief(self) -> str:
        """Return in a sentence what became of it, for a place that has two lines."""
        now = f"is now {_short(self.new)}" if self.new else "is taken out"
        return f"{now}, was {_short(self.old)}." if self.old else f"{now}."

    @property
    def refusal(self) -> str:
        """Return in a sentence what cannot be used and what the plan goes on with."""
        bad = f"“{_short(self.new)}” cannot be used"
        return f"{bad}; the plan goes on with {_short(self.old)}." if self.old else f"{bad}."


@dataclass(frozen=True)
class Desk:
    """Everything that a car's page shows; a part is made when it is asked for, so that a fragment makes only its own.

    Args:
        slug: of the car.
        name: as the shop calls it.
        revision: that the page is based on.
        saved_at: when that was saved, as told.
        draft: the car with what was typed.
        view: which drawing is shown.
    """

    slug: str
    name: str
    revision: int
    saved_at: str
    draft: Draft
    view: ScreenView

    stacked = staticmethod(stacked)
    mended = staticmethod(mended)

    @property
    def plan(self) -> Plan:
        """Return the plan that is shown."""
        return self.draft.plan

    @property
    def next(self) -> int:
        """Return the number that the next revision would have, for the revision triangle."""
        return self.revision + 1

    @property
    def units(self) -> str:
        """Return "in" or "mm"."""
        return self.plan.car.info.units

    @property
    def units_word(self) -> str:
        """Return the units in words."""
        return "inches" if self.units == "in" else "millimetres"

    @property
    def what(self) -> str:
        """Return what kind of car it is, in words."""
        info = self.plan.car.info
        parts = [info.name if info.name != self.name else "", f"type {info.type}" if info.type else ""]
        if info.missing:
            parts.append(f"missing: {', '.join(info.missing)}")
        return "; ".join(each for each in parts if each)

    @property
    def scale(self) -> str:
        """Return the scale with its ratio."""
        info = self.plan.car.info
        return f"{info.scale}, 1 : {info.ratio.value:g}" if info.ratio is not None else info.scale

    @property
    def year(self) -> str:
        """Return the year modelled."""
        year = self.plan.car.info.year
        return str(year) if year else "not given"

    @property
    def instrument(self) -> str:
        """Return what it was measured with."""
        return {"caliper": "calipers", "rule": "a rule"}.get(self.plan.car.info.measured_with, "")

    @cached_property
    def saved(self) -> Mapping[str, str]:
        """Return what stands in every slot of the saved file."""
        return texts_of(self.draft.document)

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """Return the fields of the page, with what was typed."""
        wanted = [place for finding in self.plan.findings for place in finding.needs]
        return groups_of(self.draft.texts, self.plan.car, wanted)

    @cached_property
    def touched(self) -> frozenset[str]:
        """Return the paths of the keys in which something else stands than in the file."""
        return frozenset(path_of(slot) for slot in self.draft.typed)

    @cached_property
    def open_at(self) -> frozenset[str]:
        """Return the paths of the keys that must be seen: what was touched, and what cannot be used."""
        return self.touched | {path_of(slot) for slot in self.draft.problems}

    @cached_property
    def grown_stale(self) -> tuple[tuple[str, str], ...]:
        """Return what was read of the assembled car before what is changed now: its name, and what it hangs on."""
        from carwright.shop.measuring import HANGS_ON, READ_OFF

        given = {path_of(slot): slot for slot, text in self.saved.items() if text}
        texts = self.draft.texts
        left = {path_of(slot) for slot, text in texts.items() if text.strip()}
        moves = {each for each in self.touched if each not in READ_OFF or (each in given and each in left)}
        found = []
        for path, roots in HANGS_ON.items():
            moved = [key for each in roots if each in moves and (key := key_named(each)) is not None]
            own = key_named(path)
            if path in given and path not in self.touched and moved and own is not None:
                found.append((own.called, listed(f"{each.letter} {each.called}" for each in moved)))
        return tuple(found)

    @cached_property
    def edits(self) -> tuple[Edit, ...]:
        """Return what is changed in the plan that is shown, in the order of typing."""
        found = []
        for slot, text in self.draft.taken.items():
            old, new = choice_said(slot, self.saved.get(slot, "")), choice_said(slot, text.strip())
            found.append(Edit(slot, _named(slot), old, new))
        return tuple(found)

    @cached_property
    def refused(self) -> tuple[Edit, ...]:
        """Return what cannot be used, typed before saved, each with what the plan uses in its place."""
        texts = self.draft.texts
        slots = sorted(self.draft.problems, key=lambda each: each not in self.draft.typed)
        return tuple(Edit(slot, _named(slot), self.holds(slot), texts[slot].strip()) for slot in slots)

    @cached_property
    def findings(self) -> tuple[FindingView, ...]:
        """Return the findings, the worst first."""
        return findings_of(self.plan, self.draft.before)

    def findings_with(self, parts: Sequence[StudyPart]) -> tuple[FindingView, ...]:
        """Return the findings with what studies of this plan found to fail or to watch, the worst first."""
        return with_studies(self.findings, parts)

    @cached_property
    def heights(self) -> tuple[Height, ...]:
        """Return the heights of both ends."""
        return heights_of(self.plan, self.draft.before)

    @cached_property
    def pieces(self) -> tuple[PieceView, ...]:
        """Return the pieces."""
        return pieces_of(self.plan, self.draft.before)

    @cached_property
    def ways(self) -> tuple[WayView, ...]:
        """Return the ways to stand: while one of the saved car's is drawn, those of the saved car."""
        return ways_of(self.draft.before, self.tried) if self.tried else ways_of(self.plan)

    @property
    def height_needs(self) -> tuple[Need, ...]:
        """Return the measurements that the heights of the couplers wait for."""
        found = {each: None for view in self.findings if view.check.startswith("coupler_height") for each in view.needs}
        return tuple(found)

    @cached_property
    def tried(self) -> int:
        """Return the number of the saved car's way to stand that stands in the fields and nothing else; 0 for none."""
        typed = {slot: text.strip() for slot, text in self.draft.typed.items()}
        if not typed or self.draft.problems:
            return 0
        for number, way in enumerate(self.draft.before.ways, 1):
            wanted = changes_for(self.draft.before.car, way) if way.changes else {}
            near = {path_of(each) for each in wanted} >= {path_of(each) for each in typed}
            if wanted and near and typed == typed_for(self.draft.document, wanted):
                return number
        return 0

    @cached_property
    def _moved(self) -> tuple[tuple[Move, ...], tuple[Turned, ...]]:
        return moves_of(self.draft.before, self.plan), turned_of(self.draft.before.findings, self.plan.findings)

    @property
    def summary(self) -> str:
        """Return how much moved, in one sentence."""
        return _IDLE if self._idle else said_of(*self._moved) if self.draft.changes else ""

    @property
    def short_summary(self) -> str:
        """Return how much moved, in so few words as the bar of changes has room for."""
        return _IDLE if self._idle else short_said(*self._moved) if self.draft.changes else ""

    @property
    def _idle(self) -> bool:
        """Return whether all that is changed counts for neither end, because each has its own."""
        texts = self.draft.texts
        typed = self.draft.typed.items()
        return bool(typed) and all(text.strip() and counts_for_neither(slot, texts) for slot, text in typed)

    @property
    def views(self) -> tuple[tuple[ScreenView, str], ...]:
        """Return every view with its name."""
        return tuple((view, VIEW_WORDS[view]) for view in SCREEN_VIEWS)

    @cached_property
    def svg(self) -> str:
        """Return the drawing."""
        return page_svg(screen_drawing(self.plan, self.view), classes="dwg main")

    @property
    def notes(self) -> tuple[str, ...]:
        """Return what belongs under the drawing."""
        return ()

    def in_bar(self, *, narrow: bool = False) -> int:
        """Return how many of the changes the bar says, at least one, in a wide or in a narrow window."""
        room, count = _NARROW_SIGNS if narrow else _WIDE_SIGNS, 0
        for each in self.edits:
            room -= len(each.name) + len(each.brief) + 2
            if room < 0:
                break
            count += 1
        return max(count, 1)

    def moved_from(self, slot: str) -> str | None:
        """Return what stood in a slot before it was changed; None where it was not."""
        return choice_said(slot, self.saved.get(slot, "")) if slot in self.draft.taken else None

    def holds(self, slot: str) -> str:
        """Return what the plan uses for a slot in which something stands that it cannot use."""
        if slot in self.draft.taken:
            return choice_said(slot, self.draft.taken[slot].strip())
        return "" if self.draft.changes.get(slot, "") is None else choice_said(slot, self.saved.get(slot, ""))


def _short(text: str) -> str:
    return text if len(text) <= _BRIEF_SIGNS else f"{text[: _BRIEF_SIGNS - 1].rstrip()}…"


def _named(slot: str) -> str:
    """Return the name of a slot with which of several readings and which end it is, for a sentence's beginning."""
    name = label_of(slot, lettered=False) or slot
    return name[:1].upper() + name[1:]


def note_of(desk: Desk) -> str:
    """Return what the history says of a revision that keeps what is changed."""
    if desk.tried:
        return way_note(desk.draft.before.ways[desk.tried - 1].name)
    return told_within(
        (
            f"{each.name}: {each.new or 'taken out'}, {f'was {each.old}' if each.old else 'not given before'}."
            for each in desk.edits
        ),
        _NOTE_SIGNS,
    )


def way_note(name: str) -> str:
    """Return what the history says of a revision in which a way to stand was taken."""
    return told_within((f"Way to stand taken: {name}.",), _NOTE_SIGNS)


def told_within(sentences: Iterable[str], signs: int) -> str:
    """Return as many whole sentences as there is room for, and how many more there are; one too long alone is cut.

    Example:
        >>> told_within(("Drop: 0.062.", "Axle length: 1.005.", "Year: 1950."), 26)
        'Drop: 0.062. And 2 more.'
    """
    every = list(sentences)
    for whole in range(len(every), 0, -1):
        more = len(every) - whole
        told = " ".join((*every[:whole], *([f"And {more} more."] if more else ())))
        if len(told) <= signs:
            return told
    return f"{every[0][:signs].rsplit(' ', 1)[0]} …" if every else ""


def typed_for(document: bytes, wanted: Mapping[str, Written]) -> dict[str, str]:
    """Return what stands in the slots after some values are written into a document, where it is something else."""
    before, after = texts_of(document), texts_of(set_values(document, wanted))
    slots = {**before, **after}
    return {slot: after.get(slot, "") for slot in slots if after.get(slot, "") != before.get(slot, "")}


def view_named(text: str) -> ScreenView:
    """Return the view of a name, the first where there is none such."""
    return next((view for view in SCREEN_VIEWS if view == text), SCREEN_VIEWS[0])


def desk_of(
    request: Request,
    slug: str,
    *,
    typed: Mapping[str, str] = NOTHING,
    good: Mapping[str, str] = NOTHING,
    base: int = 0,
    view: str = "",
    state: CarState | None = None,
) -> Desk:
    """Return the page of a car.

    Args:
        request: whose shop it is.
        slug: of the car.
        typed: slot to what was typed there.
        good: slot to what was last planned with.
        base: revision that it is based on, 0 for the newest.
        view: the drawing to show.
        state: the car as the shop has it, where that was asked already.
    """
    bench, shop = workbench_of(request), shop_of(request)
    if state is not None and base in (0, state.head.number):
        base, document = state.head.number, state.head.data
        saved_at = moment(state.head.saved_at)
    else:
        if base <= 0:
            raise InputError(Problem("there is no such revision", value=str(base), key="base"))
        document = bench.document(slug, base, lambda: shop.revision(slug, base).data)
        saved_at = ""
    shelf, _ = shop.shelf()
    draft = bench.planner.draft(document, typed, good=good, shelf=shelf)
    name = state.name if state is not None else draft.plan.car.info.name
    return Desk(slug, name, base, saved_at, draft, view_named(view))


def part(name: str, *given: object) -> Markup:
    """Return one part of a car's page, made by the macro of that name."""
    module: Any = templates().get_template("carparts.html").module
    made: Markup = getattr(module, name)(*given)
    return made


def echoes(desk: Desk, slots: Sequence[str]) -> dict[str, dict[str, str]]:
    """Return for each slot how it was read, its tolerance and what is wrong with it, as the page shows them."""
    found: dict[str, dict[str, str]] = {}
    wanted = [place for finding in desk.plan.findings for place in finding.needs]
    for entry, field in fields_at(slots, desk.draft.texts, desk.plan.car, wanted):
        slot = entry.slot
        bad = desk.draft.problems.get(slot)
        wrong = part("problem", slot, bad, desk.holds(slot)) if bad else ""
        found[slot] = {"echo": part("echo", entry, field, desk), "tolerance": entry.tolerance, "wrong": wrong}
    return found
