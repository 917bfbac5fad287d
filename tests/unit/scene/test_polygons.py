"""Flat regions: areas worked out on paper."""

import numpy as np
import pytest

from seamsight.scene.polygons import (
    bounds_of,
    joined,
    rectangle,
    region_about,
    region_within,
    ring_by_ring,
    rings_of,
)

SQUARE = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)])


def test_regions_are_joined_cut_out_and_shared():
    one, other = rectangle((0, 0), (4, 3)), rectangle((2, 1), (6, 5))
    assert (one + other).area() == pytest.approx(12 + 16 - 4)
    assert (one - other).area() == pytest.approx(8)
    assert (one ^ other).area() == pytest.approx(4)
    assert joined([one, other, region_about((1, 1))]).area() == pytest.approx(24 + 4 - 1)


def test_a_ring_the_other_way_round_is_a_hole():
    hole = SQUARE[::-1] / 2 + 1
    assert region_within([SQUARE, hole]).area() == pytest.approx(16 - 4)
    assert region_within([SQUARE[::-1]]).area() == pytest.approx(16)
    assert [len(ring) for ring in rings_of(region_within([SQUARE, hole]))] == [4, 4]


def test_nothing_has_no_area_and_no_bounds():
    nothing = joined([])
    assert nothing.is_empty()
    assert nothing.area() == 0
    low, high = bounds_of(nothing)
    assert (low > high).all()
    assert bounds_of(rectangle((1, 2), (3, 5)))[1].tolist() == [3, 5]


def test_points_become_rings_again():
    first, second = ring_by_ring(np.arange(14.0).reshape(7, 2), [3, 4])
    assert first.tolist() == [[0, 1], [2, 3], [4, 5]]
    assert len(second) == 4
