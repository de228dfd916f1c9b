"""Solids against another library: every piece of real plans as a mesh built here from its pose, and random prisms.

trimesh makes the meshes and turns them by its own Euler angles (fixed axes, x then y then z); its boolean and its
volumes are the judge.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from tests.frame.goodcar import GOOD, plan_of
from tests.plan.cars import CARS

from carwright.frame.solids import Overlap, Prism, overlap, solids_of, turn_of
from carwright.pieces import Piece, Pose
from carwright.reference import density
from carwright.weight.target import mass_of

PLANS = {name: plan_of(CARS[name]) for name in ("boxcar", "n_car", "h0_car")} | {"good": plan_of(GOOD)}


def turned(mesh: trimesh.Trimesh, pose: Pose) -> trimesh.Trimesh:
    """Return a mesh in its place under a level floor."""
    angles = [math.radians(each.value) for each in pose.level_deg or (pose.rx_deg, pose.ry_deg, pose.rz_deg)]
    matrix = trimesh.transformations.euler_matrix(*angles, axes="sxyz")
    assert pose.drop_mm is not None
    matrix[:3, 3] = (pose.x_mm.value, pose.y_mm.value, -pose.drop_mm.value)
    return mesh.apply_transform(matrix)


def mesh_of(piece: Piece, pose: Pose) -> trimesh.Trimesh:
    """Return a plate, block or rod as a mesh; a rod finely round."""
    assert piece.thickness_mm is not None
    thick = piece.thickness_mm.value
    if piece.form == "rod":
        rod = trimesh.creation.cylinder(radius=thick / 2.0, height=piece.length_mm.value, sections=256)
        rod.apply_transform(trimesh.transformations.rotation_matrix(math.pi / 2.0, (0, 1, 0)))
        return turned(rod.apply_translation((0, 0, thick / 2.0)), pose)
    outline = Polygon([(each.x_mm.value, each.y_mm.value) for each in piece.outline_mm])
    return turned(trimesh.creation.extrude_polygon(outline, thick), pose)


def shared(first: trimesh.Trimesh, second: trimesh.Trimesh) -> float:
    """Return the volume that two meshes share, by the other library."""
    both = trimesh.boolean.intersection([first, second], engine="manifold")
    return 0.0 if both.is_empty else float(both.volume)


def mesh_of_prism(prism: Prism) -> trimesh.Trimesh:
    """Return a prism as a mesh, its corners placed one by one."""
    mesh = trimesh.creation.extrude_polygon(Polygon(prism.outline), prism.high - prism.low)
    mesh.apply_translation((0, 0, prism.low))
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = prism.turn, prism.place
    return mesh.apply_transform(matrix)


@pytest.mark.parametrize("name", PLANS)
def test_volume_and_mass_of_every_piece(name: str) -> None:
    """Mesh volume times the data's density is the plan's mass; a rod's mesh of 256 sides is 0.01 percent small."""
    for piece in PLANS[name].pieces:
        mass, found = mass_of(piece), density(piece.material)
        if piece.form == "wire" or mass is None or found is None or piece.quantity.value < 1:
            continue
        volume = float(mesh_of(piece, piece.pose).volume) * piece.quantity.value
        assert volume * found.value / 1000.0 == pytest.approx(mass.value, rel=2e-4), piece.name


@pytest.mark.parametrize("name", PLANS)
def test_pieces_stand_where_the_other_library_puts_them(name: str) -> None:
    """Boxes around the solids are the meshes' to 1e-6 mm; round ones, inscribed, are inside them by 2 percent."""
    for piece in PLANS[name].pieces:
        for pose in (piece.pose, *piece.also):
            solids = solids_of(piece, pose)
            if len(solids) != 1 or piece.form == "wire":
                continue
            low, high = mesh_of(piece, pose).bounds
            slack = 1e-6 if piece.form != "rod" else piece.width_mm.value * 0.02
            assert np.allclose(solids[0].lows, low, atol=slack), piece.name
            assert np.allclose(solids[0].highs, high, atol=slack), piece.name


