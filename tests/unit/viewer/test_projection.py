import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from seamsight.scene import ChoiceError, build
from seamsight.scene.frames import rotation
from seamsight.viewer import Projection, see

FLAT = Projection("rectilinear", 6, 4, 80, azimuth=30, elevation=-20, tilt=15)
ROUND = Projection("equirectangular", 8, 4, 160, azimuth=-25, elevation=10)


def directions(projection):
    """Return every ray's direction: (x a, y a, b) of its column and row, turned by the axes.

    (rows, columns, 3)
    """
    (x, y), (a, b) = projection.columns().T, projection.rows().T[..., None]
    rays = np.stack(np.broadcast_arrays(x * a, y * a, b), axis=-1) @ projection.axes.T
    return rays / np.linalg.norm(rays, axis=-1, keepdims=True)


def test_equirectangular_pixels_are_equal_steps_of_angle():
    azimuths = np.radians(-25 + 20 * (np.arange(8) - 3.5))
    elevations = np.radians(10 - 20 * (np.arange(4) - 1.5))[:, None]
    expected = np.stack(
        np.broadcast_arrays(
            np.sin(azimuths) * np.cos(elevations),
            np.cos(azimuths) * np.cos(elevations),
            np.sin(elevations),
        ),
        axis=-1,
    )
    np.testing.assert_allclose(directions(ROUND), expected, atol=1e-12)


def test_rectilinear_pixels_are_equal_steps_on_a_plane():
    step = 2 * np.tan(np.radians(40)) / 6
    across, down = np.meshgrid(step * (np.arange(6) - 2.5), step * (np.arange(4) - 1.5))
    plane = np.stack([across, np.ones_like(across), -down], axis=-1)
    turned = plane @ Rotation.from_euler("ZXY", [-30, -20, 15], degrees=True).as_matrix().T
    expected = turned / np.linalg.norm(turned, axis=-1, keepdims=True)
    np.testing.assert_allclose(directions(FLAT), expected, atol=1e-12)


@pytest.mark.parametrize("kind", ["equirectangular", "rectilinear"])
def test_samples_lie_evenly_in_their_pixels(kind):
    coarse, fine = (
        Projection(kind, 6, 4, 80, samples=samples).columns()[:, 0] for samples in (1, 3)
    )
    np.testing.assert_allclose(fine[1::3], coarse)


@given(column=st.floats(-1, 9))
@pytest.mark.parametrize("projection", [FLAT, ROUND])
def test_azimuth_of_a_column_and_back(projection, column):
    assert projection.column_at(projection.azimuth_at(column)) == pytest.approx(column, abs=1e-9)


@given(row=st.floats(-1, 5))
@pytest.mark.parametrize("projection", [FLAT, ROUND])
def test_elevation_of_a_row_and_back(projection, row):
    assert projection.row_at(projection.elevation_at(row)) == pytest.approx(row, abs=1e-9)


@pytest.mark.parametrize("kind", ["equirectangular", "rectilinear"])
def test_azimuths_at_the_edges_are_the_field(kind):
    projection = Projection(kind, 101, 51, 90, azimuth=7)
    assert projection.azimuth_at(100.5) - projection.azimuth_at(-0.5) == pytest.approx(90)
    assert projection.azimuth_at(50) == pytest.approx(7)


@pytest.mark.parametrize("kind", ["equirectangular", "rectilinear"])
@pytest.mark.parametrize(("azimuth", "elevation"), [(0, 0), (20, 0), (-31, 0), (0, 14), (0, -22)])
def test_a_small_screen_is_at_its_azimuth_and_elevation(
    rig_of, screen_at, kind, azimuth, elevation
):
    turned = Rotation.from_euler("ZX", [-azimuth, elevation], degrees=True).as_matrix()
    screen = screen_at(
        width=12, height=12, centre=list(turned @ [0, 600, 0]), yaw=azimuth, pitch=elevation
    )
    projection = Projection(kind, 301, 201, 90)
    rows, columns = np.nonzero(
        see(build(rig_of(screen=[screen])), np.zeros(3), projection).parts == 0
    )
    assert columns.mean() == pytest.approx(projection.column_at(azimuth), abs=0.6)
    assert rows.mean() == pytest.approx(projection.row_at(elevation), abs=0.6)


@pytest.mark.parametrize(
    ("kind", "keys", "said"),
    [
        ("rectilinear", {"field": 171}, "a rectilinear picture covers up to 170 degrees"),
        ("fisheye", {}, "there are equirectangular, rectilinear"),
        ("equirectangular", {"field": 361}, "an equirectangular picture covers up to 360 degrees"),
        ("equirectangular", {"field": 0}, "got 0"),
        ("equirectangular", {"field": float("nan")}, "got nan"),
        ("equirectangular", {"width": 0}, "1 to 16384 pixels"),
        ("equirectangular", {"height": 16385}, "1 to 16384 pixels"),
        (
            "equirectangular",
            {"width": 10, "height": 10, "field": 200},
            "beyond straight up or down",
        ),
        ("equirectangular", {"elevation": 60}, "beyond straight up or down"),
    ],
)
def test_what_cannot_be_drawn_is_refused(kind, keys, said):
    with pytest.raises(ChoiceError, match=said):
        Projection(kind, **({"width": 100, "height": 80, "field": 90} | keys))


@pytest.mark.parametrize("elevation", [-30, 20, 45])
def test_a_pitched_picture_s_scale_tells_true_azimuths(elevation):
    picture = Projection("rectilinear", 600, 400, 60.0, azimuth=10.0, elevation=elevation)
    x, y = picture.columns()[-1]
    right, forward, _ = rotation(math.radians(10), math.radians(elevation), 0) @ np.array(
        [x, y, 0.0]
    )
    assert picture.azimuth_at(599) == pytest.approx(math.degrees(math.atan2(right, forward)))
    assert picture.column_at(picture.azimuth_at(599)) == pytest.approx(599)
