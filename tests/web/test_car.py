"""The page of a car without a browser: what it shows, what a change does to it, and what is kept."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest
from fastapi.testclient import TestClient
from markupsafe import Markup
from tests.plan.cars import CARS

from carwright.car.read import read_car
from carwright.plan import make_plan
from carwright.shop import Shop
from carwright.web import carpage
from carwright.web.desk import told_within
from carwright.web.planning import Planner
from carwright.web.readings import changes_of, groups_of, texts_of
from carwright.web.studywork import Job, study

BOXCAR = CARS["boxcar"].encode()
SLUG = "double-door-boxcar"


def send(client: TestClient, where: str, *, base: str = "1", **fields: str) -> Mapping[str, object]:
    """Post a form to a car's page and return the JSON that comes back."""
    answer = client.post(f"/car/{SLUG}/{where}", data={"base": base, "at": "side", "page": "p", **fields})
    assert answer.status_code == 200, answer.text
    told: Mapping[str, object] = answer.json()
    return told


def test_every_key_has_a_field() -> None:
    """Every measurement of the boxcar's file stands in a slot of the page, as it was typed."""
    texts = texts_of(BOXCAR)
    car = read_car(BOXCAR)
    shown = {
        entry.slot: entry.text
        for group in groups_of(texts, car)
        for field in group.every
        for entry in (*field.entries, *field.apart)
    }
    assert {slot: shown.get(slot) for slot in texts} == texts


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ({"trucks.seat_height": "0.281"}, {"trucks.seat_height": "0.281"}),
        ({"trucks.seat_height": "0.284"}, {}),
        ({"trucks.seat_height": " "}, {"trucks.seat_height": None}),
        ({"body.inside_width[1]": "1.150"}, {"body.inside_width": ["1.156", "1.150", "1.149"]}),
        ({"body.inside_length[0]": "", "body.inside_length[1]": ""}, {"body.inside_length": None}),
        ({"trucks.washers": "0.010; 0.010"}, {"trucks.washers": ["0.010", "0.010"]}),
        ({"underframe.bolster": "build"}, {"underframe.bolster": "build"}),
        ({"car.year": "1950", "car.captive": "yes"}, {"car.year": 1950, "car.captive": True}),
    ],
)
def test_what_is_written(typed: Mapping[str, str], written: Mapping[str, object]) -> None:
    """What is typed is written as its key wants it: a list for several readings, a number for a year, None for none."""
    assert changes_of(texts_of(BOXCAR), typed) == written


def test_last_good_value() -> None:
    """A value that cannot be used leaves the last good one in the plan, and the saved one where there is none."""
    planner = Planner()
    draft = planner.draft(BOXCAR, {"coupler.pivot_inset": "25"}, good={"coupler.pivot_inset": "0.30"})
    assert draft.changes == {"coupler.pivot_inset": "0.30"}
    assert draft.problems["coupler.pivot_inset"]
    again = planner.draft(BOXCAR, {"coupler.pivot_inset": "25", "trucks.seat_height": "0.281"})
    assert again.changes == {"trucks.seat_height": "0.281"}


def test_a_wrong_number_over_a_change(client: TestClient) -> None:
    """A wrong number typed over a change leaves the change in the bar, says what is wrong, and nothing can be kept."""
    typed = {"coupler.pivot_inset": "25", "good:coupler.pivot_inset": "0.30"}
    bar = str(send(client, "plan", **typed)["changed"])
    words = " ".join(re.sub(r"<[^>]+>", "", bar).split())
    assert "Coupler pivot from the end: “25” cannot be used; the plan goes on with 0.30." in words
    assert "Go back to 0.25" in words
    assert 'value="keep" disabled' in bar


def test_what_is_said_is_the_trades(client: TestClient) -> None:
    """No finding speaks in codes or of a bare nothing; a chain of an inch car tells inches before millimetres."""
    said = re.sub(r"<[^>]+>", " ", str(send(client, "plan")["findings"]))
    assert not re.search(r"\b[P-Z]\d+\b|\b0\.000 +in\b|from memory", said)
    chain = re.sub(r"<[^>]+>", "", str(send(client, "why", why="ride.a.coupler_height_mm")["why"]))
    assert re.search(r"0\.\d+ in \(\d[\d.]* mm\)", chain)


