import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from seamsight.scene import ChoiceError, Head
from seamsight.viewer import eyes_of, head_named
from seamsight.viewer.eye import EYES, eyes_looking

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
    with pytest.raises(
        ChoiceError, match=r'no head position "leaning in".*did you mean "leaning out"'
    ):
        head_named(rig_of(head=[{"name": "leaning out"}]), "leaning in")


def test_an_unknown_eye_is_told_with_those_there_are(rig_of):
    with pytest.raises(ChoiceError, match=r'no eye "third" \(there are left, right, mid\)'):
        eyes(rig_of).point("third")


# ---- eyes that turn in their sockets ------------------------------------------------------------


def looking(rig_of, azimuth, eye_turn=10.45, elevation=0.0, **head):
    rig = rig_of(pilot={"eye_point": [10, 20, 1150], "eye_turn": eye_turn})
    straight = eyes_of(rig, Head(name="here", **head))
    towards = Rotation.from_euler("ZX", [-azimuth, elevation], degrees=True).apply([0, 1, 0])
    return straight, eyes_looking(rig, straight, lambda _: towards)


@pytest.mark.parametrize(
    ("turned", "aside", "back"),
    [(0, 0, 0), (30, 5.225, 1.400), (-30, -5.225, 1.4), (45, 7.389, 3.061)],
)
def test_pupils_move_as_an_eye_turns(rig_of, turned, aside, back):
    # pupil 3.05, turning point 13.5 mm behind the cornea: the Gullstrand-Emsley model eye
    before, after = looking(rig_of, turned)
    for eye in EYES:
        moved = after.point(eye) - before.point(eye)
        np.testing.assert_allclose(moved, [aside, -back, 0], atol=1e-3)


def test_eyes_turn_in_a_turned_head(rig_of):
    before, after = looking(rig_of, 70.0, turn=40.0)
    moved = (after.left - before.left) @ before.axes
    np.testing.assert_allclose(moved, [5.225, -1.4, 0], atol=1e-3)


def test_eyes_turn_up(rig_of):
    before, after = looking(rig_of, 0.0, elevation=30.0)
    np.testing.assert_allclose(after.mid - before.mid, [0, -1.4, 5.225], atol=1e-3)


def test_eyes_turn_50_degrees_at_most(rig_of):
    far, most = (looking(rig_of, azimuth)[1] for azimuth in (120.0, 50.0))
    np.testing.assert_allclose(far.left, most.left, atol=1e-9)


def test_the_point_between_the_eyes_stays_midway_when_pupils_turn_in(rig_of):
    rig = rig_of(pilot={"eye_point": [0, 0, 0], "eye_turn": 10.0})
    point = np.array([0.0, 490.0, 0.0])  # each eye at 31.5 from it, its turning point 500 before it

    def towards(start):
        return (point - start) / np.linalg.norm(point - start)

    found = eyes_looking(rig, eyes_of(rig, Head(name="here")), towards)
    far = np.hypot(31.5, 500)
    np.testing.assert_allclose(found.right, [31.5 - 10 * 31.5 / far, 10 * 500 / far - 10, 0])
    np.testing.assert_allclose(found.mid, (found.left + found.right) / 2)


def test_pupils_stay_where_no_turning_point_is_told(rig_of):
    before, after = looking(rig_of, 30.0, eye_turn=0)
    assert after is before
