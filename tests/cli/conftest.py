"""Cars for the commands' tests, in folders of their own; every number in them is invented."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

UNLIKE = """# kept: this remark
[car]
name = "Unlike trucks"
units = "in"
radius = "24 in"

[body]
length = "6 1/8"      # over the ends
width = "1.250"
inside_length = "5.905"
inside_width = "1.150"
lip_depth = "0.190"
end_notch = "0.130"

[trucks]
centers = "4 1/2"
seat_height = "0.284"
wheel_diameter = "33 in scale"
wheels = "33 in scale"
washers = ["0.010", "0.010"]
mass = "8 g"

[trucks.a]
wheels = "36 in scale"

[coupler]
drop = "0.062"
pivot_inset = "0.25"
length = "0.39"
shim = "0.020"        # both ends

[underframe]
bolster = "0.175"

[[shelf.sheet]]
thickness = "0.010"
count = 1

[[shelf.sheet]]
thickness = "0.020"
count = 1

[[shelf.washer]]
thickness = "0.015"
count = 6
"""
"""Both ends share washers and shim by one key each, and end A has wheels of its own: every way of taking out."""

LAMINATED = """[car]
units = "in"

[body]
length = "6.00"
inside_length = "5.80"
inside_width = "1.10"
lip_depth = "0.150"
end_notch = "0.110"

[trucks]
centers = "4.25"
seat_height = "0.300"

[trucks.b]
seat_height = "0.310"

[coupler]
drop = "0.055"
pivot_inset = "0.28"
length = "0.40"

[underframe]
bolster = "build"

[[shelf.sheet]]
thickness = "0.060"

[[shelf.sheet]]
thickness = "0.020 ± 0.0005"
"""
"""Bolsters laminated at both ends, of a sheet that carries its own tolerance."""

GAUGED = """[car]
units = "in"

[body]
length = "6 1/8"

[trucks]
centers = "4 1/2"
seat_height = "0.284"

[coupler]
drop = "0.062"
pivot_inset = "0.25"
length = "0.39"

[underframe]
bolster = "0.165"

[found]
coupler_height.a = "0.375"
coupler_height.b = "0.379"

[[shelf.washer]]
thickness = "0.015"
"""
"""A car that stands and was gauged at both ends: it stands lower than its parts say."""


def demo_car(name: str) -> str:
    """Return the text of a car file of the demonstration."""
    return resources.files("carwright.demo").joinpath(f"{name}.toml").read_text(encoding="utf-8")


def all_cars() -> dict[str, str]:
    """Return every car of these tests by name."""
    demo = {name: demo_car(name) for name in ("boxcar", "n_car", "h0_car")}
    return {**demo, "unlike": UNLIKE, "laminated": LAMINATED, "gauged": GAUGED}


@pytest.fixture
def boxcar(tmp_path: Path) -> Path:
    """Give the demonstration's boxcar in a folder of its own."""
    path = tmp_path / "boxcar.toml"
    path.write_text(demo_car("boxcar"), encoding="utf-8")
    return path
