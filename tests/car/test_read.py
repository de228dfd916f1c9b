"""Reading a car: leaves with key, line, text and tolerance; ends; ranges and contradictions; files."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from carwright import reference
from carwright.car.model import Car
from carwright.car.read import read_car, read_car_file, read_shelf, read_shelf_file
from carwright.problems import InputError, Problem
from carwright.working import Working

DEMO = Path(__file__).resolve().parents[2] / "src/carwright/demo"


def problems_of(text: str | bytes) -> tuple[Problem, ...]:
    """Return the problems that reading ``text`` gives."""
    try:
        read_car(text, file="car.toml")
    except InputError as error:
        return error.problems
    return ()


def given(leaf: Working | None) -> Working:
    """Return a leaf that must be there."""
    assert leaf is not None
    return leaf


def test_an_empty_file_is_a_car() -> None:
    """Nothing is refused because it is missing: an empty file is a car of which nothing is known."""
    car = read_car(b"")
    assert car.body.length is None
    assert car.info.scale == "HO"
    assert given(car.info.ratio).value == 87.1


def test_every_record_has_its_own_default() -> None:
    """A car read from an empty file is the car of the records' own defaults, but for its ratio."""
    assert read_car("").trucks == Car().trucks
    assert read_car("").body == Car().body
    assert read_car("").shelf == Car().shelf


def test_a_leaf_knows_where_it_was_typed() -> None:
    """A reading carries value in mm, key, line, text, instrument and tolerance."""
    car = read_car('[car]\nunits = "in"\n\n[trucks]\nseat_height = "0.284"   # measured twice\n')
    seat = given(car.trucks.a.seat_height)
    assert seat.value == pytest.approx(0.284 * 25.4, abs=1e-12)  # 1 in = 25.4 mm exactly
    assert (seat.name, seat.key, seat.line, seat.text) == ("truck seat height", "trucks.seat_height", 5, "0.284")
    assert seat.distribution == "rect"
    assert seat.tolerance is reference.instrument("height") or seat.tolerance_value == pytest.approx(0.0508)
    assert given(seat.tolerance).kind == "reference"


def test_the_same_leaf_stands_at_both_ends() -> None:
    """A key given once is the same leaf at both ends; one given for an end replaces it there."""
    car = read_car('[trucks]\nseat_height = "0.284"\nmass = "8 g"\n[trucks.a]\nseat_height = "0.278"\n')
    assert car.trucks.a.mass is car.trucks.b.mass
    assert given(car.trucks.a.seat_height).key == "trucks.a.seat_height"
    assert given(car.trucks.b.seat_height).key == "trucks.seat_height"


@pytest.mark.parametrize(
    "text",
    [
        '[found.a]\ncoupler_height = "0.388"\n[found.b]\ncoupler_height = "0.392"\n',
        '[found]\ncoupler_height = { a = "0.388", b = "0.392" }\n',
        '[found]\ncoupler_height.a = "0.388"\ncoupler_height.b = "0.392"\n',
        'found.a.coupler_height = "0.388"\nfound.b.coupler_height = "0.392"\n',
    ],
)
def test_an_end_may_be_written_in_several_ways(text: str) -> None:
    """A section for one end, braces and dotted keys give the same readings."""
    found = read_car(text).found.ends
    assert given(found.a.coupler_height).text == "0.388"
    assert given(found.b.coupler_height).text == "0.392"


