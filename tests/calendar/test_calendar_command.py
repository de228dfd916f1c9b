"""``carwright calendar``: cars and lists, what is done, sheets on paper, a file for calendar programs, bad input."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pypdfium2
import pytest

from carwright.cli.main import main

CAR = """[car]
name = "{name}"
scale = "HO"
[finish]
scheme = "{scheme}"
[[paint]]
colour = "black"
family = "acrylic"
windows = [["15 min", "1 h"], ["24 h", "none"]]
"""

EVENINGS = """zone = "Europe/Berlin"
[[evening]]
from = "19:00"
to = "22:00"
first = 2026-11-26
last = 2027-01-15
[shop]
rack = 2
"""

STEPS = """[[step]]
car = "a"
id = "first"
title = "First coat"
act = "coat"
colour = "red"
minutes = 10
hold = "no runs"
[[step]]
car = "a"
id = "second"
title = "Second coat"
act = "coat"
colour = "red"
minutes = 10
wait = [{after = "first", windows = [["20 min", "1 h"], ["48 h", "none"]], because = "it lifts what is half cured"}]
"""


@dataclass(frozen=True, slots=True)
class Bench:
    """A folder with files, and the command in it."""

    folder: Path
    capsys: pytest.CaptureFixture[str]

    def file(self, name: str, text: str) -> str:
        """Write a file and return its path."""
        path = self.folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return str(path)

    def run(self, *words: str) -> tuple[int, str, str]:
        """Return status, page and trouble of ``carwright calendar`` with these words."""
        status = main(["calendar", *words])
        said = self.capsys.readouterr()
        return status, said.out, said.err

    def made(self, *words: str) -> Any:
        """Return the JSON of a calendar."""
        status, out, err = self.run(*words, "--json")
        assert status == 0, out + err
        return json.loads(out)


@pytest.fixture
def bench(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Bench:
    """Give an empty folder with the command."""
    return Bench(tmp_path, capsys)


def test_cars_of_one_name_are_told_apart_and_one_file_twice_is_refused(bench: Bench) -> None:
    """Two black cars called alike get their files' names behind their own; a list adds steps to a car of its name."""
    one = bench.file("one.toml", CAR.format(name="Tank", scheme="rest black"))
    two = bench.file("two.toml", CAR.format(name="Tank", scheme="rest black"))
    box = bench.file("box.toml", CAR.format(name="Box", scheme="rest black"))
    own = bench.file("own.toml", '[[step]]\ncar = "Box"\nid = "trucks"\nminutes = 20\nwait = [{after = "flat"}]\n')
    evenings = bench.file("e.toml", EVENINGS)
    made = bench.made(one, two, box, own, "--evenings", evenings)
    assert {each["car"] for each in made["steps"]} == {"Tank (one)", "Tank (two)", "Box"}
    last = max((each["end"], each["step"]) for each in made["steps"] if each["car"] == "Box")
    assert last[1] == "trucks"
    status, _, err = bench.run(one, one, "--evenings", evenings)
    assert (status, "one file is given twice" in err) == (2, True)
    status, _, err = bench.run(bench.file("bare.toml", '[car]\nname = "x"\n'), "--evenings", evenings)
    assert (status, "finish.scheme" in err) == (2, True)


def test_a_done_step_stays_what_it_waited_for_is_taken_as_done_and_the_rest_is_planned_again(bench: Bench) -> None:
    """Primed on Thursday 20:10: the washing is taken as done, the rest starts from there, no work before the moment."""
    car = bench.file("car.toml", CAR.format(name="Box", scheme="rest black"))
    evenings = bench.file("e.toml", EVENINGS)
    before = bench.file("before.json", json.dumps(bench.made(car, "--evenings", evenings)))
    done = bench.file("d.toml", '[[done]]\ncar = "box"\nstep = "prime"\nwhen = "2026-11-26 20:10"\n')
    words = (car, "--evenings", evenings, "--evenings", done, "--before", before)
    again = bench.made(*words, "--today", "2026-11-26T20:15")
    steps = {each["step"]: each for each in again["steps"]}
    assert steps["prime"]["end"] == "2026-11-26T20:10:00+01:00"
    assert {each for each in steps if steps[each]["done"]} >= {"wash", "prime"}
    assert all(each["start"] >= "2026-11-26T20:15" for each in again["steps"] if not each["done"])
    assert again["moved_min"] is not None
    minutes = {(each["car"], each["step"]): each["minutes"] for each in again["steps"]}
    assert sum(minutes[each["car"], each["step"]] for each in again["moved"]) == again["moved_min"]
    page = bench.run(*words, "--today", "2026-11-29")[1]
    assert "The last day moved from " in page, page
    assert "Box: First coat: black on the rest, from Sat 2026-11-28 to Sun 2026-11-29" in " ".join(page.split()), page
    assert any("taken as done, because Prime" in each["because"] for each in again["findings"])
    status, _, err = bench.run(*words, "--today", "2026-11-25")
    assert (status, "cannot be done before it is time" in err) == (2, True)


