"""Every car that a book must be right for: the demonstration's, the awkward ones, and cars of which little is known."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path
from typing import Final

from tests.draw.cars import HOSTILE, LONG_CAR, SHELL

from carwright.car.read import read_car
from carwright.plan import Plan, make_plan

__all__ = ["AWKWARD", "CARS", "DEMO", "plan_named"]

_AWKWARD = Path(__file__).resolve().parent.parent / "acceptance" / "cars"

DEMO: Final = ("boxcar", "n_car", "h0_car", "gondola", "flat_car")
AWKWARD: Final = tuple(sorted(path.stem for path in _AWKWARD.glob("*.toml")))
_WRITTEN = {
    "shell": SHELL,
    "long": LONG_CAR,
    "hostile": HOSTILE,
    "nothing": "[car]\nname = 'Nothing yet'\n",
}
CARS: Final = (*DEMO, *AWKWARD, *_WRITTEN)
"""Names of all of them."""


@cache
def plan_named(name: str) -> Plan:
    """Return the plan of one of the cars."""
    if name in DEMO:
        data = resources.files("carwright.demo").joinpath(f"{name}.toml").read_bytes()
    elif name in _WRITTEN:
        data = _WRITTEN[name].encode()
    else:
        data = (_AWKWARD / f"{name}.toml").read_bytes()
    return make_plan(read_car(data, file=f"{name}.toml"))
