"""Waits and conflicts of paints, against the published and customary rules as the data file has them."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from importlib.resources import files
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.finish.painted import KNOWN, by_id, car_of, painted, plan_of, verdicts

from carwright.car.read import read_car
from carwright.finish.model import Coating, Conditions
from carwright.finish.steps import Wait, Window
from carwright.finish.windows import Times
from carwright.plan.finishdocument import finish_document
from carwright.plan.finishing import finish_plan
from carwright.problems import InputError
from carwright.reference.finishing import adjoining, compatibility, families, strippers
from carwright.working import evaluate, typed

DATA: dict[str, Any] = tomllib.loads(
    (files("carwright.reference") / "data" / "finishing.toml").read_text(encoding="utf-8")
)
FAMILIES = ("lacquer", "enamel", "acrylic", "two_part")


def recoat(family: str, *, celsius: float | None = None) -> Wait:
    """Return when a second coat may follow a first of some family."""
    warmth = None if celsius is None else typed(celsius, "temperature", "°C", key="finish.temperature")
    return Times(Conditions(warmth)).recoat(Coating("grey", (), families()[family]), "first")


@pytest.mark.parametrize(
    ("family", "windows", "document"),
    [
        # enamel: within 1 hour or after 48 hours, consumer advice page quoting an enamel label; that the first coat
        # flashes off before is an estimate of ours
        ("enamel", ((10, 60), (2880, None)), "enamel label"),
        # two-part: 5 to 10 min flash-off (topcoat data sheet), recoat 5 to 9 h at 21 degC (floor coating sheet); cured
        # after 7 days at the latest, then scuffed
        ("two_part", ((5, 10), (300, 540), (10080, None)), "both sheets"),
        # acrylic lacquer: 10 min flash-off at the longest, vehicle body repair textbook of 2018
        ("lacquer", ((10, None),), "Vehicle body repair textbook"),
        # water-borne acrylic: touch dry after 30 min at the longest, industrial data sheet
        ("acrylic", ((30, None),), "water-borne acrylate data sheet"),
    ],
)
def test_published_recoat_rules(family: str, windows: tuple[tuple[int, int | None], ...], document: str) -> None:
    """The second coat's windows are those of the published rule, and the rule's document is named."""
    wait = recoat(family)
    assert wait.windows == tuple(Window(*each) for each in windows)
    assert wait.basis == "seen"
    assert document in wait.source


def test_weathering_dries_and_glue_sets() -> None:
    """Weathering dries before the next way of it, joints set before the wash; the glue's label goes first.

    Enamel handles after 9 h and takes another paint after 48 h at the latest, water-borne acrylic handles after 4 h,
    ink in alcohol after an hour (an estimate of ours), powders are dry (common practice); cement sets for a day.
    """
    bare = KNOWN.replace('"even"', '"none"').replace("glue_to = []", 'glue_to = ["ladders"]') + "last_flat = true\n"
    ways = 'weathering = ["acrylic wash", "alcohol wash", "oil wash", "powder"]\n'
    steps = by_id(plan_of(bare + ways, {"flat": "acrylic"}))

    def opens(step: str, after: str) -> int:
        return max(wait.windows[0].opens_min for wait in steps[step].waits if wait.after == after)

    assert opens("wash", "fit") == 24 * 60
    assert [opens(f"weather_{each}", f"weather_{each - 1}") for each in (2, 3, 4)] == [4 * 60, 60, 9 * 60]
    known = compatibility("acrylic", "enamel")
    assert known is not None
    assert opens("last_flat", "weather_3") == known.wait.number * 60
    assert steps["last_flat"].facilities == steps["flat"].facilities
    labelled = by_id(plan_of(bare + 'glue_dry = [["90 min", "none"]]\n'))["wash"].waits
    assert [(each.windows, each.basis) for each in labelled if each.after == "fit"] == [((Window(90),), "")]


def test_paints_and_waits_that_come_to_nothing_are_told() -> None:
    """A paint under another name, a primer of no family, a label that shuts too soon and waits that clash are told."""
    label = '[[paint]]\nname = "tin"\ncolour = "grey"\nfamily = "lacquer"\nwindows = [["20 min", "6 h"]]\n'
    other = '[[paint]]\nname = "jar"\ncolour = "blak"\nfamily = "acrylic"\n'
    found = {each.check: each for each in plan_of(KNOWN, more=label + other).findings}
    assert found["paint_2_unused"].verdict == "watch"
    assert "black" in found["paint_2_unused"].mend
    assert found["primer_family"].verdict == "unknown"
    assert found["late_over_grey"].verdict == "watch"
    assert "waits_of_colour_1_again" not in found
    primer = '[[paint]]\ncolour = "primer"\nfamily = "lacquer"\n'
    assert "primer_family" not in verdicts(plan_of(KNOWN, more=primer))
    clash = label.replace('"grey"', '"primer"').replace("windows", "over").replace("6 h", "1 h")
    held = {each.check: each for each in plan_of(KNOWN, more=clash).findings}
    assert [each.verdict for check, each in held.items() if check.startswith("waits_of_")] == ["fail"]


def test_paint_that_no_stripper_takes_off_comes_off_by_hand() -> None:
    """Where all strippers failed, the old paint is still taken off before anything is primed."""
    agents = [each.name for each in strippers()]
    log = "".join(f'[[finish.log]]\nagent = "{each}"\nresult = "failed"\n' for each in agents)
    made = plan_of(KNOWN.replace('"even"', '"heavy"') + 'plastic = "polystyrene"\n', more=log)
    assert made.strip.verdict == "strip"
    assert made.strip.rung is None
    assert [each.id for each in made.steps][:2] == ["by_hand", "wash"]


def test_weathering_that_takes_up_what_is_there_or_stays_loose_is_told() -> None:
    """Alcohol takes up an acrylic wash, powders under nothing stay loose; another order and a last coat cure both."""
    found = verdicts(plan_of(KNOWN + 'weathering = ["acrylic wash", "alcohol wash", "powder"]', {"flat": "enamel"}))
    assert found["alcohol_wash_over_acrylic_wash"] == found["loose_weathering"] == "watch"
    cured = 'weathering = ["alcohol wash", "acrylic wash", "powder"]\nlast_flat = true'
    assert not {"alcohol_wash_over_acrylic_wash", "loose_weathering"} & set(
        verdicts(plan_of(KNOWN + cured, {"flat": "enamel"}))
    )
    lifted = verdicts(plan_of(KNOWN + 'weathering = ["oil wash"]\nlast_flat = true', {"flat": "lacquer"}))
    assert lifted["lacquer_over_enamel"] == "fail"


def test_warmth_stretches_what_a_source_stretches() -> None:
    """Two-part paint takes twice the time for 10 °C less (published); its late edge stays; other paints keep theirs."""
    cold, warm = recoat("two_part", celsius=11), recoat("two_part", celsius=31)
    assert cold.windows == (Window(10, 10), Window(20160))
    assert warm.windows == (Window(5, 5), Window(10080)) or warm.windows[-1] == Window(10080)
    assert all(recoat(each, celsius=11).windows == recoat(each).windows for each in ("lacquer", "enamel", "acrylic"))
    mild = recoat("two_part", celsius=17)
    assert mild.windows[1] == Window(396, 540)  # 300 * 2**0.4 = 395.9


def test_a_room_that_is_too_cold_or_damp_is_told() -> None:
    """65 to 85 °F and up to 60 % suit air-drying paint (published); water-borne slows below 15 °C and above 60 %."""
    found = verdicts(plan_of('temperature = "10 °C"\nhumidity = "75 %"', {"grey": "acrylic"}))
    assert (found["warmth"], found["damp"], found["acrylic_slow"]) == ("watch", "watch", "watch")
    found = verdicts(plan_of('temperature = "68 F"\nhumidity = "60"', {"grey": "acrylic"}))
    assert found["warmth"] == "ok"
    assert not {"damp", "acrylic_slow"} & set(found)
    for line, told in (('temperature = "warm"', "no temperature"), ('humidity = "120 %"', "no relative humidity")):
        with pytest.raises(InputError, match=told):
            plan_of(line)


def test_a_label_outranks_the_family() -> None:
    """What the owner types for recoating, masking and lettering is taken, with the label as its source."""
    label = (
        'windows = [["6 h", "none"]]\nmask = [["8 h", "none"]]\ndry = [["45 min", "none"]]\nover = [["9 h", "none"]]\n'
    )
    gloss = '[[paint]]\nname = "shine"\ncolour = "gloss"\nfamily = "enamel"\nletter = [["3 h", "20 h"]]\n'
    grey = f'[[paint]]\nname = "my grey"\ncolour = "grey"\nfamily = "enamel"\n{label}'
    steps = by_id(plan_of(KNOWN, {"black": "enamel"}, gloss + grey))
    again = steps["colour_1_again"]
    assert [each.windows for each in again.waits] == [(Window(360),)]
    assert again.waits[0].source == "label of my grey, paint[2].windows"
    assert again.waits[0].windows[0].opens is not None
    assert again.waits[0].windows[0].opens.line is not None
    assert again.rack_min == 45
    assert [each.windows for each in steps["mask_2"].waits] == [
        (Window(540),)
    ]  # 9 h for another paint, above 8 h for tape
    assert [each.windows for each in steps["letter"].waits] == [(Window(180, 1200),)]


def test_no_coat_is_offered_a_window_that_its_tape_forbids() -> None:
    """Tape is off within 24 h (common practice): under it enamel has its first hour only, else the tape is set anew."""
    steps = by_id(plan_of(KNOWN))
    (bare,), (taped,) = steps["colour_1_again"].waits, steps["colour_2_again"].waits
    assert (len(bare.windows), bare.late) == (2, ())
    assert (taped.windows, taped.late) == (bare.windows[:1], bare.windows[1:])
    slow = '[[paint]]\nname = "slow"\ncolour = "black"\nfamily = "acrylic"\nwindows = [["30 h", "40 h"]]\n'
    made = plan_of(KNOWN, more=slow)
    assert [each.act for each in made.steps if each.id in made.passes[1].steps] == [
        "mask", "seal", "coat", "unmask", "mask", "seal", "coat", "unmask",
    ]  # fmt: skip
    ends: dict[str, int] = {}
    for step in made.steps:
        start = max((ends[wait.after] + wait.windows[0].opens_min for wait in step.waits), default=0)
        ends[step.id] = start + step.hands_min
        for wait in step.waits:
            closes = wait.windows[0].closes_min
            assert closes is None or start <= ends[wait.after] + closes


def test_slatted_sides_are_closed_from_inside_before_they_are_sprayed() -> None:
    """Of a stock car it is told that paint and decals meet gaps, at the masks too; of a boxcar it is not."""
    boxcar = plan_of(KNOWN)
    car = car_of(KNOWN)
    stock = finish_plan(replace(car, info=replace(car.info, type="stock car")))
    assert {"slatted_sides", "lettering_on_slats"} == set(verdicts(stock)) - set(verdicts(boxcar))
    assert by_id(stock)["mask_2"].hold_point == "edges pressed down, the gaps closed from inside"
    assert by_id(boxcar)["mask_2"].hold_point == "edges pressed down"


@pytest.mark.parametrize("pair", [["2 h", "1 h"], ["soon", "none"], ["1 h", "later"], ["none", "1 h"]])
def test_a_window_that_cannot_be_is_refused(pair: list[str]) -> None:
    """A window that closes before it opens, or whose ends are no times, is told by its key and line."""
    with pytest.raises(InputError) as told:
        read_car(f"[[paint]]\nmask = [{json.dumps(pair)}]")
    assert [(each.key, each.line) for each in told.value.problems] == [("paint[0].mask[0]", 2)]


@pytest.mark.parametrize("over", FAMILIES)
@pytest.mark.parametrize("under", FAMILIES)
def test_the_table_of_compatibility_is_kept(over: str, under: str) -> None:
    """A colour over a primer gets the table's verdict with its source, and waits at least the table's hours."""
    row = next(each for each in DATA["compatibility"] if (each["over"], each["under"]) == (over, under))
    made = plan_of(KNOWN + 'scheme = "sides grey"', {"grey": over, "primer": under, "flat": over}, lettering=False)
    verdict = {"no": "fail", "risky": "watch"}.get(row["verdict"])
    found = next((each for each in made.findings if each.check == f"{over}_over_{under}"), None)
    assert (None if found is None else found.verdict) == verdict
    if found is not None:
        assert row.get("document", "common practice") in found.source
        assert found.mend
    waits = [each.windows[0].opens_min for each in by_id(made)["colour_1"].waits if each.after == "prime"]
    assert max(waits) >= 60 * row["wait_hours"]


def test_what_the_table_does_not_know_is_unknown() -> None:
    """A paint of no said family is held to the longest waits and to testing; it is never taken for safe."""
    made = painted("", "enamel", clear="")
    found = next(each for each in made.findings if each.check == "paint_families")
    assert found.verdict == "unknown"
    assert "grey, the gloss coat and the flat coat" in found.because
    with pytest.raises(InputError, match="Did you mean enamel"):
        painted("enamal", "enamel")


def test_two_paints_of_one_colour_are_told() -> None:
    """The first of two is taken, and it is said which."""
    made = plan_of(KNOWN, {"grey": "enamel"}, '[[paint]]\ncolour = "grey"\nfamily = "lacquer"\n')
    assert verdicts(made)["paints_of_grey"] == "watch"
    assert made.coatings[0].family.id == "enamel"


def test_lacquer_over_enamel_has_computed_mends() -> None:
    """Sprayed in the owner's order lacquer lifts enamel: the other order, another family or a barrier cures it."""
    own = KNOWN + 'order = ["grey", "black"]'
    made = painted("enamel", "lacquer", clear="enamel", finish=own)
    (conflict,) = [each for each in made.conflicts if each.verdict == "fail"]
    assert (conflict.over, conflict.below, conflict.families) == ("black", "grey", ("lacquer", "enamel"))
    assert [each.kind for each in conflict.mends] == ["order", "family", "barrier", "test"]
    assert "black, grey" in conflict.mends[0].words
    assert "enamel or acrylic" in conflict.mends[1].words
    for finish in (KNOWN, KNOWN + "light_first = false"):
        assert painted("enamel", "lacquer", clear="enamel", finish=finish).conflicts == ()
    sealed = painted("enamel", "lacquer", clear="enamel", finish=own + "\nbarrier = true")
    assert [each.verdict for each in sealed.conflicts] == ["watch"]
    barrier = by_id(sealed)["barrier_black"]
    assert barrier.waits[0].windows == (Window(14 * 1440),)  # enamel is cured after 14 days at the latest
    assert "barrier_black" in [each.after for each in by_id(sealed)["mask_2"].waits]


