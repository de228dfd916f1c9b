"""The calendar of always doing next what can be done first: a measure, and where the search begins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from carwright.calendar.byevening import split
from carwright.calendar.frame import FOREVER, Frame, Spans, meet, narrowed
from carwright.finish.steps import BOOTH, RACK

__all__ = ["earliest_starts", "some_starts"]

_TRIES = 150
"""How often what came too early is put off."""


@dataclass(slots=True)
class _Evening:
    """What is on one evening so far: stretches of hands, and sessions as [colour, begin, end, minutes of spraying]."""

    sessions: list[list[int]] = field(default_factory=list)


@dataclass(slots=True)
class _Taken:
    """Every stretch that holds a place, by facility."""

    spans: dict[str, list[tuple[int, int]]] = field(default_factory=dict)

    def fits(self, facility: str, first: int, end: int, places: int | None) -> bool:
        """Whether one more can hold a place from ``first`` up to ``end``."""
        if places is None or first >= end:
            return True
        over = [each for each in self.spans.get(facility, ()) if each[0] < end and each[1] > first]
        if len(over) < places:
            return True
        at = [first, *(low for low, _ in over if low > first)]
        return all(sum(low <= t < high for low, high in over) < places for t in at)

    def take(self, facility: str, first: int, end: int) -> None:
        if first < end:
            self.spans.setdefault(facility, []).append((first, end))


def earliest_starts(frame: Frame) -> tuple[int, ...] | None:
    """Return a start for each task, or None where doing first what comes first runs into a window that has closed.

    Of all tasks whose waits can be told, the one that can start earliest is next; of those alike the one whose car has
    most work left. A step for which a window is open is never put off beyond it if it can be done within it.
    """
    spans, empty = narrowed(frame, [task.spans for task in frame.tasks])
    if empty is not None:
        return None
    return _Greedy(frame, spans).run()


def some_starts(frame: Frame) -> tuple[int, ...] | None:
    """Return a start for each task as ``earliest_starts`` does, and where that runs into a closed window begins anew.

    What the step without a place waited for is then put off to a later evening than it had, together with what that in
    turn closes on; tape that would have to come off after the last free minute goes on another day. None where so
    many evenings are not there, or it takes too many tries.
    """
    spans, empty = narrowed(frame, [task.spans for task in frame.tasks])
    for _ in range(_TRIES):
        if empty is not None:
            return None
        tried = _Greedy(frame, spans)
        starts = tried.run()
        if starts is not None:
            return starts
        put_off = tried.too_early()
        if put_off is None:
            return None
        n, until = put_off
        spans[n] = meet(spans[n], ((until, FOREVER),))
        spans, empty = narrowed(frame, spans)
    return None


class _Greedy:
    def __init__(self, frame: Frame, spans: list[Spans]) -> None:
        self.frame = frame
        self.spans = spans
        self.evenings = [_Evening() for _ in frame.evenings]
        self.taken = _Taken()
        self.wet: dict[int, tuple[int, int]] = {}
        for facility, first, end in frame.held:
            self.taken.take(facility, first, end)
        rules = frame.batch.rules
        self.places: dict[str, int | None] = {BOOTH: rules.booth, RACK: rules.rack, **dict(rules.jigs)}
        left = [0] * len(frame.tasks)
        for n in range(len(frame.tasks) - 1, -1, -1):
            left[n] = frame.tasks[n].minutes
        for link in reversed(frame.links):
            left[link.early] = max(
                left[link.early], frame.tasks[link.early].minutes + link.windows[-1][0] + left[link.late]
            )
        self.left = left
        self.starts: list[int | None] = [None] * len(frame.tasks)
        self.stuck = -1

    def run(self) -> tuple[int, ...] | None:
        """Return the starts, or None."""
        many = len(self.frame.tasks)
        waiting = [0] * many
        out: list[list[int]] = [[] for _ in range(many)]
        for k, link in enumerate(self.frame.links):
            waiting[link.late] += 1
            out[link.early].append(k)
        spans = list(self.spans)
        starts = self.starts
        ready = [n for n in range(many) if not waiting[n]]
        while ready:
            at = {n: place for n in ready if (place := self._earliest(n, spans[n])) is not None}
            if len(at) < len(ready):
                self.stuck = next(n for n in ready if n not in at)
                return None
            n = min(ready, key=lambda n: (at[n], -self.left[n], n))
            start, _ = at[n]
            self._put(n, start)
            starts[n] = start
            ready.remove(n)
            end = start + self.frame.tasks[n].minutes
            for k in out[n]:
                link = self.frame.links[k]
                opened = tuple((end + low, end + high) for low, high in link.windows)
                spans[link.late] = meet(spans[link.late], opened)
                waiting[link.late] -= 1
                if not waiting[link.late]:
                    ready.append(link.late)
        return tuple(start for start in starts if start is not None)

    def too_early(self) -> tuple[int, int] | None:
        """Return what came too early for the step that found no place, and the minute before which it is to stay out.

        Of the steps that it hangs on by windows that close, that is the first of the evening on which they were put.
        """
        n, found = self.stuck, None
        while True:
            closing = [link.early for link in self.frame.links if link.late == n and link.windows[-1][1] < FOREVER]
            placed = [(start, k) for k in closing if (start := self.starts[k]) is not None]
            if not placed:
                return found
            start, n = max(placed)
            evening = self.frame.evening_of(start)
            found = n, self.frame.evenings[evening][1]

    def _earliest(self, n: int, spans: Spans) -> tuple[int, int] | None:
        """Return the first start that fits, and its evening."""
        for evening, parts in sorted(split(self.frame, spans).items()):
            for start in self._moments(evening, parts):
                if self._fits(n, evening, start):
                    return start, evening
        return None

    def _moments(self, evening: int, parts: Spans) -> Iterator[int]:
        """Yield the starts worth trying: where a window opens, where something ends, and set-up after that."""
        first, end = self.frame.evenings[evening]
        setup, cleaning = self.frame.batch.rules.setup_min, self.frame.batch.rules.cleaning_min
        at = {low for low, _ in parts}
        for stretches in self.taken.spans.values():
            at |= {high for _, high in stretches if first <= high <= end}
        for _, begin, last, _ in self.evenings[evening].sessions:
            at |= {begin + setup, last - cleaning, last}
        at |= {each + setup for each in at}
        for moment in sorted(at):
            if any(low <= moment <= high for low, high in parts):
                yield moment

    def _fits(self, n: int, evening: int, start: int) -> bool:
        task, rules = self.frame.tasks[n], self.frame.batch.rules
        end = start + task.minutes
        for use in task.step.facilities:
            if not self.taken.fits(use.facility, start, end + use.stays_min, self.places[use.facility]):
                return False
        freed = self._taken_off(n, start)
        rack = _Taken({RACK: [each for k, each in self.wet.items() if k not in freed]})
        for each in freed:
            rack.take(RACK, self.wet[each][0], min(self.wet[each][1], start))
        for facility, low, high in self.frame.held:
            if facility == RACK:
                rack.take(RACK, low, high)
        if not rack.fits(RACK, end, end + task.step.rack_min, rules.rack):
            return False
        session = self._session(n, evening, start)
        return session is not None and self._hands_fit(evening, start, end, session)

    def _taken_off(self, n: int, start: int) -> list[int]:
        """Return the tasks whose car stands on the rack until this one takes it off."""
        before = [link.early for link in self.frame.links if link.late == n]
        return [each for each in before if each in self.wet and self.wet[each][1] > start]

    def _session(self, n: int, evening: int, start: int) -> list[list[int]] | None:
        """Return the evening's sessions with the task in one of them, or None where its colour has no room."""
        task, rules = self.frame.tasks[n], self.frame.batch.rules
        sessions = [list(each) for each in self.evenings[evening].sessions]
        if task.colour < 0:
            return sessions
        begin, last = start - rules.setup_min, start + task.minutes + rules.cleaning_min
        for each in sessions:
            if each[0] == task.colour:
                each[1], each[2], each[3] = min(each[1], begin), max(each[2], last), each[3] + task.minutes
                idle = self.frame.idles[task.colour]
                if idle is not None and each[2] - each[1] - rules.setup_min - rules.cleaning_min - each[3] > idle:
                    return None
                break
        else:
            sessions.append([task.colour, begin, last, task.minutes])
        first, end = self.frame.evenings[evening]
        sessions.sort(key=lambda each: each[1])
        for one, two in pairwise(sessions):
            if two[1] < one[2]:
                return None
        return sessions if sessions[0][1] >= first and sessions[-1][2] <= end else None

    def _hands_fit(self, evening: int, start: int, end: int, sessions: list[list[int]]) -> bool:
        rules = self.frame.batch.rules
        taken = _Taken({"": list(self.taken.spans.get("", ()))})
        for _, begin, last, _ in sessions:
            for low, high in ((begin, begin + rules.setup_min), (last - rules.cleaning_min, last)):
                if not taken.fits("", low, high, rules.hands):
                    return False
                taken.take("", low, high)
        return taken.fits("", start, end, rules.hands)

    def _put(self, n: int, start: int) -> None:
        task = self.frame.tasks[n]
        evening = self.frame.evening_of(start)
        sessions = self._session(n, evening, start)
        if sessions is not None:
            self.evenings[evening].sessions = sessions
        end = start + task.minutes
        self.taken.take("", start, end)
        for use in task.step.facilities:
            self.taken.take(use.facility, start, end + use.stays_min)
        for each in self._taken_off(n, start):
            self.wet[each] = (self.wet[each][0], start)
        if task.step.rack_min:
            self.wet[n] = (end, end + task.step.rack_min)
