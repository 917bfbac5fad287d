"""The search through a tree of boxes: what it finds, against trying every triangle.

More of it is in `test_caster.py`, against trimesh.
"""

import numpy as np
import pytest
import trimesh

from seamsight.viewer.casting.box_tree import box_tree_of
from seamsight.viewer.casting.search import first_faces_by_search


def searched(triangles, origins, directions):
    tree = box_tree_of(single(triangles))
    return first_faces_by_search(tree, single(origins), single(directions))


def single(values):
    return np.asarray(values, np.float32)


def tried(triangles, origin, direction):
    """Return the first triangle on one ray, or -1.

    Moeller & Trumbore, J. Graphics Tools 2 (1997) 21, in double precision.
    """
    a, b, c = np.moveaxis(single(triangles).astype(float), 1, 0)
    origin, direction = single(origin).astype(float), single(direction).astype(float)
    p = np.cross(direction, c - a)
    with np.errstate(divide="ignore", invalid="ignore"):
        area = np.einsum("ij,ij->i", b - a, p)
        u = np.einsum("ij,ij->i", origin - a, p) / area
        q = np.cross(origin - a, b - a)
        v = q @ direction / area
        distance = np.einsum("ij,ij->i", c - a, q) / area
        met = (u >= 0) & (v >= 0) & (u + v <= 1) & (distance > 0)
    distance[~met] = np.inf
    return int(np.argmin(distance)) if met.any() else -1


def rays(random, count):
    origins, targets = single(random.uniform(-1000, 1000, (2, count, 3)))
    return origins, targets - origins  # of any length


def soup(random, count, size):
    middles = random.uniform(-1000, 1000, (count, 1, 3))
    return middles + random.normal(scale=size, size=(count, 3, 3))


@pytest.mark.parametrize(
    ("count", "size", "sent"),
    [(1, 3000, 200), (5, 900, 200), (300, 300, 500), (20_000, 20, 200), (1_000_000, 3, 5)],
)
def test_random_triangles(count, size, sent):
    random = np.random.default_rng(count)
    triangles = soup(random, count, size)
    origins, directions = rays(random, sent)
    found = searched(triangles, origins, directions)
    expected = [tried(triangles, *ray) for ray in zip(origins, directions, strict=True)]
    assert found.tolist() == expected
    assert (found >= 0).any()


def test_triangles_and_rays_along_the_axes():
    """Boxes without thickness, met edge on, at their corners and from within their plane."""
    steps = np.arange(9.0)
    x, z = (part.ravel() for part in np.meshgrid(steps, steps))
    square = np.array([[[0, 0, 0], [1, 0, 0], [1, 0, 1]], [[0, 0, 0], [1, 0, 1], [0, 0, 1]]])
    triangles = (square + np.stack([x, 5 + 0 * x, z], axis=1)[:, None, None]).reshape(-1, 3, 3)
    origins = np.stack([x, 0 * x, z], axis=1)
    ahead = np.tile([0.0, 1, 0], (len(x), 1))
    assert (searched(triangles, origins, ahead) >= 0).all()
    assert (
        searched(triangles, origins + np.array([0.5, 0, 0.25]), ahead) == 2 * np.arange(81)
    ).all()
    assert (searched(triangles, origins, -ahead) == -1).all()
    assert (searched(triangles, origins + np.array([0, 5, 0]), ahead) == -1).all()  # starts on them
    assert (searched(triangles, origins + np.array([-1, 5, 0]), ahead[:, [1, 0, 2]]) == -1).all()


def test_no_ray_slips_through_a_closed_ball():
    ball = trimesh.creation.icosphere(4, radius=300)
    random = np.random.default_rng(4)
    edges = ball.vertices[ball.edges_unique]
    share = random.uniform(size=(len(edges), 1))
    targets = np.concatenate([edges[:, 0] * share + edges[:, 1] * (1 - share), ball.vertices])
    origins = single(random.uniform(-100, 100, targets.shape))
    assert (searched(ball.triangles, origins, targets - origins) >= 0).all()


def test_triangles_without_area_are_not_met():
    point, line = np.ones((1, 3, 3)), np.array([[[0, 1, 0], [1, 1, 1], [2, 1, 2]]])
    behind = np.array([[[-9, 2, -9], [9, 2, -9], [0, 2, 9]]])
    triangles = np.concatenate([point, line, behind])
    targets = np.array([[1.0, 1, 1], [0, 1, 0], [1.5, 1, 1.5], [0.1, 1, 0.1]])
    assert (searched(triangles, 0 * targets, targets) == 2).all()


@pytest.mark.parametrize("copies", [2, 3, 40])
def test_of_triangles_in_one_place_the_first_is_met(copies):
    random = np.random.default_rng(copies)
    one = random.normal(size=(1, 3, 3)) + np.array([0, 5, 0])
    others = random.normal(size=(50, 3, 3)) - np.array([0, 50, 0])
    triangles = np.concatenate([others, np.tile(one, (copies, 1, 1)), others])
    towards = np.tile(one.mean(axis=1), (10, 1)) + random.normal(scale=0.01, size=(10, 3))
    assert (searched(triangles, np.zeros((10, 3)), towards) == 50).all()


@pytest.mark.parametrize("odd", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_rays_that_are_not_finite_meet_nothing(odd, axis):
    triangle = np.array([[[-1, 1, -1], [1, 1, -1], [0, 1, 1]]])
    origins, directions = np.zeros((3, 3)), np.tile([0.0, 1, 0], (3, 1))
    origins[0, axis] = odd
    directions[1, axis] = odd
    assert searched(triangle, origins, directions).tolist() == [-1, -1, 0]


def test_a_ray_without_a_direction_meets_nothing():
    triangle = np.array([[[-1, 0, -1], [1, 0, -1], [0, 0, 1]]])
    assert searched(triangle, np.zeros((1, 3)), np.zeros((1, 3))).tolist() == [-1]
