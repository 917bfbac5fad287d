"""Borders bent by maps whose areas are known in closed form."""

import numpy as np
import pytest

from seamsight.scene.polygons import region_within
from seamsight.viewer.numbers.rings import Rim, bent

SQUARE = np.array([(0.0, 0.0), (10, 0), (10, 10), (0, 10)])


def area(rings):
    return region_within(rings).area()


def flat(points, _):
    return points[:, :2].copy()


def test_no_rings_bend_to_none():
    assert bent([], flat, 1.0) == ([], 0.0)


def test_straight_edges_are_cut_no_finer_than_asked():
    (ring,), unsure = bent([SQUARE], flat, 2.5)
    # sixteen pieces, and the middle of each, by which it is seen to be straight
    assert len(ring) == 32
    assert area([ring]) == pytest.approx(100)
    assert unsure == 0


@pytest.mark.parametrize("bend", [0.02, 0.3])
def test_a_shear_along_a_parabola_keeps_the_area(bend):
    def shear(points, _):
        return np.column_stack([points[:, 0], points[:, 1] + bend * points[:, 0] ** 2])

    (ring,), unsure = bent([SQUARE], shear, 5.0)
    assert abs(area([ring]) - 100) <= unsure + 1e-5
    assert 0 < unsure < 0.02
    assert len(ring) > 32


def test_a_strip_bends_to_a_ring_sector():
    def polar(points, _):
        radius, angle = 3 + points[:, 1] / 10, points[:, 0] / 10
        return np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])

    (ring,), unsure = bent([SQUARE], polar, 5.0)
    # one radian between the radii 3 and 4
    assert area([ring]) == pytest.approx((4**2 - 3**2) / 2, abs=max(unsure, 1e-3))


def test_rings_stay_apart_and_in_order():
    rings, _ = bent([SQUARE, SQUARE + 20, SQUARE + 40], flat, 4.0)
    assert [ring.min() for ring in rings] == [0, 20, 40]
    assert [area([ring]) for ring in rings] == pytest.approx([100] * 3)


def test_points_that_bend_nowhere_are_left_out_or_put_beside():
    def half(points, _):
        return np.where(points[:, :1] > 5, np.nan, points)

    (ring,), _ = bent([SQUARE], half, 1.0)
    assert ring[:, 0].max() == pytest.approx(5, abs=1e-2)
    (ring,), _ = bent([SQUARE], half, 1.0, beside=lambda points: points + 100)
    assert ring.max() == 110


def test_bends_are_told_near_which_place_to_look():
    told = []

    def notes(points, near):
        told.append(near)
        return points.copy()

    bent([SQUARE], notes, 5.0)
    assert told[0] is None
    # the first guesses for the middles of pieces are those of their chords
    assert np.ptp(told[1][:, 0]) == 10


def test_a_rim_is_followed_where_its_chords_dip():
    # a disc of radius 10 in which the picture runs faster and faster towards its rim
    def steep(points, _):
        radius = np.linalg.norm(points, axis=1, keepdims=True)
        return points * (2 - np.sqrt(np.maximum(1 - (radius / 10.0) ** 2, 0)))

    def reached(middles, ways):
        return middles * 10 / np.linalg.norm(middles, axis=1, keepdims=True)

    angles = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = 10 * np.column_stack([np.cos(angles), np.sin(angles)])
    rim = Rim([np.ones(24, bool)], reached)
    plain = area(bent([ring], steep, 5.0)[0])
    along = area(bent([ring], steep, 5.0, rim)[0])
    whole = np.pi * 20**2
    assert along == pytest.approx(whole, rel=2e-3)
    assert plain < 0.97 * whole
