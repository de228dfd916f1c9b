"""``carwright start``, driven through a pipe as a newcomer would: no TOML is typed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pypdfium2
import pytest

from carwright.car.answers import answers_in
from carwright.car.keys import key_named, keys, sheet_letters
from carwright.car.read import read_car
from carwright.cli.draft import Draft
from carwright.plan import make_plan

OPENING = ("Tin box", "box", "HO", "NMRA", "in", "underframe, trucks, couplers, weight")
"""Name, type, scale, standard, units, what is missing."""

SHELL = ("6 1/8", "", "5.906, 5.904", "1.156, 1.153, 1.149", "0.188", "0.142", "")
"""A to G, of which B and G are skipped: what a shell alone can tell. All invented."""


def start(folder: Path, answers: Sequence[str], *words: str) -> subprocess.CompletedProcess[str]:
    """Run the command in a folder, with one answer a line on standard input."""
    return subprocess.run(
        [sys.executable, "-m", "carwright", "start", *words],
        input="".join(f"{each}\n" for each in answers),
        capture_output=True,
        encoding="utf-8",
        cwd=folder,
        check=False,
        timeout=60,
    )


def test_a_shell_without_trucks_ends_in_a_template_and_a_shopping_line(tmp_path: Path) -> None:
    """The newcomer's path: a shell and no trucks end in a true floor outline and a line for seat + bolster to buy.

    Hand: the coupler at 0.391 with the usual drop of 0.062 hangs on a floor at 0.453 (0.391 + 0.0625 = 0.4535 where the
    drop is kept as a sixteenth); floor 5.904 - 0.010 by 1.149 - 0.010.
    """
    done = start(tmp_path, (*OPENING, *SHELL))
    assert (done.returncode, done.stderr) == (0, "")
    assert {each.name for each in tmp_path.iterdir()} == {"tin-box.toml", "tin-box-sheet.pdf", "tin-box-template.pdf"}
    words = " ".join(done.stdout.split())
    assert "To buy 2 x seat height + body bolster at each end: 0.45" in words
    assert "finished 5.894 1.139" in words
    assert "the trucks are missing" in words.lower()
    plan = make_plan(read_car((tmp_path / "tin-box.toml").read_bytes()))
    assert plan.buy[0].name == "seat height + body bolster at each end"
    assert plan.buy[0].size is not None
    assert plan.buy[0].size.value / 25.4 == pytest.approx(0.453, abs=1e-3)


def test_the_template_is_a_page_with_the_floor_on_it(tmp_path: Path) -> None:
    """The template PDF opens in a reader that is not the typesetter's own and says the floor's finished size."""
    start(tmp_path, (*OPENING, *SHELL))
    document = pypdfium2.PdfDocument(tmp_path / "tin-box-template.pdf")
    text = "".join(page.get_textpage().get_text_bounded() for page in document)
    assert "Tin box" in text
    assert "5.894" in text
    assert "1.139" in text


def test_the_letters_come_in_the_order_of_the_sheet(tmp_path: Path) -> None:
    """Every letter of the sheet is asked, A to N in order, and with most of them both heights are known."""
    answers = (*OPENING, *SHELL, "4 1/2", "A 0.278 B 0.284", "0.165", "0.062", "0.25", "0.39")
    done = start(tmp_path, answers)
    places = [done.stdout.index(f"\n{key.letter:<4}{key.question.split()[0]}") for key in sheet_letters()]
    assert places == sorted(places)
    assert [key.letter for key in sheet_letters()] == list("ABCDEFGHJKLMN")
    ends = make_plan(read_car((tmp_path / "tin-box.toml").read_bytes())).ride.ends
    assert ends.a.error is not None
    assert ends.b.error is not None
    assert [round(each.value / 25.4, 3) for each in (ends.a.error, ends.b.error)] == [-0.011, -0.003]
    assert done.returncode == 1  # coupler A is low beyond the limit


def test_a_bad_answer_is_explained_and_asked_again(tmp_path: Path) -> None:
    """An answer that cannot be is refused with what is accepted and how to mend it; the question comes again."""
    done = start(tmp_path, (*OPENING, "155.6", "155.6 mm"))
    words = " ".join(done.stdout.split())
    assert 'body.length: the body length is too great for HO: got "155.6"' in words
    assert 'If you measured millimetres, write "155.6 mm".' in words
    assert "Traceback" not in done.stdout + done.stderr
    length = read_car((tmp_path / "tin-box.toml").read_bytes()).body.length
    assert length is not None
    assert (length.text, length.value) == ("155.6 mm", pytest.approx(155.6))


def test_a_contradiction_is_explained_and_asked_again(tmp_path: Path) -> None:
    """A coupler opening deeper than the ledge, or the like, is found while it is typed, not at the end."""
    done = start(tmp_path, (*OPENING, "6 1/8", "", "6.5", "5.906"))
    assert "body.inside_length" in done.stdout
    inside = read_car((tmp_path / "tin-box.toml").read_bytes()).body.inside_length
    assert [each.text for each in inside] == ["5.906"]


def test_a_question_mark_says_how_to_measure(tmp_path: Path) -> None:
    """``?`` says how the size is measured and what one may type, and the question comes again."""
    done = start(tmp_path, (*OPENING, "?", "6 1/8"))
    key = key_named("body.length")
    assert key is not None
    assert key.how in " ".join(done.stdout.split())
    length = read_car((tmp_path / "tin-box.toml").read_bytes()).body.length
    assert length is not None
    assert length.text == "6 1/8"


def test_back_asks_the_last_one_again(tmp_path: Path) -> None:
    """``b`` goes back to the question before, shows what stands there, and a new answer takes its place."""
    done = start(tmp_path, (*OPENING, "6 1/8", "b", "6 1/4"))
    assert "Enter keeps 6 1/8" in done.stdout
    length = read_car((tmp_path / "tin-box.toml").read_bytes()).body.length
    assert length is not None
    assert length.text == "6 1/4"


def test_back_before_the_first_letter_goes_to_the_opening(tmp_path: Path) -> None:
    """``b`` at the first letter comes back through what the car is, and Enter keeps what was said."""
    done = start(tmp_path, (*OPENING, *"bbbbb", "", "N", "", "", ""))
    assert "Enter keeps box" in done.stdout
    info = read_car((tmp_path / "tin-box.toml").read_bytes()).info
    assert (info.type, info.scale) == ("box", "N")


def test_it_goes_on_where_it_was_left(tmp_path: Path) -> None:
    """A second start with the same file asks only what is still open, and keeps everything."""
    start(tmp_path, (*OPENING, "6 1/8", "q"))
    done = start(tmp_path, ("", "5.906", "1.150"), "tin-box.toml")
    assert "Going on where it was left." in done.stdout
    assert "How long is the body over the ends?" not in done.stdout
    body = read_car((tmp_path / "tin-box.toml").read_bytes()).body
    assert body.length is not None
    assert [each.text for each in (body.length, *body.inside_length, *body.inside_width)] == ["6 1/8", "5.906", "1.150"]


def test_stopped_from_the_keyboard_nothing_is_lost(tmp_path: Path) -> None:
    """An interrupt in the middle of the questions ends with 130, and every answer so far stands in the file."""
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "carwright", "start", "car.toml"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("".join(f"{each}\n" for each in (*OPENING, "6 1/8")).encode())
    process.stdin.flush()
    heard = b""
    while b"body width, in (Enter skips):" not in heard:
        heard += process.stdout.read1(4096)  # type: ignore[attr-defined]  # a buffered reader has it
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 130
    assert b"Every answer so far is kept" in out
    assert b"Traceback" not in err
    car = read_car((tmp_path / "car.toml").read_bytes())
    assert car.info.name == "Tin box"
    assert car.body.length is not None


def test_the_rest_is_offered_by_group(tmp_path: Path) -> None:
    """After the letters a group can be named, and its keys are asked one by one; an unknown name lists the groups."""
    done = start(tmp_path, (*OPENING, *SHELL, *[""] * 6, "bdy", "weight", "RP-20.1"))
    assert 'There is no group "bdy". Groups: car, body, trucks' in " ".join(done.stdout.split())
    assert read_car((tmp_path / "tin-box.toml").read_bytes()).weight.rule == "RP-20.1"


def test_a_row_of_the_shelf_is_asked_for(tmp_path: Path) -> None:
    """A sheet on the shelf is written down by its thickness, and the floor is laminated of it."""
    plain_keys = [key for key in keys() if key.section == "shelf"]
    start(tmp_path, (*OPENING, *SHELL, *[""] * 6, "shelf", *[""] * len(plain_keys), "yes", "0.023"))
    car = read_car((tmp_path / "tin-box.toml").read_bytes())
    assert [each.thickness.text for each in car.shelf.sheets if each.thickness is not None] == ["0.023"]
    assert [each.text for each in make_plan(car).floor.layers] == ["0.023", "0.023"]


def test_a_file_of_the_owners_own_layout_keeps_its_comments(tmp_path: Path) -> None:
    """A car file laid out by hand is changed in place: its comments and order stay."""
    path = tmp_path / "car.toml"
    path.write_text('[car]   # mine\nname = "Flat"\ntype = "FM"\nscale = "HO"\n', encoding="utf-8")
    start(tmp_path, ("NMRA", "in", "trucks", "6.25"), "car.toml")
    text = path.read_text(encoding="utf-8")
    assert text.startswith('[car]   # mine\nname = "Flat"\ntype = "FM"\n')
    length = read_car(text).body.length
    assert length is not None
    assert length.text == "6.25"


def test_ending_at_once_writes_nothing(tmp_path: Path) -> None:
    """``q`` at the very first question ends with 0 and leaves no file."""
    done = start(tmp_path, ("q",))
    assert (done.returncode, done.stderr) == (0, "")
    assert list(tmp_path.iterdir()) == []


def test_two_cars_of_one_name_have_two_files(tmp_path: Path) -> None:
    """A second car of the same name does not touch the first one's file."""
    start(tmp_path, ("Gon/dola: №1",))
    start(tmp_path, ("Gon/dola: №1",))
    names = sorted(each.name for each in tmp_path.glob("*.toml"))
    assert names == ["gon-dola-1-2.toml", "gon-dola-1.toml"]


