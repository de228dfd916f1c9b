"""The next larger thread for a stripped hole, by hand.

Major diameters: 0.060 + 0.013 N in (the numbered series) and the metric name; pitches 1/80, 1/72, 1/56, 1/40 in and
0.30, 0.35, 0.40, 0.45 mm (ASME B1.1 and ISO 261 as recalled; checked against published tables in tests/reference).
Percent of thread is 100 (D - d)/(1.299038 p); a hole that is stripped clean is as wide as its thread. At least 50
percent, 1.5 diameters to an edge and 1.5 of depth are common practice.
"""

from __future__ import annotations

import pytest
from tests.fasten.cars import found, kept

from carwright.fasten.stripped import next_size
from carwright.reference import thread
from carwright.working import typed


@pytest.mark.parametrize(
    ("worn", "larger", "drill", "percent"),
    [
        ("0-80", "1-72", None, 100 * 0.013 * 72 / 1.299038),  # 72.1: the worn hole, 0.060, is wider than #53, 0.0595
        ("1-72", "2-56", None, 100 * 0.013 * 56 / 1.299038),  # 56.0
        ("2-56", "4-40", "#43", 100 * (0.112 - 0.089) * 40 / 1.299038),  # 70.8
        ("M1.4", "M2", "1.60 mm", 100 * 0.4 / (1.299038 * 0.40)),  # 77.0: M1.6 would have 44.0
        ("M1.6", "M2", None, 100 * 0.4 / (1.299038 * 0.40)),  # 77.0: the worn hole is the tap drill's, 1.60
        ("M2", "M2.5", "2.05 mm", 100 * 0.45 / (1.299038 * 0.45)),  # 77.0
    ],
)
def test_the_next_size_by_hand(worn: str, larger: str, drill: str | None, percent: float) -> None:
    """Each small thread, stripped clean, has its next size, its drill and its percent of thread."""
    stripped = thread(worn)
    assert stripped is not None
    found_ = next_size(stripped, stripped.major, edge=None, depth=None, units="in")
    assert found_.thread is not None
    assert found_.percent is not None
    assert (found_.thread.name, found_.drill.name if found_.drill else None) == (larger, drill)
    assert found_.percent.value == pytest.approx(percent, abs=0.05)


def test_what_does_not_hold_says_why() -> None:
    """M1.6 in a stripped M1.4 hole has (1.6 - 1.4)/(1.299 x 0.35) = 44 percent of thread: refused, M2 is taken."""
    stripped = thread("M1.4")
    assert stripped is not None
    refused = next_size(stripped, stripped.major, edge=None, depth=None, units="mm").refused
    assert refused == ("M1.6 would have only 44 % of thread in it",)


@pytest.mark.parametrize(("edge", "depth", "taken"), [(4.3, 4.3, True), (4.2, 4.3, False), (4.3, 4.2, False)])
def test_the_wall_decides(edge: float, depth: float, taken: bool) -> None:
    """4-40 wants 1.5 x 0.112 in = 4.267 mm to the edge and as much plastic."""
    stripped = thread("2-56")
    assert stripped is not None
    larger = next_size(
        stripped,
        stripped.major,
        edge=typed(edge, "edge", key="edge"),
        depth=typed(depth, "depth", key="depth"),
        units="mm",
    ).thread
    assert (larger is not None) == taken


def test_after_the_largest_comes_the_plug() -> None:
    """4-40 is the largest in common use here: nothing follows it."""
    stripped = thread("4-40")
    assert stripped is not None
    assert next_size(stripped, stripped.major, edge=None, depth=None, units="in").thread is None


def test_both_ways_out_are_told() -> None:
    """A stripped truck hole is planned with a plug; the larger screw stands beside it, with what it asks."""
    finding = found(kept('[[body.hole]]\nx = "2.000"\nstripped = "2-56"\n'), "old_hole_1")
    assert finding.verdict == "watch"
    assert 'trucks.screw = "4-40"' in finding.mend
    assert "#43" in finding.mend
    assert "#32" in finding.mend  # the shop chart's close clearance of No. 4


def test_with_the_larger_screw_no_plug_is_left() -> None:
    """With trucks.screw = "4-40" the #43 drill takes the worn 2-56 away: nothing is plugged."""
    plan = kept('[[body.hole]]\nx = "2.000"\nstripped = "2-56"\n', ("[trucks]\n", '[trucks]\nscrew = "4-40"\n'))
    assert (found(plan, "old_hole_1").verdict, plan.repairs) == ("ok", ())


def test_a_wall_too_thin_for_the_larger_screw() -> None:
    """In a floor 0.140 thick 4-40 finds less than 0.168 in: the finding says so, and the plug stays."""
    plan = kept(
        '[[body.hole]]\nx = "2.000"\nstripped = "2-56"\n[[shelf.sheet]]\nthickness = "0.005"\n',
        ('floor_thickness = "0.180"', 'floor_thickness = "0.140"'),
    )
    mend = found(plan, "old_hole_1").mend
    assert "4-40 wants 0.168 in of plastic" in mend
    assert [each.act for each in plan.repairs] == ["plug"]
