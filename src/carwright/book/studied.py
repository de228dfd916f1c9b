"""What the book asks of a plan once: the car on its curve, its ballast and balance, and all that fails together."""

from __future__ import annotations

from dataclasses import dataclass

from carwright.findings import VERDICT_ORDER, Finding
from carwright.plan.curvemodel import CurveAnswer
from carwright.plan.curves import curve_study
from carwright.plan.model import Plan
from carwright.plan.weighing import weigh_plan
from carwright.plan.weighmodel import WeighAnswer
from carwright.problems import InputError, Problem

__all__ = ["Studied", "study"]


@dataclass(frozen=True, slots=True, eq=False)
class Studied:
    """A plan with its two studies.

    Attributes:
        plan: the plan.
        curve: the car on its sharpest curve, without the standard's neighbours; None where it has no curve or cannot
            be placed on it.
        troubles: why it cannot be placed.
        weight: its ballast, balance and pulls on that curve.
        findings: the plan's findings with what fails in the studies, the worst first.
    """

    plan: Plan
    curve: CurveAnswer | None
    troubles: tuple[Problem, ...]
    weight: WeighAnswer
    findings: tuple[Finding, ...]


def study(plan: Plan) -> Studied:
    """Return a plan with its studies."""
    curve: CurveAnswer | None = None
    troubles: tuple[Problem, ...] = ()
    if plan.car.info.radius is not None:
        try:
            curve = curve_study(plan.car, brief=True)
        except InputError as error:
            troubles = error.problems
    weight = weigh_plan(plan, curved=True)
    known = {finding.check: finding for finding in plan.findings}
    for finding in (*(curve.findings if curve is not None else ()), *weight.findings):
        if finding.verdict == "fail":
            known[finding.check] = finding
    findings = tuple(sorted(known.values(), key=lambda each: VERDICT_ORDER.index(each.verdict)))
    return Studied(plan, curve, troubles, weight, findings)