def test_a_file_that_cannot_be_used_is_reported_at_once(tmp_path: Path) -> None:
    """A car file with a problem in it ends with 2 and the problem, before anything is asked."""
    (tmp_path / "car.toml").write_text('[body]\nlength = "six"\n', encoding="utf-8")
    done = start(tmp_path, (), "car.toml")
    assert done.returncode == 2
    assert "car.toml, line 2, body.length" in done.stderr


def test_the_plan_as_json_and_the_questions_beside_it(tmp_path: Path) -> None:
    """With --json standard output is the plan alone; the questions go to standard error."""
    done = start(tmp_path, (*OPENING, *SHELL), "--json")
    assert json.loads(done.stdout)["floor"]["length_mm"] == pytest.approx(5.894 * 25.4)
    assert "What do you call this car?" in done.stderr


def test_no_line_moves_the_cursor_or_is_too_wide(tmp_path: Path) -> None:
    """Everything said fits 80 columns and is plain text, hostile answers too."""
    done = start(tmp_path, ("\x1b[31mred", "\u202ebox", *OPENING[2:], "\x07", *SHELL))
    lines = done.stdout.splitlines()
    assert [line for line in lines if len(line) > 80 and not line.startswith("    carwright")] == []
    assert all(each.isprintable() for line in lines for each in line)


