"""The finish of a car: its scheme, the order of its colours, its waits, and what paints do to each other."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from importlib.resources import files
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carwright.calendar.steplist import read_steps
from carwright.car.model import Car, CarInfo, Finish, Paint, Span
from carwright.car.read import read_car
from carwright.cli.main import main
from carwright.finish.order import best_order, dark_under_light, masked_surfaces
from carwright.finish.scheme import read_scheme
from carwright.finish.steps import Window
from carwright.plan.finishing import FinishPlan, finish_plan
from carwright.problems import InputError
from carwright.working import typed

SCHEME = "sides grey, roof and ends black"


def painted(*families: str, **more: tuple[Span, ...]) -> FinishPlan:
    """Return the finish of a car in grey and black, with paints of these families in this order."""
    paints = tuple(
        Paint(colour, each, colour, **more) for colour, each in zip(("grey", "black"), families, strict=False)
    )
    return finish_plan(Car(info=CarInfo(name="test"), finish=Finish(SCHEME), paints=paints))


def test_a_scheme_is_read_as_people_write_it() -> None:
    """Parts are joined by "and" or a comma, a colour may have several words, and two parts may share it."""
    assert read_scheme("Sides and the ends oxide red, roof, underframe black; door oxide red") == {
        "oxide red": ("sides", "ends", "doors"),
        "black": ("roof", "underframe"),
    }


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("rooof black", "Did you mean roof?"),
        ("roof and undrframe black", "Did you mean underframe?"),
        ("sides grey, side red", "sides is given two colours"),
        ("sides grey, roof", "a colour is wanting"),
        (" , ", "there is no colour scheme"),
    ],
)
def test_a_slip_in_a_scheme_is_told_with_the_nearest_word(text: str, told: str) -> None:
    """What is no part of a car, is named twice or has no colour is refused."""
    with pytest.raises(InputError, match=told.replace("?", r"\?")):
        read_scheme(text)


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["white", "grey", "red", "brown", "black", "puce"]), st.integers(1, 4), min_size=1, max_size=6
    )
)
def test_no_order_masks_less(sizes: dict[str, int]) -> None:
    """Trying every order finds none with fewer masked surfaces, nor one as good with light under dark more often."""
    scheme = {colour: tuple(f"{colour}{n}" for n in range(size)) for colour, size in sizes.items()}

    def cost(order: tuple[str, ...]) -> tuple[int, int]:
        return masked_surfaces(order, scheme), dark_under_light(order)

    assert cost(best_order(scheme)) == min(cost(order) for order in permutations(scheme))


def test_enamel_has_a_forbidden_middle_and_a_label_outranks_it() -> None:
    """Within an hour or after 48 (a published label, in the data), until the owner types what his own label says."""
    wait = {each.id: each for each in painted("enamel", "enamel").steps}["colour_1_again"].waits[0]
    assert wait.windows == (Window(0, 60), Window(2880))
    assert wait.basis == "seen"
    own = {
        each.id: each
        for each in painted("enamel", "enamel", windows=((typed(360, "recoat", "min", key="k"), None),)).steps
    }["colour_1_again"]
    assert own.waits[0].windows == (Window(360),)
    assert own.waits[0].source == "label, paint[0].windows"


@pytest.mark.parametrize("pair", [["2 h", "1 h"], ["soon", "none"], ["1 h", "later"], ["none", "1 h"]])
def test_a_window_that_cannot_be_is_refused(pair: list[str]) -> None:
    """A window that closes before it opens, or whose ends are no times, is told by its key and line."""
    with pytest.raises(InputError) as told:
        read_car(f"[[paint]]\nmask = [{json.dumps(pair)}]")
    assert [(each.key, each.line) for each in told.value.problems] == [("paint[0].mask[0]", 2)]


def test_lacquer_over_enamel_fails_and_one_family_mends_it() -> None:
    """Published: lacquer lifts enamel. With enamel for both nothing fails; over lacquer it only has to wait a day."""
    assert [each.check for each in painted("enamel", "lacquer").findings if each.verdict == "fail"] == [
        "lacquer_over_enamel"
    ]
    mended = painted("enamel", "enamel")
    assert not mended.findings
    first = next(each for each in mended.steps if each.id == "colour_1")
    assert first.waits[0].windows == (Window(24 * 60),)


def test_a_family_not_said_is_unknown_and_a_wrong_one_is_refused() -> None:
    """An unknown paint waits as long as enamel and says so; a misspelt family is told with the nearest one."""
    unsaid = painted("", "enamel")
    assert [each.verdict for each in unsaid.findings] == ["unknown"]
    assert [each.waits for each in unsaid.steps][1:4] == [each.waits for each in painted("enamel", "enamel").steps][1:4]
    with pytest.raises(InputError, match="Did you mean enamel"):
        painted("enamal")


def test_every_step_waits_for_earlier_ones_only() -> None:
    """Steps stand in an order in which they can be done, none waits on itself, and lettering goes on gloss."""
    car = Car(finish=Finish("sides grey, roof and ends black, door red, underframe brown, rest white"))
    made = finish_plan(car, weather=True)
    for at, step in enumerate(made.steps):
        assert {wait.after for wait in step.waits} <= {each.id for each in made.steps[:at]}
        assert bool(step.waits) == bool(at)
    acts = [each.act for each in made.steps]
    assert acts[-5:] == ["gloss", "letter", "set", "flat", "weather"]
    assert made.maskings == sum(len(each.surfaces) for each in made.steps if each.act == "mask")
    plain = finish_plan(replace(car, finish=Finish("rest black")), lettering=False)
    assert [each.act for each in plain.steps] == ["wash", "prime", "coat", "coat", "flat"]


def test_the_command_writes_steps_that_the_calendar_reads(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The list written for the calendar holds the steps, windows and surfaces of the JSON; status 1 for a conflict."""
    car, steps = tmp_path / "car.toml", tmp_path / "steps.toml"
    rows = "".join(
        f'[[paint]]\ncolour = "{c}"\nfamily = "{f}"\n' for c, f in (("grey", "enamel"), ("black", "lacquer"))
    )
    car.write_text(f'[car]\nname = "a \\"b\\""\nscale = "HO"\n[finish]\nscheme = "{SCHEME}"\n{rows}', encoding="utf-8")
    assert main(["finish", str(car), "--steps", str(steps), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    read = read_steps(steps.read_bytes(), file="steps.toml")
    assert [each.id for each in read] == [each["id"] for each in told["steps"]]
    assert [[list(each) for each in _pairs(step.waits)] for step in read] == [
        [wait["windows_min"] for wait in step["waits"]] for step in told["steps"]
    ]
    assert told["maskings"] == 1
    assert main(["finish", str(car)]) == 1
    assert "respirator" in capsys.readouterr().out
    assert main(["finish", str(car), "--plain", "--json"]) == 1
    assert not {"gloss", "letter", "set"} & {each["act"] for each in json.loads(capsys.readouterr().out)["steps"]}


def _pairs(waits: tuple[object, ...]) -> list[list[list[int | None]]]:
    return [[[w.opens_min, w.closes_min] for w in wait.windows] for wait in waits]  # type: ignore[attr-defined]


def test_the_command_draws_reckons_and_says_why(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Drawings of each act, the paint as JSON and on the screen, and the chain behind one amount."""
    car = tmp_path / "boxcar.toml"
    demo = (files("carwright.demo") / "boxcar.toml").read_text(encoding="utf-8")
    car.write_text(demo.replace('colour = "grey"', 'colour = "grey"\ncontents = "2 ml"\nsolids = 30'), encoding="utf-8")
    assert main(["finish", str(car), "--draw", str(tmp_path / "masks"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    drawn = {each.name for each in (tmp_path / "masks").iterdir()}
    assert [each for each in drawn if each.endswith("-boxcar-masks.pdf")]
    assert {each.removesuffix(".svg") for each in drawn if each.endswith(".svg")} == {
        each.removesuffix(".dxf") for each in drawn if each.endswith(".dxf")
    }
    grey = next(each for each in told["paint_needed"] if each["name"] == "grey")
    assert grey["solids_percent"] == {"low": 30, "high": 30}
    assert grey["to_buy"] == math.ceil(grey["at_most_ml"] / 2)
    assert main(["finish", str(car)]) == 0
    assert f"to buy: {grey['to_buy']} of 2 ml" in capsys.readouterr().out
    assert main(["finish", str(car), "--why", "paint_needed.grey.needed_ml"]) == 0
    page = capsys.readouterr().out
    assert "paint[0].solids" in page
    assert "body.height" in page


def test_drawings_never_go_over_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A folder that is a file is refused with the option that named it."""
    car = tmp_path / "boxcar.toml"
    car.write_bytes((files("carwright.demo") / "boxcar.toml").read_bytes())
    assert main(["finish", str(car), "--draw", str(car)]) == 2
    assert "--draw" in capsys.readouterr().err
