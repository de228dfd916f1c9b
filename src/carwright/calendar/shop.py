"""The bare problem: jobs of steps in order, each on a facility of so many places, with waits between them; its reading.

A step starts no sooner than ``wait_min`` after the end of the step before it, and no later than ``wait_max`` after it
where that is given. The facility is free during the wait. A job's last ``wait_min`` counts towards the end of the
whole, the *makespan*: paint has to dry before the job is done. A job shop is the case of one place a facility and no
waits.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from carwright.problems import InputError, Problem

__all__ = ["MOST_STEPS", "Shop", "ShopAnswer", "ShopStep", "read_shop", "shop_slips"]

MOST_STEPS: Final = 5_000
MOST_MINUTES: Final = 10_000_000
"""What is accepted in one problem: 19 years of minutes in a step."""


@dataclass(frozen=True, slots=True)
class ShopStep:
    """One step of a job.

    Args:
        facility: which facility it holds from its start to its end, by position; None where it needs none.
        minutes: how long, >= 0.
        wait_min: least minutes from its end to the start of the next step, >= 0.
        wait_max: most minutes of the same, >= ``wait_min``, or None for no limit; of the last step without meaning.
    """

    facility: int | None
    minutes: int
    wait_min: int = 0
    wait_max: int | None = None


@dataclass(frozen=True, slots=True)
class Shop:
    """A bare problem: names and places (>= 1) of the facilities, and the jobs, each a tuple of steps in their order."""

    facilities: tuple[str, ...]
    places: tuple[int, ...]
    jobs: tuple[tuple[ShopStep, ...], ...]


@dataclass(frozen=True, slots=True)
class ShopAnswer:
    """A schedule of a bare problem.

    Args:
        status: "optimal" where ``makespan`` is proven the least, else "feasible".
        makespan: minutes from the first start to the end of the last wait.
        bound: no schedule is shorter than this.
        starts: for each job the start of each step, in minutes.
    """

    status: Literal["optimal", "feasible"]
    makespan: int
    bound: int
    starts: tuple[tuple[int, ...], ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON object that the command prints."""
        return {
            "status": self.status,
            "makespan": self.makespan,
            "bound": self.bound,
            "starts": [list(each) for each in self.starts],
        }


def read_shop(data: bytes, *, file: str) -> Shop:
    """Return the problem that a JSON file holds.

    Args:
        data: the file's bytes: ``{"facilities": {name: {"places": n}}, "jobs": [{"steps": [{"facility", "minutes",
            "wait_min", "wait_max"}]}]}``; ``facility`` null for none, ``wait_min`` 0 and ``wait_max`` null by default.
        file: its name, for the problems.

    Raises:
        InputError: every slip in it at once, each with job and step counted from 1.
    """
    try:
        found = json.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise InputError(Problem("this is not a text file", accepted="JSON in UTF-8", file=file)) from None
    except json.JSONDecodeError as slip:
        problem = f"this is not JSON: {slip.msg[0].lower()}{slip.msg[1:]}"
        raise InputError(Problem(problem, file=file, line=slip.lineno, column=slip.colno)) from None
    except ValueError:
        raise InputError(Problem("a number in it is too long", accepted="whole minutes", file=file)) from None
    except RecursionError:
        raise InputError(Problem("this is not a problem: it is nested too deep", file=file)) from None
    reader = _Reader(file)
    shop = reader.shop(found)
    if reader.problems:
        raise InputError(reader.problems)
    return shop


