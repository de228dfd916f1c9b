"""Length of screws, by hand.

1.5, better 2 diameters of thread held, a quarter turn back from snug for a truck's screw and the usual lengths are
common practice; 2-56 is 0.086 in across with 1/56 in of pitch.
"""

from __future__ import annotations

import pytest
from tests.fasten.cars import found, kept

MAJOR, PITCH, BACK = 0.0860, 1 / 56, 0.25 / 56
INCH = 25.4
TRUCK = ("[trucks]\n", '[trucks]\nbolster_thickness = "0.060"\n')
"""The truck's screw then passes 0.060 + 0.150 = 0.210 in before the floor, which is 0.180 thick."""


@pytest.mark.parametrize(
    ("length", "verdict"),
    [
        ("5/16", "fail"),  # 0.3125 - 0.210 - 0.0045 = 0.098, under 0.129
        ("0.3435", "ok"),  # 0.129 + 0.210 + 0.0045 = 0.34346 is the least
        ("3/8", "ok"),
        ("1/2", "watch"),  # its tip stands 0.110 in out of the plastic
    ],
)
def test_long_enough(length: str, verdict: str) -> None:
    """The thread held is length less grip less a quarter turn, and 1.5 x 0.086 = 0.129 in is the least."""
    plan = kept("", (TRUCK[0], f'{TRUCK[1]}screw_length = "{length}"\n'))
    assert found(plan, "screw_truck_a").verdict == verdict


def test_what_is_held_by_hand() -> None:
    """3/8 in holds 0.375 - 0.210 - 0.00446 = 0.1605 in, 9.0 turns and 1.9 diameters: 2 are better."""
    finding = found(kept("", (TRUCK[0], f'{TRUCK[1]}screw_length = "3/8"\n')), "screw_truck_a")
    assert finding.value is not None
    assert finding.limit is not None
    assert finding.value.value / INCH == pytest.approx(0.375 - 0.210 - BACK)
    assert finding.limit.value / INCH == pytest.approx(1.5 * MAJOR)
    assert "9.0 turns, 1.9 diameters" in finding.because
    assert "2 are better" in finding.because


def test_longer_than_the_plastic_holds_no_more() -> None:
    """1/2 in goes through: it holds the floor's whole 0.180 in, and its tip stands 0.5 - 0.21 - 0.18 = 0.110 above."""
    finding = found(kept("", (TRUCK[0], f'{TRUCK[1]}screw_length = "1/2"\n')), "screw_truck_a")
    assert finding.value is not None
    assert finding.value.value / INCH == pytest.approx(0.180)
    assert "0.110 in above the plastic" in finding.because


def test_a_load_is_not_met_from_below() -> None:
    """On a flat car the same screw comes out of the deck: it fails, and 3/8 in is told instead."""
    plan = kept("", (TRUCK[0], f'{TRUCK[1]}screw_length = "1/2"\n'), ("[car]\n", '[car]\ntype = "FM"\n'))
    finding = found(plan, "screw_truck_a")
    assert finding.verdict == "fail"
    assert finding.value is not None
    assert finding.value.value / INCH == pytest.approx(0.110)
    assert 'trucks.screw_length = "3/8"' in finding.mend


def test_the_length_to_buy() -> None:
    """0.210 + 0.0045 + 0.172 = 0.3865 holds better, 0.390 is through the plastic: of the usual ones 3/8 stays in it."""
    bare = kept("", TRUCK)
    has = kept('[[shelf.screw]]\nthread = "2-56"\nlength = "3/8"\n', TRUCK)
    assert found(bare, "screws_truck").verdict == "unknown"
    assert "so 3/8 in, which stays in the plastic, to be bought" in found(bare, "screws_truck").because
    assert [(line.name, line.quantity.value) for line in bare.buy if "screw" in line.name] == [
        ("2-56 pan head screw, 3/8 in", 2)
    ]
    assert "so 3/8 in, on the shelf" in found(has, "screws_truck").because
    assert not [line for line in has.buy if "screw" in line.name]


def test_a_short_screw_is_mended_by_a_length() -> None:
    """1/4 in ends 0.250 - 0.210 - 0.0045 = 0.036 in the plastic: the mend is the length that holds, to be bought."""
    plan = kept("", (TRUCK[0], f'{TRUCK[1]}screw_length = "1/4"\n'))
    assert 'trucks.screw_length = "3/8"' in found(plan, "screw_truck_a").mend
    assert [line.quantity.value for line in plan.buy if "screw" in line.name] == [2]