def test_no_pair_of_the_good_car_shares_room() -> None:
    """The other library finds no shared volume above a touch between any two plates of the car that has no clash."""
    plan = PLANS["good"]
    meshes = [
        (piece, mesh_of(piece, pose))
        for piece in plan.pieces
        if piece.form != "wire"
        for pose in (piece.pose, *piece.also)
    ]
    for i, (first, one) in enumerate(meshes):
        for second, other in meshes[i + 1 :]:
            if (
                first.name != second.name
                and (one.bounds[0] < other.bounds[1]).all()
                and (other.bounds[0] < one.bounds[1]).all()
            ):
                assert shared(one, other) < 0.02, (first.name, second.name)


SIZES = st.floats(0.5, 20.0)
PLACES = st.floats(-8.0, 8.0)
QUARTERS = st.sampled_from([-90.0, 0.0, 90.0, 180.0])
ANGLES = st.one_of(QUARTERS, st.floats(-60.0, 60.0))


@st.composite
def prisms(draw: st.DrawFn) -> Prism:
    """Return a rectangle or a tapered plate, turned and moved."""
    long, wide, thick, taper = draw(SIZES), draw(SIZES), draw(st.floats(0.3, 5.0)), draw(st.sampled_from([1.0, 0.4]))
    outline = ((long / 2, -wide / 2), (long / 2, wide * taper / 2), (-long / 2, wide / 2), (-long / 2, -wide / 2))
    turn = turn_of(draw(ANGLES), draw(ANGLES), draw(ANGLES))
    return Prism.made(outline, 0.0, thick, turn, (draw(PLACES), draw(PLACES), draw(PLACES)))


def volume_of(found: Overlap | None) -> float:
    """Return the shared volume, nothing where there is none."""
    return 0.0 if found is None else found.volume_mm3


@settings(max_examples=150, deadline=None)
@given(prisms(), prisms())
def test_overlap_is_that_of_the_other_library(first: Prism, second: Prism) -> None:
    """Shared volumes agree to a part in a million; what we call a touch is at most a film 0.005 mm thick."""
    ours, theirs = volume_of(overlap(first, second)), shared(mesh_of_prism(first), mesh_of_prism(second))
    if ours == 0.0:
        assert theirs <= 0.005 * 800.0
    else:
        assert ours == pytest.approx(theirs, rel=1e-5, abs=1e-4)


def mirrored(prism: Prism) -> Prism:
    """Return a prism as a mirror along the car shows it."""
    turn = prism.turn
    signs = (1.0, -1.0, 1.0)
    rows = tuple(tuple(signs[r] * turn[r][c] * signs[c] for c in range(3)) for r in range(3))
    outline = [(x, -y) for x, y in reversed(prism.outline)]
    place = (prism.place[0], -prism.place[1], prism.place[2])
    return Prism.made(outline, prism.low, prism.high, rows, place)  # type: ignore[arg-type]  # three rows of three


@settings(max_examples=100, deadline=None)
@given(prisms(), prisms())
def test_mirrored_parts_share_as_much(first: Prism, second: Prism) -> None:
    """Left and right exchanged, two parts share the same volume."""
    here, there = volume_of(overlap(first, second)), volume_of(overlap(mirrored(first), mirrored(second)))
    assert here == pytest.approx(there, rel=1e-5, abs=1e-4)


@settings(max_examples=100, deadline=None)
@given(prisms(), prisms(), PLACES)
def test_moving_both_along_changes_nothing(first: Prism, second: Prism, by: float) -> None:
    """Both moved along the car alike, two parts share the same volume, and it is the same asked the other way round."""

    def moved(prism: Prism) -> Prism:
        place = (prism.place[0] + by, prism.place[1], prism.place[2])
        return Prism.made(prism.outline, prism.low, prism.high, prism.turn, place)

    here = volume_of(overlap(first, second))
    assert volume_of(overlap(moved(first), moved(second))) == pytest.approx(here, rel=1e-5, abs=1e-4)
    assert volume_of(overlap(second, first)) == pytest.approx(here, rel=1e-5, abs=1e-4)
