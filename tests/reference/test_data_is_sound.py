"""Every row of every data file: pedigree, ranges, order; and what the loader refuses.

The checks of order are laws of the tables themselves (a drill's diameter falls as its number rises); the checks of
pedigree are our own rule, that a value without one may not be relied on.
"""

from __future__ import annotations

import subprocess
import sys
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from carwright import reference
from carwright.reference.citation import Citation, Entry
from carwright.reference.store import FILES, ReferenceFault, entries_of, parse, under

DATA = Path(reference.__file__).parent / "data"


def numbers(*path: str, name: str) -> list[float]:
    """Return one column of a stored table."""
    return [row[name].number for row in under(*path).values()]


@pytest.mark.parametrize("file", FILES)
def test_every_value_of_every_file_has_a_basis_and_a_read_one_its_document(file: str) -> None:
    """No stored value lacks a basis, and none said to have been read lacks a document."""
    found = entries_of(file)
    assert found
    for each in found.values():
        assert each.citation.basis in ("seen", "memory", "practice", "derived"), each.key
        if each.citation.basis == "seen":
            assert each.citation.document or each.citation.sources, each.key


def test_no_file_has_a_figure_from_memory_cited_as_read() -> None:
    """A citation of a figure from memory says so and never uses the word read alone."""
    for file in FILES:
        for each in entries_of(file).values():
            if each.citation.basis == "memory":
                assert str(each.citation).startswith("from memory, not read"), each.key


def test_no_millimetre_twin_of_an_inch_value_is_stored() -> None:
    """A value in inches is stored once; its millimetres are worked out when asked for."""
    for file in FILES:
        text = (DATA / f"{file}.toml").read_text(encoding="utf-8")
        assert "values_mm_computed" not in text
        assert ", mm = " not in text
        assert "percent_basis" not in text


