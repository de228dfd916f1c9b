"""Paths against integration step by step, turnouts against the definition of their frog, files against their slips."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carwright.problems import InputError
from carwright.track.layout import legs_of
from carwright.track.path import Arc, Easement, Leg, Path, bundled, turnout_legs
from carwright.track.trackfile import read_track


def stepped(curvature: Callable[[float], float], length: float, steps: int = 40_000) -> tuple[complex, float]:
    """Return end and heading of a line of that curvature, by the midpoint rule: nothing but the definition."""
    s = (np.arange(steps) + 0.5) * length / steps
    step = length / steps
    bend = np.array([curvature(each) for each in s]) * step
    heading = np.cumsum(bend) - bend / 2.0
    return complex(np.sum(np.exp(1j * heading)) * step), float(np.sum(bend))


def end_of(legs: list[Leg]) -> tuple[complex, float]:
    """Return the end of a path and its heading there."""
    path = Path(legs)
    place, direction = path.at(np.array([path.length_mm]))
    return complex(place[0]), float(np.angle(direction[0]))


@pytest.mark.parametrize("out", [False, True])
@pytest.mark.parametrize("left", [False, True])
def test_a_clothoid_is_its_definition(left: bool, out: bool) -> None:
    """Curvature that grows evenly from 0 to 1/R (or falls so), integrated in small steps, ends at the same place."""
    radius, length, hand = 450.0, 240.0, 1.0 if left else -1.0
    place, heading = stepped(lambda s: hand * ((length - s) if out else s) / (radius * length), length)
    found, turned = end_of([Easement(radius, length, left, out)])
    assert found == pytest.approx(place, abs=1e-5)
    assert turned == pytest.approx(heading, abs=1e-9)


def test_a_clothoid_of_half_a_turn_still_converges() -> None:
    """The longest easement that is accepted turns by half a circle; its series is good to the last digit there."""
    radius, length = 100.0, 2.0 * math.pi * 100.0
    place, _ = stepped(lambda s: s / (radius * length), length, 200_000)
    assert end_of([Easement(radius, length, True)])[0] == pytest.approx(place, abs=1e-5)


@pytest.mark.parametrize("out", [False, True])
def test_a_cubic_is_its_parabola(out: bool) -> None:
    """Every place of a cubic easement lies on y = x^3/(6 R L), and its length along the line is s."""
    radius, length = 500.0, 200.0
    path = Path([Easement(radius, length, True, out, "cubic")])
    s = np.linspace(0.0, path.length_mm, 2001)
    place, direction = path.at(s)
    if out:  # look back from its flat end
        place, direction = (place[-1] - place)[::-1] / direction[-1], direction[::-1] / direction[-1]
        place = np.conj(place)
    assert np.max(np.abs(place.imag - place.real**3 / (6.0 * radius * length))) < 1e-9
    assert np.sum(np.abs(np.diff(place))) == pytest.approx(path.length_mm, abs=1e-4)
    assert place.real[-1] == pytest.approx(length, abs=1e-9)


_LEGS = st.lists(
    st.one_of(
        st.builds(Arc, st.floats(5, 400), st.sampled_from([0.0, 1 / 300, -1 / 300, 1 / 800, -1 / 500])),
        st.builds(
            Easement,
            st.floats(250, 900),
            st.floats(20, 300),
            st.booleans(),
            st.booleans(),
            st.sampled_from(["clothoid", "cubic"]),
        ),
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=40)
@given(legs=_LEGS)
def test_a_path_has_no_gap_and_no_kink(legs: list[Leg]) -> None:
    """At every joint place and direction go on as they were, and the direction is that of the line everywhere."""
    path = Path(legs)
    for joint in path.joints_mm:
        place, direction = path.at(np.array([joint - 1e-7, joint + 1e-7]))
        assert abs(place[1] - place[0]) < 1e-6
        assert abs(direction[1] - direction[0]) < 1e-6
    s = np.linspace(-20.0, path.length_mm + 20.0, 501)
    place, direction = path.at(s)
    ahead, _ = path.at(s + 1e-4)
    assert np.max(np.abs((ahead - place) / 1e-4 - direction)) < 1e-5


@settings(max_examples=40)
@given(legs=_LEGS, part=st.floats(0.02, 0.98), off=st.floats(-60, 60))
def test_the_place_abreast_is_found_again(legs: list[Leg], part: float, off: float) -> None:
    """A point set off square from the line is found abreast of where it was set off."""
    path = Path(legs)
    s = np.array([part * path.length_mm])
    place, direction = path.at(s)
    assert path.nearest(place + 1j * direction * off, s + 15.0)[0] == pytest.approx(s[0], abs=1e-6)


def test_paths_in_a_bundle_are_what_they_were() -> None:
    """Each path of a bundle gives the places it gives alone, also beyond its ends."""
    paths = [Path([Arc(200.0), Arc(300.0, 1 / 400)]), Path([Easement(350.0, 150.0, False), Arc(100.0, -1 / 350)])]
    bundle = bundled(paths, 2000.0)
    for n, path in enumerate(paths):
        s = np.linspace(-300.0, path.length_mm + 300.0, 101)
        own, there = path.at(s), bundle.at(s + 2000.0 * n)
        assert np.max(np.abs(own[0] - there[0])) < 1e-8
        assert np.max(np.abs(own[1] - there[1])) < 1e-10


@pytest.mark.parametrize("frog", [4.0, 6.0, 8.0])
def test_a_turnout_ends_at_its_frog(frog: float) -> None:
    """By definition N = (1/2) cot(angle/2); its outer rail ends one gauge to the side, over the other rail's head."""
    gauge = 16.5
    legs = turnout_legs(frog=frog, gauge_mm=gauge, left=True)
    place, angle = end_of(list(legs))
    assert 0.5 / math.tan(angle / 2.0) == pytest.approx(frog, rel=1e-12)
    outer = place - 1j * complex(math.cos(angle), math.sin(angle)) * gauge / 2.0
    assert outer.imag == pytest.approx(-gauge / 2.0 + gauge, abs=1e-9)
    assert [leg.curvature_per_mm for leg in legs] == [pytest.approx(1.0 / (2.0 * gauge * frog * frog))]


