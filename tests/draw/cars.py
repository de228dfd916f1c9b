"""Cars for the drawing's tests: invented, and used only to compare a drawing with the plan that it shows."""

from __future__ import annotations

import json

from carwright.car.read import read_car
from carwright.plan import Plan, make_plan

__all__ = ["BOXCAR", "HOSTILE", "LONG_CAR", "SHELL", "WIDE_CAR", "plan_of"]

BOXCAR = """
[car]
name = "Boxcar for tests"
scale = "HO"
type = "XM"
missing = ["underframe", "trucks", "couplers"]
[body]
length = "6 1/8"
width = "1.250"
inside_length = ["5.906", "5.904"]
inside_width = ["1.156", "1.153", "1.149"]
wall = "0.045"
end_wall = "0.110"
lip_depth = "0.188"
end_notch = "0.142"
height = "1.45"
[body.notch]
corner = ["0.08", "0.06"]
[[body.lug]]
x = "1.2"
side = "left"
length = "0.20"
depth = "0.05"
[trucks]
centers = "4 1/2"
seat_height = "0.284"
wheel_diameter = "33 in scale"
wheelbase = "5' 6\\" scale"
washers = ["0.010"]
[coupler]
drop = "0.062"
pivot_inset = "0.25"
length = "0.39"
box_length = "0.40"
box_width = "0.32"
box_height = "0.12"
[underframe]
bolster = "0.165"
[[shelf.sheet]]
thickness = "0.030"
width = "6"
length = "12"
[[shelf.sheet]]
thickness = "0.015"
width = "6"
length = "12"
"""

SHELL = """
[car]
name = "A shell and nothing else"
scale = "HO"
type = "XM"
missing = ["underframe", "trucks", "couplers"]
[body]
inside_length = "5.905"
inside_width = "1.153"
lip_depth = "0.188"
end_notch = "0.142"
"""

LONG_CAR = """
[car]
name = "Long car"
scale = "O"
type = "FM"
[body]
length = "13.5"
width = "2.40"
inside_length = "13.1"
inside_width = "2.2"
lip_depth = "0.30"
end_notch = "0.20"
"""

WIDE_CAR = """
[car]
name = "Long and wide car"
scale = "I"
type = "XM"
[body]
length = "15.4"
width = "3.90"
inside_length = "15.0"
inside_width = "3.7"
lip_depth = "0.5"
end_notch = "0.35"
height = "3.8"
[trucks]
centers = "11.4"
"""

_NAME = (
    """Quo"te's <script>alert(1)</script> & ]]> #{read("/etc/passwd")} $x$ *b* \\S1/2; %%c \u05e9\u05dc \U0001f682"""
)

HOSTILE = f"""
[car]
name = {json.dumps(_NAME + " and on" * 20, ensure_ascii=False)}
scale = "HO"
type = "XM"
[body]
inside_length = "5.905"
inside_width = "1.153"
lip_depth = "0.188"
end_notch = "0.142"
[[shelf.sheet]]
name = "<b>&"
thickness = "0.046"
"""


def plan_of(text: str) -> Plan:
    """Return the plan of one of these cars."""
    return make_plan(read_car(text))