class _Reader:
    """Reads one problem and collects what is wrong in it."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []

    def slip(self, key: str, problem: str, value: object = "", accepted: str = "", mend: str = "") -> None:
        text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
        self.problems.append(Problem(problem, text[:80], accepted, mend, key=key, file=self.file))

    def shop(self, found: object) -> Shop:
        if not isinstance(found, dict):
            self.slip("", "a problem is one JSON object", accepted='{"facilities": {...}, "jobs": [...]}')
            return Shop((), (), ())
        for word in found.keys() - {"facilities", "jobs"}:
            self.slip(str(word), "there is no such key in a problem", accepted="facilities, jobs")
        facilities = self.facilities(found.get("facilities"))
        names = tuple(facilities)
        rank = {name: n for n, name in enumerate(names)}
        jobs = found.get("jobs")
        if not isinstance(jobs, list) or not jobs:
            self.slip("jobs", "a problem needs a list of jobs", accepted='[{"steps": [...]}, ...]')
            return Shop((), (), ())
        steps = sum(len(job["steps"]) for job in jobs if isinstance(job, dict) and isinstance(job.get("steps"), list))
        if steps > MOST_STEPS:
            self.slip("jobs", "too many steps", str(steps), f"at most {MOST_STEPS}")
            return Shop((), (), ())
        made = tuple(self.job(job, f"jobs[{n}]", rank) for n, job in enumerate(jobs, 1))
        return Shop(names, tuple(facilities.values()), made)

    def facilities(self, found: object) -> dict[str, int]:
        if not isinstance(found, dict):
            self.slip("facilities", "a problem needs its facilities", accepted='{"booth": {"places": 1}, ...}')
            return {}
        made = {}
        for name, each in found.items():
            places = each.get("places", 1) if isinstance(each, dict) else None
            if isinstance(each, dict):
                for word in each.keys() - {"places"}:
                    self.slip(f"facilities.{name}.{word}", "there is no such key in a facility", accepted="places")
            if not isinstance(places, int) or isinstance(places, bool) or not 1 <= places <= 1_000_000:
                self.slip(f"facilities.{name}", "a facility needs its number of places", each, '{"places": 1} or more')
                places = 1
            made[name] = places
        return made

    def job(self, found: object, key: str, rank: Mapping[str, int]) -> tuple[ShopStep, ...]:
        steps = found.get("steps") if isinstance(found, dict) else None
        if not isinstance(steps, list):
            self.slip(key, "a job needs its steps", accepted='{"steps": [...]}')
            return ()
        return tuple(self.step(each, f"{key}.steps[{n}]", rank) for n, each in enumerate(steps, 1))

    def step(self, found: object, key: str, rank: Mapping[str, int]) -> ShopStep:
        if not isinstance(found, dict):
            self.slip(key, "a step is an object", found, '{"facility": "booth", "minutes": 20}')
            return ShopStep(None, 0)
        for word in found.keys() - {"facility", "minutes", "wait_min", "wait_max"}:
            accepted = "facility, minutes, wait_min, wait_max"
            self.slip(f"{key}.{word}", "there is no such key in a step", accepted=accepted)
        name = found.get("facility")
        if name is not None and (not isinstance(name, str) or name not in rank):
            self.slip(f"{key}.facility", "there is no such facility", name, ", ".join(rank) or "null")
            name = None
        minutes = self.minutes(found, "minutes", key)
        wait_min = self.minutes(found, "wait_min", key, 0)
        wait_max = None if found.get("wait_max") is None else self.minutes(found, "wait_max", key)
        if wait_max is not None and wait_max < wait_min:
            self.slip(
                f"{key}.wait_max",
                "the wait closes before it opens",
                str(wait_max),
                f"at least the {wait_min} min of wait_min, or null",
            )
            wait_max = wait_min
        return ShopStep(None if name is None else rank[name], minutes, wait_min, wait_max)

    def minutes(self, found: Mapping[str, object], word: str, key: str, default: int | None = None) -> int:
        value = found.get(word, default)
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= MOST_MINUTES:
            self.slip(f"{key}.{word}", "this is no number of minutes", value, f"whole minutes, 0 to {MOST_MINUTES}")
            return 0
        return value


def shop_slips(shop: Shop, answer: ShopAnswer) -> list[str]:
    """Return every rule of the problem that a schedule breaks, in words; empty where it keeps all.

    It is reckoned from the problem alone, without what the solver knows.
    """
    slips = []
    events: dict[int, list[tuple[int, int]]] = {}
    end = 0
    for n, (job, starts) in enumerate(zip(shop.jobs, answer.starts, strict=True), 1):
        for k, (step, start) in enumerate(zip(job, starts, strict=True)):
            where = f"job {n}, step {k + 1}"
            if start < 0:
                slips.append(f"{where} starts before the beginning")
            if k:
                waited = start - starts[k - 1] - job[k - 1].minutes
                limit = job[k - 1].wait_max
                if waited < job[k - 1].wait_min or (limit is not None and waited > limit):
                    slips.append(f"{where} starts {waited} min after the step before it")
            if step.facility is not None and step.minutes:
                events.setdefault(step.facility, []).extend(((start, 1), (start + step.minutes, -1)))
            end = max(end, start + step.minutes + (step.wait_min if k == len(job) - 1 else 0))
    for facility, changes in events.items():
        taken = 0
        for at, change in sorted(changes):
            taken += change
            if taken > shop.places[facility]:
                slips.append(f"{shop.facilities[facility]} is over its places at minute {at}")
                break
    if end != answer.makespan:
        slips.append(f"the last job ends at {end}, not at {answer.makespan}")
    if not 0 <= answer.bound <= answer.makespan:
        slips.append(f"the bound {answer.bound} is above the makespan")
    return slips
