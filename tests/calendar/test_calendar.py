"""A batch on free evenings: rules kept, the earliest last day, repeatable, planned again, slips told, files read."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.calendar.batches import batch

from carwright.calendar.batch import Batch, Evening, Rules
from carwright.calendar.byevening import ByEvening
from carwright.calendar.done import marked
from carwright.calendar.evenings import read_evenings
from carwright.calendar.feed import icalendar_of
from carwright.calendar.frame import framed, narrowed
from carwright.calendar.greedy import earliest_starts
from carwright.calendar.solve import earliest_calendar, make_calendar
from carwright.calendar.sound import calendar_slips
from carwright.cli.main import main
from carwright.finish.steps import Step, Use, Wait, Window
from carwright.problems import InputError

DAY = 1440


def step(name: str, minutes: int, *waits: Wait, car: str = "car", rack: int = 0, colour: str = "") -> Step:
    """Return a step with little said about it."""
    return Step(name, car, "coat", name, minutes, (), (), colour, waits, rack)


def nights(many: int, minutes: int) -> tuple[Evening, ...]:
    """Return an evening a day from 19:00 UTC."""
    first = datetime(2026, 3, 2, 19, tzinfo=UTC)
    starts = [first + timedelta(days=n) for n in range(many)]
    return tuple(Evening(each, each + timedelta(minutes=minutes)) for each in starts)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_batch_keeps_every_rule_and_is_no_later_than_the_greedy_one(seed: int) -> None:
    """Three cars with forbidden middles, rack and shared colours: no slip, the same twice, not after the greedy one."""
    lot = batch(seed, cars=3)
    made, greedy = make_calendar(lot, work=3), earliest_calendar(lot)
    assert calendar_slips(lot, made) == []
    assert made.last_day is not None
    assert made.bound is not None
    assert made.bound <= made.last_day
    if greedy is not None:
        assert calendar_slips(lot, greedy) == []
        assert greedy.last_day is not None
        assert made.last_day <= greedy.last_day
    assert make_calendar(lot, work=3) == made


def test_a_missed_evening_is_planned_again_and_little_moves() -> None:
    """With the first evening gone and nothing done, the calendar keeps every rule; most of the work keeps its day."""
    lot = batch(3, cars=2)
    made = make_calendar(lot, work=3)
    missed = replace(lot, evenings=lot.evenings[1:])
    before = {(each.step.car, each.step.id): each.start.date() for each in made.placed}
    again = make_calendar(missed, work=3, before=before)
    free = make_calendar(missed, work=3)
    assert calendar_slips(missed, again) == []
    assert again.last_day == free.last_day
    assert again.moved is not None
    freely = sum(
        each.step.hands_min for each in free.placed if before[each.step.car, each.step.id] != each.start.date()
    )
    assert again.moved.value <= freely


@st.composite
def small(draw: st.DrawFn) -> Batch:
    """Return up to four steps of two cars on three short evenings, with forbidden middles and one place on the rack."""
    steps = []
    for car, many in (("a", draw(st.integers(1, 3))), ("b", 1)):
        for n in range(many):
            opens = draw(st.sampled_from((0, DAY - 6, DAY)))
            windows = draw(
                st.sampled_from(((Window(opens),), (Window(0, 2), Window(DAY, DAY + 9)), (Window(opens, DAY + 4),)))
            )
            waits = (Wait(f"s{n - 1}", windows),) if n else ()
            rack = draw(st.sampled_from((0, 0, 700))) if n == many - 1 else 0
            steps.append(step(f"s{n}", draw(st.integers(1, 4)), *waits, car=car, rack=rack))
    return Batch(tuple(steps), nights(3, 8), Rules(hands=1, rack=1, slack=0.0))


def last_day_by_trying(lot: Batch) -> date | None:
    """Return the earliest last day over every way to put each step at each minute of each evening."""
    moments = [each.start + timedelta(minutes=m) for each in lot.evenings for m in range(8)]
    best: date | None = None

    def go(at: int, put: list[tuple[Step, datetime, datetime]]) -> None:
        nonlocal best
        if at == len(lot.steps):
            last = max(each[1].date() for each in put)
            best = last if best is None or last < best else best
            return
        now = lot.steps[at]
        for start in moments:
            end = start + timedelta(minutes=now.hands_min)
            if best is not None and start.date() >= best:
                return
            if not any(each.start <= start and end <= each.end for each in lot.evenings):
                continue
            if now.fixed_start is not None and now.fixed_start != start:
                continue
            if any(start < other[2] and other[1] < end for other in put):
                continue
            dry = end + timedelta(minutes=now.rack_min)
            if any(
                now.rack_min and other[0].rack_min and end < other[2] + timedelta(minutes=other[0].rack_min)
                and other[2] < dry for other in put
            ):  # fmt: skip
                continue
            ends = {other[0].id: other[2] for other in put if other[0].car == now.car}
            if all(
                any(
                    start >= ends[wait.after] + timedelta(minutes=w.opens_min)
                    and (w.closes_min is None or start <= ends[wait.after] + timedelta(minutes=w.closes_min))
                    for w in wait.windows
                )
                for wait in now.waits
            ):
                go(at + 1, [*put, (now, start, end)])

    go(0, [])
    return best


@settings(max_examples=25, deadline=None)
@given(small())
def test_small_batches_end_on_the_day_that_trying_everything_finds(lot: Batch) -> None:
    """The last day is the one found by trying every minute for every step; where there is none, none is given."""
    made = make_calendar(lot, work=2)
    assert made.last_day == last_day_by_trying(lot)
    assert made.status == ("infeasible" if made.last_day is None else "optimal")
    assert made.last_day is None or calendar_slips(lot, made) == []


@pytest.mark.parametrize("rack", [2, 4])
def test_evenings_alone_rule_out_no_calendar_that_there_is(rack: int) -> None:
    """The evenings of the greedy calendars of six seeds, windows with a forbidden middle in all, are left in."""
    for seed in range(1, 7):
        lot = batch(seed)
        frame = framed(replace(lot, rules=replace(lot.rules, rack=rack)))
        starts = earliest_starts(frame)
        assert starts is not None
        spans, _ = narrowed(frame, [task.spans for task in frame.tasks], max(starts))
        coarse = ByEvening(frame, spans)
        for start, on in zip(starts, coarse.on, strict=True):
            coarse.model.add(on[frame.evening_of(start)] == 1)
        assert coarse.search(None, work=2).outcome == "best"


def test_six_cars_are_proven_and_planned_again() -> None:
    """Seed 9, 79 steps on 30 evenings: proven and before the greedy one; with an evening missed proven again."""
    lot = batch(9)
    made, greedy = make_calendar(lot, work=10), earliest_calendar(lot)
    assert made.status == "optimal"
    assert made.last_day is not None
    assert greedy is not None
    assert greedy.last_day is not None
    assert made.last_day < greedy.last_day
    assert calendar_slips(lot, made) == []
    places = {(each.step.car, each.step.id): each for each in made.placed}
    steps = tuple(
        replace(each, done_at=place.end) if (place := places[each.car, each.id]).evening in (0, 1, 2) else each
        for each in lot.steps
    )
    later = Batch(steps, lot.evenings[4:], lot.rules)
    again = make_calendar(later, work=4, before={key: each.start.date() for key, each in places.items()})
    assert again.status == "optimal"
    assert calendar_slips(later, again) == []


def test_two_pairs_of_hands_and_a_jig_are_kept() -> None:
    """Two work at once on short evenings, fitted parts stay eight hours in one of two clamps: no slip, and proven."""
    lot = batch(2, cars=3, nights=20)
    steps = tuple(
        replace(each, facilities=(*each.facilities, Use("clamp", 480))) if each.act == "fit" else each
        for each in lot.steps
    )
    free = tuple(Evening(each.start, each.start + timedelta(minutes=90)) for each in lot.evenings)
    lot = Batch(steps, free, replace(lot.rules, hands=2, jigs=(("clamp", 2),)))
    made = make_calendar(lot, work=4)
    assert made.status == "optimal"
    assert calendar_slips(lot, made) == []
    spans = sorted((each.start, each.end) for each in made.placed)
    assert any(two[0] < one[1] for one, two in itertools.pairwise(spans))


def test_two_cars_share_a_session() -> None:
    """Two cars of one colour on one evening load the gun once; the second colour does not fit beside it and waits."""
    steps = [step("coat", 10, car=name, colour=colour) for name, colour in (("a", "red"), ("b", "red"), ("c", "blue"))]
    lot = Batch(tuple(steps), nights(4, 45), Rules(setup_min=5, cleaning_min=10, slack=0.0))
    made = make_calendar(lot, work=2)
    assert (made.colour_changes.value, made.colour_changes.proven) == (2, True)
    assert [each.colour for each in made.sessions].count("red") == 1
    assert made.last_day == date(2026, 3, 3)
    assert calendar_slips(lot, made) == []


@pytest.mark.parametrize(
    ("idle", "opens", "closes"),
    [
        (30, 20, None),
        (90, 80, None),
        (30, 50, 70),  # where the coats themselves wait longer, and that wait closes, so may the gun
        (30, 50, None),  # else the second coat is another session
    ],
)
def test_a_loaded_gun_stands_no_longer_than_the_shop_allows(idle: int, opens: int, closes: int | None) -> None:
    """Between coats with paint in it the gun stands as long as told, longer only for a window that closes."""
    wait = Wait("first", (Window(opens, closes),), "flash-off", "practice", "")
    steps = (step("first", 10, colour="red"), step("second", 10, wait, colour="red"), step("other", 60, car="b"))
    lot = Batch(steps, nights(3, 170), Rules(setup_min=5, cleaning_min=5, slack=0.0, idle_min=idle))
    made = make_calendar(lot, work=2)
    assert calendar_slips(lot, made) == []
    starts = {each.step.id: each for each in made.placed}
    stood = (starts["second"].start - starts["first"].end) / timedelta(minutes=1)
    assert stood <= max(idle, opens if closes else 0, 0) or stood > 12 * 60
    loose = Batch(steps, nights(3, 170), replace(lot.rules, idle_min=10_000))
    if stood > 12 * 60:
        return
    more = timedelta(minutes=120)
    placed = (
        replace(each, start=each.start + more, end=each.end + more) if each.step.id == "second" else each
        for each in made.placed
    )
    late = replace(
        made, placed=tuple(placed), sessions=tuple(replace(each, end=each.end + more) for each in made.sessions)
    )
    stands = "the gun stands too long with red in it"
    assert stands in calendar_slips(lot, late)
    assert stands not in calendar_slips(loose, late)


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Europe/Berlin", "2026-03-28", 1),
        ("Europe/Berlin", "2026-10-24", -1),
        ("America/Chicago", "2026-03-07", 1),
        ("America/Chicago", "2026-10-31", -1),
    ],
)
def test_a_wait_over_a_change_of_the_clocks_is_hours_that_pass(zone: str, day: str, hours: int) -> None:
    """24 h after 20:10 on the day before the clocks change is 21:10 or 19:10 on the next; a finding says so.

    Days of the changes: EU directive 2000/84/EC (last Sundays), US Energy Policy Act of 2005 (2nd and 1st Sunday).
    """
    rule = f'zone = "{zone}"\n[[evening]]\nfrom = "19:00"\nto = "21:30"\nfirst = {day}\n[shop]\ndamp = 0\n'
    said = f'[[appointment]]\ncar = "car"\nstep = "one"\nat = "{day} 20:00"\n'
    free = read_evenings([("e.toml", (rule + said).encode())])
    steps, _ = marked((step("one", 10), step("two", 10, Wait("one", (Window(DAY, DAY),)))), free.said, free.zone)
    lot = Batch(steps, free.evenings, free.rules)
    made = make_calendar(lot, work=2)
    first, second = made.placed
    assert (first.end.hour, first.end.minute) == (20, 10)
    assert (second.start.hour, second.start.minute) == (20 + hours, 10)
    assert [each.check for each in made.findings] == ["clock_change"]
    assert "two" in made.findings[0].because
    assert calendar_slips(lot, made) == []


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ((step("one", 5, Wait("one")),), "waits for itself"),
        ((step("one", 5, Wait("two")), step("two", 5, Wait("one"))), "in a circle"),
        ((step("one", 5), step("two", 5, Wait("one", (Window(9, 8),)))), "closes before it opens"),
        ((step("one", 5, Wait("none")),), "not there"),
        ((step("one", 500),), "longer than every evening"),
        ((step("one", 5), step("one", 5)), "one name"),
    ],
)
def test_slips_of_a_batch_name_the_step(steps: tuple[Step, ...], said: str) -> None:
    """A wait for itself, a circle, a window closed before it opens, no such step, too long a step are refused."""
    with pytest.raises(InputError) as caught:
        make_calendar(Batch(steps, nights(3, 60)))
    assert said in str(caught.value)


def test_what_cannot_be_is_a_finding_that_names_the_step() -> None:
    """A window between two evenings, and a rack that one car never leaves, end in a finding and no calendar."""
    wait = Wait("one", (Window(300, 400),))
    made = make_calendar(Batch((step("one", 5), step("two", 5, wait)), nights(3, 60)))
    assert (made.status, made.findings[0].check) == ("infeasible", "no_evening")
    assert "two" in made.findings[0].because
    wet = tuple(step("coat", 5, car=name, rack=99 * DAY) for name in ("a", "b"))
    made = make_calendar(Batch(wet, nights(3, 60), Rules(rack=1)))
    assert (made.status, made.findings[0].check) == ("infeasible", "rack")


def test_what_runs_into_a_closed_window_is_put_off_and_a_calendar_found_with_hardly_any_work() -> None:
    """Another car's lettering leaves no time to take the tape off: the tape goes on the next evening, unsearched."""
    steps = (
        step("mask", 10, car="a"),
        step("unmask", 12, Wait("mask", (Window(15, 60),)), car="a"),
        step("wash", 10, car="b"),
        step("letter", 35, Wait("wash"), car="b"),
    )
    lot = Batch(steps, nights(3, 60), Rules(slack=0.0))
    assert earliest_calendar(lot) is None
    made = make_calendar(lot, work=0.01)
    assert made.last_day == date(2026, 3, 3)
    assert calendar_slips(lot, made) == []