@pytest.mark.parametrize(
    ("typed", "tolerance_mm", "kind", "key"),
    [
        ('"0.188"', 0.002 * 25.4, "reference", None),  # depth rod ± 0.002 in outweighs the last place, 0.001
        ('"0.19"', 0.01 * 25.4, "typed", "body.lip_depth±"),  # the last place, 0.01, outweighs the rod
        ("0.190", 0.002 * 25.4, "reference", None),  # a plain number keeps its digits
        ("0.19", 0.01 * 25.4, "typed", "body.lip_depth±"),
        ('"3/16"', 25.4 / 128, "typed", "body.lip_depth±"),  # half of 1/64
        ('"0.188 ± 0.003"', 0.003 * 25.4, "typed", "body.lip_depth±"),
        ('"3/16 rule"', 25.4 / 128, None, None),  # a rule is good to 1/128
    ],
)
def test_tolerance_leaves(typed: str, tolerance_mm: float, kind: str | None, key: str | None) -> None:
    """The ± of a reading is a leaf of its own: of the instrument, of the last place, or as typed."""
    leaf = given(read_car(f"[body]\nlip_depth = {typed}\n").body.lip_depth)
    assert leaf.tolerance_value == pytest.approx(tolerance_mm)
    if kind is not None:
        assert given(leaf.tolerance).kind == kind
    if key is not None:
        assert given(leaf.tolerance).key == key


@pytest.mark.parametrize("typed", ['"1 in"', '"2 in scale"', '"#61"', "1"])
def test_nominal_sizes_have_no_tolerance(typed: str) -> None:
    """Whole numbers, scale sizes and sizes by name are nominal."""
    leaf = given(read_car(f"[body.notch]\ncorner = [{typed}, {typed}]\n").body.notch.along)  # type: ignore[union-attr]
    assert leaf.tolerance is None
    assert leaf.distribution == "nominal"


def test_a_wish_is_nominal() -> None:
    """A wished size carries no tolerance, however many digits it has."""
    wish = given(read_car('[underframe]\nfit = "0.0055"\n').underframe.fit)
    assert wish.tolerance is None


def test_stock_tolerance() -> None:
    """A tolerance typed for stock replaces the instrument's and is two sigma of a normal spread."""
    shelf = read_car('[[shelf.sheet]]\nthickness = "0.030"\ntolerance = "0.0015"\nwidth = "6"\n').shelf
    sheet = given(shelf.sheets[0].thickness)
    assert given(sheet.tolerance).key == "shelf.sheet[0].tolerance"
    assert (sheet.tolerance_value, sheet.distribution) == (pytest.approx(0.0015 * 25.4), "normal")


def test_lists() -> None:
    """One value stands for all; several keep their index; an empty one is left out; an empty list is none."""
    one = read_car('[body]\ninside_width = "1.15"\n').body.inside_width
    assert [each.key for each in one] == ["body.inside_width"]
    several = read_car('[body]\ninside_width = ["1.156", "", 1.149]\n').body.inside_width
    assert [each.key for each in several] == ["body.inside_width[0]", "body.inside_width[2]"]
    pair = read_car('[trucks]\nwashers = ["0.010"]\n[trucks.a]\nwashers = []\n').trucks
    assert (len(pair.a.washers), len(pair.b.washers)) == (0, 1)


def test_empty_text_is_not_measured() -> None:
    """An empty text counts as not given, whatever the key."""
    car = read_car('[car]\nradius = ""\nyear = ""\n[body]\nlength = " "\nmount = ""\n[trucks]\nwashers = ""\n')
    assert car.info.radius is None
    assert car.info.year is None
    assert car.body.length is None
    assert car.body.mount == "drop-in"


def test_build_and_any() -> None:
    """A bolster is a height, a list of layers or "build", at each end; any number of pieces is no number."""
    car = read_car(
        '[underframe]\nbolster = "0.165"\n[underframe.b]\nbolster = "build"\n[[shelf.drill]]\ncount = "any"\n'
    )
    assert [each.value for each in car.underframe.bolster.a] == [pytest.approx(0.165 * 25.4)]
    assert car.underframe.bolster.b == ()
    layers = read_car('[underframe]\nbolster = ["0.080", "0.085"]\n').underframe.bolster.b
    assert [each.key for each in layers] == ["underframe.bolster[0]", "underframe.bolster[1]"]
    assert (car.underframe.build_bolster.a, car.underframe.build_bolster.b) == (False, True)
    assert car.shelf.drills[0].count is None


