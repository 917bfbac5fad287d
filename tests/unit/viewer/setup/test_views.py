"""What to enter for a screen, against OpenGL's formula, Kooima's example, VTK, and rays."""

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from vtkmodules.vtkRenderingCore import vtkCamera

from seamsight.scene import build
from seamsight.viewer.casting.frustum import FlatView, directions_of
from seamsight.viewer.casting.trace import trace
from seamsight.viewer.setup import views as setup_views
from seamsight.viewer.setup.views import (
    entries,
    projection_of,
    screen_views,
    seen_places,
    views_of,
)

EYE = np.zeros(3)
LENS = {
    "screen": "screen",
    "focal_length": 450,
    "distance": 150,
    "width": 700,
    "height": 500,
    "offset": [15, -10],
}
TURNED = {"centre": [120, 600, -40], "yaw": 12, "pitch": -7, "roll": 3}


def only_screen(assembly):
    return assembly.screens[0]


@pytest.fixture
def outside(rig_of, screen_at):
    """Return a function from keys of a screen, and of its lens, to an assembly with it."""

    def make(lens=None, **keys):
        screen = screen_at(**{"shows": "world", **keys})
        return build(rig_of(screen=[screen], lens=[lens] if lens else []))

    return make


# ---- the projection matrix -----------------------------------------------------------------------


def test_matrix_is_gl_frustum_s(monkeypatch):
    # OpenGL 2.1 reference, glFrustum; the numbers by hand for l, r, b, t = -0.3, 0.5, -0.2, 0.25,
    # near 1, far 100
    monkeypatch.setattr(setup_views, "NEAR", 1.0)
    monkeypatch.setattr(setup_views, "FAR", 100.0)
    view = FlatView(-0.3, 0.5, -0.2, 0.25, 0, 0, 0)
    expected: list[list[float]] = [
        [2.5, 0, 0.25, 0],
        [0, 4.444444, 0.111111, 0],
        [0, 0, -1.020202, -2.020202],
        [0, 0, -1, 0],
    ]
    np.testing.assert_allclose(projection_of(view), expected, atol=5e-7)
    entered = entries(view)
    assert [entered[key] for key in ("left", "right", "down", "up")] == pytest.approx(
        [16.6992, 26.5651, 11.3099, 14.0362], abs=5e-5
    )
    assert entered["h"] == pytest.approx(16.6992 + 26.5651, abs=1e-4)


@pytest.mark.parametrize(("side", "sign"), [(-1.25, 1), (1.25, -1)])
def test_kooima_s_two_eyes(outside, side, sign):
    # Generalized Perspective Projection (2008): a screen of 3 x 1.5 at 18, eyes at x = -1.25 and
    # 1.25; 50 mm stand for his unit
    assembly = outside(width=150, height=75, pixels=[800, 400], centre=[-50 * side, 900, 0])
    matrix = np.array(screen_views(assembly)["screen"].as_json()["projection"])
    expected = [[12, 0, sign * 0.833333, 0], [0, 24, 0, 0]]
    np.testing.assert_allclose(matrix[:2], expected, atol=5e-7)
    assert matrix[2, 2] == pytest.approx(-(1000 + 0.1) / (1000 - 0.1))
    assert matrix[2, 3] == pytest.approx(-2 * 1000 * 0.1 / (1000 - 0.1))


def vtk_composite(corners):
    """Return clip_from_rig of VTK's off-axis camera at the origin.

    Corners (3, 3) are the screen's bottom left, bottom right and top right.
    """
    camera = vtkCamera()
    camera.SetUseOffAxisProjection(True)
    camera.SetEyeSeparation(0.0)
    camera.SetPosition(0, 0, 0)
    camera.SetFocalPoint(0, 0, -1)
    camera.SetViewUp(0, 1, 0)
    camera.SetClippingRange(0.1, 1000)
    for corner, put in zip(
        corners,
        (camera.SetScreenBottomLeft, camera.SetScreenBottomRight, camera.SetScreenTopRight),
        strict=True,
    ):
        put(corner)
    camera.SetEyePosition([0, 0, 0])
    matrix = camera.GetCompositeProjectionTransformMatrix(1.0, -1, 1)
    return np.array([[matrix.GetElement(row, column) for column in range(4)] for row in range(4)])


