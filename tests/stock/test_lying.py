"""A sheet turned for a diagram is the same sheet: nothing is lost, nothing mirrored, nothing moved against the rest."""

from __future__ import annotations

from carwright.stock.lying import lying
from carwright.stock.records import Area, PlacedSheet, SheetCut, SheetLayout

LAYOUT = SheetLayout(
    stock="sheet",
    width_mm=100.0,
    length_mm=300.0,
    pieces=(PlacedSheet("a", Area(0.0, 0.0, 40.0, 200.0), turned=False),),
    cuts=(SheetCut(1, 40.0, 0.0, 40.0, 300.0), SheetCut(2, 0.0, 200.0, 40.0, 200.0)),
    remainders=(Area(40.0, 0.0, 60.0, 300.0), Area(0.0, 200.0, 40.0, 100.0)),
    kept=1,
)


def test_the_longer_side_lies_across() -> None:
    """By hand: turned clockwise, the lower left corner goes to the upper left, and 40 from it stays 40 from it."""
    turned = lying(LAYOUT)
    assert (turned.width_mm, turned.length_mm) == (300.0, 100.0)
    assert turned.pieces[0].area == Area(0.0, 60.0, 200.0, 40.0)
    assert turned.cuts[0] == SheetCut(1, 0.0, 60.0, 300.0, 60.0)
    assert turned.cuts[1] == SheetCut(2, 200.0, 100.0, 200.0, 60.0)
    assert turned.remainders == (Area(0.0, 0.0, 300.0, 60.0), Area(200.0, 60.0, 100.0, 40.0))


def test_a_sheet_that_lies_already_stays() -> None:
    """A turned sheet is not turned again, and its areas are those of before."""
    turned = lying(LAYOUT)
    assert lying(turned) is turned
    areas = [each.width_mm * each.length_mm for each in turned.remainders]
    assert areas == [each.width_mm * each.length_mm for each in LAYOUT.remainders]
