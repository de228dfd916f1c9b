"""Throws, coupler offsets, widening and widths on curves against what is published.

Sources, as they stand in the reference data (topic, entry), where each says how it was read:

- overhang.exact: a modellers' page, "Coupler offsets and angular mis-alignments on curves", 22 October 2013. Its table
  gives for four cars the coupler's offset (to 0.001 in) and its angle to the track (to 0.01 degree).
  The cars' sizes are not printed: each is found here from its first row, and the other rows are then predicted.
- overhang.textbook: railway engineering course text: C^2/(8 R) inward, (L^2 - C^2)/(8 R) outward.
- overhang.general_point: NEM 102 (1958, Czech): n (q + n)/(2 R) outward, n (q - n)/(2 R) inward.
- overhang.bogie_wheelbase_term: the same: p^2/(8 R) more for a truck's wheelbase p.
- clearance_curve_nem103, car_groups_nem103: NEM 103, 2016.
- clearance_aar: plates; width 128 in up to truck centres of 495 or 555 in, on 13 degrees.
- minimum_radius_nem111: NEM 111.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from carwright.reference.clearances import radius_classes, structure_gauge
from carwright.reference.store import entry
from carwright.track.figures import offsets, throws
from carwright.track.path import Arc, Path
from carwright.track.placing import CarEnd, Standing, Vehicle, stand
from carwright.working import typed

TABLE: dict[str, dict[float, tuple[float, float]]] = {
    "first boxcar": {30: (0.138, 7.05), 33: (0.125, 6.41), 36: (0.114, 5.87), 42: (0.098, 5.03), 48: (0.086, 4.4)},
    "second boxcar": {30: (0.161, 8.82), 33: (0.146, 8.01), 36: (0.134, 7.34), 42: (0.115, 6.29), 48: (0.100, 5.5)},
    "first coach": {30: (0.367, 12.32), 33: (0.334, 11.18), 36: (0.306, 10.24), 42: (0.263, 8.76), 48: (0.229, 7.66)},
    "second coach": {30: (0.313, 11.40), 33: (0.285, 10.35), 36: (0.260, 9.48), 42: (0.224, 8.12), 48: (0.195, 7.1)},
}
"""Car, radius in inches, coupler's offset in inches and its angle in degrees, as printed."""


def standing(
    radius: float, half: float, base: float = 1e-3, length: float | None = None
) -> tuple[Path, Standing, Vehicle]:
    """Return a car standing on a long arc, in any one unit."""
    end = CarEnd(half, base)
    car = Vehicle(end, end, length)
    path = Path([Arc(4.0 * (half + base) + 2.0, 1.0 / radius)])
    return path, stand(path, np.array([path.length_mm * 0.75]), car), car


@pytest.mark.parametrize("car", TABLE)
def test_a_published_table_of_coupler_offsets_and_angles(car: str) -> None:
    """From each car's row at 30 in follow its rows at 33 to 48 in: offsets to 0.0015 in, angles to 0.015 degree.

    At 30 in: pivot x = 30 sin(angle), half centres a from offset = sqrt(x^2 + 30^2 - a^2) - 30. The page divides x
    by the track's radius, we by the coupler's own, R + offset; sin(ours) (R + offset) = x is what both must give.
    Tolerances: the last place printed, in the row used and in the row met.
    """
    offset, angle = TABLE[car][30]
    x = 30.0 * math.sin(math.radians(angle))
    half = math.sqrt(x * x + 30.0**2 - (30.0 + offset) ** 2)
    for radius, (printed, degrees) in TABLE[car].items():
        path, placed, _ = standing(radius, half)
        _, off = offsets(path, placed, [(x, 0.0)])
        assert -float(off[0, 0]) == pytest.approx(printed, abs=0.0015), radius
        at = offsets(path, placed, [(x, 0.0)])[0][0]
        heading = path.at(at)[1]
        ours = abs(float(np.angle(placed.axis / heading)[0]))
        assert math.sin(ours) * (radius + printed) == pytest.approx(x, abs=0.012), radius
        # Half a last place of an angle printed to 0.1 degree (the last row) or to 0.01, with that of the first row.
        place = 0.06 if radius == 48 else 0.015
        assert math.degrees(math.asin(x / radius)) == pytest.approx(degrees, abs=place), radius


@pytest.mark.parametrize("radius", [300.0, 500.0, 1000.0, 3000.0])
def test_textbook_mid_ordinate_and_overhang(radius: float) -> None:
    """C^2/8R in and (L^2 - C^2)/8R out are the first terms of what the placed car throws.

    The exact ordinate R - sqrt(R^2 - C^2/4) is C^2/8R (1 + C^2/16R^2 + ...): the next term with 10 percent
    on it is the tolerance. Outward it is a difference of two such, (L^2 - C^2)/8R (1 + ...) with L for C.
    """
    c, length = 114.3, 155.575
    path, placed, car = standing(radius, c / 2.0, length=length)
    found = throws(path, placed, car)
    assert found.out_bare is not None
    into, out = c * c / (8.0 * radius), (length**2 - c * c) / (8.0 * radius)
    assert float(found.in_bare[0]) == pytest.approx(into, rel=1.1 * c * c / (16.0 * radius**2))
    assert float(found.out_bare[0]) == pytest.approx(out, rel=1.1 * length**2 / (8.0 * radius**2))


