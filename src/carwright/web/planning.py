"""A car as somebody is changing it: what was typed, the plan of it, and what of it cannot be used.

The file itself is changed only when a change is kept. Until then the typed values are read in place of the file's, and
a value that cannot be used leaves its last good one in the plan.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from threading import Lock
from types import MappingProxyType
from typing import Final

from carwright import __version__
from carwright.car.keys import path_of
from carwright.car.model import Shelf
from carwright.car.read import read_car, read_shelf
from carwright.car.write import Written
from carwright.plan import Plan, make_plan
from carwright.problems import InputError, Problem
from carwright.web.readings import changes_of, texts_of

__all__ = ["Draft", "Planner", "key_of"]

_KEPT: Final = 6
"""Plans of which each is some fifty thousand objects: the saved one, the present one, and a few to go back to."""

NOTHING: Final[Mapping[str, str]] = MappingProxyType({})


def key_of(document: bytes, changes: Mapping[str, Written], shelf: bytes) -> str:
    """Return what names a plan: the hash of everything that it is made from."""
    told = "\n".join(f"{place}={value!r}" for place, value in sorted(changes.items()))
    parts = (__version__.encode(), document, told.encode("utf-8", "surrogatepass"), shelf)
    return hashlib.sha256(b"".join(len(part).to_bytes(8, "big") + part for part in parts)).hexdigest()[:24]


@dataclass(frozen=True, slots=True)
class Draft:
    """A car with what was typed since its last revision.

    Args:
        document: the revision that it is based on, as bytes.
        typed: slot to what stands in it now, where that is not the file's.
        taken: slot to the text that the plan uses, where that is not the file's: what was typed, or its last good one.
        changes: the same as it would be written.
        problems: slot to what is wrong there; ``""`` for what belongs to no slot.
        plan: of the car with ``changes``.
        before: of the car as it was saved.
        key: name of ``plan``.
    """

    document: bytes
    typed: Mapping[str, str]
    taken: Mapping[str, str]
    changes: Mapping[str, Written]
    problems: Mapping[str, tuple[Problem, ...]]
    plan: Plan
    before: Plan
    key: str

    @property
    def texts(self) -> dict[str, str]:
        """Return what stands in every slot of the page."""
        return texts_of(self.document, changes=self.typed)

    @property
    def moved(self) -> bool:
        """Return whether anything is changed and not kept."""
        return bool(self.typed)


class Planner:
    """Plans cars; the last few plans are kept, so that going back costs nothing."""

    def __init__(self) -> None:
        self._plans: OrderedDict[str, Plan] = OrderedDict()
        self._lock = Lock()

    def plan(self, document: bytes, changes: Mapping[str, Written], shelf: bytes = b"") -> tuple[str, Plan]:
        """Return the plan of a car file with some values changed, and its name.

        Raises:
            InputError: what ``read_car`` finds.
        """
        key = key_of(document, changes, shelf)
        with self._lock:
            found = self._plans.get(key)
            if found is not None:
                self._plans.move_to_end(key)
                return key, found
        car = read_car(document, shelf=shelf_of(shelf), changes=changes)
        made = make_plan(car)
        with self._lock:
            self._plans[key] = made
            while len(self._plans) > _KEPT:
                self._plans.popitem(last=False)
        return key, made

    def draft(
        self,
        document: bytes,
        typed: Mapping[str, str],
        *,
        good: Mapping[str, str] = NOTHING,
        shelf: bytes = b"",
    ) -> Draft:
        """Return the car with what was typed.

        Args:
            document: the revision on which it is based.
            typed: slot to text; what is as in the file does not count.
            good: slot to what was last planned with, taken where ``typed`` cannot be used.
            shelf: the shop's shelf.

        Raises:
            InputError: the document itself cannot be read, apart from single values; or a slot is none of the car
                file's.
        """
        texts = texts_of(document)
        told = {slot: text for slot, text in typed.items() if text.strip() != texts.get(slot, "").strip()}
        before, unusable = self._saved(document, texts, shelf)
        left_out = dict.fromkeys(unusable)
        taken, problems = dict(told), {slot: found for slot, found in unusable.items() if slot not in told}
        fallen_back: set[str] = set()
        for _ in range(2 * len(told) + 1):
            changes = {**left_out, **changes_of(texts, taken)}
            try:
                key, plan = self.plan(document, changes, shelf)
            except InputError as error:
                blamed = _blamed(error.problems, taken)
                for slot, found in blamed.items():
                    problems.setdefault(slot, found)
                    last = good.get(slot)
                    if last is not None and slot not in fallen_back and last.strip() != taken[slot].strip():
                        fallen_back.add(slot)
                        taken[slot] = last
                    else:
                        del taken[slot]
                continue
            return Draft(document, told, taken, changes, problems, plan, before, key)
        raise AssertionError("a draft without changes is the saved car")

    def _saved(
        self, document: bytes, texts: Mapping[str, str], shelf: bytes
    ) -> tuple[Plan, Mapping[str, tuple[Problem, ...]]]:
        """Return the plan of a car as it was saved, and the places whose values cannot be used; it goes on without.

        A file may have been saved before its author was told, or written by hand; its page is where it is mended.

        Raises:
            InputError: more is wrong than some values.
        """
        try:
            return self.plan(document, {}, shelf)[1], {}
        except InputError as error:
            unusable: dict[str, tuple[Problem, ...]] = {}
            for problem in error.problems:
                if problem.key not in texts:
                    raise
                unusable[problem.key] = (*unusable.get(problem.key, ()), problem)
        return self.plan(document, dict.fromkeys(unusable), shelf)[1], unusable


def shelf_of(data: bytes) -> Shelf | None:
    """Return the shop's shelf, None where it has none."""
    return read_shelf(data) if data.strip() else None


def _blamed(problems: tuple[Problem, ...], typed: Mapping[str, str]) -> dict[str, tuple[Problem, ...]]:
    """Return the slots in which a problem stands; where none is named, the one typed last is to blame for all."""
    found: dict[str, list[Problem]] = {}
    for problem in problems:
        base = problem.key.rpartition("[")[0] if problem.key.endswith("]") else problem.key
        exact = [slot for slot in typed if slot == problem.key]
        near = [slot for slot in typed if slot.rpartition("[")[0] == base or path_of(slot) == path_of(problem.key)]
        for slot in exact or near:
            found.setdefault(slot, []).append(problem)
    if not found:
        found[list(typed)[-1]] = list(problems)
    return {slot: tuple(each) for slot, each in found.items()}