def test_acrylic_keeps_a_lacquer_flat_coat_from_enamel() -> None:
    """Clear acrylic goes between enamel and what would lift it (a modeller's page in the data); acrylic gloss counts.

    Shellac is not misted where lacquer primer lies too: its alcohol takes some lacquer off (the table of strippers).
    """
    paints = {"grey": "enamel", "black": "enamel", "gloss": "acrylic", "flat": "lacquer"}
    both = {each.below: each for each in plan_of(KNOWN, paints).conflicts if each.families == ("lacquer", "enamel")}
    assert (both["grey"].verdict, both["grey"].cured) == ("watch", True)
    assert "the gloss coat (acrylic) lies between" in both["grey"].because
    assert both["black"].verdict == "fail"
    steps = by_id(plan_of(KNOWN + "barrier = true", paints))
    assert (steps["barrier_flat"].surfaces, steps["barrier_flat"].colour) == (("roof",), "clear acrylic")
    assert steps["flat"].waits[0].windows == (Window(48 * 60),)  # lacquer over acrylic, by the table
    everything = by_id(plan_of(KNOWN + "barrier = true", {**paints, "gloss": "lacquer"}))
    assert everything["barrier_gloss"].surfaces == ("sides", "ends")
    assert everything["barrier_flat"].surfaces == ("roof",)