def test_a_coat_outside_its_windows_is_told(bench: Bench) -> None:
    """A second coat five hours after the first, where only one hour or two days will do, is to watch."""
    done = "".join(
        f'[[done]]\ncar = "a"\nstep = "{name}"\nwhen = "2026-11-26 {at}"\n'
        for name, at in (("first", "14:10"), ("Second coat", "19:20"))
    )
    more = '[[step]]\ncar = "a"\nid = "letter"\nminutes = 30\nwait = [{after = "second"}]\n'
    words = (bench.file("s.toml", STEPS + more), "--evenings", bench.file("e.toml", EVENINGS + done))
    made = bench.made(*words, "--today", "2026-11-27")
    told = [each for each in made["findings"] if each["check"] == "outside_window"]
    assert [each["verdict"] for each in told] == ["watch"]
    assert "5.0 h after First coat" in told[0]["because"]


def test_an_appointment_is_kept(bench: Bench) -> None:
    """What has an appointment starts then, on an evening or outside of all."""
    said = '[[appointment]]\ncar = "a"\nstep = "second"\nat = "2026-11-29 10:00"\n'
    made = bench.made(bench.file("s.toml", STEPS), "--evenings", bench.file("e.toml", EVENINGS + said))
    assert made["steps"][1]["start"] == "2026-11-29T10:00:00+01:00"


def test_sheets_tell_edges_in_bold_and_what_is_looked_at_first(bench: Bench) -> None:
    """An evening's sheet has its acts with the gun; a route sheet says when the second coat must not go on."""
    steps, evenings = bench.file("s.toml", STEPS), bench.file("e.toml", EVENINGS)
    sheets, routes, svg = (str(bench.folder / name) for name in ("e.pdf", "r.pdf", "p.svg"))
    status, page, _ = bench.run(
        steps, "--evenings", evenings, "--sheets", sheets, "--routes", routes, "--paper", "a4", "--draw", svg
    )
    assert status == 0
    assert max(map(len, page.splitlines())) <= 80
    sheet, route = (_text(Path(each)) for each in (sheets, routes))
    for words in ("Thursday 26 November", "Load red", "first coat", "Clean the gun of red", "Kept free", "Spray burns"):
        assert words in sheet, sheet
    assert "No runs." in route
    assert "Not between 20:20 and Sat 19:20" in route, route
    assert "20 min to 1 h, or 2 days or more" in route
    assert "First coat, 19:10 to 19:20" in Path(svg).read_text(encoding="utf-8")
    assert pypdfium2.PdfDocument(sheets)[0].get_width() == pytest.approx(595.3, abs=0.5)


def _text(path: Path) -> str:
    document = pypdfium2.PdfDocument(path)
    return " ".join("\n".join(page.get_textpage().get_text_range() for page in document).split())


def test_the_file_for_a_calendar_program_keeps_rfc_5545(bench: Bench) -> None:
    """RFC 5545, read back: lines, alarms in UTC at both edges, a stamp, names that stay, what is gone struck out."""
    steps, evenings = bench.file("s.toml", STEPS), bench.file("e.toml", EVENINGS)
    path = bench.folder / "p.ics"
    before = bench.made(steps, "--evenings", evenings, "--ics", str(path), "--today", "2026-11-25")
    data = path.read_bytes()
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert b"\n" not in data.replace(b"\r\n", b"")
    bench.made(steps, "--evenings", evenings, "--ics", str(path), "--today", "2026-11-25")
    assert path.read_bytes() == data
    event = icalendar.Calendar.from_ical(data).walk("VEVENT")[0]
    assert event.decoded("DTSTAMP") == datetime(2026, 11, 25, tzinfo=UTC)
    assert event.decoded("DTSTART") == datetime(2026, 11, 26, 18, 0, tzinfo=UTC)
    alarms = {str(each["DESCRIPTION"]): each.decoded("TRIGGER") for each in event.walk("VALARM")}
    assert sorted(alarms.values()) == [
        datetime(2026, 11, 26, hour, 5 + 35 * (hour == 18), tzinfo=UTC) for hour in (18, 19)
    ]
    assert any("begin by 20:20; if that is missed, from Sat 19:20" in each for each in alarms)
    later = bench.file("later.toml", EVENINGS.replace("2026-11-26", "2026-11-27"))
    old = bench.file("b.json", json.dumps(before))
    bench.made(steps, "--evenings", later, "--ics", str(path), "--before", old, "--today", "2026-11-27")
    events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    struck = [each for each in events if str(each.get("STATUS", "")) == "CANCELLED"]
    assert [each["UID"] for each in struck] == [event["UID"]]
    assert struck[0]["SEQUENCE"] > event["SEQUENCE"]


