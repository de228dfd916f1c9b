"""Scales, coupler heights and weight rules against what the standards bodies publish.

Figures beside each check are those of the named document, as read in the copies that the data files cite; where only
memory stands behind a figure the test asserts that it is shown as memory, not that it is right.
"""

from __future__ import annotations

import pytest

from carwright.problems import InputError
from carwright.reference import (
    car_kind,
    coupler_target,
    coupler_tolerance,
    default_truck_centers,
    density,
    frame_defaults,
    instrument,
    near_kinds,
    scale_gauge,
    scale_ratio,
    scale_word,
    scales,
    weight_rule,
    wheel_diameters,
)
from carwright.working import evaluate, leaves, typed


@pytest.mark.parametrize(
    ("scale", "standard", "ratio"),
    [
        ("HO", "NMRA", 87.1),  # NMRA S-3.2, February 2010
        ("O", "NMRA", 48),  # the same
        ("S", "NMRA", 64),  # the same
        ("H0", "NEM", 87),  # NEM 010, 2011
        ("0", "NEM", 45),  # NEM 010, quoted
        ("N", "NEM", 160),  # NEM 010, 2011
        ("N", "NMRA", 160),  # NEM 010; no NMRA sheet with N was read
        ("TT", "NMRA", 120),  # NEM 010
    ],
)
def test_ratios_are_those_of_the_standard(scale: str, standard: str, ratio: float) -> None:
    """HO is 1:87.1 under NMRA and 1:87 under NEM; the standard decides, not the spelling."""
    assert scale_ratio(scale, standard).value == ratio
    assert scale_ratio(scale, standard).basis == "seen"


def test_ho_and_h0_are_one_word() -> None:
    """Letter O and figure 0 name the same scale, in either case."""
    assert {scale_word(each) for each in ("HO", "H0", "ho", "h0", " HO ", "1:87", "1:87.1")} == {"HO"}


def test_an_unknown_scale_is_refused_with_its_near_misses() -> None:
    """A scale that does not exist is named, with what would have been accepted."""
    with pytest.raises(InputError) as caught:
        scale_ratio("HOO")
    (problem,) = caught.value.problems
    assert problem.value == "HOO"
    assert "HO" in problem.mend
    assert all(each in problem.accepted for each in scales())
    with pytest.raises(InputError, match="standard"):
        scale_ratio("HO", "NRMA")


def test_gauges_are_nominal() -> None:
    """HO track is 16.5 mm (NEM 010), N track 9 mm (NEM 010), NMRA O track 31.75 mm (NMRA S-3.2, least gauge)."""
    found = [scale_gauge("HO", "NEM"), scale_gauge("N"), scale_gauge("O")]
    assert [each.value for each in found if each is not None] == [16.5, 9.0, 31.75]


def test_the_ho_height_is_the_quoted_decimal_and_not_its_nearest_fraction() -> None:
    """NMRA S-2, quoted: 0.391 in above the rail, 9.9314 mm by 25.4 exactly; 25/64 in would be 9.9219 mm."""
    target = coupler_target("HO", "NMRA")
    assert target is not None
    assert target.height.value == pytest.approx(0.391 * 25.4, abs=1e-12)
    assert target.height.value == pytest.approx(9.9314, abs=1e-9)
    assert (target.measured_at, target.height.basis) == ("centre line", "seen")
    assert "read in a quotation" in target.height.source


@pytest.mark.parametrize("scale", ["O", "S", "OO", "TT", "N"])
def test_heights_that_were_not_read_are_shown_as_memory(scale: str) -> None:
    """Outside HO no NMRA height was read, and none is passed off as read."""
    target = coupler_target(scale, "NMRA")
    assert target is not None
    assert target.height.basis == "memory"
    assert target.height.source.startswith("from memory, not read")


def test_nem_heights() -> None:
    """NEM 362 (in NEM 004, 2010): top of the H0 pocket 8.5 mm, ± 0.2; NEM 356 (the same): N 4.5 mm, ± 0.5."""
    ho, n = coupler_target("H0", "NEM"), coupler_target("N", "NEM")
    assert ho is not None
    assert n is not None
    assert (ho.height.value, ho.measured_at, coupler_tolerance("H0", "NEM").value) == (8.5, "pocket top", 0.2)
    assert (n.height.value, coupler_tolerance("N", "NEM").value) == (4.5, 0.5)


@pytest.mark.parametrize(("scale", "standard"), [("Z", "NMRA"), ("Z", "NEM"), ("S", "NEM"), ("I", "NMRA")])
def test_a_height_that_nobody_found_is_missing_and_not_zero(scale: str, standard: str) -> None:
    """Where no position is known there is none to be had."""
    assert coupler_target(scale, standard) is None


def test_the_prototype_band_is_shown_beside_the_height() -> None:
    """49 CFR 231.31: 31.5 to 34.5 in; at 1:87.1 by hand 0.36165 and 0.39610 in, so 0.391 in lies inside."""
    target = coupler_target("HO")
    assert target is not None
    least, greatest = (each.value / 25.4 for each in target.also)
    assert least == pytest.approx(0.36165, abs=5e-6)
    assert greatest == pytest.approx(0.39610, abs=5e-6)
    assert least < 0.391 < greatest