def test_answers_for_one_end_and_for_both(tmp_path: Path) -> None:
    """``A x B y`` writes a key at each end; one answer after that stands for both ends again."""
    key = key_named("trucks.seat_height")
    assert key is not None
    draft = Draft(tmp_path / "car.toml")
    draft.put(answers_in(key, key.path, "a: 0.278; b: 0.284"))
    assert [each.seat_height.text for each in (draft.car.trucks.a, draft.car.trucks.b) if each.seat_height] == [
        "0.278",
        "0.284",
    ]
    assert draft.said(key, key.path) == "A 0.278 B 0.284"
    draft.put(answers_in(key, key.path, "0.280"))
    assert draft.said(key, key.path) == "0.280"
    assert draft.car.trucks.a.seat_height is draft.car.trucks.b.seat_height


def test_every_question_is_counted_in_the_readme(tmp_path: Path) -> None:
    """The README says how many questions there are: who the car is, then the thirteen letters of the sheet."""
    done = start(tmp_path, ("Tin box", *[""] * 40))
    before = done.stdout.partition("More can be measured")[0]
    asked = before.count(": \n") + before.count("Tin box\n")
    readme = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")
    assert asked == 19
    assert "nineteen short questions" in " ".join(readme.lower().split())


def test_an_answer_of_long_ago_can_be_changed(tmp_path: Path) -> None:
    """In a later start ``b`` goes back through what is answered, also from the groups, and so on forward.

    All letters are answered; ``b`` at the groups comes to N, twice more to L; the new drop stands in the file.
    """
    letters = (
        "6 1/8",
        "1.25",
        "5.906",
        "1.150",
        "0.188",
        "0.142",
        "1.3",
        "4.5",
        "0.284",
        "0.165",
        "0.062",
        "0.25",
        "0.39",
    )
    start(tmp_path, (*OPENING, *letters))
    done = start(tmp_path, ("b", "b", "b", "0.060", "", "", ""), "tin-box.toml")
    assert done.stdout.count("(Enter keeps 0.39)") == 2
    car = read_car((tmp_path / "tin-box.toml").read_bytes())
    assert [each.drop.text for each in (car.coupler.a, car.coupler.b) if each.drop is not None] == ["0.060"] * 2
    assert [car.coupler.a.length.text if car.coupler.a.length is not None else ""] == ["0.39"]


