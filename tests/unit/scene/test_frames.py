import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from seamsight.scene import frames

radians = st.floats(-math.pi, math.pi)
upright = st.floats(-1.57, 1.57)


def scipy_axes(yaw, pitch, roll):
    """Intrinsic turns as SciPy makes them: about z, then the new x, then the new y."""
    return Rotation.from_euler("ZXY", [-yaw, pitch, roll]).as_matrix()


@given(yaw=radians, pitch=radians, roll=radians)
def test_rotation_is_scipy_s(yaw, pitch, roll):
    np.testing.assert_allclose(
        frames.rotation(yaw, pitch, roll), scipy_axes(yaw, pitch, roll), atol=1e-14
    )


@pytest.mark.parametrize(
    ("angles", "axis", "expected"),
    [
        ((90, 0, 0), "away", (1, 0, 0)),  # a screen to the right is looked at along +x
        ((0, 90, 0), "away", (0, 0, 1)),  # a high one upwards
        ((0, 0, 90), "right", (0, 0, -1)),  # clockwise: what was right goes down
        ((0, 0, 90), "up", (1, 0, 0)),
    ],
)
def test_senses_of_the_angles(angles, axis, expected):
    axes = frames.rotation(*np.radians(angles))
    np.testing.assert_allclose(axes[:, ("right", "away", "up").index(axis)], expected, atol=1e-15)


@given(yaw=radians, pitch=upright, roll=radians)
def test_angles_invert_rotation(yaw, pitch, roll):
    axes = frames.rotation(yaw, pitch, roll)
    np.testing.assert_allclose(frames.rotation(*frames.angles(axes)), axes, atol=1e-9)


@given(yaw=st.floats(-3, 3), pitch=st.floats(-1.5, 1.5), roll=st.floats(-3, 3))
def test_angles_are_those_that_went_in(yaw, pitch, roll):
    assert frames.angles(frames.rotation(yaw, pitch, roll)) == pytest.approx(
        (yaw, pitch, roll), abs=1e-9
    )


@pytest.mark.parametrize("pitch", [math.pi / 2, -math.pi / 2])
@given(yaw=radians, roll=radians)
def test_straight_up_and_down(pitch, yaw, roll):
    axes = frames.rotation(yaw, pitch, roll)
    found = frames.angles(axes)
    assert found[1:] == (pytest.approx(pitch), 0.0)
    np.testing.assert_allclose(frames.rotation(*found), axes, atol=1e-9)


@given(yaw=radians, pitch=radians, roll=radians, origin=st.tuples(*[st.floats(-1e3, 1e3)] * 3))
def test_inverse_undoes(yaw, pitch, roll, origin):
    rig_from_part = frames.transform(frames.rotation(yaw, pitch, roll), origin)
    points = np.array([[0.0, 0, 0], [100, -50, 3]])
    there = frames.move(rig_from_part, points)
    np.testing.assert_allclose(frames.move(frames.inverse(rig_from_part), there), points, atol=1e-9)
    np.testing.assert_allclose(frames.inverse(rig_from_part) @ rig_from_part, np.eye(4), atol=1e-9)


def test_move_is_the_matrix_product():
    rig_from_part = frames.transform(frames.rotation(1, 2, 3), (4, 5, 6))
    np.testing.assert_allclose(
        frames.move(rig_from_part, np.array([7.0, 8, 9])), (rig_from_part @ [7, 8, 9, 1])[:3]
    )


def test_shift_does_not_turn():
    np.testing.assert_array_equal(
        frames.move(frames.shift(1, 2, 3), np.eye(3)), np.add(np.eye(3), [1, 2, 3])
    )


def test_a_direction_is_azimuth_clockwise_and_elevation_up():
    assert frames.direction_at(math.radians(90), 0) == pytest.approx((1, 0, 0))
    expected = (0, math.cos(math.pi / 6), 0.5)
    assert frames.direction_at(0, math.radians(30)) == pytest.approx(expected)


@given(azimuth=radians, elevation=upright)
def test_azimuth_and_elevation_are_those_that_went_in(azimuth, elevation):
    direction = frames.direction_at(azimuth, elevation)
    np.testing.assert_allclose(frames.rotation(azimuth, elevation, 0)[:, 1], direction, atol=1e-12)
    found = frames.azimuth_and_elevation(np.array([direction, direction]))
    np.testing.assert_allclose(found, [[azimuth] * 2, [elevation] * 2], atol=1e-6)