@pytest.mark.parametrize("lens", [None, LENS])
def test_what_is_entered_is_vtk_s_off_axis_camera(outside, lens):
    assembly = outside(lens, **TURNED)
    told = screen_views(assembly)["screen"].as_json()

    # the corners of the image: where they are, or where the thin lens shows them
    screen = only_screen(assembly)
    corners = np.array([(-200, 0, -150), (200, 0, -150), (200, 0, 150)], float)
    if lens:
        middle = np.array([15.0, -150.0, -10.0])
        corners = middle + (corners - middle) * 450 / (450 - 150)
    corners = corners @ screen.rig_from_screen[:3, :3].T + screen.rig_from_screen[:3, 3]

    turn = Rotation.from_euler("ZXY", [-told["yaw"], told["pitch"], told["roll"]], degrees=True)
    right, away, up = turn.as_matrix().T
    camera_from_rig = np.eye(4)
    camera_from_rig[:3, :3] = right, up, -away
    ours = np.array(told["projection"]) @ camera_from_rig
    np.testing.assert_allclose(ours, vtk_composite(corners), atol=1e-9)


# ---- where directions land -----------------------------------------------------------------------


@pytest.mark.parametrize("lens", [None, LENS])
def test_a_direction_lands_on_the_pixel_that_draws_it(outside, lens):
    assembly = outside(lens, **TURNED)
    view = screen_views(assembly)["screen"].view
    places = np.random.default_rng(1).uniform(0.02, 0.98, (200, 2))
    directions = directions_of(view, places)
    ends = trace(assembly, np.zeros_like(directions), directions)
    assert {assembly.parts[part].role for part in ends.parts} == {"image"}
    screen = only_screen(assembly)
    inside = (ends.points - screen.rig_from_screen[:3, 3]) @ screen.rig_from_screen[:3, :3]
    pixels = (inside[:, [0, 2]] / screen.size + 0.5) * screen.display.pixels
    np.testing.assert_allclose(pixels, places * screen.display.pixels, atol=0.1)


# ---- best fits -----------------------------------------------------------------------------------


def test_a_square_screen_needs_no_shift(outside):
    views = screen_views(outside(width=600, height=337.5, pixels=[1920, 1080], centre=[0, 700, 0]))
    told = views["screen"].as_json()
    # 600 wide at 700: 2 atan(300 / 700)
    assert told["h"] == told["symmetric"]["h"] == pytest.approx(46.397181, abs=1e-6)
    assert told["residual"] == pytest.approx(0, abs=1e-9)
    assert told["symmetric"]["error"] == pytest.approx(0, abs=1e-9)


def test_a_tilted_symmetric_view_is_found_again(outside):
    # a screen that stands square to a line 25 right and 10 down
    axis = Rotation.from_euler("ZX", [-25, -10], degrees=True).as_matrix()[:, 1]
    assembly = outside(centre=list(650 * axis), yaw=25, pitch=-10)
    told = screen_views(assembly)["screen"].as_json()["symmetric"]
    assert (told["yaw"], told["pitch"]) == pytest.approx((25, -10), abs=1e-9)
    assert told["error"] == pytest.approx(0, abs=1e-9)


def test_no_other_symmetric_view_is_better(outside):
    assembly = outside(**TURNED)
    screen = only_screen(assembly)
    views = views_of(screen, EYE)
    places, seen = seen_places(screen, EYE)
    assert math.degrees(views.error) > 0.1
    best = np.array(views.symmetric[4:])
    for change in 2e-3 * np.random.default_rng(2).normal(size=(200, 4)):
        yaw, pitch, roll = best + change[:3]
        wide = views.symmetric.right * (1 + change[3])
        other = FlatView(-wide, wide, -0.75 * wide, 0.75 * wide, yaw, pitch, roll)
        assert setup_views.greatest_error(other, places, seen) > views.error - 1e-7


def test_a_grooved_lens_leaves_a_residual(outside):
    thin, grooved = (
        screen_views(outside(LENS | {"model": model, "conjugates": "infinity"}))["screen"]
        for model in ("thin", "grooved")
    )
    assert thin.residual < 1e-12
    assert math.degrees(grooved.residual) > 0.05

    # no other edges fit better
    screen = only_screen(outside(LENS | {"model": "grooved", "conjugates": "infinity"}))
    places, seen = seen_places(screen, EYE)
    for change in 1e-3 * np.random.default_rng(3).normal(size=(200, 4)):
        edges = dict(zip(FlatView._fields, np.array(grooved.view[:4]) + change, strict=False))
        other = grooved.view._replace(**edges)
        assert setup_views.greatest_error(other, places, seen) > grooved.residual - 1e-7


def test_from_behind_there_is_no_view(outside):
    assert screen_views(outside(centre=[0, -300, 0])) == {"screen": None}
