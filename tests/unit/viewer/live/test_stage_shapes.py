"""Images, lines of sight, and the ball around a rig, for 3D views."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.live.stage_shapes import ball_around, image_corners, sight

FOCAL_LENGTH, DISTANCE = 450.0, 150.0  # of the lens of `rig`


def test_a_line_of_sight_is_straight_without_a_lens(rig):
    bare = build(rig).screens[1]
    eye = np.array([-31.5, 0.0, 0.0])
    np.testing.assert_allclose(
        sight(bare, eye), np.array(np.array([eye, (500, 600, 0)])), atol=1e-9
    )
    behind = build(rig).screens[0]
    np.testing.assert_allclose(
        sight(behind, eye, lenses=False), np.array(np.array([eye, (0, 600, 0)])), atol=1e-9
    )


def test_a_line_of_sight_bends_at_the_lens_and_ends_on_the_screens_middle(rig):
    behind = build(rig).screens[0]
    eye = np.array([-31.5, 0.0, 40.0])
    start, crossing, end = sight(behind, eye)
    np.testing.assert_allclose([start, end], np.array(np.array([eye, (0, 600, 0)])), atol=1e-9)
    assert crossing[1] == pytest.approx(600 - DISTANCE)
    # the thin lens's law, slope' = slope - place / f
    # (OpenStax University Physics 3, 2.4, from 1/f = 1/p + 1/q)
    before = (crossing - start) / (crossing - start)[1]
    after = (end - crossing) / (end - crossing)[1]
    np.testing.assert_allclose(
        (after - before)[[0, 2]], -crossing[[0, 2]] / FOCAL_LENGTH, atol=1e-9
    )


def test_the_virtual_image_lies_where_the_lens_equation_has_it(rig):
    behind = build(rig).screens[0]
    # 1/f = 1/p + 1/q, the same source; negative: virtual
    image_distance = 1 / (1 / FOCAL_LENGTH - 1 / DISTANCE)
    corners = image_corners(behind, virtual=True)
    np.testing.assert_allclose(corners[:, 1], 600 - DISTANCE - image_distance)
    np.testing.assert_allclose(
        np.ptp(corners, axis=0)[[0, 2]], np.array([400, 300]) * -image_distance / DISTANCE
    )
    assert np.ptp(image_corners(behind), axis=0) == pytest.approx([400, 0, 300])


def test_a_ball_holds_the_screens_and_the_head_but_no_board(rig):
    middle, radius = ball_around(build(rig))
    away = [np.linalg.norm(np.array(point) - middle) for point in ((0, 0, 0), (500, 600, 0))]
    assert max(away) < radius < 1000
    # the board, 900 mm wide, would draw the middle down
    assert middle[2] == pytest.approx(0.0, abs=60)
