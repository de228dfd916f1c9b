"""A batch from lines and shelf to plans: which stock, what is laminated, what is lacking, and stock conserved."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import pytest

from carwright.car.read import read_car, read_shelf
from carwright.draw.cutwords import cost_words, fitting_words, lacking_words, proof_words
from carwright.plan import make_plan
from carwright.problems import InputError
from carwright.stock import LengthPlan, SheetPlan
from carwright.stock.batch import Batch, cut_batch, fill_first
from carwright.stock.demand import Wanted, wanted_of_plan
from carwright.stock.leaving import Choice
from carwright.stock.piecelist import read_pieces

SHELF = """
[shelf]
units = "mm"
[[shelf.sheet]]
name = "half"
thickness = "0.5"
width = "150"
length = "300"
count = 1
cost = "1.40"
[[shelf.sheet]]
name = "one"
thickness = "1.0"
width = "150"
length = "300"
count = 1
cost = "2.10"
[[shelf.strip]]
name = "strip"
thickness = "1.0"
width = "2.0"
length = "350"
count = 3
cost = "0.45"
[[shelf.wire]]
name = "wire"
material = "brass"
diameter = "0.4"
length = "300"
"""

LIST = """name,material,thickness,width,length,quantity
floor,styrene,1.5,30,140,2
sill,styrene,1.0 x 2.0,,130,4
step,styrene,0.5,8,12,20
grab,brass,0.4,,19,12
"""


def test_a_batch_is_cut_by_section_and_layers_take_the_sheets_they_are_of() -> None:
    """A floor of 1.5 becomes layers of 1.0 and 0.5, strips and wire are cut as bars, and every line is served."""
    batch = cut_batch(read_pieces(LIST, units="mm"), read_shelf(SHELF))
    assert batch.status == "optimal"
    assert [(each.name, each.layers_mm) for each in batch.laminations] == [("floor", (1.0, 0.5))]
    forms = [(group.section.form, group.section.thickness_mm) for group in batch.groups]
    assert forms == [("sheet", 0.5), ("sheet", 1.0), ("strip", 1.0), ("wire", 0.4)]
    assert not batch.lacking


def test_what_the_plan_leaves_is_a_shelf_to_plan_again() -> None:
    """A plan is taken from the shelf and the rest cut again: pieces, waste and what is left add up to 0.01 mm."""
    shelf = read_shelf(SHELF)
    first = cut_batch(read_pieces("name,thickness,length,quantity\nsill,1.0 x 2.0,130,3\n", units="mm"), shelf)
    plan = first.groups[0].plan
    assert isinstance(plan, LengthPlan)
    assert plan.waste is not None
    kept = [bar.offcut_mm for bar in plan.layouts if bar.kept]
    assert abs(350 * len(plan.layouts) - 3 * 130 - plan.waste.value - sum(kept)) <= 0.01
    strip = shelf.strips[0]
    assert strip.length is not None
    rest = [replace(strip, count=3 - len(plan.layouts))]
    rest += [
        replace(
            strip, key=f"left[{k}]", name=f"offcut {k}", count=1, cost="0", length=replace(strip.length, value=left)
        )
        for k, left in enumerate(kept)
    ]
    after = replace(shelf, strips=tuple(rest))
    second = cut_batch(read_pieces("name,thickness,length\nsill,1.0 x 2.0,80\n", units="mm"), after)
    (group,) = second.groups
    assert (group.plan.status, group.plan.cost) == ("optimal", 0)
    (bar,) = group.plan.layouts
    assert bar.stock.startswith("offcut")


def test_a_thickness_that_no_layers_make_is_told_with_the_least_stock() -> None:
    """A piece of 1.27 mm is not laminated of 1.0 and 0.5 where its limits are 1.25 to 1.30; what to buy is named."""
    line = Wanted("shim", "styrene", 1.27, 10, 12, 1, least_mm=1.25, most_mm=1.30)
    batch = cut_batch([line], read_shelf(SHELF))
    assert batch.status == "infeasible"
    assert [each.least("mm") for each in batch.lacking] == [
        "styrene sheet 1.27 mm (0.050 in) thick, 12.00 × 10.00 mm (0.472 × 0.394 in) or larger"
    ]
    assert [each.least("in") for each in batch.lacking] == [
        "styrene sheet 0.050 in (1.27 mm) thick, 0.472 × 0.394 in (12.00 × 10.00 mm) or larger"
    ]


def test_limits_that_reach_further_on_one_side_are_used() -> None:
    """A block wanted 1.9 mm that may be 1.85 to 2.1 is laminated 1.0 + 1.0; one that may be 2.05 to 2.2 is not."""
    shelf = read_shelf(SHELF)
    batch = cut_batch([Wanted("block", "styrene", 1.9, 10, 12, 1, least_mm=1.85, most_mm=2.1)], shelf)
    assert [each.layers_mm for each in batch.laminations] == [(1.0, 1.0)]
    assert cut_batch([Wanted("block", "styrene", 1.9, 10, 12, 1, least_mm=2.05, most_mm=2.2)], shelf).lacking


def test_snapping_leaves_no_strip_that_crumbles() -> None:
    """In sheet of 1 mm, which snaps, a piece of 148 does not leave a strip of 2 of the sheet's 150 by a cut."""
    shelf = read_shelf(SHELF)
    assert cut_batch([Wanted("side", "styrene", 1.0, 148, 200, 1)], shelf).status == "optimal"
    with pytest.raises(InputError, match="piece side fits no sheet"):
        cut_batch([Wanted("side", "styrene", 1.0, 148, 200, 1)], shelf, snapped=True)
    plan = cut_batch([Wanted("side", "styrene", 1.0, 147, 200, 1)], shelf, snapped=True).groups[0].plan
    assert isinstance(plan, SheetPlan)
    assert plan.status == "optimal"