def test_windows_that_lie_on_one_another_have_no_edge_between(bench: Bench) -> None:
    """Within an hour, or after half an hour: any time will do, and no late edge is told."""
    steps = STEPS.replace('["20 min", "1 h"], ["48 h", "none"]', '["0 h", "1 h"], ["30 min", "none"]')
    second = bench.made(bench.file("s.toml", steps), "--evenings", bench.file("e.toml", EVENINGS))["steps"][1]
    assert (second["not_before"], second["not_after"], second["again_from"]) == (None, None, None)


def test_alarms_wait_for_the_morning_and_a_clock_without_a_zone_stays_as_it_is(bench: Bench) -> None:
    """A window that opens at 7:20 after 12 h rings then, one that opens at night at 7:00; no zone: floating times."""
    steps = (
        '[[step]]\ncar = "a"\nid = "one"\nminutes = 20\n[[step]]\ncar = "a"\nid = "two"\nminutes = 20\n'
        'wait = [{after = "one", windows = [["7 h", "none"]]}]\n'
    )
    evenings = bench.file("e.toml", EVENINGS.replace('zone = "Europe/Berlin"\n', ""))
    path = bench.folder / "p.ics"
    bench.made(bench.file("s.toml", steps), "--evenings", evenings, "--ics", str(path))
    one, two = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert one.decoded("DTSTART") == datetime(2026, 11, 26, 19, 0)
    assert two.walk("VALARM")[0].decoded("TRIGGER") == timedelta(hours=7 - 19)


WAIT = 'wait = [{{after = "{}", windows = [{}]}}]\n'


