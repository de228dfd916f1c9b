"""How a car stands on its wheels and what pull tips it; forces in newtons, angles in degrees, heights in mm.

A car stands on a truck that only turns and one that also rocks: a three-legged stool. Whatever turns it over sideways
is carried by the truck that does not rock, until the other one reaches its stop. Coupled on a curve under a pull T, the
couplers draw the car toward the inside with T sin a at each end, at their own heights:

    whole car     T = W G / (2 (h1 sin a1 + h2 sin a2))      every outer wheel is off the rail
    outer wheel   T = F G / (2 (h1 sin a1 + h2 sin a2))      those of the truck that carries F and does not rock
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from carwright.car.model import ENDS, Car, End, Ends
from carwright.reference import practice_value
from carwright.working import Working, chosen, derive, derived

__all__ = [
    "Pulls",
    "WheelLoads",
    "drag",
    "gravity",
    "lean",
    "lever_of",
    "many",
    "pulls",
    "rock_of",
    "setting_of",
    "truck_loads",
    "wheel_loads",
]


def gravity() -> Working:
    """Return standard gravity, m/s2."""
    return practice_value("standard_gravity")


_NO_LEVER_MM: Final = 1e-9
"""Below this the couplers pull straight along the car."""

_WHOLE: Final = 1e-9
"""By how much a quotient may lie below a whole number and still be counted as it: rounding, not a car."""


@dataclass(frozen=True, slots=True)
class WheelLoads:
    """Load on one wheel of each side of each truck, g."""

    a_left: Working
    a_right: Working
    b_left: Working
    b_right: Working


@dataclass(frozen=True, slots=True)
class Pulls:
    """The two pulls on a curve, N, and the sum of lever arms that they hang on, mm."""

    lever: Working
    lift: Working
    tip: Working


def truck_loads(whole: Working, x: Working, pivots: Ends[Working]) -> Ends[Working]:
    """Return what each truck carries, its own weight included, g.

    Args:
        whole: mass of the finished car, g.
        x: its centre of gravity from mid-car, mm.
        pivots: truck pivots from mid-car, mm.
    """
    inputs = {"W": whole, "x": x, "a": pivots.a, "b": pivots.b}
    a = derived("load on truck A", "W*(x - b)/(a - b)", inputs, "g")
    return Ends(a, derived("load on truck B", "W*(a - x)/(a - b)", inputs, "g"))


def setting_of(car: Car, end: End) -> Literal["turns", "rocks"]:
    """Return how a truck is set: as the file says it, else A turns and B rocks, or the other of what its mate does."""
    own, other = car.trucks.at(end).setting, car.trucks.at("b" if end == "a" else "a").setting
    if own == "turns" or own == "rocks":
        return "turns" if own == "turns" else "rocks"
    if other:
        return "rocks" if other == "turns" else "turns"
    return "turns" if end == "a" else "rocks"


def rock_of(car: Car, end: End) -> Working | None:
    """Return how far a truck rocks to one side, degrees; None where neither rock nor play is given."""
    truck = car.trucks.at(end)
    if truck.rock is not None:
        return truck.rock
    if truck.play is None or truck.width is None:
        return None
    return derive(f"rock of truck {end.upper()}", "degrees(atan(2*p/w))", "deg", p=truck.play, w=truck.width)


def wheel_loads(loads: Ends[Working], whole: Working, y: Working, gauge: Working, carries: Ends[bool]) -> WheelLoads:
    """Return the load on each wheel of a car at rest on level track, g; the centre of gravity's height has no say.

    Args:
        loads: of the trucks, g.
        whole: mass of the car, g.
        y: centre of gravity, to the left, mm.
        gauge: of the track, mm.
        carries: which trucks take what the car leans to one side; each an equal share. Where neither does, both.
    """
    both = carries.a == carries.b
    name = "both trucks solid" if both else "one truck rocks"

    def wheel(end: End, side: Literal["left", "right"]) -> Working:
        words = f"load on a {side} wheel of truck {end.upper()}, {name}"
        if not both and not carries.at(end):
            return derive(words, "F/4", "g", F=loads.at(end))
        sign = "+" if side == "left" else "-"
        formula = f"F/4 {sign} W*y/({4 if both else 2}*G)"
        return derive(words, formula, "g", F=loads.at(end), W=whole, y=y, G=gauge)

    return WheelLoads(wheel("a", "left"), wheel("a", "right"), wheel("b", "left"), wheel("b", "right"))


def lean(car: Car, load: Working | None, whole: Working, y: Working, gauge: Working) -> Working | None:
    """Return how far the car leans at rest, degrees; None where the stop that holds it is not known.

    A truck that only turns holds the car upright while W y stays below F G / 2: its wheels on one side would else lift.

    Args:
        car: for the trucks' settings and rock.
        load: F, on the truck that only turns, g; None where both rock.
        whole: W, mass of the car, g.
        y: centre of gravity, to the left, mm.
        gauge: G, of the track, mm.
    """
    if load is not None and abs(y.value) * whole.value <= load.value * gauge.value / 2.0:
        return chosen(0.0, "static lean", "deg", note="the truck that only turns holds the car upright")
    stops = [rock for end in ENDS if setting_of(car, end) == "rocks" and (rock := rock_of(car, end)) is not None]
    if not stops:
        return None
    least = min(stops, key=lambda each: each.value)
    return least.renamed("static lean", note="the car leans until a truck that rocks is at its stop")


def lever_of(heights: Ends[Working], angles: Ends[Working], where: str) -> Working:
    """Return the sum of the lever arms of the couplers' side pull about the rail, mm.

        s = h1 sin a1 + h2 sin a2

    Args:
        heights: of the couplers above the rail, mm.
        angles: of the couplers, degrees, toward the inside positive.
        where: on which curve, in words.
    """
    return derive(
        f"sum of lever arms {where}",
        "h1*sin(radians(a1)) + h2*sin(radians(a2))",
        h1=heights.a,
        a1=angles.a,
        h2=heights.b,
        a2=angles.b,
    )


def pulls(whole: Working, load: Working, gauge: Working, lever: Working, where: str) -> Pulls | None:
    """Return the two pulls on a curve, N; None where the couplers do not draw the car to one side.

    Args:
        whole: W, mass of the finished car with its trucks, g.
        load: F, on the truck that does not rock, its own weight included, g; ``whole`` where neither rocks.
        gauge: G, of the track, nominal, mm.
        lever: s, sum of the lever arms, mm (``lever_of``).
        where: on which curve, in words.

    Notes:
        The outer wheels of the truck that does not rock leave the rail at F g G / 2 s, until the other truck is at its
        rock stop; the whole car turns over at W g G / 2 s. For a rigid car alike at both ends that is
        W g G / (4 h sin a), for a car on three points half of it. Cant, speed and a centre of gravity beside the
        middle are left out.

    Source:
        Balance of moments about the inner rail; held in ``tests/weight/test_standing.py`` against a linear program over
        the loads of the wheels.
    """
    if lever.value <= _NO_LEVER_MM:
        return None
    formula = "{m}/1000*g*G/(2*s)"
    tip = derive(f"pull that tips the car {where}", formula.format(m="W"), "n", W=whole, g=gravity(), G=gauge, s=lever)
    lift = derive(
        f"pull that lifts an outer wheel {where}",
        formula.format(m="F"),
        "n",
        note="of the truck that does not rock, until the other one is at its stop",
        F=load,
        g=gravity(),
        G=gauge,
        s=lever,
    )
    return Pulls(lever, lift, tip)


def drag(mass: Working, rolling: Working, grade: Working | None, curve: Working | None, name: str) -> Working:
    """Return what one car holds back, N.

    Args:
        mass: g.
        rolling: resistance as a grade, percent.
        grade: upward, percent, or None.
        curve: resistance of the curve as a grade, percent, or None.
        name: whose, in words.
    """
    inputs = {"m": mass, "g": gravity(), "r": rolling}
    more = "r"
    for symbol, each in (("i", grade), ("c", curve)):
        if each is not None:
            inputs[symbol] = each
            more += f" + {symbol}"
    return derived(f"drag of {name}", f"m/1000*g*({more})/100", inputs, "n")


def many(pull: Working, each: Working, name: str) -> Working | None:
    """Return how many cars may hang on a pull; None where they roll by themselves and any number may.

    Args:
        pull: the most that may be drawn, N.
        each: what one of them holds back, N.
        name: of the number, in words.
    """
    if each.value <= 0.0:
        return None
    return derive(name, f"floor(T/d + {_WHOLE:g})", "count", T=pull, d=each)
