"""The compiled loops are made once, before the first test that needs them, so that no test's time is the compiler's."""

from __future__ import annotations

from decimal import Decimal

import pytest

from carwright.stock import LengthPiece, LengthStock, SheetPiece, SheetStock, cut_lengths, cut_sheets, fill_sheet


@pytest.fixture(scope="session", autouse=True)
def compiled() -> None:
    """Compile what is not in the compiler's cache yet, and import the solvers."""
    cut_lengths([LengthPiece("a", 1380, 22), LengthPiece("b", 1520, 25)], [LengthStock("s", 5600)])
    cut_sheets([SheetPiece("a", 5, 4, 30)], [SheetStock("s", 15, 10)])
    fill_sheet([SheetPiece("a", 5, 4, 3, value=Decimal(3))], SheetStock("s", 15, 10))
