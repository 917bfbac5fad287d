import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from seamsight.scene import ChoiceError, Head
from seamsight.viewer import eyes_of, head_named

angles = st.floats(-180, 180)


def eyes(rig_of, pilot=None, **head):
    return eyes_of(
        rig_of(pilot={"eye_point": [10, 20, 1150]} | (pilot or {})), Head(name="here", **head)
    )


def test_design_eyes_are_half_the_pupil_distance_to_each_side(rig_of):
    found = eyes(rig_of, {"pupil_distance": 64})
    np.testing.assert_allclose(found.left, [-22, 20, 1150])
    np.testing.assert_allclose(found.right, [42, 20, 1150])
    np.testing.assert_allclose(found.mid, [10, 20, 1150])


def test_turn_swings_the_eyes_about_the_neck(rig_of):
    # the neck 100 mm behind the eyes stays; the eyes come round to its right
    found = eyes(rig_of, {"neck": 100}, turn=90)
    np.testing.assert_allclose(found.mid, [10 + 100, 20 - 100, 1150])
    np.testing.assert_allclose(found.left, [110, -80 + 31.5, 1150])
    np.testing.assert_allclose(found.right, [110, -80 - 31.5, 1150])


def test_nod_lifts_the_face(rig_of):
    found = eyes(rig_of, {"neck": 100}, nod=90)
    np.testing.assert_allclose(found.mid, [10, 20 - 100, 1150 + 100])
    np.testing.assert_allclose(found.axes[:, 1], [0, 0, 1], atol=1e-12)


def test_tilt_lowers_the_right_eye(rig_of):
    found = eyes(rig_of, tilt=30)
    np.testing.assert_allclose(found.mid, [10, 20, 1150])
    assert found.left[2] - found.right[2] == pytest.approx(63 * np.sin(np.radians(30)))


def test_offset_moves_before_turning(rig_of):
    found = eyes(rig_of, {"neck": 0}, offset=[-60, 20, 5], turn=35)
    np.testing.assert_allclose(found.mid, [-50, 40, 1155])


@given(turn=angles, nod=angles, tilt=angles, neck=st.floats(0, 200), pupils=st.floats(40, 80))
def test_head_is_rigid_about_the_neck(rig_of, turn, nod, tilt, neck, pupils):
    found = eyes(rig_of, {"neck": neck, "pupil_distance": pupils}, turn=turn, nod=nod, tilt=tilt)
    axes = Rotation.from_euler("ZXY", [-turn, nod, tilt], degrees=True).as_matrix()
    np.testing.assert_allclose(found.axes, axes, atol=1e-12)
    np.testing.assert_allclose(
        found.mid, np.array([10, 20 - neck, 1150]) + neck * axes[:, 1], atol=1e-9
    )
    np.testing.assert_allclose(found.right - found.left, pupils * axes[:, 0], atol=1e-9)
    np.testing.assert_allclose((found.right + found.left) / 2, found.mid, atol=1e-9)


def test_point_by_name(rig_of):
    found = eyes(rig_of)
    assert [found.point(eye) is getattr(found, eye) for eye in ("left", "right", "mid")] == [
        True
    ] * 3


def test_design_head_always_exists(rig_of):
    assert head_named(rig_of(), "design").offset == (0, 0, 0)


def test_unknown_head_is_told_with_the_nearest(rig_of):
    with pytest.raises(ChoiceError, match=r'no head "leaning in".*did you mean "leaning out"'):
        head_named(rig_of(head=[{"name": "leaning out"}]), "leaning in")


def test_an_unknown_eye_is_told_with_those_there_are(rig_of):
    with pytest.raises(ChoiceError, match=r'no eye "third" \(there are left, right, mid\)'):
        eyes(rig_of).point("third")
