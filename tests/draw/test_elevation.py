"""A car's small elevation: it shows the whole car, wheels and all, as it is told by a list of cars."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest
from tests.web.conftest import DEMO

from carwright.car.read import read_car
from carwright.draw.elevation import elevation_svg
from carwright.plan import make_plan


@pytest.mark.parametrize("name", ["boxcar", "n_car", "h0_car", "flat_car"])
def test_wheels_are_whole(name: str) -> None:
    """Four wheels that were measured are drawn without a gap, and no pen's edge is cut off by the picture's."""
    root = ET.fromstring(elevation_svg(make_plan(read_car((DEMO / f"{name}.toml").read_bytes()))))  # noqa: S314 - ours
    left, top, width, height = (float(each) for each in root.attrib["viewBox"].split())
    wheels = []
    for group in root:
        pen = float(group.attrib["stroke-width"]) / 2
        for each in group:
            if each.tag.endswith("circle"):
                x, y, out = (float(each.attrib[key]) for key in ("cx", "cy", "r"))
                assert left <= x - out - pen
                assert x + out + pen <= left + width
                assert top <= y - out - pen
                assert y + out + pen <= top + height
                assert "stroke-dasharray" not in {**group.attrib, **each.attrib}
                wheels.append(out)
    assert len(wheels) == 8  # each with the boss of its axle
