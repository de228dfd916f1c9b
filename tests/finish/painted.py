"""Cars with a finish, for the tests of paint."""

from __future__ import annotations

from carwright.car.model import Car
from carwright.car.read import read_car
from carwright.finish.steps import Step
from carwright.plan.finishing import FinishPlan, finish_plan

SCHEME = "sides grey, roof and ends black"

KNOWN = """
old_coat = "even"
old_colour = "grey"
old_family = "lacquer"
glue_to = []
glued = []
"""
"""Old paint that may stay on."""


def car_of(finish: str, paints: dict[str, str] | None = None, more: str = "") -> Car:
    """Return a car with these lines in [finish], paints by colour and family, and more lines of a file behind them."""
    rows = "".join(
        f'[[paint]]\ncolour = "{colour}"\nfamily = "{family}"\n' for colour, family in (paints or {}).items()
    )
    scheme = "" if "scheme =" in finish else f'scheme = "{SCHEME}"\n'
    return read_car(f'[car]\nname = "test"\ntype = "XM"\n[finish]\n{scheme}{finish}\n{rows}{more}')


def plan_of(finish: str = KNOWN, paints: dict[str, str] | None = None, more: str = "", **asked: bool) -> FinishPlan:
    """Return the finish of such a car."""
    return finish_plan(car_of(finish, paints, more), **asked)


def painted(grey: str, black: str, *, clear: str = "lacquer", finish: str = KNOWN) -> FinishPlan:
    """Return the finish of a car in grey and black of these families, under clear coats of a third."""
    return plan_of(finish, {"grey": grey, "black": black, "gloss": clear, "flat": clear})


def by_id(made: FinishPlan) -> dict[str, Step]:
    """Return the steps by their ids."""
    return {each.id: each for each in made.steps}


def verdicts(made: FinishPlan) -> dict[str, str]:
    """Return each finding's verdict by its check."""
    return {each.check: each.verdict for each in made.findings}
