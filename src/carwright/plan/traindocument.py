"""A study of a train as the JSON that is published, with the working behind every number."""

from __future__ import annotations

from carwright.plan.document import Document, finding_node
from carwright.plan.trainmodel import TrainAnswer

__all__ = ["train_document"]


def train_document(answer: TrainAnswer) -> Document:
    """Return the study as the tree that is published; every number in it is a working."""
    consist = answer.consist
    return Document(
        {
            "train": {"name": consist.name, "scale": consist.scale, "standard": consist.standard},
            "pushed": answer.pushed,
            "track": answer.track or None,
            "radius_mm": answer.radius,
            "grade_percent": answer.grade,
            "drag_n": answer.drag,
            "mass_g": answer.mass,
            "locomotive_pull_n": answer.available,
            "steepest_grade_percent": answer.steepest,
            "cars": [
                {
                    "name": car.name,
                    "mass_g": car.kind.mass,
                    "rolling_percent": car.kind.rolling,
                    "drag_n": car.kind.drag,
                    "pull_n": car.pull,
                    "coupler_angle_deg": {"a": car.angles.a, "b": car.angles.b},
                    "wheel_lift_pull_n": car.lift,
                    "wheel_lift_margin_n": car.lift_margin,
                    "tip_pull_n": car.tip,
                    "tip_margin_n": car.margin,
                    "oz_per_in": car.ounces,
                    "needs": list(car.needs),
                }
                for car in answer.cars
            ],
            "findings": [finding_node(finding) for finding in answer.findings],
        }
    )