def test_weathering_that_dissolves_the_flat_coat() -> None:
    """Mineral spirits take up fresh enamel (the table of strippers), so a wash waits until the flat coat is cured."""
    wash = KNOWN + 'weathering = ["oil wash", "powder"]'
    made = painted("acrylic", "acrylic", clear="enamel", finish=wash)
    found = next(each for each in made.findings if each.check == "oil_wash_over_flat")
    assert found.verdict == "watch"
    assert "14 days" in found.mend
    assert by_id(made)["weather_1"].waits[0].windows == (Window(14 * 1440),)
    assert "oil_wash_over_flat" not in verdicts(painted("acrylic", "acrylic", clear="lacquer", finish=wash))
    alcohol = painted("acrylic", "acrylic", clear="acrylic", finish=KNOWN + 'weathering = ["alcohol wash"]')
    assert verdicts(alcohol)["alcohol_wash_over_flat"] == "fail"
    assert verdicts(painted("acrylic", "acrylic", clear="", finish=wash))["oil_wash_over_flat"] == "unknown"
    with pytest.raises(InputError, match="Did you mean oil wash"):
        plan_of('weathering = ["oil wsh"]')


def test_weathering_lies_on_weathering() -> None:
    """Acrylic over an oil wash waits as over enamel (72 h, the table); airbrushed lacquer lifts it, barrier or not."""
    finish = KNOWN + 'barrier = true\nweathering = ["oil wash", "drybrush acrylic", "airbrushed lacquer"]'
    made = painted("lacquer", "lacquer", finish=finish)
    assert Window(72 * 60) in [window for wait in by_id(made)["weather_2"].waits for window in wait.windows]
    loose = painted("lacquer", "lacquer", finish=KNOWN + 'weathering = ["powder", "oil wash"]')
    assert verdicts(loose)["over_powder"] == "watch"
    assert "over_powder" not in verdicts(made)
    assert {(each.families, each.verdict) for each in made.conflicts} == {
        (("lacquer", "enamel"), "fail"),
        (("lacquer", "acrylic"), "watch"),
    }


