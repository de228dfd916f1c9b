"""Slips of TOML: each named, placed and mended, and the rest of the file checked all the same."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from carwright.car.document import Cell, Node, Table, document_of
from carwright.car.read import read_car
from carwright.car.statements import quoted
from carwright.problems import InputError, Problem


def problems_of(text: str | bytes) -> tuple[Problem, ...]:
    """Return the problems that reading ``text`` gives."""
    try:
        read_car(text, file="car.toml")
    except InputError as error:
        return error.problems
    return ()


def plain(node: Node) -> Any:
    """Return a tree as TOML's own reader gives it."""
    if isinstance(node, Cell):
        return [plain(each) for each in node.value] if isinstance(node.value, tuple) else node.value
    if isinstance(node, list):
        return [plain(each) for each in node]
    return {name: plain(each) for name, each in node.inside.items()}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            "length = 6 1/8",
            (
                "car.toml, line 2, body.length: the value is not in quotes: "
                'got "6 1/8"{A}. Put quotes round it: length = "6 1/8"'
            ),
        ),
        (
            "end_notch = .030",
            (
                'car.toml, line 2, body.end_notch: the value is not in quotes: got ".030"{A}. '
                'Put quotes round it: end_notch = ".030"'
            ),
        ),
        (
            "wall = 1-11/32 in  # thick",
            (
                'car.toml, line 2, body.wall: the value is not in quotes: got "1-11/32 in"{A}. '
                'Put quotes round it: wall = "1-11/32 in"'
            ),
        ),
        (
            "wall = 30 thou",
            (
                "car.toml, line 2, body.wall: the value is not in quotes: "
                'got "30 thou"{A}. Put quotes round it: wall = "30 thou"'
            ),
        ),
        (
            "wall = 6,35",
            (
                'car.toml, line 2, body.wall: the value is not in quotes: got "6,35"{A}. '
                'Put quotes round it: wall = "6,35"'
            ),
        ),
        (
            "wall = #61",
            'car.toml, line 2, body.wall: # begins a comment, so no value is left: got "#61"{A}. Write: wall = "#61"',
        ),
        (
            "wall = ½",
            'car.toml, line 2, body.wall: the value is not in quotes: got "½"{A}. Put quotes round it: wall = "½"',
        ),
        (
            "wall = “0.045”",
            (
                "car.toml, line 2, body.wall: curly quotes stand where straight ones belong: "
                'got "0.045"{A}. Write: wall = "0.045"'
            ),
        ),
        (
            'wall: "0.045"',
            (
                "car.toml, line 2, body.wall: a colon stands where an equals sign belongs: "
                'got "0.045"; accepted: key = "value". Write: wall = "0.045"'
            ),
        ),
        (
            'wall = "0.045   # thin',
            'car.toml, line 2, body.wall: the quote at the end is missing: got "0.045"{A}. Write: wall = "0.045"',
        ),
        (
            'wall = "1 1/8" in',
            (
                "car.toml, line 2, body.wall: something stands behind the closing quote: "
                'got "1 1/8 in"{A}. Write: wall = "1 1/8 in"'
            ),
        ),
        (
            "wall =",
            (
                "car.toml, line 2, body.wall: nothing stands after the equals sign{A}. "
                'Write wall = "" for what was not measured.'
            ),
        ),
        (
            'lip depth = "0.188"',
            (
                'car.toml, line 2, body.lip_depth: a key has no spaces in it: got "0.188"; '
                'accepted: letters, figures and _ in a key. Write: lip_depth = "0.188"'
            ),
        ),
        (
            "inside_width = 1.156, 1.153",
            (
                'car.toml, line 2, body.inside_width: a list stands without its brackets: got "1.156, 1.153"; '
                'accepted: a list in [ ]. Write: inside_width = ["1.156", "1.153"]'
            ),
        ),
        (
            'inside_width = "1.156", "1.153"  # B, A',
            (
                "car.toml, line 2, body.inside_width: a list stands without its brackets: "
                'got ""1.156", "1.153""; accepted: a list in [ ]. Write: inside_width = ["1.156", "1.153"]'
            ),
        ),
        (
            'inside_length = ["5.906", 5.904"]',
            (
                "car.toml, line 2, body.inside_length: a value in the list is not in straight quotes: "
                'got "["5.906", 5.904"]"{A}. Write: inside_length = ["5.906", \'5.904"\']'
            ),
        ),
        (
            'inside_length = ["5.906", "5.904"',
            (
                "car.toml, line 2, body.inside_length: the bracket ] at the end is missing: "
                'got "["5.906", "5.904""{A}. Write: inside_length = ["5.906", "5.904"]'
            ),
        ),
        (
            "hello there",
            (
                "car.toml, line 2: a line that is neither a section, a key with its value, nor a comment: "
                'got "hello there"; accepted: [section], key = "value", # comment. Put # before it if it is a note.'
            ),
        ),
    ],
)
def test_a_slip_is_named_and_mended(line: str, said: str) -> None:
    """A line that TOML refuses gets one problem that says how to write it."""
    accepted = "; accepted: a text in straight quotes, a plain number or a list in [ ]"
    assert [str(each) for each in problems_of(f"[body]\n{line}\n")][:1] == [said.replace("{A}", accepted)]