NARROW = Wanted("flange", "styrene", 1.0, 0.99, 12, 6, finished_mm=(11.75, 0.74))
"""A flange too narrow to be snapped off sheet of 1 mm: with the allowance for snapped edges 0.99, finished 0.74."""


def test_a_narrow_piece_asks_for_strip_of_its_finished_width() -> None:
    """Strip is never snapped lengthwise: what is told to buy is 0.74 wide, without the allowance for snapped edges."""
    batch = cut_batch([NARROW], read_shelf(SHELF), snapped=True)
    (lacking,) = batch.lacking
    assert (lacking.form, lacking.thickness_mm, lacking.width_mm, lacking.length_mm) == ("strip", 1.0, 0.74, 11.75)
    assert lacking_words(batch.lacking, "mm")[0].least.endswith("; 70.50 mm of it in all")


@pytest.mark.parametrize(
    ("thickness", "width", "sanded"),
    [("1.0", "0.75", 0.0), ("0.98", "0.80", 0.0), ("0.75", "1.0", 0.0), ("1.0", "1.2", 0.74), ("1.0", "1.5", None)],
)
def test_a_strip_near_enough_serves(thickness: str, width: str, sanded: float | None) -> None:
    """Within the tolerance of strip it is used as it is, either way up; up to 0.5 wider sanded; wider it is refused."""
    strip = f'[[shelf.strip]]\nname = "new"\nthickness = "{thickness}"\nwidth = "{width}"\nlength = "100"\ncount = 1\n'
    batch = cut_batch([NARROW], read_shelf(SHELF + strip), snapped=True)
    if sanded is None:
        assert batch.lacking
        return
    (group,) = batch.groups
    assert group.sanded == ((("flange", sanded),) if sanded else ())
    assert [piece.length_mm for bar in group.plan.layouts for piece in bar.pieces] == [11.75] * 6
    assert ("sand its width: to 0.74 flange" in fitting_words(group, "mm")) == bool(sanded)


def test_what_a_strip_has_not_enough_for_comes_from_sheet() -> None:
    """Strip of a piece's own width is used first; where it runs out and sheet serves too, nothing must be bought."""
    strip = '[[shelf.strip]]\nname = "short"\nthickness = "1.0"\nwidth = "8"\nlength = "100"\ncount = 1\n'
    few = cut_batch([Wanted("rail", "styrene", 1.0, 8.25, 90, 1, finished_mm=(89.75, 8.0))], read_shelf(SHELF + strip))
    assert [group.section.form for group in few.groups] == ["strip"]
    many = cut_batch([Wanted("rail", "styrene", 1.0, 8.25, 90, 5, finished_mm=(89.75, 8.0))], read_shelf(SHELF + strip))
    assert [(group.section.form, group.plan.buy) for group in many.groups] == [("sheet", ())]


