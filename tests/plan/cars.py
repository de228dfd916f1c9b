"""Cars that differ from the demonstration's in one respect each, for tests that must hold for every kind of car."""

from __future__ import annotations

from importlib import resources


def demo(name: str) -> str:
    """Return the text of a demonstration car."""
    return resources.files("carwright.demo").joinpath(name).read_text(encoding="utf-8")


def _with(text: str, *changes: tuple[str, str]) -> str:
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


def _cars() -> dict[str, str]:
    base = demo("boxcar.toml")
    return {
        "boxcar": base,
        "n_car": demo("n_car.toml"),
        "h0_car": demo("h0_car.toml"),
        "gauged": base + '\n[found.a]\ncoupler_height = "0.379"\n[found.b]\ncoupler_height = "0.389"\n',
        "gauged at A": base + '\n[found.a]\ncoupler_height = "0.379"\n',
        "built bolster": _with(base, ('bolster = "0.165"', 'bolster = "build"\nglue = "gap-filling"')),
        "old holes": _with(
            base,
            ('floor = "new"', 'floor = "kept"\nfloor_thickness = "0.150"'),
            (
                "[trucks]\n",
                """[[body.hole]]
x = "2.31"
diameter = "#43"
[[body.hole]]
x = "-2.24"
y = "0.03"
stripped = "2-56"
[[body.hole]]
x = "2.815"
diameter = "#49"
[[body.hole]]
x = "2.24"
part = "bolster"
diameter = "0.08"
plugged = true
[trucks]
bolster_thickness = "0.055"
boss_height = "0.030"
boss_diameter = "0.150"
screw_length = "3/8"
""",
            ),
        ),
        "grab irons and steps": _with(
            base,
            (
                "[trucks]\n",
                """[[body.grab]]
name = "ladder"
x = "-2.8"
up = "0.16"
count = 3
turned = true
[[body.grab]]
name = "end grab"
side = "B end"
x = "0.4"
up = "0.3"
length = "0.19"
wire = "0.012"
[[body.grab]]
kind = "step"
side = "right"
x = "2.8"
[trucks]
""",
            ),
        ),
        "couplers on trucks": _with(base, ('mount = "body"', 'mount = "truck"\nheight = "0.385"')),
        "other wheels, washers": _with(base, ("washers = []", 'washers = ["0.010"]\nwheels = "36 in scale"')),
        "insets": _with(base, ('centers = "4 1/2"', 'inset = "0.81"')),
        "no shelf": base[: base.index("[[shelf.sheet]]")],
        "no trucks": _with(base[: base.index("[trucks]")] + base[base.index("[coupler]") :], ('bolster = "0.165"', "")),
        "body only": base[: base.index("[trucks]")],
        "empty": "",
        "own gauge, offset shank, shim": _with(
            base,
            (
                'drop = "0.062"',
                """drop = "0.062"
target_height = "0.385"
tolerance = "0.005"
shank_offset = "0.010"
shim = "0.015"
droop = "0.004"
""",
            ),
        ),
        "shelf of shanks": "".join(
            (
                base,
                '\n[[shelf.coupler]]\nshank_offset = "0.018"\ncount = 2\n',
                '[[shelf.bolster]]\nheight = "0.175"\ncount = 2\n',
                '[[shelf.washer]]\nthickness = "0.015"\ncount = 3\n',
            )
        ),
        "running gear": _with(
            base + '\n[gauge]\nroll_rise = "0.45"\nroll_length = "30 in"\ncheck_gauge = "0.600"\nspan = "0.567"\n',
            ("year = 1948", "year = 1948\ncapacity = 50"),
            ("[trucks]", '[trucks]\naxle_length = "1.015"\ninsulated = "left"'),
        ),
        "heavy, other wheels at A": _with(
            base,
            ("year = 1948", "year = 1975\ncapacity = 100"),
            ("[trucks.a]", '[trucks.a]\nwheels = "0.400"'),
        ),
        "lug, diagonals": _with(
            base,
            ("[body.notch]", '[[body.lug]]\nx = "0.5"\nside = "left"\nlength = "0.2"\ndepth = "0.06"\n[body.notch]'),
            ('out_of_square = "0.004"', 'diagonals = ["6.017", "6.012"]\n#'),
            ('square = "1"', "#"),
        ),
    }


CARS = _cars()
