"""The stored drawings: which they are, and how they are made anew after a change that was meant.

    python -m tests.golden.drawings

They are regression pins: they show that a drawing did not change unseen, and prove nothing about its truth.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from tests.draw.cars import BOXCAR, SHELL, plan_of
from tests.draw.test_finish_views import PARTED

from carwright.draw.dxf import plain_dxf
from carwright.draw.finishviews import covering_view
from carwright.draw.svg import svg
from carwright.draw.views import drawing_of
from carwright.finish.covering import coverings

__all__ = ["FOLDER", "made"]

FOLDER: Final = Path(__file__).parent


def made() -> Mapping[str, bytes]:
    """Return every stored drawing as the program makes it now, by file name."""
    boxcar, shell = plan_of(BOXCAR), plan_of(SHELL)
    named = ("sides", "details", "roof", "trucks")
    return {
        "boxcar-plan.svg": svg(drawing_of(boxcar, "plan")).encode(),
        "boxcar-masks.svg": svg(covering_view(boxcar, coverings(PARTED, named)[2], named)).encode(),
        "boxcar-ride.svg": svg(drawing_of(boxcar, "ride")).encode(),
        "boxcar-template-cut.dxf": plain_dxf(drawing_of(boxcar, "template")),
        "shell-template.svg": svg(drawing_of(shell, "template")).encode(),
    }


if __name__ == "__main__":
    for name, data in made().items():
        (FOLDER / name).write_bytes(data)