def test_wires_a_thousandth_apart_are_two_stocks() -> None:
    """Wire of 0.009 in and of 0.010 in, which are 0.025 mm apart, each serve what was drilled for them."""
    wires = "".join(
        f'[[shelf.wire]]\nname = "{d}"\nmaterial = "brass"\ndiameter = "{d} in"\nlength = "300"\n'
        for d in ("0.010", "0.009")
    )
    lines = [Wanted(name, "brass", mm, None, 20, 1) for name, mm in (("rod", 0.22), ("grab", 0.26))]
    batch = cut_batch(lines, read_shelf(f'[shelf]\nunits = "mm"\n{wires}'))
    found = {bar.pieces[0].name: bar.stock for group in batch.groups for bar, _ in group.bars}
    assert found == {"rod": "0.009", "grab": "0.010"}


def test_a_rod_near_enough_serves_what_only_has_to_look_right() -> None:
    """Of a plan's cylinder of 3.5 the nearest rod within a tenth is cut, and told; a list's rod is of its own size."""
    cylinder = Wanted("cylinder", "styrene", 3.5, None, 6, 1, 3.15, 3.85)
    rods = "".join(
        f'[[shelf.rod]]\nname = "{d}"\ndiameter = "{d}"\nlength = "300"\n' for d in ("3.1", "3.2", "3.75", "3.9")
    )
    shelf = read_shelf(f'[shelf]\nunits = "mm"\n{rods}')
    (group,) = cut_batch([cylinder], shelf).groups
    assert (group.section.thickness_mm, group.near) == (3.75, (("cylinder", 3.5),))
    assert "near enough for what only has to look right: 3.50 cylinder" in fitting_words(group, "mm")
    (lacking,) = cut_batch([replace(cylinder, least_mm=None, most_mm=None)], shelf).lacking
    assert lacking.form == "bar"
    (lacking,) = cut_batch([replace(cylinder, thickness_mm=5.0, least_mm=4.5, most_mm=5.5)], shelf).lacking
    assert "round, from 4.50 to 5.50 will do" in lacking.least("mm")


def test_wire_near_enough_serves_where_it_slides_through_the_hole_drilled_for_it() -> None:
    """A grab iron of 0.012 in a hole of 0.013 takes wire of 0.010, a fifth thinner at most, but none of 0.014.

    That is less than a fifth thicker, and does not slide through the hole; a rod of 0.0086 has none, and takes 0.0095.
    """
    plan = make_plan(read_car(resources.files("carwright.demo").joinpath("gondola.toml").read_bytes()))
    lines, _ = wanted_of_plan(plan.pieces, holes=plan.holes)
    wires = [line for line in lines if line.name in ("hand_brake_rod", "grab_iron_1")]

    def cut(*sizes: str) -> Batch:
        rows = "".join(
            f'[[shelf.wire]]\nmaterial = "phosphor bronze"\ndiameter = "{d}"\nlength = "12"\n' for d in sizes
        )
        return cut_batch(wires, read_shelf(f'[shelf]\nunits = "in"\n{rows}'))

    thick = cut("0.0095", "0.014")
    assert [each.line.name for each in thick.lacking] == ["grab_iron_1"]
    assert [[name for name, _ in group.near] for group in thick.groups] == [["hand_brake_rod"]]
    assert "slides through the holes" in fitting_words(thick.groups[0], "in")
    assert not cut("0.010").lacking


def test_nippers_take_no_kerf() -> None:
    """With a saw's kerf of 1 mm, wire of 300 still gives three pieces of 100, and strip of 350 only three of 116."""
    lines = [Wanted("grab", "brass", 0.4, None, 100, 3), Wanted("sill", "styrene", 1.0, None, 116.5, 3, strip_mm=2.0)]
    batch = cut_batch(lines, read_shelf(SHELF), kerf_mm=1.0)
    counts = {group.section.form: (len(group.plan.layouts), group.kerf_mm) for group in batch.groups}
    assert counts == {"strip": (2, 1.0), "wire": (1, 0.0)}


def test_a_kerf_wider_than_the_stock_is_told_once() -> None:
    """Of four sections that a kerf of 508 mm leaves nothing of, one problem is made, in the shelf's own units."""
    with pytest.raises(InputError) as trouble:
        cut_batch(read_pieces(LIST, units="mm"), read_shelf(SHELF), kerf_mm=508.0, units="in")
    assert [each.value for each in trouble.value.problems] == ["20.000 in (508.00 mm)"]


