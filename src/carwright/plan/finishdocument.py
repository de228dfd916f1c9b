"""A finish as the JSON that is published, with the working behind every number of it."""

from __future__ import annotations

from carwright.finish.model import Coating, Pass, StripDecision
from carwright.finish.steps import Step, Window
from carwright.finish.windows import at_once
from carwright.plan.document import Document, Node, finding_node
from carwright.plan.finishing import FinishPlan
from carwright.working import Working, leaves

__all__ = ["LABELS_FIRST", "finish_document", "is_estimate"]

LABELS_FIRST = (
    "This is general wording. The label on the tin, its safety sheet and local rules come before anything here."
)


def finish_document(made: FinishPlan) -> Document:
    """Return the finish as the tree that is published; every number in it is a working."""
    return Document(
        {
            "strip": _strip(made.strip),
            "order": list(made.masking.order),
            "times_masked": made.times,
            "surfaces_covered": made.covered,
            "acts": [_pass(each) for each in made.passes],
            "steps": [_step(each) for each in made.steps],
            "paint": [_paint(each) for each in made.coats],
            "conflicts": [
                {
                    "over": each.over,
                    "below": each.below,
                    "families": list(each.families),
                    "verdict": each.verdict,
                    "because": each.because,
                    "mends": [{"kind": mend.kind, "do": mend.words} for mend in each.mends],
                    "source": each.source or None,
                    "barrier": each.cured,
                }
                for each in made.conflicts
            ],
            "conditions": {"celsius": made.conditions.celsius, "humidity_percent": made.conditions.humidity},
            "findings": [finding_node(each) for each in made.findings],
            "cautions": [
                {"name": each.id, "hazard": each.hazard, "controls": list(each.controls), "source": each.source}
                for each in made.cautions
            ],
            "labels_first": LABELS_FIRST,
        }
    )


def _strip(strip: StripDecision) -> dict[str, Node]:
    return {
        "verdict": strip.verdict,
        "because": [
            {"id": each.id, "because": each.because, "strips": each.strips, "source": each.source or None}
            for each in strip.reasons
        ],
        "needs": list(strip.needs),
        "with": None if strip.rung is None or strip.verdict != "strip" else strip.rung.agent,
        "ladder": [
            {
                "name": each.agent,
                "status": each.status,
                "because": each.because,
                "first_check_min": each.first_check,
                "opens_min": each.opens,
                "limit_min": each.limit,
                "source": each.source,
            }
            for each in strip.ladder
        ],
        "warmest_celsius": strip.warmest,
    }


def _pass(made: Pass) -> dict[str, Node]:
    return {
        "name": made.coating.colour,
        "surfaces": list(made.coating.surfaces),
        "masked": list(made.masked),
        "over": list(made.beneath),
        "seal": [{"colour": colour, "along": list(edges)} for colour, edges in made.seals],
        "seal_because": made.seal_because or None,
        "steps": list(made.steps),
    }


def _step(step: Step) -> dict[str, Node]:
    return {
        "name": step.id,
        "id": step.id,
        "car": step.car,
        "act": step.act,
        "title": step.title,
        "hands_min": step.hands,
        "estimate": is_estimate(step),
        "surfaces": list(step.surfaces),
        "facilities": [each.facility for each in step.facilities],
        "colour": step.colour or None,
        "waits": [
            {
                "after": wait.after,
                "windows_min": [_window(each) for each in wait.windows],
                "because": wait.because or None,
                "basis": wait.basis or None,
                "source": wait.source or None,
            }
            for wait in step.waits
        ],
        "rack_min": step.rack,
        "hold_point": step.hold_point or None,
    }


def _window(window: Window) -> list[Node]:
    return [at_once() if window.opens is None else window.opens, window.closes]


def is_estimate(step: Step) -> bool:
    """Return whether a step's hands-on minutes are our estimate and not the owner's own."""
    return step.hands is not None and any(_own_guess(each) for each in leaves(step.hands))


def _own_guess(leaf: Working) -> bool:
    return leaf.key.startswith("finishing.hands_minutes")


def _paint(coat: Coating) -> dict[str, Node]:
    said = coat.paint is not None and coat.known
    return {
        "colour": coat.colour,
        "role": coat.role,
        "paint": None if coat.paint is None else coat.paint.name,
        "family": coat.family.id if coat.known else None,
        "known_by": "label" if said else "common practice" if coat.known else None,
    }
