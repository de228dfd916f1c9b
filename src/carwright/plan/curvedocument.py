"""A study of a car on a curve as the JSON that is published, with the working behind every number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from carwright.plan.curvemodel import CurveAnswer
from carwright.plan.document import Document, Node, finding_node, steady_node
from carwright.working import Working

__all__ = ["curve_document", "worst_of"]

_FIGURES: Final[Mapping[str, tuple[str, ...]]] = {
    "throw_in_mm": ("throw_in",),
    "throw_out_mm": ("throw_out",),
    "throw_in_bare_mm": ("throw_in_bare",),
    "throw_out_bare_mm": ("throw_out_bare",),
    "truck_angle_deg": ("truck_a", "truck_b"),
    "coupler_angle_deg": ("coupler_front", "coupler_rear"),
    "body_gap_mm": ("gap",),
    "body_gap_pushed_mm": ("gap_pushed",),
}
"""Published name to the figures of the sweep, of which the worst is told: the least gap, the greatest of the rest."""


def worst_of(answer: CurveAnswer, figures: Sequence[str]) -> tuple[Working | None, Working | None]:
    """Return the worst of some figures along the path, and where it is; None where it is not known."""
    known = [name for name in figures if name in answer.worst]
    if not known:
        return None, None
    least = figures[0].startswith("gap")
    name = (min if least else max)(known, key=lambda each: answer.worst[each].value)
    return answer.worst[name], answer.places.get(name)


def curve_document(answer: CurveAnswer) -> Document:
    """Return the study as the tree that is published; every number in it is a working."""
    worst: dict[str, Node] = {}
    for name, figures in _FIGURES.items():
        value, place = worst_of(answer, figures)
        worst[name] = value
        worst[f"{name.rpartition('_')[0]}_at_mm"] = place
    return Document(
        {
            "car": {"name": answer.plan.car.info.name, "scale": answer.plan.car.info.scale, "with": answer.neighbour},
            "track": answer.track,
            "radius_mm": answer.radius,
            "steady": steady_node(answer.steady),
            "worst": worst,
            "envelope": [
                {"at_mm": row.at, "left_mm": row.left, "right_mm": row.right}
                for row in (answer.alone.envelope() if answer.alone is not None else ())
            ],
            "limits": [
                {
                    "what": limit.what,
                    "part": limit.part,
                    "bites": limit.bites,
                    "radius_mm": limit.radius,
                    "at_deg": limit.at,
                    "needs": list(limit.needs),
                }
                for limit in answer.limits
            ],
            "verdicts": {
                each.name: {"verdict": each.verdict, "least_radius_mm": each.least_radius, "part": each.part or None}
                for each in answer.verdicts
            },
            "findings": [finding_node(finding) for finding in answer.findings],
        }
    )
