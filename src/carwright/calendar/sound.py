"""What of a batch cannot be used, what a calendar breaks, what is to be said of one: reckoned apart from the search."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

from carwright.calendar.batch import Batch, Calendar, Evening, Placed, later, longest_idle
from carwright.calendar.frame import Frame
from carwright.findings import Finding, listed
from carwright.finish.steps import BOOTH, RACK, Step, Wait
from carwright.problems import InputError, Problem

__all__ = ["calendar_slips", "checked", "clock_findings", "not_found", "step_words", "why_not"]

_MINUTE = timedelta(minutes=1)


def step_words(step: Step) -> str:
    """Return a step as it is told: its car and its title."""
    return f"{step.car}: {step.title or step.id}"


def _key(step: Step) -> tuple[str, str]:
    return step.car, step.id


def checked(batch: Batch) -> None:
    """Raise every slip of a batch at once.

    Raises:
        InputError: no evening; an id twice; a wait for nothing, for itself or in a circle; windows that close before
            they open; minutes that no evening has; a facility without a place; a number out of its range; more
            appointments at a time than hands.
    """
    problems = [*_rule_problems(batch), *_evening_problems(batch), *_step_problems(batch)]
    if not problems:
        problems = [*_circles(batch), *_crowded(batch)]
    if problems:
        raise InputError(problems)


def _rule_problems(batch: Batch) -> Iterator[Problem]:
    rules = batch.rules
    for name, value, least in (
        ("hands", rules.hands, 1),
        ("booth", rules.booth, 1),
        ("setup", rules.setup_min, 0),
        ("cleaning", rules.cleaning_min, 0),
        ("idle", rules.idle_min, 0),
        *((name, places, 1) for name, places in rules.jigs),
    ):
        if value < least:
            yield Problem("there must be more of it", str(value), f"{least} or more", key=f"shop.{name}")
    if not 0.0 <= rules.slack < 1.0:
        yield Problem("so much cannot be kept free", f"{rules.slack:g}", "0 to below 1", key="shop.slack")


def _evening_problems(batch: Batch) -> Iterator[Problem]:
    if not batch.evenings:
        mend = "Give evenings that are still to come, or leave fewer of them out."
        yield Problem("no evening is free", accepted="one evening or more", mend=mend, key="evening")
    for one, two in zip(batch.evenings, batch.evenings[1:], strict=False):
        if two.start < one.end:
            yield Problem(
                "two evenings lie on one another",
                two.start.isoformat(timespec="minutes"),
                f"a start from {one.end.isoformat(timespec='minutes')} on",
                key="evening",
            )
    for each in batch.evenings:
        if each.end <= each.start:
            yield Problem("an evening ends before it begins", each.start.isoformat(timespec="minutes"), key="evening")


def _step_problems(batch: Batch) -> Iterator[Problem]:
    rules = batch.rules
    known = {BOOTH, *(name for name, _ in rules.jigs)}
    ids = Counter((step.car, step.id) for step in batch.steps)
    longest = max((each.end - each.start for each in batch.evenings), default=timedelta()) / _MINUTE
    room = int(longest * (1.0 - rules.slack) + 1e-9)
    for step in batch.steps:
        where = f"{step.car}.{step.id}"
        if ids[step.car, step.id] > 1:
            yield Problem("two steps of one car have one name", step.id, key=where)
        if step.hands_min < 1 or step.rack_min < 0:
            yield Problem("a step takes a minute or more", str(step.hands_min), "1 or more", key=where)
        need = step.hands_min + ((rules.setup_min + rules.cleaning_min) if step.colour else 0)
        if batch.evenings and step.done_at is None and step.fixed_start is None and need > room:
            mend = "Free a longer evening, keep less of it free, or divide the step."
            problem = f"{step_words(step)} is longer than every evening"
            yield Problem(problem, f"{need} min", f"up to {room} min", mend, key=where)
        if step.rack_min and rules.rack == 0:
            yield Problem(
                f"{step_words(step)} needs the rack, which has no place", key="shop.rack", accepted="1 or more"
            )
        for use in step.facilities:
            if use.facility not in known:
                accepted = ", ".join(sorted(known))
                yield Problem(
                    f"{step_words(step)} needs a facility that is not there", use.facility, accepted, key=where
                )
        for moment in (step.fixed_start, step.done_at):
            if moment is not None and moment.tzinfo is None:
                yield Problem("a moment needs its time zone", moment.isoformat(), key=where)
        for wait in step.waits:
            if wait.after == step.id:
                yield Problem(f"{step_words(step)} waits for itself", key=where)
            elif (step.car, wait.after) not in ids:
                yield Problem(f"{step_words(step)} waits for a step that is not there", wait.after, key=where)
            if not wait.windows:
                yield Problem(f"{step_words(step)} has a wait without a window", wait.after, key=where)
            for window in wait.windows:
                if window.opens_min < 0 or (window.closes_min is not None and window.closes_min < window.opens_min):
                    said = f"{window.opens_min} to {window.closes_min} min"
                    problem = f"a window of {step_words(step)} closes before it opens"
                    yield Problem(problem, said, mend="Give the earlier time first.", key=where)


def _crowded(batch: Batch) -> Iterator[Problem]:
    """Yield a problem for appointments that lie on one another where there are too few hands for them."""
    fixed = [each for each in batch.steps if each.fixed_start is not None and each.done_at is None]
    for one in fixed:
        at = one.fixed_start
        if at is None:
            continue
        some = [
            e for e in fixed if e.fixed_start is not None and e.fixed_start <= at < later(e.fixed_start, e.hands_min)
        ]
        if len(some) > batch.rules.hands and one == some[-1]:
            problem = f"{listed(step_words(each) for each in some)} have appointments at the same time"
            mend = "Move one of them, or give more pairs of hands."
            yield Problem(problem, f"{at:%Y-%m-%d %H:%M}", f"{batch.rules.hands} at a time", mend, key="appointment")


def _circles(batch: Batch) -> Iterator[Problem]:
    """Yield a problem for each step of a circle of waits, found by taking away whatever waits for nothing."""
    left = {(step.car, step.id): step for step in batch.steps}
    while True:
        free = [key for key, step in left.items() if not any((step.car, w.after) in left for w in step.waits)]
        if not free:
            break
        for key in free:
            del left[key]
    # What only stands behind a circle is no part of it.
    while True:
        waited = {(step.car, w.after) for step in left.values() for w in step.waits}
        behind = [key for key in left if key not in waited]
        if not behind:
            break
        for key in behind:
            del left[key]
    if left:
        names = ", ".join(f"{car}.{each}" for car, each in left)
        yield Problem("steps wait for one another in a circle", names, mend="Take one of the waits out.")


def why_not(frame: Frame, empty: int | None) -> list[Finding]:
    """Return why a batch has no calendar: the step whose windows meet no evening, or what there is too little of."""
    fixed = [task.step for task in frame.tasks if task.step.fixed_start is not None]
    if empty is not None:
        step = frame.tasks[empty].step
        own = [each for each in fixed if each.car == step.car]
        because = f"{step_words(step)} finds no free evening in its windows{_shut(frame.batch, step)}."
        mend = "Free an evening that falls into the window, or give the wait a window that stays open."
        if own:
            because = f"{_appointed(own)}; {step_words(step)} finds no place in its windows with that."
            mend = "Move the appointment, or free an evening that falls into the window."
        return [Finding("no_evening", "fail", because, mend=mend, unit="")]
    rack = frame.batch.rules.rack
    forever = [task.step for task in frame.tasks if task.step.rack_min]
    cars = {step.car for step in forever}
    if rack is not None and len(cars) > rack:
        longest = max(forever, key=lambda step: step.rack_min)
        because = (
            f"{len(cars)} cars need the rack, which has {rack} places, and {step_words(longest)} keeps one for "
            f"{longest.rack_min / 60:g} h: no order was found that ends within the evenings given."
        )
        return [Finding("rack", "fail", because, mend="Add places to the rack, or give more evenings.", unit="")]
    because = "The evenings given do not hold all the steps with their waits."
    mend = "Give more or longer evenings."
    if fixed:
        because = f"{because} {_appointed(fixed)}."
        mend = f"Move an appointment, or {mend[:1].lower()}{mend[1:]}"
    return [Finding("evenings", "fail", because, mend=mend, unit="")]


def _shut(batch: Batch, step: Step) -> str:
    """Return when the last window of a step closes behind what is done, or "" where it does not."""
    ended = {each.id: each.done_at for each in batch.steps if each.car == step.car and each.done_at is not None}
    shut = [
        later(ended[wait.after], max(each.closes_min or 0 for each in wait.windows))
        for wait in step.waits
        if wait.after in ended and all(each.closes_min is not None for each in wait.windows)
    ]
    return f"; the last one closes {min(shut):%a %Y-%m-%d %H:%M}" if shut else ""


def _appointed(steps: Sequence[Step]) -> str:
    """Return which steps have an appointment, and when."""
    return listed(f"{step_words(each)} has an appointment at {each.fixed_start:%Y-%m-%d %H:%M}" for each in steps)


def not_found() -> Finding:
    """Return that no calendar was found, though there may be one."""
    because = "No calendar was found in the work allowed; there may be one."
    return Finding("evenings", "fail", because, mend="Allow more work, or give more or longer evenings.", unit="")


def clock_findings(calendar: Calendar) -> tuple[Finding, ...]:
    """Return a finding for each wait in which the clocks change: it is counted in hours that pass, not on the clock."""
    ends = {(each.step.car, each.step.id): each.end for each in calendar.placed}
    found = []
    for each in calendar.placed:
        for wait in each.step.waits:
            before = ends.get((each.step.car, wait.after))
            if before is None or each.step.done_at is not None:
                continue
            one, two = before.astimezone(each.start.tzinfo).utcoffset(), each.start.utcoffset()
            if one is not None and two is not None and one != two:
                hours = (each.start.astimezone(UTC) - before.astimezone(UTC)) / timedelta(hours=1)
                because = f"The clocks change during the wait before {step_words(each.step)}: {hours:g} h pass."
                found.append(Finding("clock_change", "ok", because, unit=""))
    return tuple(found)


def calendar_slips(batch: Batch, calendar: Calendar) -> list[str]:
    """Return every rule that a calendar breaks, in words; empty where it keeps all.

    Reckoned from the records alone, moment by moment, without anything that the search knows.
    """
    slips: list[str] = []
    rules = batch.rules
    placed = {(each.step.car, each.step.id): each for each in calendar.placed}
    if sorted(map(_key, batch.steps)) != sorted(placed) or len(placed) != len(calendar.placed):
        return ["not every step has its place once"]
    waits = {_key(step): step.waits for step in batch.steps}
    taken: dict[str, list[tuple[datetime, datetime]]] = {}
    for each in calendar.placed:
        slips += _step_slips(batch, each, placed, waits[_key(each.step)])
        step = each.step
        for use in step.facilities:
            first = each.end if step.done_at is not None else each.start
            taken.setdefault(use.facility, []).append((first, later(each.end, use.stays_min)))
        if step.rack_min:
            takers = [
                other.start
                for other in calendar.placed
                if other.step.car == step.car and any(wait.after == step.id for wait in other.step.waits)
            ]
            taken.setdefault(RACK, []).append((each.end, min([later(each.end, step.rack_min), *takers])))
        if step.done_at is None:
            taken.setdefault("hands", []).append((each.start, each.end))
    for session in calendar.sessions:
        setup, cleaning = later(session.start, rules.setup_min), later(session.end, -rules.cleaning_min)
        taken.setdefault("hands", []).extend(((session.start, setup), (cleaning, session.end)))
    taken["gun"] = [(session.start, session.end) for session in calendar.sessions]
    places = {"hands": rules.hands, "gun": 1, BOOTH: rules.booth, RACK: rules.rack, **dict(rules.jigs)}
    for facility, spans in sorted(taken.items()):
        limit = places[facility]
        real = [(a.astimezone(UTC), b.astimezone(UTC)) for a, b in spans if a < b]
        changes = sorted([(a, 1) for a, _ in real] + [(b, -1) for _, b in real])
        now = 0
        for at, change in changes:
            now += change
            if limit is not None and now > limit:
                slips.append(f"{facility} is over its places at {at.isoformat(timespec='minutes')}")
                break
    slips += _spray_slips(batch, calendar)
    return slips


def _step_slips(
    batch: Batch, each: Placed, placed: dict[tuple[str, str], Placed], waits: Sequence[Wait]
) -> Iterator[str]:
    step = each.step
    name = step_words(step)
    if step.done_at is not None:
        if each.end != step.done_at:
            yield f"{name} is done and was moved"
        return
    if later(each.start, step.hands_min) != each.end:
        yield f"{name} does not take its {step.hands_min} minutes"
    if step.fixed_start is not None:
        if each.start != step.fixed_start:
            yield f"{name} misses its appointment"
    else:
        inside = [
            evening
            for evening in batch.evenings
            if evening.start <= each.start and each.end.astimezone(UTC) <= _worked_until(evening, batch.rules.slack)
        ]
        if not inside:
            yield f"{name} is on no free evening"
    for wait in waits:
        before = placed[step.car, wait.after]
        if _gone(batch, wait, before):
            continue
        waited = (each.start.astimezone(UTC) - before.end.astimezone(UTC)) / _MINUTE
        if not any(w.opens_min <= waited and (w.closes_min is None or waited <= w.closes_min) for w in wait.windows):
            yield f"{name} starts {waited:g} min after {wait.after}, in none of its windows"


def _gone(batch: Batch, wait: Wait, before: Placed) -> bool:
    """Return whether a wait for a step that is done was missed: its last window closed before anything can be done."""
    return before.step.done_at is not None and all(
        each.closes_min is not None and later(before.step.done_at, each.closes_min) < batch.begins
        for each in wait.windows
    )


def _worked_until(evening: Evening, slack: float) -> datetime:
    """Return when the part of an evening begins that is kept free."""
    first, end = evening.start.astimezone(UTC), evening.end.astimezone(UTC)
    return first + (end - first) * (1.0 - slack) + timedelta(seconds=1)


def _spray_slips(batch: Batch, calendar: Calendar) -> Iterator[str]:
    rules = batch.rules
    for session in calendar.sessions:
        sprayed = sum(
            each.step.hands_min
            for each in calendar.placed
            if each.step.colour == session.colour
            and each.step.done_at is None
            and session.start <= each.start < session.end
        )
        limit = longest_idle(batch, session.colour)
        idle = (session.end.astimezone(UTC) - session.start.astimezone(UTC)) / _MINUTE - sprayed
        if limit is not None and idle > limit + rules.setup_min + rules.cleaning_min:
            yield f"the gun stands too long with {session.colour} in it"
    for each in calendar.placed:
        if each.step.colour and each.step.done_at is None:
            inside = [
                session
                for session in calendar.sessions
                if session.colour == each.step.colour
                and later(session.start, rules.setup_min) <= each.start
                and each.end <= later(session.end, -rules.cleaning_min)
            ]
            if not inside:
                yield f"{step_words(each.step)} is sprayed outside every session of {each.step.colour}"