def test_negative_where_it_means_something() -> None:
    """Below zero is read for a place, an offset or a frame's top, and refused for a size."""
    car = read_car('[trucks]\nframe_top = "-0.05"\n[coupler]\nshank_offset = -0.03\n[[piece]]\nname = "x"\nx = "-1"\n')
    assert given(car.trucks.a.frame_top).value == pytest.approx(-1.27)
    assert given(car.pieces[0].x).value == pytest.approx(-25.4)
    (problem,) = problems_of('[body]\nwall = "-0.045"\n')
    assert problem.problem == "a length here cannot be negative"


@pytest.mark.parametrize(
    ("standard", "scale", "ratio"),
    [("NMRA", "HO", 87.1), ("NEM", "H0", 87.0), ("NEM", "HO", 87.0), ("NMRA", "n", 160.0)],
)
def test_scale_and_standard(standard: str, scale: str, ratio: float) -> None:
    """HO and H0 are one word; the standard decides the ratio: 87.1 (NMRA), 87 (NEM), 160 in N."""
    car = read_car(f'[trucks]\nwheelbase = "66 in scale"\n[car]\nscale = "{scale}"\nstandard = "{standard}"\n')
    assert given(car.info.ratio).value == ratio
    assert given(car.trucks.a.wheelbase).value == pytest.approx(66 * 25.4 / ratio)


def test_units_hold_wherever_they_stand() -> None:
    """The unit of bare numbers holds for the whole file, also when [car] stands last."""
    car = read_car('[body]\nlength = "143.60"\n[car]\nunits = "mm"\n')
    assert given(car.body.length).value == pytest.approx(143.6)


def test_lugs_blocks_and_the_rest() -> None:
    """Tables that may stand several times keep their order, index and names."""
    car = read_car((DEMO / "h0_car.toml").read_bytes())
    assert car.body.blocks[0].name == "weight in the roof"
    assert given(car.body.blocks[0].bottom).key == "body.block[0].from"
    ends = [[end and end.value for end in window] for window in car.paints[0].windows]
    assert ends == [[15, 60], [1440, None]]
    assert given(car.shelf.washers[1].thickness).key == "shelf.washer[1].thickness"
    gondola = read_car((DEMO / "n_car.toml").read_bytes())
    assert gondola.body.lugs[0].side == "left"
    assert given(gondola.body.lugs[0].x).value == pytest.approx(0.41 * 25.4)