def test_the_tolerance_is_common_practice_by_ratio_with_a_floor() -> None:
    """0.010 in at HO; 0.010 × 87.1/160 = 0.00544 in at N by hand; never under 0.005 in (Z would be 0.00396)."""
    assert coupler_tolerance("HO").value == pytest.approx(0.254)
    assert coupler_tolerance("N").value / 25.4 == pytest.approx(0.00544375)
    assert coupler_tolerance("Z").value == pytest.approx(0.127)
    assert {coupler_tolerance(each).basis for each in ("HO", "Z")} == {"practice"}


def test_wheels_are_the_prototype_over_the_ratio() -> None:
    """33 in over 87.1 is 0.37887 in by hand, as the usual 0.379 in HO wheel."""
    sizes = [each.value / 25.4 for each in wheel_diameters("HO")]
    assert sizes[1] == pytest.approx(0.37887, abs=5e-6)
    assert sizes == sorted(sizes)
    assert len(sizes) == 4


def test_every_look_up_is_found_again_from_its_leaves() -> None:
    """A derived look-up evaluated from its reference leaves alone gives the same number."""
    target = coupler_target("HO")
    assert target is not None
    for each in (*target.also, coupler_tolerance("N"), *wheel_diameters("N")):
        assert evaluate(each) == pytest.approx(each.value, abs=1e-12)
        assert all(leaf.kind == "reference" and leaf.key and leaf.source for leaf in leaves(each))


def test_rp_20_1_by_hand() -> None:
    """NMRA RP-20.1 as copied: HO 1 oz + 1/2 oz per inch of body; 6 in by hand 4 oz = 113.398 g."""
    rule = weight_rule("RP-20.1", "HO")
    assert rule is not None
    assert rule.length_used == "body"
    assert rule.target(typed(6 * 25.4, "body length", key="body.length")).value == pytest.approx(113.398, abs=1e-3)


def test_nem_302() -> None:
    """NEM 302 (2015): at least 0.4 g per mm over buffers in H0, 0.17 in N."""
    ho, n = weight_rule("NEM 302", "H0"), weight_rule("NEM 302", "N")
    assert ho is not None
    assert n is not None
    assert (ho.per_mm.value, ho.length_used, ho.initial) == (0.4, "over buffers", None)
    assert n.per_mm.value == 0.17


def test_a_rule_without_a_value_for_a_scale_gives_none() -> None:
    """RP-20.1 has nothing for Z, and an unknown rule is refused."""
    assert weight_rule("RP-20.1", "Z") is None
    with pytest.raises(InputError, match="weight rule"):
        weight_rule("RP-99", "HO")


def test_instruments() -> None:
    """A caliper is trusted to 0.001 in outside and twice that by its rod; a rule to half of 1/64 in."""
    by_hand = {"outside": 0.001, "depth": 0.002, "inside": 0.002, "height": 0.002, "rule": 1 / 128}
    for name, inches in by_hand.items():
        assert instrument(name, "in").value == pytest.approx(inches * 25.4)
        assert instrument(name, "mm").value == instrument(name, "in").value
    with pytest.raises(InputError, match="instrument"):
        instrument("yardstick")


def test_densities_have_plain_names() -> None:
    """Styrene is high-impact polystyrene, lead 11.34 g/cm3; what is not known is None."""
    styrene, lead = density("styrene"), density("Lead")
    assert styrene is not None
    assert lead is not None
    assert (styrene.value, lead.value, lead.unit) == (1.04, 11.34, "g/cm3")
    assert density("unobtainium") is None


@pytest.mark.parametrize(
    ("typed_text", "kind"),
    [("XM", "box"), ("xm", "box"), ("boxcar", "box"), ("GB", "gondola"), ("Flat car", "flat"), ("TM", "tank")],
)
def test_kinds_of_car(typed_text: str, kind: str) -> None:
    """A designation of the association's list, or a plain word, names the kind."""
    assert car_kind(typed_text) == kind


def test_an_unknown_kind_has_near_misses() -> None:
    """A slip is answered with the nearest words, not with a guess."""
    assert car_kind("boxcr") is None
    assert "boxcar" in near_kinds("boxcr")


def test_a_40_foot_boxcar_of_1948_has_the_frame_of_its_day() -> None:
    """Truck centres 30 ft 8 1/2 in, as the 1937 design; a 50-foot car of the year another frame."""
    short, long = frame_defaults("XM", 1948, 500.0), frame_defaults("XM", 1948, 622.0)
    assert short is not None
    assert long is not None
    assert short.truck_centers is not None
    assert short.truck_centers.value == 30 * 12 + 8.5
    assert long.name == "box-50"
    assert frame_defaults("zeppelin", 1948) is None


def test_truck_centres_where_nothing_is_known() -> None:
    """By hand: 500 in less 2 × 66 is 368 in; a 1,000 in car has three quarters, 750 in."""
    short = default_truck_centers(typed(500.0, "length", "in prototype", key="length"))
    long = default_truck_centers(typed(1000.0, "length", "in prototype", key="length"))
    assert (short.value, long.value) == (368.0, 750.0)