def test_page_without_script(client: TestClient) -> None:
    """The page shows drawing, fields and findings in plain HTML, every button in a form that works by itself."""
    text = client.get(f"/car/{SLUG}").text
    assert '<svg xmlns="http://www.w3.org/2000/svg" class="dwg main"' in text
    assert 'name="trucks.seat_height" value="0.284"' in text
    assert 'data-check="coupler_height_a"' in text
    assert "<script>" not in text
    assert " style=" not in text


def test_change_marks_what_moved(client: TestClient) -> None:
    """A changed seat height moves coupler B, shown with what it was, and nothing is saved."""
    told = send(client, "plan", **{"trucks.seat_height": "0.281"})
    assert "was 0.284" in re.sub(r"<[^>]+>", "", str(told["changed"]))
    assert '<ins><span class="n">0.385' in str(send(client, "follow", **{"trucks.seat_height": "0.281"})["heights"])
    assert "0.281" in str(told["drawing"])
    assert client.get(f"/car/{SLUG}").text.count("0.281") == 0


def test_what_follows_gives_way(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """What else of a page moves is not made to its end when a newer change of it comes; another page's goes on."""
    whole = carpage.part

    def overtaken(name: str, *given: object) -> Markup:
        if name == "heights":
            send(client, "plan", page="one", **{"trucks.seat_height": "0.2815"})
        return whole(name, *given)

    monkeypatch.setattr(carpage, "part", overtaken)
    change = {"base": "1", "at": "side", "trucks.seat_height": "0.281"}
    assert client.post(f"/car/{SLUG}/follow", data={**change, "page": "one"}).status_code == 204
    assert client.post(f"/car/{SLUG}/follow", data={**change, "page": "two"}).status_code == 200


def test_bad_input_stays(client: TestClient) -> None:
    """A length longer than the car stays in its field with what is wrong, what is accepted and how to mend it."""
    told = send(client, "plan", **{"coupler.pivot_inset": "25"})
    slots = told["slots"]
    assert isinstance(slots, dict)
    wrong = slots["coupler.pivot_inset"]["wrong"]
    assert "Accepted:" in wrong
    assert "The plan still uses <strong>0.25</strong>" in wrong
    page = client.post(f"/car/{SLUG}", data={"base": "1", "do": "keep", "coupler.pivot_inset": "25"})
    assert page.status_code == 422
    assert 'value="25"' in page.text


def test_keep_is_a_revision(client: TestClient, shop: Shop) -> None:
    """Keeping a change saves a revision in which the file's comments still stand."""
    answer = client.post(f"/car/{SLUG}", data={"base": "1", "at": "side", "do": "keep", "trucks.seat_height": "0.281"})
    assert answer.status_code == 303
    head = shop.car(SLUG).head
    assert head.number == 2
    assert b'seat_height = "0.281"        # rail to bearing face' in head.data
    assert head.note == "Truck seat height: 0.281, was 0.284."


def test_a_note_is_whole_sentences(client: TestClient, shop: Shop) -> None:
    """What a revision says of itself ends after a whole entry and counts the rest; a fraction stays a fraction."""
    typed = {"trucks.screw_length": "3/8", "coupler.drop": ""}
    client.post(f"/car/{SLUG}", data={"base": "1", "do": "keep", **typed})
    assert shop.car(SLUG).head.note == (
        "Length of the truck screw: 3/8, not given before. Coupler drop: taken out, was 0.062."
    )
    assert told_within((f"Height {n}: 0.281, was 0.284." for n in range(30)), 100) == (
        "Height 0: 0.281, was 0.284. Height 1: 0.281, was 0.284. Height 2: 0.281, was 0.284. And 27 more."
    )


def test_two_saves_at_once(client: TestClient, shop: Shop) -> None:
    """Two changes kept on one revision are both there, and the second leads to a choice."""
    for text in ("0.281", "0.286"):
        answer = client.post(f"/car/{SLUG}", data={"base": "1", "do": "keep", "trucks.seat_height": text})
    assert answer.headers["location"] == f"/choice/{SLUG}?saved=3"
    assert len(shop.car(SLUG).heads) == 2
    assert "This car was saved twice side by side" in client.get(f"/car/{SLUG}").text


def test_way_is_tried_and_taken(client: TestClient, shop: Shop) -> None:
    """A way to stand is first drawn as a change, and when it is taken it is a revision with its washer."""
    tried = client.post(f"/car/{SLUG}", data={"base": "1", "try": "1"})
    assert 'name="trucks.a.washers" value="0.010"' in tried.text
    taken = client.post(f"/car/{SLUG}", data={"base": "1", "take": "1"})
    assert taken.status_code == 303
    assert b'[trucks.a]\nseat_height = "0.278"' in shop.car(SLUG).head.data
    assert b'washers = ["0.010"]' in shop.car(SLUG).head.data


def test_way_that_is_drawn_can_be_taken(client: TestClient, shop: Shop) -> None:
    """While a way is drawn the list stays, the way says so and can be taken or left, and another can be drawn."""
    drawn = {"base": "1", "trucks.a.washers": "0.010"}
    page = client.post(f"/car/{SLUG}", data={**drawn, "do": "plan"}).text
    assert page.count("Drawn above, not saved.") == 1
    assert 'name="do" value="keep">Take it<small>saves revision 2</small><span class="vh"> with way 1<' in page
    other = client.post(f"/car/{SLUG}", data={**drawn, "try": "2"}).text
    assert 'name="do" value="keep">Take it<small>saves revision 2</small><span class="vh"> with way 2<' in other
    assert client.post(f"/car/{SLUG}", data={**drawn, "do": "keep"}).status_code == 303
    assert shop.car(SLUG).head.note.startswith("Way to stand taken: ")


def test_choices_and_stacks_are_in_the_trades_words(client: TestClient, shop: Shop) -> None:
    """A box of choices shows words of the trade, also in the bar, and sends the file's; a stack is written as a sum."""
    page = client.get(f"/car/{SLUG}").text
    assert '<option value="drop-in" selected>drops in on a ledge</option>' in page
    assert '<option value="pocket">in a close-coupling pocket</option>' in page
    bar = str(send(client, "plan", **{"coupler.mount": "truck", "trucks.washers": "0.010 + 0.015"})["changed"])
    words = " ".join(re.sub(r"<[^>]+>", "", bar).split())
    assert "is now on the truck" in words
    client.post(f"/car/{SLUG}", data={"base": "1", "do": "keep", "trucks.washers": "0.010; 0.015"})
    assert b'washers = ["0.010", "0.015"]' in shop.car(SLUG).head.data
    assert 'name="trucks.washers" value="0.010 + 0.015"' in client.get(f"/car/{SLUG}").text


def test_one_box_goes_back_by_itself(client: TestClient) -> None:
    """Where two boxes were changed each has its own way back, and the other keeps what was typed."""
    typed = {"base": "1", "trucks.seat_height": "0.281", "coupler.drop": "0.060"}
    page = client.post(f"/car/{SLUG}", data={**typed, "do": "plan"}).text
    assert 'name="undo" value="trucks.seat_height">Back to it<span class="vh"> with truck seat height<' in page
    assert "Go back with all" in page
    one = client.post(f"/car/{SLUG}", data={**typed, "undo": "trucks.seat_height"}).text
    assert 'name="trucks.seat_height" value="0.284"' in one
    assert 'name="coupler.drop" value="0.060"' in one


def test_every_question_reads_as_one(client: TestClient) -> None:
    """Every number that the page offers is asked for in a sentence, without names of the program or idle articles."""
    offered = re.findall(r'name="why" value="([^"]+)"', client.get(f"/car/{SLUG}").text)
    questions = []
    for path in dict.fromkeys(offered):
        chain = str(send(client, "why", why=path)["why"])
        assert not re.search(r"\b[a-z]+_[a-z_0-9]+\b", re.sub(r"<[^>]+>", " ", chain)), path
        questions.append(re.sub(r"<[^>]+>", "", chain[: chain.index("</h2>")]).strip())
    assert len(questions) > 30
    wrong = [
        each
        for each in questions
        if not re.fullmatch(r"Why (?:is|has|does) (?:the|half|what) .*\d.*\?", each)
        or re.search(r"the the|is to spare", each)
    ]
    assert wrong == []
    assert any(re.match(r"Why does the height of coupler A miss its limit by 0\.0013 in", each) for each in questions)


def test_why_goes_down_to_measurements(client: TestClient) -> None:
    """The chain behind a coupler's height ends in what was typed, with its letter and how it was typed."""
    told = send(client, "why", why="ride.a.coupler_height_mm")
    text = re.sub(r"<[^>]+>", "", str(told["why"]))
    assert "Why is the coupler height at A" in text
    assert "typed “0.278”, ± 0.002 in, caliper" in text
    assert 'data-goto="trucks.a.seat_height"' in str(told["why"])


def test_why_tells_who_carries_the_doubt(client: TestClient) -> None:
    """Each reading behind a coupler's height has its share of the doubt; the plan's own shares come to the same."""
    plan = make_plan(read_car(BOXCAR))
    told = str(send(client, "why", why="ride.a.coupler_height_mm")["why"])
    shares = [int(each) for each in re.findall(r"Share of doubt: </span>(\d+) %", told)]
    seat = next(each for each in plan.ride.ends.a.shares if each.name == "truck seat A")
    assert max(shares) == round(100 * seat.share.value)
    assert 97 <= sum(shares) <= 101
    assert "It is in doubt by ± 0.0034 in" in told
    floor = str(send(client, "why", why="pieces.floor.length_mm")["why"])
    assert "Share of doubt" in floor


def test_a_chance_has_no_doubt_of_its_own_and_is_never_certain(client: TestClient) -> None:
    """The chain of a chance tells it to two places without a ±, and one that rounds to certainty as over 0.99."""
    told = re.sub(r"<[^>]+>", "", str(send(client, "why", why="ride.a.pass_probability")["why"]))
    assert "Why is the chance of passing at A 0.27?" in told
    assert "It is in doubt by" not in told
    sure = re.sub(r"<[^>]+>", "", str(send(client, "why", why="ride.b.pass_probability")["why"]))
    assert "Why is the chance of passing at B &gt; 0.99?" in sure
    page = re.sub(r"<[^>]+>", "", str(send(client, "plan")["findings"]))
    assert "the chance of passing is over 0.99" in page
    assert not re.search(r"chance of \w+ (?:is )?[01]\.00", page)


def test_sums_of_an_inch_car_stand_in_inches(client: TestClient) -> None:
    """The height of a coupler is added up in inches, by hand: seat 0.278 + bolster 0.165 = 0.443, less the step."""
    told = re.sub(r"<[^>]+>", "", str(send(client, "why", why="ride.a.coupler_height_mm")["why"]))
    assert "= 0.278 + 0.165" in told
    assert "floor underside at truck A: 0.4430 in" in told
    assert "11.2" not in re.sub(r"\([\d.]+ mm\)", "", told)


def test_side_by_side(client: TestClient) -> None:
    """Two revisions side by side draw both, name the measurement that changed and the results that moved."""
    client.post(f"/car/{SLUG}", data={"base": "1", "do": "keep", "trucks.seat_height": "0.281"})
    text = client.get(f"/car/{SLUG}/compare?older=1&newer=2").text
    assert "Truck seat height</th><td>0.284</td><td>0.281</td>" in text
    assert "Coupler height at B" in text
    pictures = re.findall(r'<img class="ink" src="([^"]+)"', text)
    assert [client.get(each.replace("&amp;", "&")).status_code for each in pictures] == [200, 200]


def test_what_is_not_kept_is_seen_side_by_side_and_not_lost(client: TestClient) -> None:
    """Beside the last revision a change that is not kept stands with its way back to the car, and with keeping it."""
    seen = client.post(f"/car/{SLUG}", data={"base": "1", "do": "compare", "trucks.seat_height": "0.281"}).text
    assert "Revision 1 beside what is not kept yet." in seen
    form = seen[seen.rindex("<form") :]
    fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', form))
    assert fields["trucks.seat_height"] == "0.281"
    back = client.post(f"/car/{SLUG}", data={**fields, "do": "plan"}).text
    assert 'value="0.281"' in back
    assert "is now" in back
    client.post(f"/car/{SLUG}", data={**fields, "do": "keep"})
    assert "0.281" in client.get(f"/car/{SLUG}/compare").text


def test_studies_belong_to_their_plan(client: TestClient) -> None:
    """Studies come back with the name of the plan that they were made from."""
    planned = send(client, "plan", **{"trucks.seat_height": "0.281"})
    studied = send(client, "studies", **{"trucks.seat_height": "0.281"})
    assert studied["key"] == planned["key"]
    assert "Ballast and balance" in str(studied["studies"])


def test_what_a_study_finds_stands_among_the_findings(client: TestClient) -> None:
    """What fails on the curve stands first among the findings with a link to its study; before, the list says so."""
    waiting = str(send(client, "plan", **{"car.radius": "15"})["findings"])
    assert "the curve and the ballast are being worked out" in waiting
    assert "study_curve" not in waiting
    studied = send(client, "studies", **{"car.radius": "15"})
    found = re.findall(r'<li class="finding (\w+)" data-check="(\w+)">', str(studied["findings"]))
    assert found[:2] == [("fail", "study_curve_pulled"), ("fail", "study_curve_pushed")]
    assert [verdict for verdict, _ in found] == sorted(
        (verdict for verdict, _ in found), key=("fail", "watch", "unknown").index
    )
    assert 'href="#study-curve"' in str(studied["findings"])
    assert 'id="study-curve"' in str(studied["studies"])
    again = send(client, "plan", **{"car.radius": "15"})
    assert again["findings"] == studied["findings"]
    plain = client.get(f"/car/{SLUG}").text
    assert (
        'The curve and the ballast are not in this list yet. <button form="measures" name="do" value="study">' in plain
    )


def test_stale_readings(client: TestClient, shop: Shop) -> None:
    """A gauge reading of the car grows stale on the page when a truck seat is changed, and when that is kept."""
    gauged = BOXCAR + b'\n[found.a]\ncoupler_height = "0.379"\n'
    shop.save(SLUG, gauged, based_on=1)
    told = send(client, "plan", base="2", **{"trucks.seat_height": "0.281"})
    assert "It was read before J truck seat height changed" in str(told["findings"])
    first = send(client, "plan", base="2", **{"trucks.wheel_diameter": "33 in scale"})
    assert "It was read before" not in str(first["findings"])
    client.post(f"/car/{SLUG}", data={"base": "2", "do": "keep", "trucks.seat_height": "0.281"})
    page = client.get(f"/car/{SLUG}").text
    assert page.count("v-stale") > client.get("/car/flat-car").text.count("v-stale")
    assert "<h3>Coupler height found at A</h3>" in page
    again = client.post(f"/line/{SLUG}/measured", data={"then": "car", "key": "found.a.coupler_height"})
    assert again.headers["location"].startswith(f"/car/{SLUG}")
    assert shop.stale(SLUG) == []


def test_the_letters_of_a_study_are_ten_pixels_in_its_narrowest_column() -> None:
    """Between two columns of 16.5 rem, on the narrowest page that has three (77.5625 em), 535 px are left for it."""
    drawn = [each for part in study(Job(BOXCAR, {}, b"")) for each in part.drawings]
    letters = [
        float(size) * 535.0 / float(re.findall(r'viewBox="\S+ \S+ (\S+) ', each)[0])
        for each in drawn
        for size in re.findall(r'font-size="([\d.]+)"', each)
    ]
    assert len(letters) >= 2
    assert min(letters) >= 10.0


def test_a_study_gives_way(client: TestClient) -> None:
    """A study that is asked for anew gives up the one before, which then answers with nothing."""
    from threading import Thread

    answers: list[int] = []

    def ask(text: str) -> None:
        fields = {"base": "1", "page": "q", "trucks.seat_height": text}
        answers.append(client.post(f"/car/{SLUG}/studies", data=fields).status_code)

    first = Thread(target=ask, args=("0.2811",))
    first.start()
    first.join(0.3)
    ask("0.2812")
    first.join()
    assert sorted(answers) == [200, 204]
