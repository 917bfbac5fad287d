"""Boxes against their Minkowski differences' hulls."""

import numpy as np
import pytest
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from seamsight.scene.boxes import Boxes, common_places, joined, overlap

CORNERS = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])


def box(centre, halves, turn=(0.0, 0.0, 0.0)):
    axes = Rotation.from_euler("zyx", turn, degrees=True).as_matrix()
    return Boxes(np.array([centre], float), axes[None], np.array([halves], float))


def least_move(first, second):
    """Return the least move that frees two boxes: to the hull of all their corners' differences."""
    corners = [
        boxes.centres[0] + (CORNERS * boxes.halves[0]) @ boxes.axes[0].T
        for boxes in (first, second)
    ]
    hull = ConvexHull((corners[0][:, None] - corners[1][None]).reshape(-1, 3))
    return -hull.equations[:, 3].max()  # distance inside each face; the nearest


def test_boxes_side_by_side_overlap_by_what_they_share():
    first = box((0, 0, 0), (10, 20, 30))
    assert overlap(first, box((17, 0, 0), (10, 20, 30))) == pytest.approx(3)
    assert overlap(first, box((20, 0, 0), (10, 20, 30))) == pytest.approx(0)
    assert overlap(first, box((26, 3, 0), (10, 20, 30))) == pytest.approx(-6)


def test_turned_boxes_overlap_as_their_minkowski_difference_says():
    random = np.random.default_rng(1)
    firsts, seconds = (
        [
            box(random.uniform(-25, 25, 3), random.uniform(1, 30, 3), random.uniform(-180, 180, 3))
            for _ in range(200)
        ]
        for _ in range(2)
    )
    depths = overlap(joined(firsts), joined(seconds))
    places = common_places(joined(firsts), joined(seconds))
    clashes = 0
    for first, second, depth, place in zip(firsts, seconds, depths, places, strict=True):
        expected = least_move(first, second)
        if expected <= 0:
            assert depth <= 1e-9
            continue
        clashes += 1
        assert depth == pytest.approx(expected, abs=1e-9)
        for one in (first, second):  # the place is in both, to a millimetre
            own = np.abs((place - one.centres[0]) @ one.axes[0])
            assert (own <= one.halves[0] + 1).all()
    assert clashes > 50


def test_bounds_hold_all_corners():
    turned = box((5, 6, 7), (10, 20, 30), (30, -40, 50))
    corners = turned.centres[0] + (CORNERS * turned.halves[0]) @ turned.axes[0].T
    assert turned.bounds == pytest.approx(np.array([corners.min(axis=0), corners.max(axis=0)]))