def test_an_appointment_stands_and_everything_else_keeps_its_windows_round_it() -> None:
    """The coat at its moment, into the time kept free; the mask 23 h to 26 h after it, a day later than else."""
    wait = (Window(DAY - 60, DAY + 120),)
    steps = (step("coat", 10, colour="red"), step("mask", 10, Wait("coat", wait)), step("other", 40, car="b"))
    at = datetime(2026, 3, 3, 19, 52, tzinfo=UTC)
    lot = Batch((replace(steps[0], fixed_start=at), *steps[1:]), nights(5, 70), Rules(setup_min=5, cleaning_min=5))
    made = make_calendar(lot, work=2)
    places = {each.step.id: each for each in made.placed}
    assert places["coat"].start == at
    assert timedelta(hours=23) <= places["mask"].start - places["coat"].end <= timedelta(days=1, hours=2)
    assert made.last_day == date(2026, 3, 4)
    assert calendar_slips(lot, made) == []
    assert make_calendar(Batch(steps, lot.evenings, lot.rules), work=2).last_day == date(2026, 3, 3)


@settings(max_examples=20, deadline=None)
@given(small(), st.integers(0, 23), st.integers(0, 3))
def test_small_batches_with_an_appointment_end_when_trying_everything_says(lot: Batch, at: int, which: int) -> None:
    """One step fixed at some minute: the last day is that of trying all with it there, or none where none is."""
    moment = lot.evenings[at // 8].start + timedelta(minutes=at % 8)
    n = which % len(lot.steps)
    fixed = replace(lot.steps[n], fixed_start=moment)
    if moment + timedelta(minutes=fixed.hands_min) > lot.evenings[at // 8].end:
        return
    lot = replace(lot, steps=(*lot.steps[:n], fixed, *lot.steps[n + 1 :]))
    made = make_calendar(lot, work=2)
    assert made.last_day == last_day_by_trying(lot)
    assert made.last_day is None or calendar_slips(lot, made) == []


@pytest.mark.parametrize("slack", [0.25, 0.5])
def test_the_time_kept_free_for_a_damp_day_is_never_filled(slack: float) -> None:
    """Two days' work of 8 minutes is stretched over more evenings, as trying everything on shorter ones finds."""
    steps = tuple(step(f"s{n}", 2, car=f"c{n % 2}") for n in range(4))
    lot = Batch(steps, nights(4, 8), Rules(slack=slack))
    shorter = replace(
        lot,
        evenings=tuple(Evening(e.start, e.start + timedelta(minutes=8 * (1 - slack))) for e in lot.evenings),
        rules=Rules(slack=0.0),
    )
    made = make_calendar(lot, work=2)
    assert made.last_day == last_day_by_trying(shorter)
    for each in made.placed:
        assert each.evening is not None
        assert each.end <= lot.evenings[each.evening].start + timedelta(minutes=8 * (1 - slack))
    assert calendar_slips(lot, made) == []
    late = made.placed[-1]
    moved = replace(late, start=late.start + timedelta(minutes=6), end=late.end + timedelta(minutes=6))
    assert any(
        "no free evening" in each for each in calendar_slips(lot, replace(made, placed=(*made.placed[:-1], moved)))
    )


@pytest.mark.parametrize("day", [2, 3])
def test_an_appointment_that_cannot_be_names_its_step(day: int) -> None:
    """Fixed before its window opens, or before what it waits for can be: no calendar, step and moment are named."""
    at = datetime(2026, 3, day, 18, 5, tzinfo=UTC)
    steps = (step("one", 10), replace(step("two", 10, Wait("one", (Window(2 * DAY),))), fixed_start=at))
    made = make_calendar(Batch(steps, nights(4, 60)), work=1)
    assert made.status == "infeasible"
    assert f"car: two has an appointment at 2026-03-0{day} 18:05" in made.findings[0].because


def test_two_appointments_for_one_pair_of_hands_are_refused_by_name() -> None:
    """Two steps fixed so that they lie on one another need two pairs of hands; with those they stand."""
    at = datetime(2026, 3, 2, 19, 5, tzinfo=UTC)
    steps = tuple(replace(step("two", 10, car=name), fixed_start=at) for name in "ab")
    with pytest.raises(InputError) as caught:
        make_calendar(Batch(steps, nights(2, 60)))
    assert "a: two and b: two" in str(caught.value)
    assert make_calendar(Batch(steps, nights(2, 60), Rules(hands=2)), work=1).last_day == at.date()


def test_not_found_is_told_from_not_possible() -> None:
    """Six cars, 24 evenings of 70 and of 60 minutes: the former are left open in next to no work, the latter proven."""
    for minutes, status, said in ((70, "unknown", "there may be one"), (60, "infeasible", "do not hold all")):
        lot = batch(2, rack=6, nights=24)
        free = tuple(Evening(each.start, each.start + timedelta(minutes=minutes)) for each in lot.evenings)
        made = make_calendar(replace(lot, evenings=free), work=0.01 if status == "unknown" else 2)
        assert (made.status, made.last_day) == (status, None)
        assert said in made.findings[0].because


@pytest.mark.parametrize(
    ("data", "name", "said"),
    [
        (b"no calendar", "free.ics", "not a calendar"),
        (b"[[evening", "e.toml", "not a list of evenings"),
        (b'[[evening]]\ndays="xx"\nfrom="19:00"\nto="19:00"\nfirst=2026-01-01', "e.toml", "no day of the week"),
        (b'[[evening]]\nfrom="19:00"\nto="20:00"\nfirst=2026-01-02\nlast=2026-01-01', "e.toml", "before the first"),
        (b'[[evening]]\nfrom="19:00"\nto="20:00"\nfirst=2026-01-02\nlast=2026-01-02\nnot=2026-01-02', "e", "free"),
    ],
)  # fmt: skip
def test_files_that_hold_no_evenings_are_refused(data: bytes, name: str, said: str) -> None:
    """Text that is no calendar, broken TOML, no weekday, an end before its beginning, and every day left out."""
    with pytest.raises(InputError) as caught:
        read_evenings([(name, data)])
    assert said in str(caught.value)


def test_the_calendar_file_is_read_back() -> None:
    """Read back by a library: an event an evening, an alarm at each edge of a window, and the same bytes twice."""
    lot = batch(1, cars=1)
    made = make_calendar(lot, work=2)
    data = icalendar_of(made, lot)
    assert data == icalendar_of(made, lot)
    events = icalendar.Calendar.from_ical(data.decode()).walk("VEVENT")
    assert len(events) == made.evenings_used.value
    assert {event.decoded("DTSTART").date() for event in events} == {each.start.date() for each in made.placed}
    alarms = [alarm for event in events for alarm in event.walk("VALARM")]
    edges = [
        edge
        for each in made.placed
        for wait, which in zip(each.step.waits, each.windows, strict=True)
        for edge in (wait.windows[which].opens_min, wait.windows[which].closes_min)
        if edge
    ]
    assert len(alarms) == len(edges)
    assert all(line for line in itertools.islice(data.split(b"\r\n"), 5))


def test_the_command_gives_json_picture_and_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Steps and evenings as files: JSON with its keys, an SVG, status 0; a step that finds no evening ends with 1."""
    (tmp_path / "e.toml").write_text(
        '[[evening]]\ndays = ["Mon", "Tue"]\nfrom = "19:00"\nto = "20:00"\nfirst = 2026-03-02\nlast = 2026-03-10\n'
    )
    text = '[[step]]\ncar = "a"\nid = "one"\nminutes = 5\n[[step]]\ncar = "a"\nid = "two"\nminutes = 5\n'
    (tmp_path / "s.toml").write_text(text + 'wait = [{after = "one", windows = [["1 h", "24 h"]]}]\n')
    words = ["calendar", str(tmp_path / "s.toml"), "--evenings", str(tmp_path / "e.toml")]
    assert main([*words, "--json", "--draw", str(tmp_path / "p.svg")]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["status"], said["last_day"], said["bound"]) == ("optimal", "2026-03-03", "2026-03-03")
    assert list(said["steps"][0])[:8] == ["car", "step", "act", "title", "facility", "colour", "start", "end"]
    assert "<svg" in (tmp_path / "p.svg").read_text(encoding="utf-8")
    (tmp_path / "s.toml").write_text(text + 'wait = [{after = "one", windows = [["1 h", "2 h"]]}]\n')
    assert main(words) == 1
    assert "two finds no free evening" in capsys.readouterr().out.lower()


def test_done_cars_leave_the_rack_to_those_that_go_on() -> None:
    """After three evenings of work a missed one is planned again: done steps stay, and the moves are proven least."""
    lot = batch(3, cars=2)
    made = make_calendar(lot, work=2)
    places = {(each.step.car, each.step.id): each for each in made.placed}
    steps = tuple(
        replace(each, done_at=place.end) if (place := places[each.car, each.id]).evening in (0, 1, 2) else each
        for each in lot.steps
    )
    later = Batch(steps, lot.evenings[4:], lot.rules)
    again = make_calendar(later, work=3, before={key: each.start.date() for key, each in places.items()})
    assert calendar_slips(later, again) == []
    assert again.moved is not None
    assert again.moved.proven


def test_only_the_wait_that_was_missed_may_be_broken() -> None:
    """A coat a week late goes on the first evening, no slip; the same places with the wait still open are a slip."""
    first = replace(step("one", 10), done_at=datetime(2026, 2, 20, 19, tzinfo=UTC))
    second = step("two", 10, Wait("one", (Window(0, 2 * DAY),)))
    third = step("three", 10, Wait("two", (Window(DAY),)))
    lot = Batch((first, second, third, step("other", 30, car="b")), nights(4, 60), Rules(slack=0.0))
    made = make_calendar(lot, work=2)
    assert calendar_slips(lot, made) == []
    assert [each.check for each in made.findings] == ["late_two"]
    assert next(each.start for each in made.placed if each.step.id == "two").day == 2
    earlier = replace(lot, since=datetime(2026, 2, 21, 19, tzinfo=UTC))
    assert calendar_slips(earlier, made)
    assert make_calendar(earlier, work=2).status == "infeasible"


def test_a_coat_missed_under_tape_waits_for_its_late_window_and_the_tape_is_set_anew() -> None:
    """Enamel that missed its hour gets its next coat after 48 h, though the tape that was on then may stay for 24 h."""
    mask = replace(step("mask", 10), act="mask", done_at=datetime(2026, 2, 28, 18, tzinfo=UTC))
    first = replace(step("first", 10, Wait("mask")), act="coat", done_at=datetime(2026, 2, 28, 19, tzinfo=UTC))
    wait = Wait("first", (Window(10, 60),), late=(Window(2 * DAY),))
    again = replace(step("again", 10, wait), act="coat")
    off = replace(step("off", 10, Wait("again", (Window(10, 60),)), Wait("mask", (Window(0, DAY),))), act="unmask")
    lot = Batch((mask, first, again, off), nights(6, 90), Rules(slack=0.0), since=datetime(2026, 2, 28, 21, tzinfo=UTC))
    made = make_calendar(lot, work=2)
    places = {each.step.id: each for each in made.placed}
    assert places["again"].start - places["first"].end >= timedelta(days=2)
    assert places["off"].start - places["again"].end <= timedelta(hours=1)
    assert [(each.check, "mask anew" in each.mend) for each in made.findings] == [("late_again", True)]
