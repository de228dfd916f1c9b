"""Where spray goes: the surfaces of a car, and which of them it reaches while another one is painted.

The model: while a surface is sprayed on the car, spray reaches what shares an edge with it and nothing else. A surface
that is painted off the car reaches none and is reached from none. "The rest" shares an edge with all others.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from carwright.car.scheme import REST
from carwright.reference.finishing import adjoining

__all__ = ["reaches"]


def reaches(sprayed: Iterable[str], others: Iterable[str], apart: Collection[str] = ("trucks",)) -> tuple[str, ...]:
    """Return which of some other surfaces spray reaches.

    Args:
        sprayed: what is painted.
        others: what is looked at, in the order of the answer; what is sprayed itself is left out.
        apart: what is painted off the car.

    Example:
        >>> reaches(["roof"], ["sides", "underframe", "trucks"])
        ('sides',)
    """
    near = [each for each in sprayed if each not in apart]
    return tuple(
        each for each in others if each not in apart and each not in near and any(_touch(each, one) for one in near)
    )


def _touch(one: str, other: str) -> bool:
    if REST in (one, other):
        return True
    return other in adjoining().get(one, ())
