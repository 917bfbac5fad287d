"""What an aperture shows: a thin lens's closed forms, a fine grid of rays through a grooved one."""

import math

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.frames import inverse, move
from seamsight.viewer.casting.sightlines import border, image_intercepts
from seamsight.viewer.numbers.landing import shown_part, visible_field

F, D, M, E = 450.0, 150.0, 1.5, 600.0  # focal length; lens to screen; magnification; eye to lens
BOTH_WAYS = pytest.mark.parametrize("grooves", ["pilot", "screen"])


@pytest.fixture(scope="module")
def screen_of(rig_of, screen_at):
    """Return a function from a lens's keys to its screen, 400 x 300 mm; the lens stands E ahead."""

    def make(size=(400.0, 300.0), **keys):
        optic = {"focal_length": F, "distance": D, "width": 600, "height": 450}
        width, height = size
        screen = screen_at(width=width, height=height, centre=[0, E + D, 0])
        return build(rig_of(screen=[screen], lens=[{"screen": "screen"} | optic | keys])).screens[0]

    return make


def landing(edge, eye=0.0):
    """Return where a thin lens sends the ray past an aperture's edge, from an eye off its axis."""
    return edge + D * ((edge - eye) / E - edge / F)


def test_whole_image_is_seen_over_its_own_angle(screen_of):
    found = visible_field(screen_of(model="thin"), np.zeros(3))
    # the image stands M times as large e + M d away
    assert found["h"] == pytest.approx(2 * math.atan(M * 200 / (E + M * D)), abs=1e-12)
    assert found["v"] == pytest.approx(2 * math.atan(M * 150 / (E + M * D)), abs=1e-12)


@BOTH_WAYS
@pytest.mark.parametrize("model", ["thin", "grooved"])
def test_small_aperture_is_seen_over_its_own_angle(screen_of, model, grooves):
    screen = screen_of(model=model, grooves=grooves, width=200, height=120)
    aside, below = (visible_field(screen, np.array(eye)) for eye in ((31.5, 0, 0), (0, 0, -12.0)))
    assert aside["h"] == pytest.approx(math.atan(68.5 / E) + math.atan(131.5 / E), abs=1e-5)
    assert below["v"] == pytest.approx(math.atan(72 / E) + math.atan(48 / E), abs=1e-5)


def test_image_beside_its_aperture_is_not_seen(screen_of):
    screen = screen_of(model="thin", offset=[400, 0], width=200)
    assert visible_field(screen, np.zeros(3)) == {"h": 0.0, "v": 0.0}
    assert shown_part(screen, np.zeros(3), 4) is None


@BOTH_WAYS
def test_border_of_an_image_shown_whole_is_its_own(screen_of, grooves):
    screen = screen_of(model="grooved", grooves=grooves, conjugates="rig")
    shown = shown_part(screen, np.array([20.0, 0.0, 5.0]), 16)
    assert (shown.border == border(screen, 16)).all()
    assert (shown.middle == 0).all()


def test_thin_lens_shows_a_rectangle(screen_of):
    eye = np.array([25.0, 0.0, 10.0])
    shown = shown_part(screen_of(model="thin", width=200, height=600), eye, 1)
    left, right = landing(-100, 25), landing(100, 25)
    expected = [(left, -150), (right, -150), (right, 150), (left, 150)]
    np.testing.assert_allclose(shown.border, expected, atol=1e-9)


def test_aperture_to_one_side_shows_a_middle_of_its_own(screen_of):
    shown = shown_part(screen_of(model="thin", width=200, offset=[150, 0]), np.zeros(3), 1)
    # from the lens's axis, 150 right of the screen's, the eye is 150 to the left
    left, right = 150 + landing(-100, -150), 150 + landing(100, -150)
    assert left > 0
    np.testing.assert_allclose(shown.middle, [(left + min(right, 200)) / 2, 0], atol=1e-9)


def rays_through(screen, eye, count=401):
    """Return where a grid of rays through an aperture lands on its image, if it does."""
    lens = screen.lens
    half = np.array([lens.optic.width, lens.optic.height]) / 2
    across, up = (np.linspace(-side, side, count) for side in half)
    places = np.stack(np.meshgrid(across, up), axis=-1).reshape(-1, 2)
    here = move(inverse(lens.rig_from_lens), eye)
    depths = np.full(len(places), lens.optic.separation)
    landed = image_intercepts(lens, here, places, depths)[:, :2] + lens.optic.offset
    return landed[(np.abs(landed) <= np.array(screen.size) / 2).all(axis=1)]


@BOTH_WAYS
@pytest.mark.parametrize("size", [(120, 320), (320, 90), (150, 100)])
@pytest.mark.parametrize("conjugates", ["rig", "infinity"])
def test_border_holds_all_that_a_grooved_lens_shows(screen_of, grooves, conjugates, size):
    width, height = size
    screen = screen_of(
        model="grooved", grooves=grooves, conjugates=conjugates, width=width, height=height
    )
    eye = np.array([40.0, 0.0, -20.0])
    seen = rays_through(screen, eye)
    shown = shown_part(screen, eye, 64).border
    # the grid's outermost rays pass at the aperture's very edges, or within a step of the image's
    np.testing.assert_allclose(shown.min(axis=0), seen.min(axis=0), atol=1.0)
    np.testing.assert_allclose(shown.max(axis=0), seen.max(axis=0), atol=1.0)
    # and its corners are the corners of what is seen
    for corner in shown[::64]:
        outwards = np.sign(corner)
        best = seen[np.argmax(seen @ outwards)]
        assert (corner - best) @ outwards == pytest.approx(0, abs=2.0)


def test_dark_corners_stay_in_the_border(screen_of):
    # a stock sheet with its grooves to the pilot reflects all light in its corners
    screen = screen_of((480.0, 300.0), model="grooved", grooves="pilot", conjugates="infinity")
    shown = shown_part(screen, np.zeros(3), 1)
    np.testing.assert_allclose(np.abs(shown.border), [[240, 150]] * 4)
    seen = rays_through(screen, np.zeros(3))
    assert np.abs(seen).sum(axis=1).max() < 240 + 150 - 10