def test_a_sharper_closure_reaches_the_same_frog() -> None:
    """A sharper radius and straight points change the way to the frog, not its angle nor where the rail ends."""
    gauge, frog = 16.5, 6.0
    legs = turnout_legs(frog=frog, gauge_mm=gauge, left=False, radius_mm=900.0, points_mm=40.0)
    place, angle = end_of(list(legs))
    assert [round(leg.length_mm, 6) > 0 for leg in legs] == [True, True, True]
    outer = place + 1j * complex(math.cos(angle), math.sin(angle)) * gauge / 2.0
    assert outer.imag == pytest.approx(gauge / 2.0 - gauge, abs=1e-9)
    assert math.degrees(-angle) == pytest.approx(math.degrees(2.0 * math.atan(1.0 / 12.0)))


def test_a_crossover_ends_parallel() -> None:
    """Two left-hand turnouts, the second met from its frog, lead to a track that lies as the first does."""
    text = """[track]
[[track.segment]]
turnout = "left"
frog = 6
[[track.segment]]
straight = "3 in"
[[track.segment]]
turnout = "left"
frog = 6
out = true
"""
    legs = legs_of(read_track(text).segments, gauge_mm=16.5)
    place, heading = end_of(list(legs))
    assert heading == pytest.approx(0.0, abs=1e-12)
    assert place.imag > 16.5


def test_a_quarter_turn_by_hand() -> None:
    """24 in straight, then 90 degrees of 18 in to the left: the end is at x = 24 + 18, y = 18, after 24 + 9 pi in."""
    curve = 'curve = "left"\nradius = "18 in"\nangle = 90\n'
    text = f'[track]\n[[track.segment]]\nstraight = "24 in"\n[[track.segment]]\n{curve}'
    path = Path(legs_of(read_track(text).segments, gauge_mm=None))
    place, direction = path.at(np.array([path.length_mm]))
    assert path.length_mm / 25.4 == pytest.approx(24.0 + 9.0 * math.pi, abs=1e-9)
    assert complex(place[0]) / 25.4 == pytest.approx(complex(42.0, 18.0), abs=1e-9)
    assert complex(direction[0]) == pytest.approx(1j, abs=1e-12)


def said_by(*segments: str, head: str = "") -> list[str]:
    """Return what is said of a track of these segments."""
    text = f"[track]\n{head}" + "".join(f"[[track.segment]]\n{each}\n" for each in segments)
    with pytest.raises(InputError) as caught:
        legs_of(read_track(text, file="t.toml").segments, gauge_mm=16.5, file="t.toml")
    assert all(each.file == "t.toml" for each in caught.value.problems)
    return [str(each) for each in caught.value.problems]


_EASE = 'easement = "left"\nradius = "18 in"\nlength = "8 in"'


@pytest.mark.parametrize(
    ("segments", "words"),
    [
        ((_EASE, 'straight = "9 in"'), "segment 1: the easement ends on a curve, and segment 2 is a straight"),
        ((_EASE, 'curve = "left"\nradius = "20 in"\nangle = 9'), "the easement ends on another radius than segment 2"),
        ((_EASE, 'curve = "right"\nradius = "18 in"\nangle = 9'), "the curvature reverses within the curve"),
        (('straight = "9 in"', f"{_EASE}\nout = true"), "segment 2: the easement begins on a curve"),
        ((f"{_EASE}\nout = true",), "segment 1: an easement out needs a curve before it"),
        (('turnout = "left"',), "segment 1, a turnout, has no frog"),
        (('turnout = "left"\nfrog = 6\nradius = "90 in"',), "an arc of that radius does not reach the frog"),
        (('curve = "left"\nradius = "18 in"\nangle = 361',), "turns by more than a full circle"),
        (('curve = "left"\nradius = "18 in"\nangle = 9\nlength = "2 in"',), "has an angle and a length"),
        (('straight = "-9 in"',), "segment 1: the straight must be more than nothing"),
        (('straight = "9 in"\nradius = "2 in"',), "segment 1 has no such key"),
        (('straight = "9 in"\ncurve = "left"',), "segment 1 is straight and curve at once"),
        (('name = "spur"',), "segment 1 does not say what it is"),
        (('easement = "left"\nradius = "1 in"\nlength = "9 in"',), "the easement is too long for its radius"),
        (('straight = "300 m"',), "too long"),
    ],
)
def test_slips_of_a_track_name_their_segment(segments: tuple[str, ...], words: str) -> None:
    """Each slip is told with the segment it stands in, what is accepted and the line."""
    said = said_by(*segments)
    assert any(words in each for each in said), said
    assert all("line" in each for each in said)


@pytest.mark.parametrize("text", ["", "x = 1\n", "[track]\n", "[track]\nsegment = 3\n", "\x00", "[track\n"])
def test_what_is_no_track_is_refused_whole(text: str) -> None:
    """A file without a track, or no text at all, gives problems and nothing else."""
    with pytest.raises(InputError):
        read_track(text, file="t.toml")


@settings(max_examples=60)
@given(text=st.text(max_size=120))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text makes the reader fall over."""
    with contextlib.suppress(InputError):
        read_track(f"[track]\n[[track.segment]]\n{text}", file="t.toml")