def test_the_tape_is_sealed_within_the_label() -> None:
    """Mist along the tape is a coat too: it keeps the label's windows, and a label that has closed is told."""
    label = '[[paint]]\ncolour = "grey"\nfamily = "acrylic"\nmask = [["2 h", "none"]]\nwindows = [["0 h", "1 h"]{}]\n'
    made = plan_of(KNOWN, {"black": "acrylic"}, label.format(', ["48 h", "none"]'))
    (wait, _) = by_id(made)["seal_2"].waits
    assert (wait.after, wait.windows) == ("colour_1_again", (Window(48 * 60),))
    assert "seal_with_grey" not in verdicts(made)
    closed = plan_of(KNOWN, {"black": "acrylic"}, label.format(""))
    assert verdicts(closed)["seal_with_grey"] == "watch"


def test_lettering_goes_on_gloss() -> None:
    """Decals get a gloss coat, or are told where the colour is not gloss; gloss paint and dry transfers need none."""
    without = 'gloss = false\nlettered = ["sides"]'
    assert verdicts(plan_of(without))["lettering_on_grey"] == "unknown"
    shiny = '[[paint]]\ncolour = "grey"\nfamily = "enamel"\nsheen = "{}"\n'
    assert verdicts(plan_of(without, more=shiny.format("flat")))["lettering_on_grey"] == "watch"
    assert "lettering_on_grey" not in verdicts(plan_of(without, more=shiny.format("gloss")))
    acts = [each.act for each in plan_of('lettered = ["sides"]', more=shiny.format("gloss")).steps]
    assert acts[-3:] == ["letter", "set", "flat"]
    assert "gloss" not in acts
    rubbed = [each.act for each in plan_of('lettering = "dry transfer"').steps]
    assert rubbed[-2:] == ["letter", "flat"]
    assert [each.act for each in plan_of().steps][-4:] == ["gloss", "letter", "set", "flat"]
    assert "letter" not in [each.act for each in plan_of('lettering = "none"').steps]


