"""The studies of one car, as they are made in a process of their own: on its sharpest curve, and its ballast.

Everything heavy is imported when this module is: a process that is made from one that has it begins at once.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Final

from carwright.car.read import read_car
from carwright.car.write import Written
from carwright.draw.curvecharts import angle_chart
from carwright.draw.curveviews import pair_view
from carwright.draw.heads import plan_shape
from carwright.draw.model import Drawing
from carwright.draw.svg import page_svg
from carwright.draw.weightviews import room_side
from carwright.plan import Plan, make_plan
from carwright.plan.curves import curve_study
from carwright.plan.weighing import weigh_plan
from carwright.problems import InputError
from carwright.web.deskview import StudyPart, studied_of
from carwright.web.planning import shelf_of

__all__ = ["Job", "at_work", "study"]

_NICE: Final = 15
"""How far a study gives way to whoever changes a number; further, and it would never be made on a busy machine."""

_WIDE_MM: Final = 128.0
_PAIR_MM: Final = 156.0
"""Drawn no wider, letters of 3 mm are 10 px at the least in the middle of the narrowest page of three columns."""


@dataclass(frozen=True, slots=True)
class Job:
    """What is to be studied: a car file, what was changed in it, the shop's shelf."""

    document: bytes
    changes: Mapping[str, Written]
    shelf: bytes


def at_work(pipe: Connection, job: Job, spare: bool = False) -> None:
    """Make the studies and send them; this is what the process does.

    Args:
        pipe: where they are sent.
        job: what is studied.
        spare: whether to use only what time the machine has to spare, where it can tell: then whatever else wakes has
            the processor at once.
    """
    with suppress(AttributeError, OSError):
        os.nice(_NICE)
        if spare and sys.platform == "linux":
            os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))
    made = study(job)
    with suppress(BrokenPipeError):  # nobody waits for it any more
        pipe.send(made)
    pipe.close()


def study(job: Job) -> tuple[StudyPart, ...]:
    """Return the studies of a car."""
    plan = make_plan(read_car(job.document, shelf=shelf_of(job.shelf), changes=job.changes))
    return _balance(plan), _curve(plan)


def _curve(plan: Plan) -> StudyPart:
    name, title = "curve", "On its sharpest curve"
    if plan.car.info.radius is None:
        return StudyPart(name, title, (), (), "Needs Z12, the sharpest curve that it must go round.")
    try:
        answer = curve_study(plan.car)
    except InputError as error:
        return StudyPart(name, title, (), (), str(error.problems[0]))
    drawn = (angle_chart(answer, wide_mm=_WIDE_MM), pair_view(answer, wide_mm=_PAIR_MM))
    return StudyPart(name, title, _svg(drawn), studied_of(answer.findings, plan.car.info.units))


def _balance(plan: Plan) -> StudyPart:
    name, title = "ballast", "Ballast and balance"
    try:
        answer = weigh_plan(plan, curved=True)
    except InputError as error:
        return StudyPart(name, title, (), (), str(error.problems[0]))
    drawn = (room_side(answer, plan_shape(plan), width_mm=_WIDE_MM, height_mm=70.0),) if answer.ballast else ()
    return StudyPart(name, title, _svg(drawn), studied_of(answer.findings, plan.car.info.units))


def _svg(drawings: tuple[Drawing | None, ...]) -> tuple[str, ...]:
    return tuple(page_svg(each, classes="dwg chart") for each in drawings if each is not None)
