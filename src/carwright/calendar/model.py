"""The calendar as a constraint model: evenings as in ``ByEvening``, and a start in minutes for each task.

One model serves every aim. Starts are real minutes with the evenings cut out of them, so that hands, booth, rack
and jigs are plain constraints over time; which evening a task is on is a literal of its own, because capacity,
spray sessions and waits that reach from one evening to another are reasoned about by evenings first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from carwright.calendar.byevening import ByEvening, Found, How
from carwright.calendar.frame import FOREVER, Frame, Link, Spans
from carwright.finish.steps import BOOTH, RACK

__all__ = ["Model"]

_COUNTED: Final = 0.2
"""The solver's own units of time of one worker in one unit of work; measured."""

_BUILT: Final = 0.003
"""Units of work that a model and the solver's first look at it take for each task; measured on batches of 84 steps."""


class Model(ByEvening):
    """One batch with the starts that are still open; aims are set and searched one after the other."""

    def __init__(self, frame: Frame, spans: Sequence[Spans]) -> None:
        """Build the model.

        Args:
            frame: the batch.
            spans: where each task may start; none of them empty.
        """
        super().__init__(frame, spans)
        self.starts: list[Any] = [self._start(n, each) for n, each in enumerate(spans)]
        for link in frame.links:
            self._wait(link)
        self._hold(self._sessions())

    def _start(self, n: int, spans: Spans) -> Any:
        start = self.model.new_int_var_from_domain(_domain(self.library, spans), "")
        if len(self.parts[n]) > 1:
            for evening, part in self.parts[n].items():
                domain = _domain(self.library, part)
                self.model.add_linear_expression_in_domain(start, domain).only_enforce_if(self.on[n][evening])
        return start

    def _wait(self, link: Link) -> None:
        minutes = self.frame.tasks[link.early].minutes
        between = self.starts[link.late] - self.starts[link.early]
        if len(link.windows) == 1 and link.windows[0][1] >= FOREVER:
            self.model.add(between >= minutes + link.windows[0][0])
        else:
            shifted = tuple((minutes + low, min(minutes + high, FOREVER)) for low, high in link.windows)
            self.model.add_linear_expression_in_domain(between, _domain(self.library, shifted))

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
            loaded = self.loaded[colour, evening]
            begin = self.model.new_int_var(first, end, "")
            last = self.model.new_int_var(first, end, "")
            length = self.model.new_int_var(0, end - first, "")
            span = self.model.new_optional_interval_var(begin, length, last, loaded, "")
            idle = self.frame.idles[colour]
            if idle is not None:
                sprayed = sum(self.frame.tasks[n].minutes * self.on[n][evening] for n in tasks)
                self.model.add(length <= rules.setup_min + rules.cleaning_min + idle + sprayed)
            by_evening.setdefault(evening, []).append(span)
            for minutes, start in ((rules.setup_min, begin), (rules.cleaning_min, last - rules.cleaning_min)):
                if minutes:
                    busy.append(self.model.new_optional_fixed_size_interval_var(start, minutes, loaded, ""))
            for n in tasks:
                on = self.on[n][evening]
                self.model.add(self.starts[n] >= begin + rules.setup_min).only_enforce_if(on)
                done = self.starts[n] + self.frame.tasks[n].minutes
                self.model.add(done <= last - rules.cleaning_min).only_enforce_if(on)
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

    def _hold(self, busy: list[Any]) -> None:
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
        places = self._places()
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

    def search(
        self,
        aim: Any,
        *,
        work: float,
        least: int = 0,
        most: int | None = None,
        how: How = "descent",
        near: tuple[Sequence[int], int] | None = None,
    ) -> Found:
        """Return the least value of ``aim`` (a linear expression, or None where any calendar will do).

        Args:
            aim: what to make small.
            work: units of work, one worker for about a second each.
            least: what the aim is known not to go below.
            most: calendars in which the aim is more are left out; None: none is.
            how: see ``How``.
            near: starts, and by how many evenings each task may be off from there; that there is nothing then proves
                nothing.
        """
        built = _BUILT * len(self.starts)
        trial = self.model.clone()
        if near is not None:
            for row, start in zip(self.on, near[0], strict=True):
                at = self.frame.evening_of(start)
                trial.add_bool_or([on for evening, on in row.items() if abs(evening - at) <= near[1]])
        if aim is not None:
            trial.add(aim >= least)
            if most is not None:
                trial.add(aim <= most)
            trial.minimize(aim)
        found = self._solved(trial, aim, work=(work - built) * _COUNTED, least=least, how=how)
        spent = found.work / _COUNTED + built
        if near is not None:
            return Found("open" if found.starts is None else "found", found.starts, found.value, least, spent)
        return replace(found, work=spent)

    def _answer(self, solver: Any) -> tuple[int, ...]:
        return tuple(solver.value(each) for each in self.starts)


def _domain(library: Any, spans: Spans) -> Any:
    return library.Domain.from_intervals([list(each) for each in spans])
