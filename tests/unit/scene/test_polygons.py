"""Flat regions: areas worked out on paper."""

import numpy as np
import pytest

from seamsight.scene.polygons import (
    bounds_of,
    hull_of,
    joined,
    raster,
    reach,
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


def test_a_raster_has_the_cells_whose_middles_lie_inside():
    low, high = np.array([-2.0, -1.0]), np.array([2.0, 1.0])
    region = rectangle((-1.2, -0.6), (0.3, 0.7)) - rectangle((-0.6, -0.2), (-0.1, 0.2))
    cells = raster(region, low, high, 40, 20)
    x, z = np.meshgrid(np.arange(40) * 0.1 - 1.95, np.arange(20) * 0.1 - 0.95)
    inside = (x > -1.2) & (x < 0.3) & (z > -0.6) & (z < 0.7)
    hole = (x > -0.6) & (x < -0.1) & (z > -0.2) & (z < 0.2)
    assert (cells == (inside & ~hole)).all()


def test_a_raster_of_a_slanting_region_has_its_area():
    angles = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    disc = region_within([np.stack([3 * np.cos(angles), 3 * np.sin(angles)], axis=1)])
    cells = raster(disc, np.array([-4.0, -2.0]), np.array([4.0, 5.0]), 1600, 1400)
    shown = disc ^ rectangle((-4, -2), (4, 5))
    assert cells.mean() * 56 == pytest.approx(shown.area(), rel=1e-3)
    nothing = raster(region_within([]), np.array([0.0, 0.0]), np.array([1.0, 1.0]), 3, 2)
    assert nothing.shape == (2, 3)
    assert not nothing.any()


def test_reach_is_where_the_middle_line_is_left():
    region = (
        rectangle((-3, -1), (-2, 1)) + rectangle((1, -0.5), (4, 2)) + rectangle((9, 1), (11, 2))
    )
    ends = reach(region, 0)
    assert ends is not None
    np.testing.assert_allclose(ends, [(-3, 0), (4, 0)])
    assert reach(region, 1) is None
    assert reach(region_within([]), 0) is None
    slanting = region_within([np.array([(-2.0, -1), (1, -1), (4, 2)])])
    ends = reach(slanting, 0)
    assert ends is not None
    np.testing.assert_allclose(ends, [(0, 0), (2, 0)], atol=1e-7)


def test_a_hull_has_no_dents_and_a_line_none():
    points = np.array([(0, 0), (4, 0), (4, 3), (0, 3), (2, 1)], dtype=float)
    hull = hull_of(points)
    assert hull.area() == pytest.approx(12)
    assert len(rings_of(hull)[0]) == 4
    assert hull_of(points[:2]).area() == 0
