"""A study of a car's weight as the JSON that is published, with the working behind every number of it."""

from __future__ import annotations

from collections.abc import Mapping

from carwright.plan.document import Document, Node, finding_node
from carwright.plan.weighmodel import Trailing, WeighAnswer
from carwright.weight.ballast import Placed
from carwright.weight.cavities import Cavity
from carwright.weight.standing import WheelLoads

__all__ = ["weigh_document"]


def weigh_document(answer: WeighAnswer) -> Document:
    """Return the study as the tree that is published; every number in it is a working."""
    sums, middle, curved, loads = answer.plan.weight, answer.centre, answer.curved, answer.loads
    pulls, angles = curved.pulls, curved.angles
    return Document(
        {
            "car": {"name": answer.plan.car.info.name, "scale": answer.plan.car.info.scale},
            "rule": sums.rule,
            "length_used": sums.length_used,
            "target_g": sums.target,
            "low_g": sums.low,
            "high_g": sums.high,
            "present_g": sums.present,
            "to_fit_g": sums.to_fit,
            "to_add_g": sums.to_add,
            "ballast_g": answer.ballast,
            "short_g": answer.short,
            "finished_g": answer.whole,
            "ballast": [_placed(each) for each in answer.placed],
            "proven": answer.proven,
            "cavities": [_cavity(each) for each in answer.cavities],
            "center_of_gravity_mm": {"x": middle.x, "y": middle.y, "z": middle.z},
            "center_of_gravity_doubt_mm": {"x": middle.x_doubt, "y": middle.y_doubt, "z": middle.z_doubt},
            "truck_load_g": {"a": None if loads is None else loads.a, "b": None if loads is None else loads.b},
            "wheel_load_g": {"solid": _wheels(answer.solid), "as_set": _wheels(answer.rocking)},
            "lean_deg": answer.lean,
            "curve": curved.where or None,
            "radius_mm": curved.radius,
            "coupler_angle_deg": {"a": None if angles is None else angles.a, "b": None if angles is None else angles.b},
            "wheel_lift_pull_n": None if pulls is None else pulls.lift,
            "tip_pull_n": None if pulls is None else pulls.tip,
            "trailing": _trailing(answer.trailing),
            "findings": [finding_node(finding) for finding in answer.findings],
        }
    )


def _placed(placed: Placed) -> dict[str, Node]:
    return {
        "cavity": placed.cavity.name,
        "where": placed.cavity.where,
        "material": placed.stock.material,
        "stock": placed.stock.name,
        "on_hand": placed.stock.on_hand,
        "mass_g": placed.mass,
        "length_mm": placed.length,
        "width_mm": placed.width,
        "thickness_mm": placed.thickness,
        "count": placed.count,
        "x_mm": placed.x,
        "y_mm": placed.y,
        "z_mm": placed.z,
        "closes": placed.cavity.closes or None,
    }


def _cavity(cavity: Cavity) -> dict[str, Node]:
    return {
        "name": cavity.name,
        "where": cavity.where,
        "pair": cavity.pair,
        "hung": cavity.hung,
        "x_mm": cavity.x,
        "y_mm": cavity.y,
        "length_mm": cavity.length,
        "width_mm": cavity.width,
        "height_mm": cavity.height,
        "base_mm": cavity.base,
        "closes": cavity.closes or None,
    }


def _wheels(loads: WheelLoads | None) -> Mapping[str, Node] | None:
    if loads is None:
        return None
    return {"a_left": loads.a_left, "a_right": loads.a_right, "b_left": loads.b_left, "b_right": loads.b_right}


def _trailing(hanging: Trailing | None) -> Mapping[str, Node] | None:
    if hanging is None:
        return None
    return {
        "mass_g": hanging.mass,
        "rolling_percent": hanging.rolling,
        "grade_percent": hanging.grade,
        "drag_n": hanging.drag,
        "cars_pulled": hanging.pulled,
        "push_lift_n": hanging.push_lift,
        "cars_pushed": hanging.pushed,
    }
