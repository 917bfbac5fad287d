"""Which way to look to see a point: rows of eyes against each eye alone."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.casting.sightlines import (
    directions_through,
    directions_to_image,
    eye_in_aperture_frame,
    image_points,
    lens_intercepts,
    project_onto_image,
    thin_lens_intercepts,
)

ROWS = 40


@pytest.fixture(params=[None, "thin", "grooved"])
def screen(request, rig_of, screen_at):
    """A turned screen without a lens, behind an ideal one, or behind a real one."""
    lens = {"screen": "screen", "focal_length": 400, "distance": 120, "width": 500, "height": 400}
    lenses = [lens | {"model": request.param, "offset": [15, -8]}] if request.param else []
    placed = build(rig_of(screen=[screen_at(yaw=20, pitch=5, bezel=10, lip=6)], lens=lenses))
    return placed.screens[0]


@pytest.fixture
def eyes():
    return np.random.default_rng(8).uniform(-60, 60, (ROWS, 3))


def test_eyes_in_the_aperture_s_frame(screen, eyes):
    alone = [eye_in_aperture_frame(screen, eye) for eye in eyes]
    np.testing.assert_allclose(eye_in_aperture_frame(screen, eyes), alone, atol=1e-12)


def test_points_hidden_from_eyes(screen, eyes):
    points = np.random.default_rng(9).uniform([-200, -80, -150], [200, 700, 150], (ROWS, 3))
    together = project_onto_image(screen, eyes, points)
    alone = [
        project_onto_image(screen, eye, point[None])[0]
        for eye, point in zip(eyes, points, strict=True)
    ]
    np.testing.assert_allclose(together, alone, atol=1e-9)
    assert 10 < np.isfinite(together).all(axis=1).sum() < ROWS


def test_directions_to_places_of_an_image(screen, eyes):
    places = np.random.default_rng(10).uniform([-190, -140], [190, 140], (ROWS, 2))
    together = directions_to_image(screen, eyes, places)
    alone = [
        directions_to_image(screen, eye, place[None])[0]
        for eye, place in zip(eyes, places, strict=True)
    ]
    np.testing.assert_allclose(together, alone, atol=1e-12)
    points = image_points(screen, places)
    through = [
        directions_through(screen.lens, eye, point[None])[0]
        for eye, point in zip(eyes, points, strict=True)
    ]
    np.testing.assert_allclose(
        directions_through(screen.lens, eyes, points), through, atol=1e-12, equal_nan=True
    )


@pytest.mark.parametrize("screen", ["thin", "grooved"], indirect=True)
def test_places_where_a_lens_is_crossed(screen, eyes):
    here = eyes - [0, 500, 0]
    points = np.random.default_rng(11).uniform([-150, 100, -100], [150, 140, 100], (ROWS, 3))
    alone = [
        lens_intercepts(screen.lens, eye, point[None])[0]
        for eye, point in zip(here, points, strict=True)
    ]
    found = lens_intercepts(screen.lens, here, points)
    np.testing.assert_allclose(found, alone, atol=1e-9, equal_nan=True)
    thin = thin_lens_intercepts(here, points, 400)
    alone = [
        thin_lens_intercepts(eye, point[None], 400)[0]
        for eye, point in zip(here, points, strict=True)
    ]
    np.testing.assert_allclose(thin, alone, atol=1e-12)
