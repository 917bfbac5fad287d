"""What triangles hide from a point, held to closed forms and to unions by another library."""

import numpy as np
import pytest
import shapely
import trimesh

from seamsight.scene import shapes
from seamsight.scene.polygons import region_within, ring_by_ring
from seamsight.viewer.numbers.silhouettes import clipped, outline, surface_of

NOWHERE = np.empty((0, 4))
BEFORE = np.array([[0.0, 1.0, 0.0, 0.0]])  # y > 0


def hidden(surface, eye=(0, 0, 0), inside=BEFORE, sides=NOWHERE, chosen=None):
    """Return the region of the plane y = 1 that a surface hides from an eye in the plane y = 0."""
    apex = np.array([*eye, 1.0])
    points, lengths, _ = outline(surface, apex, inside, sides, chosen).rings()
    away = points - eye
    return region_within(ring_by_ring(away[:, [0, 2]] / away[:, 1:2], lengths))


def triangles_of(mesh, centre):
    return np.array(mesh.triangles) + centre


@pytest.mark.parametrize("eye", [(0, 0, 0), (300, 0, 0), (-40, 0, 150)])
def test_a_box_hides_the_hull_of_its_corners(eye):
    box = surface_of(shapes.box(40, 20, 30) + np.array([3, 200, -4]))
    assert len(box.corners) == 8
    assert box.solid.all()
    away = box.corners[:, :3] - eye
    hull = shapely.MultiPoint(away[:, [0, 2]] / away[:, 1:2]).convex_hull
    assert hidden(box, eye).area() == pytest.approx(hull.area, rel=1e-6)


def test_a_ball_leaves_few_edges_and_hides_a_disc():
    ball = surface_of(triangles_of(trimesh.creation.icosphere(5, 50), [0, 300, 0]))
    around = outline(ball, np.array([0, 0, 0, 1.0]), BEFORE, NOWHERE)
    assert len(ball.faces) == 20480
    assert around.size < 1000
    # the cone that touches a ball of radius r at a distance d has the slope r / sqrt(d^2 - r^2)
    assert hidden(ball).area() == pytest.approx(np.pi * 50**2 / (300**2 - 50**2), rel=1e-3)


def test_any_heap_of_triangles_hides_its_union():
    rng = np.random.default_rng(3)
    heap = rng.uniform(-100, 100, (300, 1, 3)) * [1, 0.5, 1] + [0, 300, 0]
    heap = heap + rng.uniform(-20, 20, (300, 3, 3))
    flat = heap[:, :, [0, 2]] / heap[:, :, 1:2]
    union = shapely.unary_union([shapely.Polygon(ring) for ring in flat])
    surface = surface_of(heap)
    assert not surface.solid.any()
    assert hidden(surface).area() == pytest.approx(union.area, abs=1e-7)


def test_an_open_or_inside_out_mesh_hides_the_same():
    ball = triangles_of(trimesh.creation.icosphere(3, 50), [0, 300, 0])
    whole = hidden(surface_of(ball)).area()
    assert hidden(surface_of(ball[:, ::-1])).area() == pytest.approx(whole)
    # without its far side it is open, and hides as much
    near = ball[ball[:, :, 1].max(axis=1) < 310]
    assert not surface_of(near).solid.any()
    assert hidden(surface_of(near)).area() == pytest.approx(whole)


def test_parts_of_one_surface_stay_apart():
    boxes = np.concatenate([shapes.box(20, 20, 20) + np.array([x, 200, 0]) for x in (0, 5)])
    surface = surface_of(boxes, np.repeat([4, 7], 12))
    points, lengths, owners = outline(surface, np.array([0, 0, 0, 1.0]), BEFORE, NOWHERE).rings()
    assert sorted(owners) == [4, 7]
    assert sum(lengths) == len(points)