@pytest.mark.parametrize("text", ["6 1/8", ".030", "5' 6\"", "1-11/32", "30 thou", "#61", "12.7 mm"])
def test_an_unquoted_value_asks_for_quotes(text: str) -> None:
    """The mend of an unquoted value is TOML that says the same."""
    first = problems_of(f"[trucks]\nseat_height = {text}\n")[0]
    written = first.mend.partition(": ")[2]
    assert tomllib.loads(written) == {"seat_height": text}
    assert (first.line, first.column, first.key) == (2, 15, "trucks.seat_height")


def test_an_inch_mark_inside_quotes_is_found() -> None:
    """An inch mark that ends a text too early is named, and the whole text is taken as meant."""
    (problem,) = problems_of('[trucks]\nwheelbase = "5\' 6" scale"\n')
    assert problem.problem == "a quote mark inside the text ends it too early"
    assert tomllib.loads(problem.mend.removeprefix("Write: ")) == {"wheelbase": "5' 6\" scale"}


def test_checking_goes_on_behind_a_slip() -> None:
    """A mended value is checked for its meaning, and so is every line behind it."""
    found = problems_of('[body]\nlength = 600 in\nwall = “0.045”\nheigth = "1.45"\n[trucks]\nrock = 99\n')
    assert [(each.line, each.key) for each in found] == [
        (2, "body.length"),
        (2, "body.length"),
        (3, "body.wall"),
        (4, "body.heigth"),
        (6, "trucks.rock"),
    ]


def test_several_values_on_a_line() -> None:
    """Two values on one line are told apart, and both are read."""
    found = problems_of('[body]\nlength = "6 1/8"   width = 1.25  wall = "9"\n')
    assert [(each.line, each.problem) for each in found] == [
        (2, "two values stand on one line"),
        (2, "two values stand on one line"),
        (2, "the wall thickness is too great for HO"),
    ]


def test_every_problem_says_what_is_accepted_and_how_to_mend_it() -> None:
    """Whatever the slip, its problem has a place, what is accepted, and a mend."""
    text = """name = "x"
[body
length = 6 1/8
wall “0.045”
heigth = "1"
height: "1.45
seat_height = "1"
inside_width = [1 2, “3”
mount = "dropin"
mass = yes
length = "6"
[body]
[[trucks]]
rock = 99
[trucks.c]
[piece]
x = 1
[[body.lug]]
[[paint]]
windows = 3
[car]
missing = [1, [2]]
year = 48
captive = "y"
scale = "XO"
[found]
weight = { b = 1 }
x.y.z = 2
"""
    found = problems_of(text)
    assert len(found) > 20
    assert [each for each in found if not (each.line and each.accepted and each.mend)] == []