def test_minutes_are_estimates_until_the_owner_gives_his() -> None:
    """A step says that its minutes are an estimate; the owner's own take their place, and masking counts surfaces."""
    told = finish_document(plan_of(KNOWN + 'scheme = "sides and ends grey, roof black"')).as_json()
    steps = {each["id"]: each for each in told["steps"]}  # type: ignore[index,union-attr]
    assert (steps["mask_2"]["hands_min"], steps["mask_2"]["estimate"]) == (24, True)
    own = finish_document(plan_of('scheme = "sides and ends grey, roof black"\n[finish.minutes]\nmask = 20')).as_json()
    mine = {each["id"]: each for each in own["steps"]}  # type: ignore[index,union-attr]
    assert (mine["mask_2"]["hands_min"], mine["mask_2"]["estimate"]) == (40, False)


@st.composite
def _cars(draw: st.DrawFn) -> str:
    colours = draw(
        st.lists(st.sampled_from(["white", "grey", "red", "black", "puce"]), min_size=1, max_size=4, unique=True)
    )
    surfaces = draw(st.permutations(sorted(adjoining())))
    parts = [
        f"{each} {colours[n % len(colours)]}" for n, each in enumerate(surfaces[: draw(st.integers(len(colours), 9))])
    ]
    lines = [f'scheme = "{", ".join(parts)}"']
    for key, words in (
        ("old_coat", ("none", "even", "heavy", "uneven")),
        ("old_family", ("lacquer", "enamel", "acrylic", "two-part", "unknown")),
        ("plastic", ("polystyrene", "abs", "clear san", "cast resin", "acetal", "unknown")),
        ("lettering", ("decal", "dry transfer", "none")),
        ("seal", ("clear", "colours")),
    ):
        if draw(st.booleans()):
            lines.append(f'{key} = "{draw(st.sampled_from(words))}"')
    for key in ("light_first", "gloss", "barrier"):
        if draw(st.booleans()):
            lines.append(f"{key} = {str(draw(st.booleans())).lower()}")
    lines.append(
        f"weathering = {json.dumps(draw(st.lists(st.sampled_from(['powder', 'oil wash']), max_size=2, unique=True)))}"
    )
    lines.append(f'temperature = "{draw(st.integers(5, 35))} °C"')
    rows = [
        f'[[paint]]\ncolour = "{each}"\nfamily = "{draw(st.sampled_from(FAMILIES))}"'
        for each in (*colours, "primer", "gloss", "flat", "clear")
        if draw(st.booleans())
    ]
    return "\n".join(['[car]\nname = "any"', "[finish]", *lines, *rows])


