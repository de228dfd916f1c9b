"""The calendar as a constraint model: a start for each task, an evening for each start, a session for each colour.

One model serves every aim. Starts are real minutes with the evenings cut out of them, so that hands, booth, rack
and jigs are plain constraints over time; which evening a task is on is a literal of its own, because capacity,
spray sessions and waits that reach from one evening to another are reasoned about by evenings first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from carwright.calendar.frame import FOREVER, Frame, Span, Spans
from carwright.finish.steps import BOOTH, RACK

__all__ = ["Found", "Model", "Outcome", "split"]

Outcome = Literal["best", "found", "none", "open"]
"""``best``: nothing better exists; ``found``: kept within every rule; ``none``: proven that none exists; ``open``."""

_COUNTED: Final = 0.16
"""The solver's own units of time of one worker in one unit of work; measured."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a search gave: starts of the tasks, where there are any, the aim's value and what it cannot go below."""

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


class Model:
    """One batch with the starts that are still open; aims are set and searched one after the other."""

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
        self.starts: list[Any] = []
        self.on: list[dict[int, Any]] = []
        self.parts = [split(frame, each) for each in spans]
        self.loaded: dict[tuple[int, int], Any] = {}
        self.used: dict[int, Any] = {}
        for n, each in enumerate(spans):
            self._task(n, each)
        for link in frame.links:
            self._wait(link.early, link.late, link.windows)
        self._places(self._sessions())
        self._capacity()

    def _task(self, n: int, spans: Spans) -> None:
        start = self.model.new_int_var_from_domain(
            self.library.Domain.from_intervals([list(s) for s in spans]), f"s{n}"
        )
        parts = self.parts[n]
        if len(parts) == 1:
            self.on.append({next(iter(parts)): self.model.new_constant(1)})
        else:
            literals = {}
            for evening, part in parts.items():
                literal = literals[evening] = self.model.new_bool_var(f"x{n}_{evening}")
                domain = self.library.Domain.from_intervals([list(s) for s in part])
                self.model.add_linear_expression_in_domain(start, domain).only_enforce_if(literal)
            self.model.add_exactly_one(literals.values())
            self.on.append(literals)
        self.starts.append(start)

    def _wait(self, early: int, late: int, windows: Spans) -> None:
        minutes = self.frame.tasks[early].minutes
        between = self.starts[late] - self.starts[early]
        if len(windows) == 1 and windows[0][1] >= FOREVER:
            self.model.add(between >= minutes + windows[0][0])
        else:
            shifted = [[minutes + low, min(minutes + high, FOREVER)] for low, high in windows]
            self.model.add_linear_expression_in_domain(between, self.library.Domain.from_intervals(shifted))
        follows: dict[int, list[Any]] = {e: [] for e in self.on[early]}
        leads: dict[int, list[Any]] = {e: [] for e in self.on[late]}
        for one, before in self.parts[early].items():
            for two, behind in self.parts[late].items():
                if two >= one and _can_follow(before, behind, minutes, windows):
                    follows[one].append(self.on[late][two])
                    leads[two].append(self.on[early][one])
        for side, others in ((self.on[early], follows), (self.on[late], leads)):
            for evening, literals in others.items():
                self.model.add_bool_or(*literals, ~side[evening])

    def _sessions(self) -> list[Any]:
        """Return the intervals in which hands set up and clean the gun."""
        rules = self.frame.batch.rules
        busy = []
        by_evening: dict[int, list[Any]] = {}
        sprays: dict[tuple[int, int], list[int]] = {}
        for n, task in enumerate(self.frame.tasks):
            if task.colour >= 0:
                for evening in self.on[n]:
                    sprays.setdefault((task.colour, evening), []).append(n)
        for (colour, evening), tasks in sorted(sprays.items()):
            first, end = self.frame.evenings[evening]
            loaded = self.loaded[colour, evening] = self.model.new_bool_var(f"y{colour}_{evening}")
            begin = self.model.new_int_var(first, end, "")
            last = self.model.new_int_var(first, end, "")
            length = self.model.new_int_var(0, end - first, "")
            span = self.model.new_optional_interval_var(begin, length, last, loaded, "")
            by_evening.setdefault(evening, []).append(span)
            for minutes, start in ((rules.setup_min, begin), (rules.cleaning_min, last - rules.cleaning_min)):
                if minutes:
                    busy.append(self.model.new_optional_fixed_size_interval_var(start, minutes, loaded, ""))
            for n in tasks:
                on = self.on[n][evening]
                self.model.add_implication(on, loaded)
                self.model.add(self.starts[n] >= begin + rules.setup_min).only_enforce_if(on)
                done = self.starts[n] + self.frame.tasks[n].minutes
                self.model.add(done <= last - rules.cleaning_min).only_enforce_if(on)
            self.model.add_bool_or(*(self.on[n][evening] for n in tasks), ~loaded)
            self._tight(tasks, evening, loaded, begin, last)
        for spans in by_evening.values():
            if len(spans) > 1:
                self.model.add_no_overlap(spans)
        return busy

    def _tight(self, tasks: Sequence[int], evening: int, loaded: Any, begin: Any, last: Any) -> None:
        """Load the gun right before the first task that needs it and clean it right after the last."""
        rules = self.frame.batch.rules
        for edge in (0, 1):
            marks = []
            for n in tasks:
                mark = self.model.new_bool_var("")
                self.model.add_implication(mark, self.on[n][evening])
                if edge:
                    at = self.starts[n] + self.frame.tasks[n].minutes + rules.cleaning_min
                    self.model.add(last == at).only_enforce_if(mark)
                else:
                    self.model.add(self.starts[n] == begin + rules.setup_min).only_enforce_if(mark)
                marks.append(mark)
            self.model.add_bool_or(*marks, ~loaded)

    def _places(self, busy: list[Any]) -> None:
        rules = self.frame.batch.rules
        hands = list(busy)
        held: dict[str, list[Any]] = {}
        for facility, first, end in self.frame.held:
            held.setdefault(facility, []).append(self.model.new_fixed_size_interval_var(first, end - first, ""))
        for n, task in enumerate(self.frame.tasks):
            start = self.starts[n]
            if task.minutes:
                hands.append(self.model.new_fixed_size_interval_var(start, task.minutes, ""))
            for use in task.step.facilities:
                minutes = task.minutes + use.stays_min
                held.setdefault(use.facility, []).append(self.model.new_fixed_size_interval_var(start, minutes, ""))
            if task.step.rack_min:
                held.setdefault(RACK, []).append(self._on_rack(n))
        self._at_most(hands, rules.hands)
        places: Mapping[str, int | None] = {BOOTH: rules.booth, RACK: rules.rack, **dict(rules.jigs)}
        for facility, intervals in sorted(held.items()):
            limit = places[facility]
            if limit is not None and not (facility == BOOTH and limit >= rules.hands and self._only_hands(BOOTH)):
                self._at_most(intervals, limit)

    def _on_rack(self, n: int) -> Any:
        """Return the interval for which a task's car stands on the rack: until it is dry, or is taken off."""
        task = self.frame.tasks[n]
        wet = task.step.rack_min
        begin = self.starts[n] + task.minutes
        takers = [link.late for link in self.frame.links if link.early == n and link.windows[0][0] < wet]
        if not takers:
            return self.model.new_fixed_size_interval_var(begin, wet, "")
        size = self.model.new_int_var(0, wet, "")
        end = self.model.new_int_var(0, FOREVER, "")
        self.model.add_min_equality(size, [wet, *(self.starts[late] - begin for late in takers)])
        return self.model.new_interval_var(begin, size, end, "")

    def _only_hands(self, facility: str) -> bool:
        """Whether a facility is only ever held while hands work, so that their number limits it."""
        uses = [use for task in self.frame.tasks for use in task.step.facilities if use.facility == facility]
        return all(use.stays_min == 0 for use in uses)

    def _at_most(self, intervals: list[Any], places: int) -> None:
        if places == 1:
            self.model.add_no_overlap(intervals)
        elif len(intervals) > places:
            self.model.add_cumulative(intervals, [1] * len(intervals), places)

    def _capacity(self) -> None:
        """Say by evenings what the intervals say by minutes: the minutes of hands, and which evenings are used."""
        rules = self.frame.batch.rules
        loads: dict[int, list[Any]] = {}
        for n, task in enumerate(self.frame.tasks):
            for evening, on in self.on[n].items():
                loads.setdefault(evening, []).append(task.minutes * on)
        for (_, evening), loaded in self.loaded.items():
            loads[evening].append((rules.setup_min + rules.cleaning_min) * loaded)
        for evening, terms in sorted(loads.items()):
            first, end = self.frame.evenings[evening]
            used = self.used[evening] = self.model.new_bool_var(f"u{evening}")
            self.model.add(sum(terms) <= rules.hands * (end - first) * used)
            for on in (literals[evening] for literals in self.on if evening in literals):
                self.model.add_implication(on, used)

    def last_evening(self, order: Mapping[int, int]) -> Any:
        """Return a variable for the greatest ``order`` (one number for each evening) of any task's evening."""
        last = self.model.new_int_var(min(order.values()), max(order.values()), "last")
        followed = {link.early for link in self.frame.links}
        for n, literals in enumerate(self.on):
            if n not in followed:
                self.model.add(last >= sum(order[evening] * on for evening, on in literals.items()))
        return last

    def search(self, aim: Any, *, work: float, hint: Sequence[int] | None, least: int = 0) -> Found:
        """Return the least value of ``aim`` (a linear expression, or None where any calendar will do).

        Args:
            aim: what to make small.
            work: units of work, one worker for about a second each.
            hint: starts to begin from, or None.
            least: what the aim is known not to go below.
        """
        self.model.clear_hints()
        if hint is not None:
            self._hint(hint)
        self.model.clear_objective()
        if aim is not None:
            self.model.add(aim >= least)
            self.model.minimize(aim)
        solver: Any = self.library.CpSolver()
        solver.parameters.random_seed = 1
        solver.parameters.num_workers = 1
        solver.parameters.max_deterministic_time = max(1e-3, work * _COUNTED)
        status = solver.solve(self.model)
        spent = solver.response_proto.deterministic_time / _COUNTED
        if status == self.library.INFEASIBLE:
            return Found("none", None, 0, 0, spent)
        bound = max(least, round(solver.best_objective_bound)) if aim is not None else 0
        if status not in (self.library.OPTIMAL, self.library.FEASIBLE):
            return Found("open", None, 0, bound, spent)
        starts = tuple(solver.value(each) for each in self.starts)
        value = round(solver.objective_value) if aim is not None else 0
        return Found("best" if status == self.library.OPTIMAL else "found", starts, value, bound, spent)

    def _hint(self, starts: Sequence[int]) -> None:
        used, loaded = set(), set()
        for n, start in enumerate(starts):
            self.model.add_hint(self.starts[n], start)
            evening = self.frame.evening_of(start)
            used.add(evening)
            if self.frame.tasks[n].colour >= 0:
                loaded.add((self.frame.tasks[n].colour, evening))
            if len(self.on[n]) > 1:
                for each, literal in self.on[n].items():
                    self.model.add_hint(literal, each == evening)
        for key, literal in self.loaded.items():
            self.model.add_hint(literal, key in loaded)
        for evening, literal in self.used.items():
            self.model.add_hint(literal, evening in used)


def _can_follow(before: Spans, behind: Spans, minutes: int, windows: Iterable[Span]) -> bool:
    return any(
        low - last - minutes <= closes and high - first - minutes >= opens
        for first, last in before
        for low, high in behind
        for opens, closes in windows
    )