def test_a_value_behind_its_header() -> None:
    """A value on the line of its section's header is named and read in that section."""
    found = problems_of('[[shelf.sheet]] thickness = "99"\n')
    assert [(each.key, each.problem) for each in found] == [
        ("", "a value stands on the line of its section's header"),
        ("shelf.sheet[0].thickness", "the thickness of the sheet is too great"),
    ]


def test_a_key_inside_a_broken_list() -> None:
    """A key that stands in the middle of a list without an end, over several lines, is still read."""
    assert [each.line for each in problems_of("[body]\ninside_length = [a,\n, wall\n = 99\n")] == [2, 2, 2]


@pytest.mark.parametrize("header", ["[body", "body]", "[[body]", "[body]]"])
def test_a_missing_bracket(header: str) -> None:
    """A header that lacks a bracket is one problem; its keys still stand in their section."""
    found = problems_of(f'{header}\nwall = "0.045"\n')
    assert found[0].line == 1
    if header.startswith("["):
        assert "bracket" in found[0].problem


def test_a_key_twice() -> None:
    """A key that stands twice is named with the line of the first."""
    (problem,) = problems_of('[body]\nwall = "0.045"\n\nwall = "0.046"\n')
    assert str(problem) == (
        'car.toml, line 4, body.wall: the key stands twice: got "0.046"; accepted: each key once. '
        "The first is on line 2; delete one of the two."
    )


def test_a_section_twice() -> None:
    """A section that stands twice is named with the line of the first, and the keys of both are read."""
    found = problems_of('[body]\nwall = "0.045"\n[trucks]\n[body]\nheight = "99"\n')
    assert [(each.line, each.problem) for each in found] == [
        (4, "the section [body] stands twice"),
        (5, "the body height is too great for HO"),
    ]


def test_wrong_brackets() -> None:
    """A section that may stand several times wants double brackets, one that stands once single ones."""
    found = problems_of('[shelf.sheet]\nthickness = "0.030"\n[[trucks]]\nrock = 3\n')
    assert [each.mend for each in found] == ["Write [[shelf.sheet]]: there may be several.", "Write [trucks], once."]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"[body]\nname\0", "the file is not a text"),
        (b"[body]\n# \xe4\n", "the file is not UTF-8"),
        ("[body]".encode("utf-16"), "the file is saved as UTF-16"),
        (b"#" * 1_000_001, "the file is too big to be a car file"),
        (b"x = " + b"[" * 30_000, "the line is too long"),
        (b"x = " + b"[\n" * 30_000, "brackets stand too deep within brackets"),
        (b"a." * 100_000 + b"a = 1", "the line is too long"),
        (b"a." * 200 + b"a = 1", "the name has too many parts"),
        (b"[" + b"a." * 200 + b"a]", "the section's name has too many parts"),
    ],
)
def test_an_impossible_file_is_one_problem(data: bytes, said: str) -> None:
    """A file that cannot be a car file gives one clear problem at once."""
    assert [each.problem for each in problems_of(data)] == [said]


def test_the_place_of_a_byte_that_is_not_utf8() -> None:
    """The line of the first wrong byte is given."""
    (problem,) = problems_of(b'[car]\nname = "K\xf6nig"\n')
    assert problem.line == 2
    assert problem.value == "byte 0xf6 at byte 16"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\ufeff[body]\r\nwall = '0.045'\r\n",
        "[body]\n\twall\t=\t'0.045'\t# tabs\n",
        "body.wall = '0.045'\nbody.height = '1.45'\n",
        "body = { wall = '0.045', inside_width = ['1.1',\n\n'1.2', # B\n'1.1'\n] }\n",
        'x = """\n[body]\ny = 1\n"""\nz = 2\n',
        "x = [\n  [true]\n]\ny = [ # comment ]\n 1,\n 2 ]\n",
        "[a.b]\nx = 1\n[a]\ny = 2\n[[a.c]]\nz = 1\n[[a.c]]\n[a.c.d]\nw = 0.250\n",
        "x = 1_000\ny = 0x1f\nz = 1e3\nd = 1948-05-01\nt = true\n",
        "x = '''it's \"so\"'''\n",
    ],
)
def test_valid_toml_is_read_as_toml(text: str) -> None:
    """What TOML accepts is read as TOML's own reader reads it, and no slip is found in it."""
    root, slips = document_of(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    assert slips == ()
    assert plain(root) == tomllib.loads(text.removeprefix("\ufeff"))


NAMES = st.text("abcdefghijklmnopqrstuvwxyz_", min_size=1, max_size=6)
SCALARS = st.one_of(
    st.integers(-999, 9999),
    st.booleans(),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.text(st.characters(blacklist_categories=["Cs", "Cc"]), max_size=12),
)
VALUES = st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=3), max_leaves=6)
TREES = st.dictionaries(NAMES, st.one_of(VALUES, st.dictionaries(NAMES, VALUES, max_size=4)), max_size=5)


