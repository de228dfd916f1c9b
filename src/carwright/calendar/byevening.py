"""The batch by evenings alone: on which evening each task is, without minutes in it. It says what cannot be.

Every calendar keeps what is asked here: tasks of an evening and what the gun needs fit into its minutes, waits leave
the pair of evenings possible, and no more cars stay on the rack or in a jig over night than have a place. So what
has no answer here has no calendar, and no aim can be less than it is here. It takes a small part of the time that
minutes take; ``Model`` adds those.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from carwright.calendar.frame import Frame, Link, Span, Spans
from carwright.finish.steps import BOOTH, RACK, Step

__all__ = ["ByEvening", "Found", "How", "Outcome", "split"]

Outcome = Literal["best", "found", "none", "open"]
"""``best``: nothing better exists; ``found``: kept within every rule; ``none``: proven that none exists; ``open``."""

How = Literal["descent", "core", "tree", "linear"]
"""Down from calendars; up by cores; up by a tree of bounds; down with a linear relaxation. Measured on seeded batches,
the first finds most and the next two prove most; the last is for sums of starts, and is slow for all else."""

_COUNTED: Final = 1.2
"""The solver's own units of time of one worker, without minutes, in one unit of work; measured."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a search gave.

    Args:
        outcome: see ``Outcome``.
        starts: of the tasks, where there are any; without minutes the first that the evening has for each.
        value: the aim's.
        bound: what the aim cannot go below.
        work: units of work that it took.
    """

    outcome: Outcome
    starts: tuple[int, ...] | None
    value: int
    bound: int
    work: float


def split(frame: Frame, spans: Spans) -> dict[int, Spans]:
    """Return the spans by the evening that they lie in."""
    parts: dict[int, list[Span]] = {}
    n = 0
    for low, high in spans:
        while n < len(frame.evenings) and frame.evenings[n][1] <= low:
            n += 1
        k = n
        while k < len(frame.evenings) and frame.evenings[k][0] <= high:
            first, end = frame.evenings[k]
            if max(low, first) <= min(high, end - 1):
                parts.setdefault(k, []).append((max(low, first), min(high, end - 1)))
            k += 1
    return {evening: tuple(each) for evening, each in parts.items()}


class ByEvening:
    """Tasks on evenings.

    Attributes:
        on: for each task a literal for each evening on which it can be.
        loaded: a literal for each colour and evening on which it can be sprayed.
        used: a literal for each evening on which hands can be needed.
    """

    def __init__(self, frame: Frame, spans: Sequence[Spans]) -> None:
        """Build the model.

        Args:
            frame: the batch.
            spans: where each task may start; none of them empty.
        """
        from ortools.sat.python import cp_model

        self.frame = frame
        self.library: Any = cp_model
        self.model: Any = cp_model.CpModel()
        self.parts = [split(frame, each) for each in spans]
        self.on: list[dict[int, Any]] = []
        self.loaded: dict[tuple[int, int], Any] = {}
        self.used: dict[int, Any] = {}
        for parts in self.parts:
            literals = {evening: self.model.new_bool_var("") for evening in parts}
            self.model.add_exactly_one(literals.values())
            self.on.append(literals)
        for link in frame.links:
            self._follow(link)
        self._load()
        self._fill()
        for facility, places in self._places().items():
            if places is not None:
                self._stay(facility, places)

    def _places(self) -> Mapping[str, int | None]:
        rules = self.frame.batch.rules
        return {BOOTH: rules.booth, RACK: rules.rack, **dict(rules.jigs)}

    def _follow(self, link: Link) -> None:
        """Let a wait choose among the pairs of evenings that it leaves; and say so of all evenings up to each one."""
        early, late = self.on[link.early], self.on[link.late]
        minutes = self.frame.tasks[link.early].minutes
        before: dict[int, list[int]] = {two: [] for two in late}
        for one, literal in early.items():
            behind = [
                two
                for two in late
                if two >= one
                and _can_follow(self.parts[link.early][one], self.parts[link.late][two], minutes, link.windows)
            ]
            for two in behind:
                before[two].append(one)
            self.model.add_bool_or(*(late[two] for two in behind), ~literal)
        latest = -1
        for two, ones in before.items():
            self.model.add_bool_or(*(early[one] for one in ones), ~late[two])
            # Where the middle is forbidden the same evening may be open and the next one not.
            latest = max([latest, *ones])
            earlier = sum(early[one] for one in early if one <= latest)
            self.model.add(sum(late[each] for each in late if each <= two) <= earlier)

    def _load(self) -> None:
        sprays: dict[tuple[int, int], list[Any]] = {}
        for n, task in enumerate(self.frame.tasks):
            if task.colour >= 0:
                for evening, on in self.on[n].items():
                    sprays.setdefault((task.colour, evening), []).append(on)
        for key, literals in sorted(sprays.items()):
            loaded = self.loaded[key] = self.model.new_bool_var("")
            for on in literals:
                self.model.add_implication(on, loaded)
            self.model.add_bool_or(*literals, ~loaded)

    def _fill(self) -> None:
        """Let what is on an evening need no more minutes of hands, and of each facility, than there are in it."""
        rules = self.frame.batch.rules
        gun = rules.setup_min + rules.cleaning_min
        self._fill_up_to(gun)
        for evening, (first, end) in enumerate(self.frame.evenings):
            here = [(task, self.on[n][evening]) for n, task in enumerate(self.frame.tasks) if evening in self.on[n]]
            if not here:
                continue
            used = self.used[evening] = self.model.new_bool_var("")
            loads = sum(gun * loaded for (_, each), loaded in self.loaded.items() if each == evening)
            self.model.add(sum(task.minutes * on for task, on in here) + loads <= rules.hands * (end - first) * used)
            for _, on in here:
                self.model.add_implication(on, used)
            self.model.add_bool_or(*(on for _, on in here), ~used)
            for facility, places in self._places().items():
                takes = [
                    task.minutes * on
                    for task, on in here
                    if any(use.facility == facility for use in task.step.facilities)
                ]
                if places is not None and places < rules.hands and takes:
                    # One gun: while it is set up and cleaned nothing else is sprayed.
                    guns = places * loads if facility == BOOTH and self._all_in_booth() else 0
                    self.model.add(sum(takes) + guns <= places * (end - first))

    def _fill_up_to(self, gun: int) -> None:
        """Say of the first evenings, and of the last, together that what must be on them leaves so much for the gun."""
        hands = self.frame.batch.rules.hands
        many = len(self.frame.evenings)
        stretches = [*((0, last) for last in range(many)), *((first, many - 1) for first in range(1, many))]
        for first, last in stretches:
            inside = range(first, last + 1)
            must = sum(
                task.minutes for task, on in zip(self.frame.tasks, self.on, strict=True) if all(e in inside for e in on)
            )
            loads = [loaded for (_, evening), loaded in self.loaded.items() if evening in inside]
            if must and loads:
                room = hands * sum(end - begin for begin, end in self.frame.evenings[first : last + 1])
                self.model.add(gun * sum(loads) <= room - must)

    def _all_in_booth(self) -> bool:
        """Return whether the booth is for spraying, and nothing is sprayed elsewhere."""
        return all(
            any(use.facility == BOOTH for use in task.step.facilities) == (task.colour >= 0)
            for task in self.frame.tasks
        )

    def _stay(self, facility: str, places: int) -> None:
        """Let no more stay in a facility at the end of an evening than it has places."""
        stays = [_stays_min(task.step, facility) for task in self.frame.tasks]
        takers: dict[int, list[int]] = {}
        if facility == RACK:
            for link in self.frame.links:
                if link.windows[0][0] < stays[link.early]:
                    takers.setdefault(link.early, []).append(link.late)
        for evening, (_, at) in enumerate(self.frame.evenings):
            held = sum(name == facility and first <= at < end for name, first, end in self.frame.held)
            stand = []
            for n, task in enumerate(self.frame.tasks):
                if not stays[n]:
                    continue
                put = [
                    on
                    for each, on in self.on[n].items()
                    if each <= evening and self.parts[n][each][0][0] + task.minutes + stays[n] > at
                ]
                taken = [on for late in takers.get(n, ()) for each, on in self.on[late].items() if each <= evening]
                if put and taken:
                    stands = self.model.new_bool_var("")
                    self.model.add(stands >= sum(put) - sum(taken))
                    stand.append(stands)
                else:
                    stand += put
            if len(stand) + held > places:
                self.model.add(sum(stand) + held <= places)

    def search(self, aim: Any, *, work: float, least: int = 0) -> Found:
        """Return what ``aim`` cannot go below, and evenings that reach it.

        Args:
            aim: a linear expression to make small, or None where any evenings will do.
            work: units of work, about a second each.
            least: what the aim is known not to go below.
        """
        trial = self.model.clone()
        if aim is not None:
            trial.minimize(aim)
        found = self._solved(trial, aim, work=work * _COUNTED, least=least, how="tree")
        return replace(found, work=found.work / _COUNTED)

    def _solved(self, model: Any, aim: Any, *, work: float, least: int, how: How) -> Found:
        """Return the answer, and the work in the solver's own units.

        Args:
            model: this one with an aim.
            aim: what it makes small, or None.
            work: the solver's own units of time.
            least: what the aim is known not to go below.
            how: see ``How``.
        """
        solver: Any = self.library.CpSolver()
        parameters = solver.parameters
        parameters.random_seed = 1
        parameters.num_workers = 1
        parameters.max_deterministic_time = max(1e-3, work)
        parameters.linearization_level = 2 if how == "linear" else 0
        parameters.optimize_with_core = how == "core"
        parameters.optimize_with_lb_tree_search = how == "tree"
        status = solver.solve(model)
        spent = solver.response_proto.deterministic_time
        if status == self.library.INFEASIBLE:
            return Found("none", None, 0, 0, spent)
        bound = max(least, round(solver.best_objective_bound)) if aim is not None else 0
        if status not in (self.library.OPTIMAL, self.library.FEASIBLE):
            return Found("open", None, 0, bound, spent)
        value = round(solver.objective_value) if aim is not None else 0
        best: Outcome = "best" if status == self.library.OPTIMAL else "found"
        return Found(best, self._answer(solver), value, bound, spent)

    def _answer(self, solver: Any) -> tuple[int, ...]:
        on = (next(each for each, literal in row.items() if solver.boolean_value(literal)) for row in self.on)
        return tuple(parts[evening][0][0] for parts, evening in zip(self.parts, on, strict=True))


def _can_follow(before: Spans, behind: Spans, minutes: int, windows: Iterable[Span]) -> bool:
    return any(
        low - last - minutes <= closes and high - first - minutes >= opens
        for first, last in before
        for low, high in behind
        for opens, closes in windows
    )


def _stays_min(step: Step, facility: str) -> int:
    """Return for how many minutes a step's car stays in a facility when hands are done."""
    if facility == RACK:
        return step.rack_min
    return max((use.stays_min for use in step.facilities if use.facility == facility), default=0)
