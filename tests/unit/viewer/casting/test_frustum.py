"""The view that a simulator must draw for a screen, against other programs' off-axis cameras."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from vtkmodules.vtkRenderingCore import vtkCamera

from seamsight.scene import build
from seamsight.viewer.casting.frustum import view_of

NEAR, FAR = 10.0, 10_000.0
POSES = st.tuples(st.floats(-180, 180), st.floats(-89, 89), st.floats(-180, 180))
EYES = st.tuples(st.floats(-120, 120), st.floats(-200, 200), st.floats(-120, 120))


def axes_of(yaw, pitch, roll):
    """Columns: right, away, up of a posed part."""
    return Rotation.from_euler("ZXY", [-yaw, pitch, roll], degrees=True).as_matrix()


def composite(frustum, eye):
    """Return clip_from_rig as Kooima, Generalized Perspective Projection (2008), builds it."""
    left, right, bottom, top = (frustum[side] * NEAR for side in ("left", "right", "bottom", "top"))
    projection = np.array(
        [
            [2 * NEAR / (right - left), 0, (right + left) / (right - left), 0],
            [0, 2 * NEAR / (top - bottom), (top + bottom) / (top - bottom), 0],
            [0, 0, -(FAR + NEAR) / (FAR - NEAR), -2 * FAR * NEAR / (FAR - NEAR)],
            [0, 0, -1, 0],
        ]
    )
    right, away, up = axes_of(frustum["yaw"], frustum["pitch"], frustum["roll"]).T
    view = np.eye(4)
    view[:3, :3] = right, up, -away
    view[:3, 3] = -view[:3, :3] @ eye
    return projection @ view


def off_axis_camera(corners, eye):
    """Return clip_from_rig of VTK's camera for a screen.

    Corners are its bottom left, bottom right and top right.
    """
    camera = vtkCamera()
    camera.SetUseOffAxisProjection(True)
    camera.SetEyeSeparation(0.0)
    camera.SetPosition(0, 0, 0)
    camera.SetFocalPoint(0, 0, -1)
    camera.SetViewUp(0, 1, 0)
    camera.SetClippingRange(NEAR, FAR)
    camera.SetScreenBottomLeft(corners[0])
    camera.SetScreenBottomRight(corners[1])
    camera.SetScreenTopRight(corners[2])
    camera.SetEyePosition(list(eye))
    matrix = camera.GetCompositeProjectionTransformMatrix(
        1.0, -1, 1
    )  # the product: VTK parts the factors otherwise
    return np.array([[matrix.GetElement(row, column) for column in range(4)] for row in range(4)])


def corners_of(centre, axes, width, height):
    across = np.array(
        [(-width / 2, 0, -height / 2), (width / 2, 0, -height / 2), (width / 2, 0, height / 2)]
    )
    return across @ axes.T + centre


# ---- Kooima, Generalized Perspective Projection (2008), his two-eyed example: a screen of 3 x 1.5
# ---- at 18 before eyes at x = -1.25 and 1.25; 50 mm stand for his unit. The eight numbers are
# ---- 0.25 / 18, 2.75 / 18 and 0.75 / 18.


@pytest.mark.parametrize(
    ("eye", "left", "right"), [(-1.25, -0.013889, 0.152778), (1.25, -0.152778, 0.013889)]
)
def test_published_stereo_example(rig_of, screen_at, numbers_of, eye, left, right):
    screen = screen_at(width=150, height=75, centre=[0, 900, 0])
    frustum = numbers_of(rig_of(screen=[screen]), offset=[50 * eye, 0, 0]).screens["screen"].frustum
    found = [frustum[side] for side in ("left", "right", "bottom", "top")]
    np.testing.assert_allclose(found, [left, right, -0.041667, 0.041667], atol=5e-7)


def test_published_stereo_example_as_a_matrix(rig_of, screen_at, numbers_of):
    screen = screen_at(width=150, height=75, centre=[0, 900, 0])
    frustum = numbers_of(rig_of(screen=[screen]), offset=[-62.5, 0, 0]).screens["screen"].frustum
    width, height = frustum["right"] - frustum["left"], frustum["top"] - frustum["bottom"]
    assert 2 / width == pytest.approx(12)
    assert 2 / height == pytest.approx(24)
    assert (frustum["right"] + frustum["left"]) / width == pytest.approx(0.833333, abs=5e-7)


def test_screen_tilted_by_hand(rig_of, screen_at, numbers_of):
    # a screen from (-300, 800, -200) to (250, 950, 150) seen from (32.5, -50, 20); VTK prints the
    # same numbers
    screen = screen_at(
        width=np.hypot(550, 150),
        height=350,
        centre=[-25, 875, -25],
        yaw=np.degrees(np.arctan2(-150, 550)),
    )
    frustum = numbers_of(rig_of(screen=[screen]), offset=[32.5, -50, 20]).screens["screen"].frustum
    found = [frustum[side] * 0.1 for side in ("left", "right", "bottom", "top")]
    np.testing.assert_allclose(found, [-0.010703, 0.052114, -0.024241, 0.014325], atol=5e-7)


@settings(max_examples=40)
@given(pose=POSES, eye=EYES)
def test_bare_screen_is_vtk_s_off_axis_camera(rig_of, screen_at, numbers_of, pose, eye):
    axes = axes_of(*pose)
    centre = axes @ [30, 600, -20]
    screen = screen_at(
        centre=list(centre), **dict(zip(("yaw", "pitch", "roll"), pose, strict=True))
    )
    frustum = numbers_of(rig_of(screen=[screen]), offset=list(eye)).screens["screen"].frustum
    camera = off_axis_camera(corners_of(centre, axes, 400, 300), eye)
    np.testing.assert_allclose(composite(frustum, eye), camera, atol=1e-8 * np.abs(camera).max())


@settings(max_examples=40)
@given(
    pose=POSES,
    eye=EYES,
    magnification=st.floats(1.01, 4),
    offset=st.tuples(st.floats(-40, 40), st.floats(-40, 40)),
)
def test_screen_behind_a_lens_is_a_camera_on_its_virtual_image(
    rig_of, screen_at, numbers_of, pose, eye, magnification, offset
):
    axes = axes_of(*pose)
    centre = axes @ [30, 600, -20]
    screen = screen_at(
        centre=list(centre), **dict(zip(("yaw", "pitch", "roll"), pose, strict=True))
    )
    lens = {
        "screen": "screen",
        "focal_length": 450,
        "magnification": magnification,
        "width": 900,
        "height": 900,
    }
    rig = rig_of(screen=[screen], lens=[lens | {"offset": list(offset)}])
    frustum = numbers_of(rig, offset=list(eye)).screens["screen"].frustum
    # a thin lens enlarges everything behind it about its own middle
    lens_middle = centre + axes @ [offset[0], -450 * (1 - 1 / magnification), offset[1]]
    corners = lens_middle + magnification * (corners_of(centre, axes, 400, 300) - lens_middle)
    camera = off_axis_camera(corners, eye)
    np.testing.assert_allclose(composite(frustum, eye), camera, atol=1e-8 * np.abs(camera).max())


@pytest.mark.parametrize("keys", [{"thickness": 0.01}, {}])
@pytest.mark.parametrize("grooves", ["pilot", "screen"])
@pytest.mark.parametrize("cut", ["rig", "infinity"])
def test_small_screen_s_frustum_is_the_thin_lens_s(rig_of, screen_at, grooves, cut, keys):
    def frustum(model):
        optic = {
            "screen": "screen",
            "focal_length": 450,
            "magnification": 1.5,
            "width": 100,
            "height": 100,
            "model": model,
            "grooves": grooves,
            "conjugates": cut,
        }
        screen = screen_at(width=4.5, height=3.75, centre=[0, 750, 0])
        rig = rig_of(screen=[screen], lens=[optic | keys])
        return view_of(build(rig).screens[0], np.zeros(3))

    assert frustum("grooved")[:4] == pytest.approx(frustum("thin")[:4], rel=1e-3)
