"""Missing data never stops what can be drawn."""

from __future__ import annotations

import pytest
from tests.draw.cars import BOXCAR, plan_of

from carwright.car.read import read_car
from carwright.draw.dxf import plain_dxf, reading_dxf
from carwright.draw.pdf import pdf
from carwright.draw.sheet import measuring_pages
from carwright.draw.svg import svg
from carwright.draw.views import VIEWS, drawing_of, pages_of

_LINES = BOXCAR.strip().splitlines()
_VALUES = [place for place, line in enumerate(_LINES) if "=" in line and not line.startswith("side")]
"""Every line with a value but the one without which a lug says nothing, which the reader refuses."""


@pytest.mark.parametrize("place", _VALUES, ids=[_LINES[place].split("=")[0].strip() for place in _VALUES])
def test_any_one_value_may_be_missing(place: int) -> None:
    """With any one line of the car file taken out, every view is still drawn in every format."""
    text = "\n".join(line for number, line in enumerate(_LINES) if number != place)
    plan = plan_of(text)
    for view in VIEWS:
        drawing = drawing_of(plan, view)
        assert svg(drawing)
        assert plain_dxf(drawing)
    assert reading_dxf(drawing_of(plan, "plan"))
    assert pdf(pages_of(plan, VIEWS), title="t")
    assert pdf(measuring_pages(read_car(text)), title="s")


@pytest.mark.parametrize("mount", ["body", "truck", "pocket"])
@pytest.mark.parametrize("scale", ["HO", "N", "O"])
def test_every_mount_in_every_scale_is_drawn(mount: str, scale: str) -> None:
    """Couplers on the body, on the truck and in a pocket are drawn, in scales from N to O."""
    sizes = {"HO": 1.0, "N": 87.1 / 160, "O": 87.1 / 48}[scale]
    height = f"{0.391 * sizes:.3f}"
    lines = [
        f"[car]\nname = 'c'\nscale = '{scale}'",
        f"[body]\nlength = '{6.1 * sizes:.3f}'\nwidth = '{1.25 * sizes:.3f}'",
        f"inside_length = '{5.9 * sizes:.3f}'\ninside_width = '{1.15 * sizes:.3f}'",
        f"lip_depth = '{0.188 * sizes:.3f}'\nend_notch = '{0.142 * sizes:.3f}'",
        f"[trucks]\ncenters = '{4.5 * sizes:.3f}'\nseat_height = '{0.284 * sizes:.3f}'",
        f"[coupler]\nmount = '{mount}'\npivot_inset = '{0.25 * sizes:.3f}'\nlength = '{0.39 * sizes:.3f}'",
        f"height = '{height}'" if mount == "truck" else f"drop = '{0.062 * sizes:.3f}'",
        "[underframe]\nbolster = 'build'",
    ]
    plan = plan_of("\n".join(lines))
    for view in VIEWS:
        assert svg(drawing_of(plan, view))
    assert pdf(pages_of(plan, VIEWS), title="t")


@pytest.mark.parametrize("kind", ["XM", "FM", "GB", "HM", "TM", "NE", "other"])
def test_every_kind_of_car_is_drawn(kind: str) -> None:
    """Side and end of every kind are drawn; a flat car is low and without a roof."""
    plan = plan_of(BOXCAR.replace('type = "XM"', f'type = "{kind}"').replace('height = "1.45"', ""))
    for view in ("side", "end"):
        assert svg(drawing_of(plan, view))  # type: ignore[arg-type]  # both are views