@pytest.mark.parametrize(
    ("width", "length", "words", "key"),
    [(20, 400, "longer", "length"), (400, 20, "longer", "width"), (200, 250, "wider", "width")],
)
def test_what_does_not_fit_is_named(width: float, length: float, words: str, key: str) -> None:
    """A piece that fits no sheet is told by the side that does not fit, in the shelf's own units first."""
    with pytest.raises(InputError, match=f"piece deck is {words} than any sheet") as trouble:
        cut_batch([Wanted("deck", "styrene", 1.0, width, length, 1)], read_shelf(SHELF), units="mm")
    (problem,) = trouble.value.problems
    assert problem.key == key
    assert problem.value.startswith(f"{length}.00 × {width}.00 mm (")


def test_a_price_that_is_not_known_is_told() -> None:
    """Stock without a price counts as nothing: the sum says what it covers and whose price is missing."""
    no_price = read_shelf(SHELF.replace('cost = "0.45"\n', ""))
    both = cut_batch(read_pieces(LIST, units="mm"), no_price)
    assert cost_words(both) == (
        "Cost 3.50 of what has a price, and no plan costs less than 3.50 of that; strip and wire have no price on the "
        "shelf."
    )
    wire = cut_batch([Wanted("grab", "brass", 0.4, None, 19, 2)], no_price)
    assert cost_words(wire) == "Cost: not known, because wire has no price on the shelf."
    assert proof_words(wire.groups[0]) == "proven the least stock"
    assert cost_words(cut_batch([NARROW], no_price, snapped=True)) == ""


def test_pieces_are_left_out_by_name() -> None:
    """A name with or without its car, as printed or as stored, with * for anything; what means nothing is refused."""
    choice = Choice(("crosstie * flange", "boxcar centre sill top"))
    cut = [name for name in ("crosstie_1_flange", "crosstie_1", "center_sill_top") if choice.cuts(name, car="boxcar")]
    assert cut == ["crosstie_1"]
    assert choice.cuts("center_sill_top", car="gondola")
    assert [name for name in ("rib", "ribs") if Choice((), ("2 x rib",)).cuts(name)] == ["rib"]
    with pytest.raises(InputError, match="Did you mean crosstie 1 flange"):
        Choice(("crosstie flange 1",)).check([("crosstie_1_flange", ""), ("floor", "")])


def test_the_first_sheet_is_filled_for_its_value() -> None:
    """Two sides of 75 x 300 worth 5 fill the sheet of 150 x 300, and steps worth 1 stay out."""
    lines = read_pieces(
        "name,thickness,width,length,quantity,value\nside,0.5,75,300,4,500\nstep,0.5,8,12,50,1\n", units="mm"
    )
    filling = fill_first(lines, read_shelf(SHELF))
    assert (filling.status, filling.value) == ("optimal", 1000)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the list of pieces is empty"),
        ("name,thickness\nx,1\n", "the column length is missing"),
        ("name,thickness,lenght\nx,1,2\n", "Did you mean length"),
        ("thickness,length,quantity\n1,20,1000000\n", "line 2, quantity: the quantity cannot be used"),
        ("thickness,length,quantity\n1,20,-1\n", "the quantity cannot be used"),
        ("thickness,length,quantity\n1,20,two\n", "Write how many pieces there are, in figures"),
        ("thickness,length\n1,0\n", "line 2, length: a size is more than nothing"),
        ('name,thickness,length\n"x,1,2\n', "line 2: the list cannot be read"),
        ("name,thickness,length\nx\n", "line 2, thickness"),
        ("thickness,length\n1,1,5\n", "there are more cells than columns"),
        ("thickness,width,length\n1 x 2,5,5\n", "this is no section"),
        ("thickness,length,value\n1,5,much\n", "this is no amount"),
    ],
)
def test_a_list_with_a_slip_is_refused_with_its_line(text: str, words: str) -> None:
    """Slips of a list are told with line, column and what is accepted."""
    with pytest.raises(InputError, match=words):
        read_pieces(text, file="pieces.csv", units="mm")


def test_strips_of_two_widths_must_be_named() -> None:
    """A thickness that two strips have is no section: the widths are listed, and how to write one."""
    shelf = read_shelf(SHELF + '[[shelf.strip]]\nthickness = "1.0"\nwidth = "3.0"\nlength = "350"\n')
    with pytest.raises(InputError, match="could be cut from stock of several sections"):
        cut_batch([Wanted("sill", "styrene", 1.0, None, 100, 1)], shelf)
