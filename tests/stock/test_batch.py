"""A batch from lines and shelf to plans: which stock, what is laminated, what is lacking, and stock conserved."""

from __future__ import annotations

from dataclasses import replace

import pytest

from carwright.car.read import read_shelf
from carwright.problems import InputError
from carwright.stock import LengthPlan, SheetPlan
from carwright.stock.batch import cut_batch, fill_first
from carwright.stock.demand import Wanted
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
    assert [each.least for each in batch.lacking] == [
        "styrene sheet 1.27 mm (0.05 in) thick, 10 x 12 mm (0.394 x 0.472 in) or larger"
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