def test_importing_the_package_reads_no_data_file() -> None:
    """Nothing is opened before the first look-up."""
    program = (
        "import builtins, io, pathlib, sys\n"
        "opened = []\n"
        "sys.addaudithook(lambda event, given: opened.append(str(given[0])) if event == 'open' else None)\n"
        "import carwright.reference\n"
        "assert not [each for each in opened if each.endswith('.toml')], opened\n"
        "assert 'tomllib' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


def test_number_drills_run_from_1_to_97_and_fall() -> None:
    """There are 97 number drills, each smaller than the one before it."""
    sizes = numbers("workshop", "drills", "number", "rows", name="diameter")
    assert list(under("workshop", "drills", "number", "rows")) == [str(each) for each in range(1, 98)]
    assert all(later < earlier for earlier, later in pairwise(sizes))


def test_letter_drills_run_from_a_to_z_and_rise() -> None:
    """There are 26 letter drills, each bigger than the one before it."""
    sizes = numbers("workshop", "drills", "letter", "rows", name="diameter")
    assert "".join(under("workshop", "drills", "letter", "rows")) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert all(later > earlier for earlier, later in pairwise(sizes))


def test_wheels_and_scales_hang_together() -> None:
    """The bigger the ratio, the narrower the track; RP-25's tread is tire less flange in every row."""
    contours = under("standards", "wheel_contour_rp25")
    rows = [row for name, row in contours.items() if name.startswith("code_")]
    assert len(rows) == 8
    for row in rows:
        # NMRA RP-25 itself: W = N - T.
        assert row["tread_width_W"].number == pytest.approx(row["tire_width_N"].number - row["flange_width_T"].number)
    ratios = [(reference.scale_ratio(each).value, reference.scale_gauge(each)) for each in ("N", "TT", "HO", "S", "O")]
    gauges = [gauge.value for _, gauge in ratios if gauge is not None]
    assert gauges == sorted(gauges)
    assert [ratio for ratio, _ in ratios] == sorted((ratio for ratio, _ in ratios), reverse=True)


def test_widening_on_curves_falls_with_the_radius() -> None:
    """In every column of NEM 103 a gentler curve never needs more room than a sharper one."""
    for name, row in under("standards", "clearance_curve_nem103").items():
        if name == "transition":
            continue
        for column in row.values():
            assert isinstance(column.value, tuple)
            pairs = [each for each in column.value if isinstance(each, tuple)]
            radii = [float(str(radius)) for radius, _ in pairs]
            widths = [float(str(width)) for _, width in pairs]
            assert radii == sorted(radii)
            assert widths == sorted(widths, reverse=True)


def test_frames_keep_their_members_between_the_bolsters() -> None:
    """Every crossbearer and crosstie of a default frame stands between the bolsters, in order along the car."""
    for kind in reference.car_kinds():
        for year in (1895, 1925, 1948, 1975):
            frame = reference.frame_defaults(kind, year)
            if frame is not None:
                for members in (frame.crossbearers, frame.crossties):
                    places = [each.value for each in members]
                    assert places == sorted(places)
                    assert all(-0.5 < place < 0.5 for place in places)


def test_every_choice_of_ours_has_its_reason() -> None:
    """A choice without a note would be a number out of the air."""
    for name, row in under("choices", "choice").items():
        assert all(each.note for each in row.values()), name


def test_every_choice_can_be_looked_up() -> None:
    """Each choice is a number or a text, and what it takes from elsewhere is there."""
    for name, row in under("choices", "choice").items():
        if "text" in row:
            assert reference.practice_text(name)
        else:
            found = reference.practice_value(name)
            assert found.basis
            assert found.value >= 0.0


def test_no_size_of_a_choice_is_stored_twice() -> None:
    """A choice that hands on a stored value holds no number of its own."""
    raw = tomllib.loads((DATA / "choices.toml").read_text(encoding="utf-8"))["choice"]
    for name, row in raw.items():
        if name != "basis":
            assert len({"value", "value_of", "text"} & set(row)) == 1, name


SEEN = 'basis = "seen"\ndocument = "A sheet"\n'


@pytest.mark.parametrize(
    ("text", "entry", "problem"),
    [
        ("[a.b]\nvalues = { x = 1 }\n", "a.b.x", "has no basis"),
        ('[a.b]\nbasis = "seen"\nvalues = { x = 1 }\n', "a.b.x", "names no document"),
        ('[a.b]\nbasis = "sure"\nvalues = { x = 1 }\n', "a.b", 'basis "sure" is none of'),
        ('[a.b]\nbasis = "practice"\nreading = "askew"\nx = 1\n', "a.b", 'reading "askew" is none of'),
        ('[a.b]\nbasis = "seen"\nsources = ["nobody"]\nx = 1\n', "a.b", "not listed: nobody"),
        (f"[a.b]\n{SEEN}rows = [{{ from = 0, to = 2 }}, {{ from = 1, to = 3 }}]\n", "a.b.rows", "overlaps"),
        (f"[a.b]\n{SEEN}rows = [{{ from = 0, to = 1 }}, {{ from = 2, to = 3 }}]\n", "a.b.rows", "gap between 1 and 2"),
        (f"[a.b]\n{SEEN}x = {{ low = 3, high = 2 }}\n", "a.b.x.low", "3 is above high, 2"),
        (f"[a.b]\n{SEEN}width_min = 3\nwidth_max = 2\n", "a.b.width_min", "3 is above width_max, 2"),
        (f"[a.b]\n{SEEN}years = [1950, 1940]\n", "a.b.years", "1950 is after the last, 1940"),
        (f'[a.b]\n{SEEN}x = 1\ny_basis = "memory"\n', "a.b.y_basis", "not there"),
        (f'[a.b]\n{SEEN}x = 1\nx_basis = "sure"\n', "a.b.x", 'basis "sure" is none of'),
        ("[a.b\n", "(file)", "is not TOML"),
    ],
)
def test_data_that_may_not_be_relied_on_is_refused_by_file_and_entry(text: str, entry: str, problem: str) -> None:
    """A value without pedigree, a range with a hole or an overlap, or a broken file stops the loading and is named."""
    with pytest.raises(ReferenceFault) as caught:
        parse("broken", text)
    assert caught.value.file == "broken"
    assert caught.value.entry == entry
    assert problem in caught.value.problem
    assert str(caught.value).startswith(f"broken.toml, {entry}: ")


def test_an_unknown_key_or_topic_is_refused() -> None:
    """A slip of the pen in a key is refused, not passed over."""
    schema = {"a": frozenset({"width"})}
    with pytest.raises(ReferenceFault, match="schema does not list"):
        parse("broken", f"[a.b]\n{SEEN}widht = 1\n", schema)
    with pytest.raises(ReferenceFault, match="schema does not list"):
        parse("broken", f"[c.b]\n{SEEN}width = 1\n", schema)
    assert [each.value for each in parse("fine", f"[a.b]\n{SEEN}width = 1\n", schema)] == [1]


def test_pedigree_comes_from_the_table_above_and_the_nearest_counts() -> None:
    """A row takes its document from the table above it, and its own basis where it gives one."""
    rows = '[{ id = "one", x = 1 }, { id = "two", x = 2, basis = "memory" }]'
    text = f'[a]\n{SEEN}edition = "third"\n[a.b]\nrows = {rows}\n'
    one, two = parse("fine", text)
    assert (one.key, one.citation.basis, one.citation.edition) == ("fine.a.b.rows.one.x", "seen", "third")
    assert (two.citation.basis, two.citation.document) == ("memory", "A sheet")


def test_a_source_id_that_resolves_is_a_document() -> None:
    """A value read in a listed source needs no document of its own, and is cited by the source's title."""
    text = '[[source]]\nid = "s"\ntitle = "A book"\n[a.b]\nbasis = "seen"\nsources = ["s"]\nx = 1\n'
    (only,) = parse("fine", text)
    assert "A book" in str(only.citation)


@pytest.mark.parametrize(
    ("citation", "words"),
    [
        (Citation("seen", "direct", "NEM 303 Buffers", "2015"), "NEM 303 Buffers; 2015; read"),
        (Citation("seen", "second_hand", "A sheet"), "A sheet; edition not seen; read in a quotation"),
        (Citation("memory", "", "A sheet", confidence="low"), "from memory, not read (A sheet); confidence low"),
        (Citation("practice"), "common practice, no source"),
        (Citation("derived", document="A sheet"), "worked out from A sheet"),
    ],
)
def test_a_citation_says_in_words_how_the_value_is_known(citation: Citation, words: str) -> None:
    """Each basis has its own words, and an edition that was not seen is said to be so."""
    assert str(citation) == words


def test_an_entry_prints_its_own_citation() -> None:
    """One line holds name, value, unit and pedigree."""
    only = Entry("f.a.x", ("f", "a", "x"), 1.5, "in", Citation("practice"))
    assert str(only) == "x 1.5 in: common practice, no source"