@pytest.mark.parametrize(
    ("steps", "evenings", "said"),
    [
        (STEPS.replace('["20 min", "1 h"]', '["1 h", "20 min"]'), EVENINGS, "closes before it opens"),
        (STEPS.replace('after = "first"', 'after = "second"'), EVENINGS, "a: Second coat waits for itself"),
        (STEPS, EVENINGS.replace("last = 2027-01-15", "last = 2026-11-01"), "before the first"),
        (STEPS, "[shop]\nhands = 1\n", "no evening is free"),
        (STEPS, EVENINGS.replace('"22:00"', '"18:30"'), 'that would be 23.5 hours: got "19:00 to 18:30"'),
        (STEPS, EVENINGS.replace('"22:00"', '"9:30"'), "Did you mean 21:30?"),
        (STEPS, "BEGIN:VCALENDAR\nnonsense", "not a calendar file"),
        (STEPS, "zone = 3", "zone"),
        (STEPS, EVENINGS + "[[done]]\ncar = 'b'\nstep = 'first'\nwhen = '2026-11-26 19:00'", "there is no such car"),
        (STEPS, EVENINGS + "[[done]]\ncar = 'a'\nstep = 'frist'\nwhen = '2026-11-26 19:00'", "Did you mean first?"),
        (STEPS, EVENINGS + "[[done]]\ncar = 'a'\nstep = 'first'\nwhen = '2026-11-26'", "no day with its time"),
        (STEPS.replace("minutes = 10", "minutes = 300"), EVENINGS, "First coat is longer than every evening"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_by_name(steps: str, evenings: str, said: str, bench: Bench) -> None:
    """Each slip ends with status 2 and says which step, key or file it is."""
    status, _, err = bench.run(bench.file("s.toml", steps), "--evenings", bench.file("e.toml", evenings))
    assert status == 2
    assert said in err


def test_more_cars_than_the_rack_ever_holds_is_a_finding_that_names_one(bench: Bench) -> None:
    """Three cars that stay wet for ever and two places end with status 1, the number of places and a car's name."""
    steps = "".join(
        f'[[step]]\ncar = "{name}"\nid = "coat"\nact = "coat"\nminutes = 10\nrack = "900 days"\n' for name in "abc"
    )
    status, page, _ = bench.run(bench.file("s.toml", steps), "--evenings", bench.file("e.toml", EVENINGS))
    assert status == 1
    assert "3 cars need the rack, which has 2 places, and a: Coat keeps one" in " ".join(page.split())


def test_a_change_of_the_clocks_in_a_wait_is_told(bench: Bench) -> None:
    """On the night to 25 October 2026 the clocks go back in Europe: the wait over it is told with its hours."""
    evenings = EVENINGS.replace("2026-11-26", "2026-10-24").replace("2027-01-15", "2026-10-25")
    steps = STEPS.replace('["20 min", "1 h"], ["48 h", "none"]', '["23 h", "none"]')
    status, page, _ = bench.run(bench.file("s.toml", steps), "--evenings", bench.file("e.toml", evenings))
    assert status == 0
    assert "The clocks change during the wait before a: Second coat" in page


def test_why_a_step_starts_then_is_told_from_its_waits_and_what_stands_in_the_way(bench: Bench) -> None:
    """The second coat waits 20 min; then hands are at another car; a step that is not there is refused by name."""
    more = '[[step]]\ncar = "b"\nid = "letter"\ntitle = "Letter"\nminutes = 30\n'
    said = '[[appointment]]\ncar = "b"\nstep = "letter"\nat = "2026-11-26 19:30"\n'
    said += '[[appointment]]\ncar = "a"\nstep = "first"\nat = "2026-11-26 19:10"\n'
    words = (bench.file("s.toml", STEPS + more), "--evenings", bench.file("e.toml", EVENINGS + said))
    status, page, _ = bench.run(*words, "--why", "a: second")
    told = " ".join(page.split())
    assert status == 0
    assert "Thursday 2026-11-26, 20:00 to 20:10" in told
    assert "20 min to 1 h, or 2 days or more after first coat, which ends 19:20: from 19:40" in told
    assert "it lifts what is half cured" in told
    assert "Thursday 26 November, from 19:40: hands are at b: Letter." in told
    assert "It must not begin between 20:20 and Sat 19:20." in told
    assert bench.run(*words, "--why", "list")[1].split("\n")[:3] == ["a: first", "a: second", "b: letter"]
    assert bench.made(*words, "--why", "letter")["not_earlier"] == ["It has an appointment then."]
    for wrong, problem in (("a: thrid", "a has no such step"), ("thrid", "there is no such step")):
        status, _, err = bench.run(*words, "--why", wrong)
        assert (status, problem in err) == (2, True)


BATH = """[[step]]
car = "Gondola"
id = "bath"
title = "Lay the body in the bath"
act = "strip"
minutes = 5
[[step]]
car = "Gondola"
id = "out"
title = "Take it out"
act = "strip"
minutes = 25
wait = [{after = "bath", windows = [["3 h", "48 h"]]}]
[[step]]
car = "Gondola"
id = "wash"
title = "Wash the body"
act = "wash"
minutes = 15
wait = [{after = "out"}]
[[step]]
car = "Boxcar"
id = "letter"
minutes = 30
"""


def test_a_body_left_in_the_bath_too_long_is_told_by_its_act_and_all_else_is_planned(bench: Bench) -> None:
    """Due 48 h after 2026-12-01 19:00, planned on the 8th: taken out first, with what to look at; the rest follows."""
    done = '[[done]]\ncar = "gondola"\nstep = "bath"\nwhen = "2026-12-01 19:00"\n'
    words = (bench.file("s.toml", BATH), "--evenings", bench.file("e.toml", EVENINGS + done))
    status, page, _ = bench.run(*words, "--today", "2026-12-08")
    told = " ".join(page.split())
    assert status == 1
    assert "fail: Gondola: Take it out was due by Thu 2026-12-03 19:00 (48 h after Lay the body in the bath)." in told
    assert "Take it out now, and look whether the plastic is soft or crazed before anything else" in told
    assert "The last car is finished on 2026-12-08" in told
    status, page, _ = bench.run(*words, "--today", "2026-12-03T19:01", "--json")
    assert {each["check"] for each in json.loads(page)["findings"]} == {"late_out"}
    steps = BATH.replace('"48 h"', '"7 h"')
    shut = bench.file("shut.toml", EVENINGS.replace("2026-11-26", "2026-12-02") + done.replace("19:00", "21:00"))
    status, page, _ = bench.run(bench.file("s.toml", steps), "--evenings", shut, "--today", "2026-12-01T21:05")
    told = "fail: Gondola: Take it out finds no free evening in its windows; the last one closes Wed 2026-12-02 04:00."
    assert (status, " ".join(page.split()).startswith(told)) == (1, True)


def test_what_the_finish_of_a_car_has_to_watch_is_counted(bench: Bench) -> None:
    """A car without its plastic named has unknowns: as many as its finish says, with the command that tells them."""
    car = bench.file("my box.toml", CAR.format(name="Box", scheme="rest black"))
    words = (car, "--evenings", bench.file("e.toml", EVENINGS))
    (look,) = bench.made(*words)["finish"]
    assert main(["finish", car, "--json"]) == 0
    verdicts = [each["verdict"] for each in json.loads(bench.capsys.readouterr().out)["findings"]]
    assert (look["watch"], look["unknown"]) == (verdicts.count("watch"), verdicts.count("unknown"))
    page = " ".join(bench.run(*words)[1].split())
    assert f"unknown; carwright finish '{car}' tells them" in page