def test_the_wheelbase_adds_what_nem_says() -> None:
    """A truck's wheelbase p adds p^2/8R to the throw inward."""
    radius, half, base = 600.0, 57.0, 23.0
    with_base, without = (throws(*standing(radius, half, each)).in_bare[0] for each in (base, 1e-3))
    assert float(with_base - without) == pytest.approx(base**2 / (8.0 * radius), rel=0.02)


@pytest.mark.parametrize("n", [10.0, 20.0, 30.0])
def test_nems_general_point(n: float) -> None:
    """A point n beyond a pivot stands n(q + n)/2R outside, one n within it n(q - n)/2R inside, to the next term."""
    q, radius = 114.3, 900.0
    path, placed, _ = standing(radius, q / 2.0)
    off = offsets(path, placed, [(q / 2.0 + n, 0.0), (q / 2.0 - n, 0.0)])[1][:, 0]
    assert -float(off[0]) == pytest.approx(n * (q + n) / (2.0 * radius), rel=0.01)
    assert float(off[1]) == pytest.approx(n * (q - n) / (2.0 * radius), rel=0.01)


@pytest.mark.parametrize(("group", "centres_m"), [("A", 14.0), ("B", 17.2), ("C", 19.5)])
def test_nems_widening_goes_with_the_throw_of_its_groups(group: str, centres_m: float) -> None:
    """In H0 the widening E is less than the mid-chord throw of the group's prototype by what the data's note says.

    The note: 1.1 to 2.4 mm less. The sheet prints whole millimetres, so half a millimetre is allowed at both ends.
    """
    table = entry("standards", "clearance_curve_nem103", "H0", group).value
    assert isinstance(table, tuple)
    seen = 0
    for row in table:
        assert isinstance(row, tuple)
        radius, widening = float(str(row[0])), float(str(row[1]))
        if widening > 0.0:
            path, placed, car = standing(radius, 1000.0 * centres_m / 87.0 / 2.0)
            less = float(throws(path, placed, car).in_bare[0]) - widening
            assert 0.6 <= less <= 2.9, (group, radius)
            seen += 1
    assert seen >= 10


def test_the_room_is_the_tables_own_at_its_radii() -> None:
    """At a tabled radius the room is half of BL1 and E as printed (H0, group A, 500 mm: 24 and 5 mm)."""
    length = typed(150.0, "length", key="body.length")
    at = structure_gauge("H0", length, typed(500.0, "radius", key="r"))
    between = structure_gauge("H0", length, typed(475.0, "radius", key="r"))
    assert at is not None
    assert between is not None
    assert (at.half_width.value, at.widening.value, at.group) == (24.0, 5.0, "A")
    assert between.widening.value == pytest.approx(5.5)
    assert structure_gauge("H0", length, typed(200.0, "radius", key="r")) is None


def test_the_plates_reference_curve() -> None:
    """The plates' 13 degrees is 441 ft 8 3/8 in by the chord definition, 50 ft/sin(D/2), to a quarter inch."""
    stored = entry("standards", "clearance_aar", "reference_curve", "radius_in").number
    assert 12.0 * 50.0 / math.sin(math.radians(6.5)) == pytest.approx(stored, abs=0.25)


def test_a_car_as_wide_as_a_plate_is_narrower_on_longer_centres() -> None:
    """By the plates a car on longer centres is narrower by twice what it throws further.

    Published narrowed widths were not found. By the textbook 46 ft 3 in throws 1.49 in
    more than 41 ft 3 in, (555^2 - 495^2)/(8 x 5300.375), and the placed cars differ by that.
    """
    radius = entry("standards", "clearance_aar", "reference_curve", "radius_in").number
    found = []
    for plate in ("plate_B", "plate_C"):
        centres = entry("standards", "clearance_aar", plate, "truck_centres_for_full_width_in").number
        path, placed, car = standing(radius, centres / 2.0)
        found.append(float(throws(path, placed, car).in_bare[0]))
    assert found[1] - found[0] == pytest.approx((555.0**2 - 495.0**2) / (8.0 * radius), rel=0.01)
    assert found[1] - found[0] == pytest.approx(1.486, abs=0.005)


def test_nem_radius_classes() -> None:
    """NEM 111, H0, group A: 22, 25, 30 and 35 times 16.5 mm: permitted 363, side 412.5, branch 495, main 577.5."""
    length, gauge = typed(150.0, "length", key="l"), typed(16.5, "gauge", key="g")
    assert [each.radius.value for each in radius_classes("H0", "NEM", length, gauge)] == [363.0, 412.5, 495.0, 577.5]