@settings(max_examples=150)
@given(TREES)
def test_any_toml_is_read_as_toml(tree: dict[str, Any]) -> None:
    """For any tree, what another library writes as TOML is read back equal, without a slip."""
    text = tomlkit.dumps(tree)
    root, slips = document_of(text)
    assert slips == ()
    assert plain(root) == tomllib.loads(text)


@given(st.text(st.characters(blacklist_categories=["Cs", "Cc"]), max_size=20))
def test_quoted_text_is_read_back(text: str) -> None:
    """A text put in quotes for a mend is TOML that says the same."""
    assert tomllib.loads(f"x = {quoted(text)}") == {"x": text}


def test_lines_and_columns() -> None:
    """Each value of a list that runs over lines knows its own line and column."""
    root, _ = document_of('[body]\ninside_width = [\n  "1.156", # B\n  "1.153",\n     "1.149" ]\n')
    body = root.inside["body"]
    assert isinstance(body, Table)
    widths = body.inside["inside_width"]
    assert isinstance(widths, Cell)
    assert [(each.line, each.column) for each in widths.value] == [(3, 3), (4, 3), (5, 6)]


@pytest.mark.parametrize("text", ["80000 lb", "80,000 lb", "80 000 lbs.", "40 tons", "40", "36.287 t"])
def test_a_capacity_is_taken_as_it_is_stencilled(text: str) -> None:
    """40 short tons are 80 000 lb and 36.287 metric tonnes, by 2000 lb to the ton and 0.453 592 37 kg to the pound."""
    capacity = read_car(f'[car]\ncapacity = "{text}"\n'.encode()).info.capacity
    assert capacity is not None
    assert capacity.value == pytest.approx(40, rel=1e-4)


def test_bare_pounds_are_asked_about_and_no_mend_is_cut_off() -> None:
    """80000 without a unit is asked for as pounds or 40 tons, and a count with a word behind it is told without it."""
    with pytest.raises(InputError, match='write "80000 lb" or "40"'):
        read_car(b"[car]\ncapacity = 80000\n")
    with pytest.raises(InputError, match='Write "2" alone'):
        read_car(b'[underframe]\ncrossbearers = "2 pieces"\n')


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ('[body]\nlength = "5.2"\ninside_length = ["5.086", "50.82"]\n', 'Did you mean "5.082"?'),
        ('[body]\nlength = "5.2"\ninside_length = ["50.82", "5.086"]\n', 'Did you mean "5.082"?'),
        ('[body]\nlength = "5.2"\n[trucks]\ncenters = "37"\n', 'Did you mean "3.7"?'),
        ('[coupler]\ndrop = "0.62"\n', 'Did you mean "0.062"?'),
        ("[trucks]\nseat_height = 0.0284\n", 'Did you mean "0.284"?'),
        (
            '[body]\nheight = "1.45"\nlip_depth = "4.78"\n',
            'Read as inches: 121.4 mm. If you measured millimetres, write "4.78 mm".',
        ),
    ],
)
def test_a_slipped_point_is_offered_before_another_unit(text: str, meant: str) -> None:
    """A tenth that lies near the other reading, or where the size usually lies, is offered; nothing unusual ever is."""
    (problem,) = problems_of(text)
    assert problem.mend == meant
