import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from seamsight.scene import shapes
from seamsight.scene.display import Bezel
from seamsight.scene.outlines import Circle, Groove, Piece, Rectangle

# area of the 96-sided polygon in a circle of radius 1
POLYGON = 96 / 2 * math.sin(2 * math.pi / 96)


def as_mesh(triangles):
    return trimesh.Trimesh(*trimesh.triangles.to_kwargs(triangles).values())


def circle(x, z, diameter):
    return Circle((x, z), diameter / 2)


def rect(x, z, across, up, radius=0.0):
    return Rectangle((x, z), (across, up), radius)


def drilled(*holes, size=(200, 100)):
    return shapes.plate(Piece(Rectangle((0, 0), size), holes), 4)


SOLIDS = {
    "box": (shapes.box(30, 20, 10), 30 * 20 * 10),
    "surround": (shapes.surround(100, 60, 8, 12), (116 * 76 - 100 * 60) * 12),
    "bare plate": (drilled(), 200 * 100 * 4),
    "round hole": (
        drilled(circle(20, -10, 50)),
        (200 * 100 - POLYGON * 625) * 4,
    ),
    "square hole": (
        drilled(rect(20, -10, 50, 30)),
        (200 * 100 - 50 * 30) * 4,
    ),
    "overlapping holes": (
        drilled(rect(0, 0, 50, 30), rect(20, 0, 50, 30)),
        (200 * 100 - 70 * 30) * 4,
    ),
    "hole over the edge": (
        drilled(rect(100, 0, 50, 30)),
        (200 * 100 - 25 * 30) * 4,
    ),
    "nothing left": (drilled(rect(0, 0, 300, 300)), 0),
}
solids = pytest.mark.parametrize("name", SOLIDS)


@solids
def test_volume(name):
    triangles, expected = SOLIDS[name]
    assert shapes.volume(triangles) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("name", sorted(SOLIDS.keys() - {"nothing left"}))
def test_closed_with_normals_outwards(name):
    mesh = as_mesh(SOLIDS[name][0])
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0


@solids
def test_no_triangle_without_area(name):
    a, b, c = SOLIDS[name][0].transpose(1, 0, 2)
    assert (np.linalg.norm(np.cross(b - a, c - a), axis=1) > 0).all()


def test_extents_are_right_away_up():
    box = shapes.box(30, 20, 10).reshape(-1, 3)
    np.testing.assert_allclose([box.min(axis=0), box.max(axis=0)], [[-15, -10, -5], [15, 10, 5]])
    plate = drilled(size=(30, 10)).reshape(-1, 3)
    np.testing.assert_allclose([plate.min(axis=0), plate.max(axis=0)], [[-15, -2, -5], [15, 2, 5]])
    ring = shapes.surround(30, 10, 5, 12).reshape(-1, 3)
    np.testing.assert_allclose([ring.min(axis=0), ring.max(axis=0)], [[-20, 0, -10], [20, 12, 10]])


def test_hole_is_where_it_is_said():
    plate = as_mesh(drilled(circle(60, 20, 30)))
    inside = plate.contains([[60, 0, 20], [60, 0, 34], [60, 0, 36], [-60, 0, 20], [60, 0, -20]])
    assert inside.tolist() == [False, False, True, True, True]


def test_rounded_corners_leave_their_material():
    rounded = shapes.volume(drilled(rect(0, 0, 80, 50, 10)))
    sharp = shapes.volume(drilled(rect(0, 0, 80, 50)))
    assert rounded - sharp == pytest.approx((4 - POLYGON) * 10**2 * 4, rel=1e-3)


def test_hole_rounded_all_over_is_a_circle():
    hole = shapes.volume(drilled(rect(0, 0, 50, 50, 25)))
    assert hole == pytest.approx((200 * 100 - math.pi * 625) * 4, rel=1e-4)


def test_rectangle_faces_the_pilot():
    a, b, c = shapes.rectangle(40, 30)[0]
    np.testing.assert_allclose(np.cross(b - a, c - a), [0, -40 * 30, 0])


@pytest.mark.parametrize("lip", [0, 5])
@pytest.mark.parametrize(
    "border", [Bezel(), Bezel(left=10, right=20, top=30, bottom=40), Bezel(left=10)]
)
def test_image_bezel_and_housing_close(border, lip):
    lip = lip if border != Bezel() else 0
    pieces = (
        shapes.rectangle(400, 300),
        shapes.bezel(400, 300, border, lip),
        shapes.housing(400, 300, border, lip, 50),
    )
    whole = np.concatenate(pieces)
    outer = (400 + border.left + border.right) * (300 + border.top + border.bottom)
    assert shapes.volume(whole) == pytest.approx(outer * (50 + lip) - 400 * 300 * lip, rel=1e-12)


@settings(max_examples=30)
@given(x=st.floats(-70, 70), y=st.floats(-6, 6), z=st.floats(-45, 45))
@pytest.mark.parametrize("name", ["box", "surround", "overlapping holes", "round hole"])
def test_winding_number_is_trimesh_s_inside(name, x, y, z):
    triangles = SOLIDS[name][0]
    point = np.array([x, y, z]) + 1e-3 / math.pi  # off the faces
    expected = as_mesh(triangles).contains([point])[0]
    (found,) = shapes.winding_numbers(triangles, point[None])
    assert found == pytest.approx(1.0 if expected else 0.0, abs=1e-9)


def test_winding_number_of_random_points_in_a_torus():
    torus = trimesh.creation.torus(100, 30)
    points = np.random.default_rng(7).uniform(-140, 140, (300, 3)) * [1, 1, 0.3]
    found = shapes.winding_numbers(torus.triangles, points) > 0.5
    np.testing.assert_array_equal(found, torus.contains(points))
    assert 50 < np.sum(found) < 250


def test_a_notch_is_cut_away_and_what_two_shapes_share_has_its_corners():
    board, tool = shapes.box(100, 60, 10), shapes.box(8, 30, 50) + np.array([0.0, 30.0, 0.0])
    assert shapes.volume(shapes.without(board, [tool])) == pytest.approx(
        100 * 60 * 10 - 8 * 15 * 10
    )
    corners = shapes.common_corners(board, tool)
    assert corners.min(axis=0) == pytest.approx([-4, 15, -5])
    assert corners.max(axis=0) == pytest.approx([4, 30, 5])
    assert len(shapes.common_corners(board, tool + np.array([0.0, 100.0, 0.0]))) == 0


def test_a_plate_whose_holes_touch_at_a_line_is_cut_or_stays():
    touching = drilled(rect(-5, -5, 10, 10), rect(5, 5, 10, 10))
    tool = shapes.box(8, 30, 8) + np.array([60.0, 0.0, 0.0])
    rest = shapes.volume(shapes.without(touching, [tool]))
    assert rest == pytest.approx(shapes.volume(touching), rel=0.02)


def test_a_groove_across_a_prism():
    outline = np.array([(-50, -30), (50, -30), (50, 30), (-50, 30)], dtype=float)
    for above in (False, True):
        grooved = shapes.prism(outline, 10, Groove(-20, -17.5, 4, above))
        assert shapes.volume(grooved) == pytest.approx(100 * 60 * 10 - 100 * 2.5 * 4)
        side = grooved[..., 2].max() if above else grooved[..., 2].min()
        flat = (grooved[..., 2] == side).all(axis=1)
        spans = grooved[flat][..., 1]
        assert not ((spans > -19.9) & (spans < -17.6)).any()
