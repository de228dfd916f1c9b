"""Lengths and money as whole numbers, for solvers that are exact; and the checks that both make sense."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal

from carwright.lengths import Units, number_in
from carwright.problems import InputError, Problem

__all__ = [
    "MOST_PIECES",
    "MOST_STEPS",
    "bad_kerf",
    "bad_length",
    "bad_quantity",
    "bad_stock",
    "bad_time",
    "both_units",
    "too_far_apart",
    "whole_costs",
    "whole_lengths",
]

MOST_PIECES = 20_000
"""More pieces than that in one plan are taken for a slip of the typist."""

MOST_STEPS = 10**14
"""So many steps of money for one piece of stock: twenty thousand of them still add up exactly in 64 bits."""

_PLACES = 6
"""Decimals that an amount of money may have."""

_FINE = 10_000_000
_COARSE = 10_000
_EXACT = 1e-3
"""A length that misses a whole number of 0.1 nm by more than a thousandth of one is no decimal or 1/128 inch."""


def whole_lengths(pieces_mm: Sequence[float], stocks_mm: Sequence[float]) -> tuple[list[int], list[int], float]:
    """Return the lengths as whole numbers of one unit, and that unit in mm.

    Decimals of a millimetre and binary fractions of an inch (to 1/128) are exact, and the unit is their greatest common
    measure. Otherwise the unit is 0.1 µm, a piece is rounded down and a stock up: an exact fit such as three thirds of
    an inch stays one, and what is given away is below the width of any line.

    Args:
        pieces_mm: lengths of pieces, and the kerf.
        stocks_mm: lengths of stocks.
    """
    fine = [value * _FINE for value in (*pieces_mm, *stocks_mm)]
    whole = [round(value) for value in fine]
    if all(abs(value - near) <= max(_EXACT, abs(value) * 1e-13) for value, near in zip(fine, whole, strict=True)):
        unit = math.gcd(*whole) or 1
        whole = [value // unit for value in whole]
        return whole[: len(pieces_mm)], whole[len(pieces_mm) :], unit / _FINE
    down = [math.floor(value * _COARSE + _EXACT) for value in pieces_mm]
    up = [math.ceil(value * _COARSE - _EXACT) for value in stocks_mm]
    return down, up, 1 / _COARSE


def whole_costs(costs: Iterable[Decimal]) -> tuple[list[int], Decimal]:
    """Return costs as whole numbers of one unit of money, and that unit.

    Raises:
        InputError: their sum over the most pieces would not be exact, because they lie too far apart.
    """
    given = list(costs)
    places = max((-int(cost.as_tuple().exponent) for cost in given), default=0)
    places = max(0, places)
    scale = Decimal(10) ** places
    whole = [int(cost * scale) for cost in given]
    unit = math.gcd(*whole) or 1
    if max(whole, default=0) // unit > MOST_STEPS:
        raise too_far_apart(f"{min(each for each in given if each)} and {max(given)}")
    return [value // unit for value in whole], Decimal(unit).scaleb(-places)


def too_far_apart(found: str) -> InputError:
    """Return the problem of amounts whose sums would not be exact."""
    return InputError(
        Problem(
            "the amounts lie too far apart to be added exactly",
            value=found,
            accepted=f"up to {MOST_STEPS:.0e} of the smallest step",
            mend="Round them.",
            key="cost",
        )
    )


def both_units(*sizes_mm: float, units: Units = "mm") -> str:
    """Return sizes in the units of the shelf and, in brackets, in the others.

    Args:
        sizes_mm: the sizes; of a sheet its length first.
        units: which stand first.

    Example:
        >>> both_units(304.8, 152.4), both_units(0.762, units="in")
        ('304.80 × 152.40 mm (12.000 × 6.000 in)', '0.030 in (0.76 mm)')
    """
    mm = f"{' × '.join(number_in(each, 'mm') for each in sizes_mm)} mm"
    inches = f"{' × '.join(number_in(each, 'in') for each in sizes_mm)} in"
    return f"{inches} ({mm})" if units == "in" else f"{mm} ({inches})"


def bad_length(what: str, value_mm: float, key: str, *, zero: bool = False) -> list[Problem]:
    """Return the problem of a length that is not a positive number (or 0, where ``zero`` is allowed)."""
    if math.isfinite(value_mm) and (value_mm > 0 or (zero and value_mm == 0)) and value_mm <= 1e6:
        return []
    least = "0" if zero else "more than 0"
    return [
        Problem(
            f"{what} cannot be used",
            value=f"{value_mm:g} mm",
            accepted=f"{least} to 1000000 mm",
            mend="Measure it again.",
            key=key,
        )
    ]


def bad_quantity(what: str, value: int, key: str) -> list[Problem]:
    """Return the problem of a quantity below one or above every sense."""
    if 1 <= value <= MOST_PIECES:
        return []
    return [
        Problem(
            f"the quantity of {what} cannot be used",
            value=str(value),
            accepted=f"1 to {MOST_PIECES}",
            mend="Leave the line out where none is wanted; make several plans where there are really so many.",
            key=key,
        )
    ]


def bad_stock(name: str, count: int | None, cost: Decimal | None) -> list[Problem]:
    """Return the problems of a stock's count and cost."""
    problems = []
    if count is not None and count < 0:
        problems.append(
            Problem(
                f"the count of stock {name} is negative",
                value=str(count),
                accepted='0 or more, or "any"',
                mend="Count what lies on the shelf.",
                key="count",
            )
        )
    if cost is not None and not (cost.is_finite() and 0 <= cost <= 10**9 and cost == round(cost, _PLACES)):
        problems.append(
            Problem(
                f"the cost of stock {name} cannot be used",
                value=str(cost),
                accepted=f"0 to 1000000000, with up to {_PLACES} decimals",
                mend="Give the price of one piece of stock.",
                key="cost",
            )
        )
    return problems


def bad_kerf(kerf_mm: float, sides_mm: Sequence[float], *, units: Units = "mm") -> list[Problem]:
    """Return the problem of a kerf that leaves nothing of any stock."""
    longest = max(sides_mm, default=0.0)
    if not sides_mm or kerf_mm < longest:
        return []
    return [
        Problem(
            "the kerf is wider than the stock",
            value=both_units(kerf_mm, units=units),
            accepted=f"less than {both_units(longest, units=units)}",
            mend="A razor saw cuts about 0.25 to 0.4 mm.",
            key="kerf",
        )
    ]


def bad_time(time: float) -> list[Problem]:
    """Return the problem of an allowance of work that is not more than nothing."""
    if time > 0:
        return []
    return [
        Problem(
            "the work allowed must be more than nothing",
            value=f"{time:g}",
            accepted="more than 0",
            mend="10 is about ten seconds.",
            key="time",
        )
    ]
