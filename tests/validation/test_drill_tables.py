"""Number and letter drills, and tap drills, against charts in print.

Sources, as read in their pages' text:

- a metal stockist's chart (web page, "tap drill selector chart"): number and letter drills by decimal;
- a tap and clearance chart (web page, "screw size chart"): drills No. 80 to 69 and the diameters of machine screws;
- an engineering handbook, 31st edition (2020), page 2155: tap drills; percent of thread is checked in tests/reference;
- a screw supplier's tap and drill bit size chart (web page): usual tap drills.

What is marked common practice has no
document behind it.
"""

from __future__ import annotations

import pytest

from carwright.reference import drill_named, thread

STOCKIST = {
    "#56": 0.0465, "#53": 0.0595, "#51": 0.0670, "#50": 0.0700, "#48": 0.0760, "#44": 0.0860, "#43": 0.0890,
    "#39": 0.0995, "#38": 0.1015, "#36": 0.1065, "#33": 0.1130, "#29": 0.1360, "#26": 0.1470, "#15": 0.1800,
    "#8": 0.1990, "#3": 0.2130, "F": 0.2570, "I": 0.2720, "Q": 0.3320, "W": 0.3860,
}  # fmt: skip

SMALL = {
    "#80": 0.0135, "#79": 0.0145, "#78": 0.0160, "#77": 0.0180, "#76": 0.0200, "#75": 0.0210, "#74": 0.0225,
    "#73": 0.0240, "#72": 0.0250, "#71": 0.0260, "#70": 0.0280, "#69": 0.0292,
}  # fmt: skip


@pytest.mark.parametrize(("name", "inches"), [*STOCKIST.items(), *SMALL.items()])
def test_drills_by_number_and_letter(name: str, inches: float) -> None:
    """Charts in print: each drill has the decimal that is printed, to its last place, 0.0001 in."""
    found = drill_named(name)
    assert found is not None
    assert found.diameter_mm / 25.4 == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "drill"),
    [
        ("1-64", "#53"),
        ("1-72", "#53"),
        ("2-56", "#50"),
        ("2-64", "#50"),
        ("3-48", "#47"),
        ("3-56", "#45"),
        ("4-40", "#43"),
    ],
)
def test_usual_tap_drills(name: str, drill: str) -> None:
    """A screw supplier's chart: the usual tap drill of each small screw; #50 for 2-56 is common practice too."""
    found = thread(name)
    assert found is not None
    assert found.tap_drill.name == drill


@pytest.mark.parametrize(("number", "inches"), [(0, 0.0600), (1, 0.0730), (2, 0.0860), (3, 0.0990), (4, 0.1120)])
def test_major_diameters_of_machine_screws(number: int, inches: float) -> None:
    """A chart in print: basic diameters of No. 0 to 4; the series is 0.060 + 0.013 N."""
    names = {0: "0-80", 1: "1-72", 2: "2-56", 3: "3-48", 4: "4-40"}
    found = thread(names[number])
    assert found is not None
    assert found.major.value / 25.4 == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "pitch", "drill", "percent"),
    [
        ("M1.4", 0.30, "1.10 mm", 77.0),
        ("M1.6", 0.35, "1.25 mm", 77.0),
        ("M2", 0.40, "1.60 mm", 77.0),
        ("M2.5", 0.45, "2.05 mm", 77.0),
    ],
)
def test_metric_tap_drills_are_those_of_major_less_pitch(name: str, pitch: float, drill: str, percent: float) -> None:
    """Pitches of ISO 261 and drills of ISO 2306 (both from memory): D - P, 1/1.299038 = 77 percent of full thread."""
    found = thread(name)
    assert found is not None
    assert found.pitch.value == pytest.approx(pitch)
    assert found.tap_drill.name == drill
    assert found.tap_drill.diameter_mm == pytest.approx(found.major.value - pitch)
    assert found.tap_drills[0].percent.value == pytest.approx(percent, abs=0.1)