@pytest.mark.parametrize("typed", ["2-56", "256", "No. 2/56"])
def test_what_is_owned_comes_first_and_one_length_serves_both_ends(typed: str) -> None:
    """7/16 less 0.264 and 0.259 is 0.174 and 0.179 of 0.180 in: inside at both ends, 2.0 diameters as it is told."""
    shelf = f'[[shelf.screw]]\nthread = "{typed}"\nlength = "7/16"\nhead = "round head"\ncount = 4\n'
    thick = f'{TRUCK[0]}bolster_thickness = "0.109"\n'
    shelf += '[trucks.a]\nwashers = ["0.005"]\n'
    short = kept(shelf, (TRUCK[0], f'{thick}screw_length = "3/8"\n'))
    for letter in "ab":
        assert found(short, f"screw_truck_{letter}").mend == (
            'Take a 7/16 in screw, on the shelf: trucks.screw_length = "7/16".'
        )
    assert not [line for line in short.buy if "screw" in line.name]
    right = found(kept(shelf, (TRUCK[0], f'{thick}screw_length = "7/16"\n')), "screw_truck_a")
    assert (right.verdict, right.because) == (
        "ok",
        "The 7/16 in screw of truck A holds 9.5 turns, 2.0 diameters, of thread.",
    )
    long = found(kept(shelf, (TRUCK[0], f'{thick}screw_length = "1/2"\n')), "screw_truck_a")
    assert long.verdict == "watch"
    assert "0.056 in above the plastic" in long.because
    assert 'trucks.screw_length = "7/16"' in long.mend or 'trucks.a.screw_length = "7/16"' in long.mend


def test_a_screw_of_another_thread_or_head_is_no_help() -> None:
    """A 4-40 or a flat head on the shelf is not what the hole is drilled for."""
    shelf = '[[shelf.screw]]\nthread = "4-40"\nlength = "3/8"\n'
    shelf += '[[shelf.screw]]\nthread = "2-56"\nlength = "3/8"\nhead = "flat"\n'
    assert "to be bought" in found(kept(shelf, TRUCK), "screws_truck").because


def test_couplers_are_screwed_through_their_box() -> None:
    """Box 0.120 and shim 0.010 are passed, and a recess of 0.020 takes plastic: 0.160 of 0.180 in are left."""
    more = '[coupler]\nbox_height = "0.120"\nshim = "0.010"\nrecess = "0.020"\nscrew_length = "3/8"\n'
    finding = found(kept("", ("[coupler]\n", more)), "screw_coupler_a")
    assert finding.value is not None
    assert finding.value.value / INCH == pytest.approx(0.160)
    assert "0.085 in above the plastic" in finding.because  # 0.375 - 0.130 - 0.160


def test_washers_and_laminated_bolsters_are_passed() -> None:
    """A 0.015 washer and a bolster of 0.080 + 0.060 make the grip 0.060 + 0.015 + 0.140 = 0.215."""
    plan = kept(
        "",
        (TRUCK[0], f'{TRUCK[1]}screw_length = "3/8"\nwashers = ["0.015"]\n'),
        ('bolster = "0.150"', 'bolster = ["0.080", "0.060"]'),
    )
    finding = found(plan, "screw_truck_b")
    assert finding.value is not None
    assert finding.value.value / INCH == pytest.approx(0.375 - 0.215 - BACK)


def test_what_is_missing_is_named_once() -> None:
    """Without the truck bolster's thickness and the box's height one finding names both, for all four screws."""
    finding = found(kept(), "screws")
    assert finding.verdict == "unknown"
    assert finding.needs == ("trucks.bolster_thickness", "coupler.box_height")
    assert "truck A, truck B, coupler A and coupler B" in finding.because


@pytest.mark.parametrize(("height", "verdict"), [("0.100", "ok"), ("0.155", "fail")])
def test_the_boss_stays_clear_of_the_floor(height: str, verdict: str) -> None:
    """A boss higher than the bolster, 0.150, lifts the car by the rest before the truck's face bears."""
    plan = kept("", ("[trucks]\n", f'[trucks]\nboss_height = "{height}"\nboss_diameter = "0.190"\n'))
    finding = found(plan, "boss_a")
    assert finding.verdict == verdict
    assert finding.margin is not None
    assert finding.margin.value / INCH == pytest.approx(0.150 - float(height))


def test_a_boss_is_let_into_the_bolster() -> None:
    """A boss of 0.190 wants 0.191, #11, with its clearance (common practice); without its width no hole is told."""
    told = kept("", ("[trucks]\n", '[trucks]\nboss_height = "0.100"\nboss_diameter = "0.190"\n'))
    open_ = kept("", ("[trucks]\n", '[trucks]\nboss_height = "0.100"\n'))
    washer = kept("", ("[trucks]\n", '[trucks]\nboss_height = "0.010"\nwashers = ["0.015"]\n'))
    hole = {each.name: each for each in told.holes}["truck_a_bolster"]
    assert (hole.drill, hole.purpose) == ("#11", "room for the truck's boss")
    assert {each.name: each for each in open_.holes}["truck_a_bolster"].needs == ("trucks.boss_diameter",)
    assert {each.name: each for each in washer.holes}["truck_a_bolster"].drill == "#43"
