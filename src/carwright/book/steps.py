"""The whole order of work of a car, derived from its plan."""

from __future__ import annotations

from carwright.book.bodywork import bodywork
from carwright.book.framework import framework
from carwright.book.order import Order, Step
from carwright.book.studied import Studied

__all__ = ["steps_of"]


def steps_of(studied: Studied) -> tuple[Step, ...]:
    """Return the order of work for a car, as far as it can be planned."""
    order = Order()
    bodywork(studied, order)
    framework(studied, order)
    return tuple(order.done)