def test_the_demonstration_is_read_number_for_number() -> None:
    """The boxcar's readings are those of its file."""
    car = read_car((DEMO / "boxcar.toml").read_bytes())
    assert given(car.body.length).value == pytest.approx((6 + 1 / 8) * 25.4)
    assert [each.text for each in car.body.inside_width] == ["1.156", "1.153", "1.149"]
    assert given(car.trucks.a.wheel_diameter).value == pytest.approx(33 * 25.4 / 87.1)
    assert given(car.trucks.a.rock).unit == "deg"
    assert given(car.underframe.crossties).value == 6
    assert given(car.shelf.strips[0].width).value == pytest.approx(0.08 * 25.4)
    assert car.shelf.washers[0].count == 20


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            '[body]\nheight = "1.45"\nlip_depth = "4.78"\n',
            ('car.toml, line 3, body.lip_depth: the ledge is higher than the roof: got "4.78"; '
            "accepted: 0 to 1.45 in, the body.height on line 2. "
            'Read as inches: 121.4 mm. If you measured millimetres, write "4.78 mm".'),
        ),
        (
            '[body]\nlength = "6 m"\n',
            ('car.toml, line 2, body.length: the body length is too great for HO: got "6 m"; accepted: 15 to 500 mm. '
            'If it is the size of the real car, write "6 m scale".'),
        ),
        (
            '[body]\nlength = "155.6"\n',
            ('car.toml, line 2, body.length: the body length is too great for HO: got "155.6"; '
            "accepted: 0.591 to 19.7 in. "
            'Read as inches: 3952 mm. If you measured millimetres, write "155.6 mm".'),
        ),
        (
            '[car]\nunits = "mm"\n[body]\nlength = "6 1/8"\n',
            ('car.toml, line 4, body.length: the body length is too small for HO: got "6 1/8"; accepted: 15 to 500 mm. '
            'Read as millimetres: 0.241 in. If you measured inches, write "6 1/8 in".'),
        ),
        (
            '[trucks]\nseat_height = "284"\n',
            ('car.toml, line 2, trucks.seat_height: the truck seat height is too great for HO: got "284"; '
            'accepted: 0.157 to 0.551 in. Read as inches: 7214 mm. If you mean thousandths, write "284 thou".'),
        ),
        (
            '[trucks]\nwheel_diameter = "0.206"\n',
            ('car.toml, line 2, trucks.wheel_diameter: the wheel diameter is too small for HO: got "0.206"; '
            'accepted: 0.236 to 0.709 in. It would fit N: is scale = "HO" right?'),
        ),
        (
            '[body]\nlength = "6 1/8"\n[trucks]\ncenters = "7.5 in"\n',
            ("car.toml, line 4, trucks.centers: the trucks stand wider apart than the car is long: "
            'got "7.5 in"; accepted: 0 to 6.125 in, the body.length on line 2. '
            "Measure it again, and check its unit and its point."),
        ),
        (
            '[body]\nlength = "6"\n[trucks]\ninset = "0.5"\ncenters = "4.5"\n',
            ('car.toml, line 5, trucks.centers: centres and inset disagree: got "4.5"; '
            "accepted: 5 in, by length and inset. "
            "Keep one of the two: delete trucks.centers, or the inset on line 4."),
        ),
        (
            '[body]\nlength = "6"\n[trucks]\ncenters = "4.50"\n[coupler]\npivot_inset = "0.90"\n',
            ('car.toml, line 6, coupler.pivot_inset: the coupler\'s pivot lies beyond the truck\'s: got "0.90"; '
            "accepted: 0 to 0.75 in. Both are measured from the end of the car; measure them again."),
        ),
        (
            '[coupler]\nlength = "0.40"\nside_play = "0.41"\n',
            (
                "car.toml, line 3, coupler.side_play: the side play is greater than the coupler's length: "
                'got "0.41"; '
                "accepted: less than 0.4 in, the coupler.length on line 2. The side play is how far the head moves to "
                "one side of the middle; measure both again."
            ),
        ),
        (
            '[coupler.b]\nlength = "0.40"\nside_play = "0.40"\n',
            (
                "car.toml, line 3, coupler.b.side_play: the side play is as great as the coupler's length: "
                'got "0.40"; accepted: less than 0.4 in, the coupler.length on line 2. The side play is how far the '
                "head moves to one side of the middle; measure both again."
            ),
        ),
        (
            '[body]\ninside_width = "1.3"\nwidth = "1.250"\n',
            ('car.toml, line 2, body.inside_width: the inside is wider than the body over its sides: got "1.3"; '
            'accepted: 0 to 1.25 in, the body.width on line 3. '
            'Measure it again, and check its unit and its point.'),
        ),
        (
            "[car]\nbuilt = 1950\nyear = 1948\n",
            ('car.toml, line 3, car.year: the year modelled comes before the car was built: got "1948"; '
            "accepted: 1950 or later, built on line 2. Check both years."),
        ),
        (
            "[body]\nheight = nan\n",
            ('car.toml, line 2, body.height: a length must be a finite number: got "nan"; '
            "accepted: a length such as 1-11/32, 0.284 in, 12.7 mm, 30 thou, #61 or 40' 6\" scale. "
            "Leave the key empty where it is not known."),
        ),
        (
            '[body]\nlip_deph = "0.188"\n',
            (
                'car.toml, line 2, body.lip_deph: there is no such key: got "0.188"; accepted: a key of [body]. '
                "Did you mean body.lip_depth?"
            ),
        ),
        (
            '[body]\nseat_height = "0.284"\n',
            (
                'car.toml, line 2, body.seat_height: this key belongs to another section: got "0.284"; '
                "accepted: a key of [body]. Move it under [trucks]."
            ),
        ),
        (
            "[boddy]\n",
            (
                "car.toml, line 1, boddy: there is no such section; accepted: a section of the car file "
                "(car, body, trucks, coupler, underframe, piece, weight, found, gauge, finish, paint, shelf). "
                "Did you mean [body]?"
            ),
        ),
        (
            '[trucks.a]\ncenters = "4.5"\n',
            ("car.toml, line 2, trucks.a.centers: this belongs to both ends together: "
            'got "4.5"; accepted: [trucks]. Put it under [trucks].'),
        ),
        (
            'name = "x"\n',
            (
                'car.toml, line 1, name: this key stands before any section: got "x"; '
                "accepted: a section's header before its keys. Put it under [car]."
            ),
        ),
        (
            '[body]\nmount = "dropin"\n',
            ('car.toml, line 2, body.mount: this is not a known word for how the floor is held: got "dropin"; '
            'accepted: drop-in, underside, saddles or none. Did you mean "drop-in"?'),
        ),
        (
            '[car]\nscale = "XO"\n',
            ('car.toml, line 2, car.scale: there is no such scale: got "XO"; '
            "accepted: Z, N, TT, HO, OO, S, O, I; H0 and HO are one word. Did you mean O or OO or HO?"),
        ),
        (
            '[underframe]\nbolster = "biuld"\n',
            ('car.toml, line 2, underframe.bolster: this is not a length: got "biuld"; '
            "accepted: a length such as 1-11/32, 0.284 in, 12.7 mm, 30 thou, #61 or 40' 6\" scale. "
            'Did you mean "build"?'),
        ),
        (
            "[underframe]\ncrossbearers = 61\n",
            ('car.toml, line 2, underframe.crossbearers: so many crossbearers cannot be right: got "61"; '
            "accepted: 0 to 60. Count again."),
        ),
    ],
)  # fmt: skip
def test_what_is_said(text: str, said: str) -> None:
    """Each of the user's commonest mistakes gives one problem, in these words."""
    assert [str(each) for each in problems_of(text)] == [said]


