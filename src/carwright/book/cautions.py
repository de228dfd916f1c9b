"""What can hurt at the bench, said beside the step where it can, and where each caution comes from."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final, Literal

from carwright.reference import Entry, entries

__all__ = ["CAUTIONS", "LABELS_FIRST", "Caution", "caution_entries"]

Caution = Literal["", "knife", "cement", "superglue", "drill", "dust", "lead", "spray", "strip", "wire"]
"""Kinds of harm; "" for none."""

LABELS_FIRST: Final = (
    "Labels and local rules come first: read the label and the safety sheet of every cement, glue, paint and metal "
    "that you use, and follow the rules of where you are. What stands here is a reminder, not advice on your health. "
    "Work in good light, with eye protection, and keep children and food away from the bench."
)

CAUTIONS: Final = MappingProxyType(
    {
        "": "",
        "knife": "Blades slip and tips snap: a fresh blade, many light strokes, a steel rule, fingers behind the edge.",
        "cement": "Solvent cement burns, and its vapour harms: fresh air, no flame or spark, lid on, small amounts.",
        "superglue": (
            "CA glue bonds skin and eyes in seconds; its accelerator is flammable, makes it boil where it lies in a "
            "pool, and may craze styrene: eye protection, fresh air, a trace only, tried on scrap. Stuck skin is "
            "soaked in warm soapy water, never pulled; an eye is for a doctor."
        ),
        "drill": "Fine drills snap and fly: eye protection, the work clamped on wood, turned by hand, never held.",
        "dust": "Sand wet and wear a mask: dust of styrene, of filler and of old paint, which may hold lead, harms.",
        "lead": (
            "Lead harms, children and pregnancy most: no sanding or filing, wash hands at once, wipe the bench wet, "
            "seal the weight in paint. Steel or tungsten does it too."
        ),
        "spray": (
            "Spray burns and its mist harms: to the outdoors or a proper booth, no flame, a mask for organic vapour. "
            "Two-part urethane is not for the hobby bench."
        ),
        "strip": (
            "Strippers harm eyes, skin and lungs, and many burn: gloves that stand them, eye protection, fresh air, no "
            "flame, no warmer than the step says. Old paint may hold lead: off it comes wet, never sanded dry."
        ),
        "wire": "Clipped ends of wire fly: cover the end as you clip, eye protection on.",
    }
)
"""Each caution as it stands beside a step; the sources stand in the appendix."""


def caution_entries() -> tuple[tuple[str, str, str, str], ...]:
    """Return what the data knows to hurt: its name, the hazard, the controls, and the source in words."""
    found: dict[str, dict[str, Entry]] = {}
    for each in entries("caution"):
        found.setdefault(each.path[2], {})[each.path[-1]] = each
    return tuple(
        (
            name.replace("_", " "),
            kinds["hazard"].words if "hazard" in kinds else "",
            kinds["controls"].words if "controls" in kinds else "",
            str(next(iter(kinds.values())).citation),
        )
        for name, kinds in found.items()
    )
