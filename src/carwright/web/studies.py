"""Slower answers beside the plan: made in a process of lower priority, given up as soon as a number changes.

A study belongs to the plan whose name it carries, and is shown only with that plan.
"""

from __future__ import annotations

import multiprocessing
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.process import BaseProcess
from threading import Event, Lock
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from carwright.web.deskview import StudyPart
    from carwright.web.studywork import Job

__all__ = ["Studies"]

_KEPT: Final = 16
_PATIENT_S: Final = 6.0
_LONGEST_S: Final = 60.0
_LOOK_S: Final = 0.1


@dataclass(slots=True)
class _Asked:
    """What one page waits for."""

    key: str
    given_up: Event = field(default_factory=Event)
    process: BaseProcess | None = None

    def give_up(self) -> None:
        """End its process at once, whatever that is doing."""
        self.given_up.set()
        process = self.process
        if process is not None:
            with suppress(ValueError):  # it ended by itself meanwhile
                process.kill()


class Studies:
    """Makes one study at a time, for whichever page asked last."""

    def __init__(self) -> None:
        self._made: OrderedDict[str, tuple[StudyPart, ...]] = OrderedDict()
        self._asked: dict[str, _Asked] = {}
        self._lock = Lock()
        self._turn = Lock()
        quick = "forkserver" in multiprocessing.get_all_start_methods()
        self._context = multiprocessing.get_context("forkserver") if quick else multiprocessing.get_context("spawn")
        if quick:
            self._context.set_forkserver_preload(["carwright.web.studywork"])

    def found(self, key: str) -> tuple[StudyPart, ...] | None:
        """Return the studies of a plan that were made already."""
        with self._lock:
            return self._made.get(key)

    def give_up(self, page: str) -> None:
        """Stop what is being made for a page: what it shows has changed."""
        with self._lock:
            asked = self._asked.pop(page, None)
        if asked is not None:
            asked.give_up()

    def make(self, page: str, key: str, job: Job) -> tuple[StudyPart, ...] | None:
        """Return the studies of a plan; None where they were given up, or took too long.

        Args:
            page: the open page that asks; what it asked for before is given up.
            key: name of the plan.
            job: what it is made from.
        """
        self.give_up(page)
        made = self.found(key)
        if made is not None:
            return made
        asked = _Asked(key)
        with self._lock:
            self._asked[page] = asked
        while not self._turn.acquire(timeout=_LOOK_S):
            if asked.given_up.is_set():
                return None
        try:
            made = self.found(key) or self._worked(job, asked)
        finally:
            self._turn.release()
        with self._lock:
            if self._asked.get(page) is asked:
                del self._asked[page]
            if made is not None:
                self._made[key] = made
                while len(self._made) > _KEPT:
                    self._made.popitem(last=False)
        return made

    def _worked(self, job: Job, asked: _Asked) -> tuple[StudyPart, ...] | None:
        """Return the studies, made in what time the machine has to spare; where it has none, in a small share of it."""
        made = self._tried(job, asked, spare=True, longest_s=_PATIENT_S)
        return made or self._tried(job, asked, spare=False, longest_s=_LONGEST_S)

    def _tried(self, job: Job, asked: _Asked, *, spare: bool, longest_s: float) -> tuple[StudyPart, ...] | None:
        from carwright.web.studywork import at_work

        if asked.given_up.is_set():
            return None
        ours, theirs = self._context.Pipe(duplex=False)
        process: BaseProcess = self._context.Process(target=at_work, args=(theirs, job, spare), daemon=True)
        process.start()
        asked.process = process
        theirs.close()
        try:
            waited = 0.0
            while not ours.poll(_LOOK_S):
                waited += _LOOK_S
                if asked.given_up.is_set() or waited > longest_s:
                    return None
            made: tuple[StudyPart, ...] = ours.recv()
            return made
        except EOFError:  # it ended without an answer
            return None
        finally:
            asked.process = None
            process.kill()
            process.join()
            ours.close()