def test_what_is_behind_a_plane_is_cut_off():
    # of a wall that runs away from the eye at x = 10, what lies before y = 100 ends at a slope 0.1
    corners = [(10.0, 50, -5), (10, 400, -5), (10, 400, 5), (10, 50, 5)]
    wall = surface_of(np.array(corners)[[[0, 1, 2], [0, 2, 3]]])
    before = np.vstack([BEFORE, [0, -1, 0, 100]])
    # between the slopes 0.1 and 0.2 it is as high as 10 / y, y = 10 / slope: 1 slope
    assert hidden(wall, inside=before).area() == pytest.approx((0.2**2 - 0.1**2) / 2)


def test_a_board_across_the_eye_s_plane_hides_what_is_before_it():
    board = surface_of(shapes.box(2000, 2000, 10) + np.array([0, 0, -100]))
    sides = np.array([[1.0, 2.0, 0, 0], [-1, 2, 0, 0], [0, 2, 1, 0], [0, 2, -1, 0]])
    seen = hidden(board, inside=np.vstack([[0, 1, 0, -1e-3], sides])) ^ region_within(
        [np.array([(-1.0, -1), (1, -1), (1, 1), (-1, 1)])]
    )
    # its near face reaches down from the slope 95 / 1000 of its far end
    assert seen.area() == pytest.approx(2 * (1 - 0.095))


def test_what_is_wholly_beside_may_be_left_out():
    ball = surface_of(triangles_of(trimesh.creation.icosphere(3, 50), [0, 300, 0]))
    right = np.array([[1.0, 0, 0, 0]])
    half = region_within([np.array([(0.0, -1), (1, -1), (1, 1), (0, 1)])])
    kept = hidden(ball, sides=right) ^ half
    assert kept.area() == pytest.approx((hidden(ball) ^ half).area())
    assert outline(ball, np.array([0, 0, 0, 1.0]), BEFORE, -right).size > 0
    beyond = np.array([[1.0, 0, 0, -60]])
    assert outline(ball, np.array([0, 0, 0, 1.0]), BEFORE, beyond).size == 0


def test_some_triangles_hide_alone():
    box = surface_of(shapes.box(40, 20, 30) + np.array([0, 200, 0]))
    near = box.flat_of_face == box.flat_of_face[np.argmin(box.corners[box.faces][:, :, 1].sum(1))]
    assert near.sum() == 2
    assert hidden(box, chosen=near).area() == pytest.approx(40 * 30 / 190**2)
    alone = box.portion(np.flatnonzero(near))
    assert len(alone.corners) == 4
    assert hidden(alone).area() == pytest.approx(40 * 30 / 190**2)


def test_flat_surfaces_are_told_apart_the_largest_first():
    box = surface_of(shapes.box(40, 20, 30))
    assert len(box.flats) == 6
    assert np.abs(box.flats[box.flats_by_size[:2], 1]).tolist() == [1, 1]  # 40 x 30, across y


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_triangles_are_cut_at_a_plane(count):
    # a triangle of area 1/2 in the plane y = 0, with so many corners right of x = 0
    corners = {0: (-2, -1, -1), 1: (1, -1, -1), 2: (1, 1, -1), 3: (1, 2, 2)}[count]
    triangle = np.array([[(x, 0.0, z, 1.0) for x, z in zip(corners, (0, 0.3, 1), strict=True)]])
    pieces, origin = clipped(triangle, np.array([[1.0, 0, 0, 0]]))
    assert len(pieces) == {0: 0, 1: 1, 2: 2, 3: 1}[count]
    assert (pieces[:, :, 0] >= -1e-12).all()
    assert (origin == 0).all()

    def area(of):
        a, b = of[:, 1] - of[:, 0], of[:, 2] - of[:, 0]
        return (np.abs(a[:, 0] * b[:, 2] - a[:, 2] * b[:, 0]) / 2).sum()

    rest, _ = clipped(triangle, np.array([[-1.0, 0, 0, 0]]))
    assert area(pieces) + area(rest) == pytest.approx(area(triangle))
