"""What every sheet of a plan has in common: its head, its scale in words, the outline with the plan's heights."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from carwright.car.model import Car, Ends
from carwright.draw.bars import Correction
from carwright.draw.blocks import Block, Page, Paper
from carwright.draw.carshape import CarShape, car_shape
from carwright.draw.model import Drawing
from carwright.draw.pdf import field_mm
from carwright.draw.strokes import bounds, ink
from carwright.plan.model import Plan

__all__ = ["SCALES", "fits", "page", "plan_shape", "room", "said_scale", "who_and_what"]

SCALES: Final = (5.0, 4.0, 3.0, 2.0, 1.0, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 8, 1 / 10)
"""Scales of drawings, the greatest first."""


def plan_shape(plan: Plan) -> CarShape:
    """Return the car's outline with the heights that the plan found."""
    a, b = plan.ride.ends.a, plan.ride.ends.b
    return car_shape(
        plan.car,
        floor_underside=Ends(a.floor_underside, b.floor_underside),
        coupler_height=Ends(a.coupler_height, b.coupler_height),
    )


def who_and_what(car: Car) -> tuple[str, str]:
    """Return the two lines at the head of a sheet: the car's name, and its scale and units."""
    ratio = f", 1 : {car.info.ratio.value:g}" if car.info.ratio is not None else ""
    units = "inches" if car.info.units == "in" else "millimetres"
    return car.info.name or "Car without a name", f"{car.info.scale}{ratio}, lengths in {units}"


def said_scale(scale: float) -> str:
    """Return a scale in words: ``true size``, ``3 : 1``, ``1 : 2``."""
    if math.isclose(scale, 1.0):
        return "true size"
    return f"{scale:.0f} : 1" if scale > 1.0 else f"1 : {1.0 / scale:.0f}"


def page(
    plan: Plan, title: str, blocks: Sequence[Block], *, landscape: bool = False, bars: bool = True, foot: str = ""
) -> Page:
    """Return a sheet with the car's head on it."""
    who, what = who_and_what(plan.car)
    return Page(title, who, what, tuple(blocks), landscape, bars, foot)


def fits(drawing: Drawing, width_mm: float, height_mm: float) -> bool:
    """Return whether a drawing fits into a rectangle of paper."""
    box = bounds(ink(drawing))
    return box.width_mm + 1.0 <= width_mm and box.height_mm + 1.0 <= height_mm


def room(paper: Paper, correction: Correction, *, landscape: bool = True, bars: bool = True) -> tuple[float, float]:
    """Return the room on a sheet for drawings that the correction may enlarge, mm."""
    wide, high = field_mm(paper, landscape=landscape, bars=bars)
    mine = correction.on(landscape=landscape)
    return wide / max(mine.x, 1.0), high / max(mine.y, 1.0)