@pytest.mark.parametrize(
    "text",
    [
        '[body]\nlength = "6"\ninside_length = "6.1"\n',
        '[body]\nheight = "1"\nend_notch = "1.1"\n',
        '[body]\ninside_width = "1.1"\nnotch.corner = ["0.1", "0.6"]\n',
        '[body]\ninside_length = "5.9"\ndiagonals = ["5.5", "6"]\n',
        '[body]\nlength = "6"\nover_buffers = "5.9"\n',
        '[trucks]\ncenters = "1"\nwheelbase = "1.1"\n',
        '[[body.block]]\nfrom = "0.5"\nto = "0.4"\n',
        '[[shelf.tube]]\ndiameter = "0.125"\ninside = "0.130"\n',
        '[body]\ninside_width = ["1", "1.1", "1", "1"]\n',
        '[body]\ndiagonals = "6"\n',
        '[[piece]]\nx = "1"\n',
        '[[body.lug]]\nx = "1"\n',
        "[body]\nlength = true\n",
        "[body]\nlength = 1948-01-01\n",
        "[body]\nlength = { a = 1 }\n",
        '[body]\nlength = ["6", "6"]\n',
        '[body]\nlength = "1/0"\n',
        '[body]\nlength = "1,250"\n',
        "body = 3\n",
        "shelf = { sheet = 3 }\n",
        '[car]\nyear = "48"\n',
        "[car]\ncaptive = 1\n",
        '[car]\nname = "a\\u0007b"\n',
        '[[paint]]\nwindows = [["none", "1 h"]]\n',
        "[weight]\ntarget = -3\n",
    ],
)
def test_what_cannot_be_is_refused(text: str) -> None:
    """A contradiction, a wrong kind or a wrong number of values is one placed problem with a mend."""
    found = problems_of(text)
    assert len(found) == 1
    assert found[0].line is not None
    assert found[0].key
    assert found[0].mend