def test_a_letter_asks_its_question_again_from_anywhere(tmp_path: Path) -> None:
    """``b A`` in the middle, or a letter alone at the groups, asks that one again and then goes on where it was."""
    done = start(
        tmp_path, (*OPENING, "6 1/8", "", "5.906", "b A", "6.2", "1.150", *[""] * 9, "d", "1.155", "zz", "b k9")
    )
    body = read_car((tmp_path / "tin-box.toml").read_bytes()).body
    assert body.length is not None
    assert (body.length.text, [each.text for each in body.inside_width]) == ("6.2", ["1.155"])
    assert done.stdout.count("How wide is the inside") == 3
    assert 'No question has the letter "k9"' in done.stdout
    assert 'There is no group "zz"' in done.stdout


def test_a_group_asks_also_for_what_is_answered(tmp_path: Path) -> None:
    """A group offers all of its questions, the answered ones with what stands there."""
    done = start(tmp_path, (*OPENING, *SHELL, *[""] * 6, "body", "6 1/4"))
    assert "body length, in (Enter keeps 6 1/8): 6 1/4" in done.stdout
    length = read_car((tmp_path / "tin-box.toml").read_bytes()).body.length
    assert length is not None
    assert length.text == "6 1/4"


def test_a_dash_takes_an_answer_out(tmp_path: Path) -> None:
    """``-`` leaves the file as if the question had been skipped, at both ends."""
    start(tmp_path, (*OPENING, *SHELL, "4.5", "A 0.278 B 0.284", "b", "-"))
    trucks = read_car((tmp_path / "tin-box.toml").read_bytes()).trucks
    assert (trucks.a.seat_height, trucks.b.seat_height) == (None, None)
    assert trucks.a.centers is not None


def test_yes_or_no_is_asked_until_it_is_one(tmp_path: Path) -> None:
    """What is neither yes nor no is asked again with what is accepted, never taken as no; so is a key of that kind."""
    plain_keys = [key for key in keys() if key.section == "shelf"]
    answers = (*OPENING, *SHELL, *[""] * 6, "shelf", *[""] * len(plain_keys), "0.040", "ja", "yes", "0.040", "q")
    done = start(tmp_path, answers)
    assert '"0.040" is none of these. Type yes or no;' in done.stdout
    assert '"ja" is none of these.' in done.stdout
    shelf = read_car((tmp_path / "tin-box.toml").read_bytes()).shelf
    assert [each.thickness.text for each in shelf.sheets if each.thickness is not None] == ["0.040"]
    captive = start(tmp_path, (*[""] * 8, "Z9", "0.040", "yes"), "tin-box.toml")
    told = " ".join(captive.stdout.partition("never leave its owner")[2].split())
    assert 'got "0.040"' in told
    assert "yes" in told.partition("captive, yes or no")[0] or "true" in told
    assert read_car((tmp_path / "tin-box.toml").read_bytes()).info.captive is True


def test_a_row_of_the_shelf_can_be_changed(tmp_path: Path) -> None:
    """Rows that are written down are listed with a number, and the number asks that row again."""
    plain_keys = [key for key in keys() if key.section == "shelf"]
    sheet_keys = [key for key in keys() if key.section == "shelf.sheet[]" and not key.program]
    row = [""] * (len(sheet_keys) - 1)
    lead = (*[""] * len(plain_keys),)
    start(tmp_path, (*OPENING, *SHELL, *[""] * 6, "shelf", *lead, "yes", "0.030", *row, "yes", "0.015", *row, "q"))
    done = start(tmp_path, (*[""] * 8, "shelf", *lead, "3", "2", "0.020", "q"), "tin-box.toml")
    assert "     2  0.015" in done.stdout
    assert '"3" is none of these. Type yes or no, or 1 to 2' in done.stdout
    shelf = read_car((tmp_path / "tin-box.toml").read_bytes()).shelf
    assert [each.thickness.text for each in shelf.sheets if each.thickness is not None] == ["0.030", "0.020"]
