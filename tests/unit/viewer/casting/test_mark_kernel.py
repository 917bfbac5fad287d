"""The cubes along a line, against points taken closely along it."""

import numpy as np
import pytest

from seamsight.viewer.casting.mark_kernel import mark

STEP = 10.0
LOW = np.array([-40.0, 0.0, 20.0])
SHAPE = (9, 7, 5)


def marked(origin, direction, face_at=None):
    direction = np.array([direction], float) / np.linalg.norm(direction)
    seen = np.zeros(SHAPE, bool)
    corners = np.array([face_at or (0.0, 0.0, 0.0)])
    face = np.array([-1 if face_at is None else 0], np.int32)
    normals = np.array([[0.0, -1.0, 0.0]])
    mark(np.array([origin], float), direction, face, corners, normals, LOW, STEP, seen)
    return seen


def along(origin, direction, far):
    direction = np.array(direction, float) / np.linalg.norm(direction)
    points = np.array(origin) + np.arange(0, far, 1e-3)[:, None] * direction
    at = np.floor((points - LOW) / STEP).astype(int)
    at = at[((at >= 0) & (at < SHAPE)).all(axis=1)]
    seen = np.zeros(SHAPE, bool)
    seen[tuple(at.T)] = True
    return seen


@pytest.mark.parametrize("seed", range(20))
def test_lines_mark_what_points_along_them_lie_in(seed):
    chance = np.random.default_rng(seed)
    origin = chance.uniform([-80, -40, -10], [90, 110, 110])
    direction = chance.uniform([-40, 0, 20], [50, 70, 70]) - origin
    exact, found = along(origin, direction, 400), marked(origin, direction)
    # points a thousandth apart may miss a corner that is just touched
    assert (found | ~exact).all()
    assert (found & ~exact).sum() <= 1


@pytest.mark.parametrize("way", [(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, 0, -1)])
def test_lines_along_an_axis_mark_a_row(way):
    found = marked((3.0, 33.0, 47.0), way)
    assert np.array_equal(found, along((3.0, 33.0, 47.0), way, 200))
    assert found.sum() > 2


def test_a_line_ends_where_it_meets_a_face():
    found = marked((3.0, -50.0, 47.0), (0, 1, 0), face_at=(0.0, 25.0, 0.0))
    assert np.argwhere(found).tolist() == [[4, 0, 2], [4, 1, 2], [4, 2, 2]]


def test_a_line_beside_the_grid_marks_nothing():
    assert not marked((3.0, -50.0, 170.0), (0, 1, 0)).any()
    assert not marked((3.0, -50.0, 47.0), (0, -1, 0)).any()