def test_small_disagreements_are_measurement() -> None:
    """Centres and inset that agree within their tolerances do not contradict each other."""
    assert problems_of('[body]\nlength = "6.125"\n[trucks]\ninset = "0.812"\ncenters = "4.500"\n') == ()
    assert problems_of('[body]\nlength = "6"\n[trucks]\ncenters = "4.5"\n[coupler]\npivot_inset = "0.751"\n') == ()


def test_all_problems_at_once_in_order() -> None:
    """Every problem of a file is reported together, in the order of its lines."""
    found = problems_of('[body]\nwall = "9"\nlength = 6 1/8\n[trucks]\nrock = 90\nx = 1\n[car]\nunits = "ft"\n')
    assert [each.line for each in found] == [2, 3, 5, 6, 8]


def test_endless_problems_are_cut_short() -> None:
    """A file of nothing but mistakes is reported in two hundred lines and a count of the rest."""
    found = problems_of("x\n" * 500)
    assert len(found) == 201
    assert found[-1].problem == "there are 300 more problems"


def test_a_shop_shelf() -> None:
    """A shop's shelf stands behind the car's own, what is cut in its place; its leaves have names of their own."""
    shelf = read_shelf(
        '[shelf]\nunits = "mm"\nkeep_length = "30"\n[[shelf.sheet]]\nthickness = "0.75"\n[[shelf.washer]]\n'
    )
    own = '[[shelf.sheet]]\nthickness = "0.030"\n[[shelf.rod]]\ndiameter = "0.1"\n[[shelf.washer]]\ncount = 3\n'
    car = read_car(own, shelf=shelf)
    assert [given(each.thickness).key for each in car.shelf.sheets] == ["shop.sheet[0].thickness"]
    assert given(car.shelf.sheets[0].thickness).value == pytest.approx(0.75)
    assert [given(each.diameter).key for each in car.shelf.rods] == ["shelf.rod[0].diameter"]
    assert [each.count for each in car.shelf.washers] == [3, None]
    assert given(car.shelf.keep_length).value == pytest.approx(30)


def test_a_shelf_file_is_checked() -> None:
    """A slip in a shelf file is placed like one in a car file."""
    with pytest.raises(InputError) as caught:
        read_shelf('[[shelf.sheat]]\nthickness = "0.030"\n', file="shelf.toml")
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.mend) == ("shelf.toml", 1, "Did you mean [[shelf.sheet]]?")


def test_files(tmp_path: Path) -> None:
    """A file is read with its bytes; one that is not there, a folder and no name are one problem each."""
    path = tmp_path / "car.toml"
    path.write_bytes(b'[body]\nlength = "6"\n')
    found = read_car_file(path)
    assert (found.path, found.document) == (path, path.read_bytes())
    assert given(found.car.body.length).value == pytest.approx(152.4)
    for wrong, said in (
        (tmp_path / "none.toml", "there is no such file"),
        (tmp_path, "this is a folder"),
        ("", "no file is named"),
        ("a\0b", "the file cannot be read: embedded null byte"),
    ):
        for read in (read_car_file, read_shelf_file):
            with pytest.raises(InputError) as caught:
                read(wrong)
            assert [each.problem for each in caught.value.problems] == [said]


def test_values_are_finite() -> None:
    """Every number read from the demonstration's files is finite."""
    for name in ("boxcar", "n_car", "h0_car"):
        car = read_car_file(DEMO / f"{name}.toml").car
        assert math.isfinite(given(car.body.height).value)


def test_a_piece_may_be_named_in_words() -> None:
    """The name "crosstie 1" is the crosstie_1 of the drawing."""
    assert read_car('[[piece]]\nname = "crosstie 1"\nx = "1"\n').pieces[0].name == "crosstie_1"