@settings(max_examples=60, deadline=None)
@given(_cars())
def test_waits_that_are_left_out_are_kept_all_the_same(text: str) -> None:
    """Done as early as the told waits allow, no tape goes on a colour, and no colour on primer, before its time."""
    made = finish_plan(read_car(text))
    ends: dict[str, int] = {}
    for step in made.steps:
        start = max((ends[wait.after] + wait.windows[0].opens_min for wait in step.waits), default=0)
        ends[step.id] = start + step.hands_min
        for coat in made.coatings:
            number = 1 + made.coatings.index(coat)
            if step.act == "mask" and set(coat.surfaces) & set(step.surfaces):
                assert start - ends[f"colour_{number}_again"] >= 60 * coat.family.mask_after.number
            if step.id == f"colour_{number}":
                found = compatibility(coat.family.id, made.primer.family.id)
                assert found is not None
                assert start - ends["prime"] >= 60 * found.wait.number


@settings(max_examples=120, deadline=None)
@given(_cars())
def test_any_finish_can_be_done_in_the_order_of_its_list(text: str) -> None:
    """Steps wait for earlier ones, windows open before they close, tape covers what is reached, all gets two coats."""
    made = finish_plan(read_car(text))
    seen: set[str] = set()
    for step in made.steps:
        assert {wait.after for wait in step.waits} <= seen
        assert step.waits or not seen
        assert all(w.closes_min is None or w.opens_min <= w.closes_min for wait in step.waits for w in wait.windows)
        seen.add(step.id)
    assert len(seen) == len(made.steps)
    wears: dict[str, list[str]] = {}
    tape: set[str] = set()
    for step in made.steps:
        if step.act == "mask":
            assert set(step.surfaces) <= set(wears)
            tape |= set(step.surfaces)
        elif step.act == "unmask":
            tape -= set(step.surfaces)
        elif step.act == "coat":
            assert not tape & set(step.surfaces)
            near = {one for each in step.surfaces if each != "trucks" for one in adjoining()[each] if one != "trucks"}
            assert near & set(wears) - set(step.surfaces) == tape
            for each in step.surfaces:
                wears.setdefault(each, []).append(step.colour)
    assert not tape
    assert {surface: set(those) for surface, those in wears.items()} == {
        surface: {coat.colour} for coat in made.coatings for surface in coat.surfaces
    }
    assert all(len(those) == 2 for those in wears.values())
    # Every number is found again from its leaves.
    for path, number in finish_document(made).numbers():
        assert evaluate(number) == pytest.approx(number.value), path
