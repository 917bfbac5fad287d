"""Who sees which places of a screen: pictures and maps counted against the seen areas."""

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer import Projection, eyes_of, see
from seamsight.viewer.numbers.measures import measure
from seamsight.viewer.pictures.places import (
    BOTH,
    COLOURS,
    LEFT,
    NEITHER,
    RIGHT,
    seen_by_eyes,
    tinted,
)

FLAT = Projection("rectilinear", 1600, 1200, 50)
HERE = Head(name="here")


@pytest.fixture
def boards():
    """Return posts and rails, before and behind where a lens would stand."""
    return [
        {"name": "post", "size": [25, 8, 500], "centre": [40, 250, 0], "roll": 12},
        {"name": "rail", "size": [500, 5, 9], "centre": [0, 300, -35], "yaw": 9},
        {"name": "brace", "size": [7, 20, 320], "centre": [-90, 530, 10], "pitch": 5},
    ]


@pytest.mark.parametrize("lens", [None, "thin", "grooved"])
def test_cells_counted_are_the_shares_seen(rig_of, screen_at, boards, lens):
    optic = {"screen": "screen", "focal_length": 500, "distance": 120, "width": 390, "height": 310}
    lenses = [optic | {"model": lens, "thickness": 2}] if lens else []
    rig = rig_of(screen=[screen_at()], board=boards, lens=lenses)
    assembly, eyes = build(rig), eyes_of(rig, HERE)
    seen = measure(assembly, eyes).screens["screen"].seen
    (codes,) = seen_by_eyes(assembly, eyes)
    assert codes.shape == (1536, 2048)
    assert np.mean((codes == BOTH) | (codes == LEFT)) == pytest.approx(seen["left"], abs=1e-4)
    assert np.mean((codes == BOTH) | (codes == RIGHT)) == pytest.approx(seen["right"], abs=1e-4)
    assert np.mean(codes == BOTH) == pytest.approx(seen["both"], abs=1e-4)
    assert np.mean(codes != NEITHER) == pytest.approx(seen["either"], abs=1e-4)


def test_areas_counted_in_the_picture_are_the_shares_seen(rig_of, screen_at, boards):
    # a bare screen square to a flat picture: all its pixels cover the same area of the screen
    rig = rig_of(screen=[screen_at()], board=boards)
    assembly, eyes = build(rig), eyes_of(rig, HERE)
    seen = measure(assembly, eyes).screens["screen"].seen
    codes = seen_by_eyes(assembly, eyes)
    whole = 400 / 600 / (2 * np.tan(np.radians(25)) / 1600)
    for eye, point in (("left", eyes.left), ("right", eyes.right)):
        view = see(assembly, point, FLAT, with_points=True)
        picture = tinted(view, eye, codes)
        # the screen is black, so a pixel of it has half its tint
        counted = {
            name: (picture == COLOURS[code] // 2).all(axis=2).sum() / (whole * whole * 0.75)
            for name, code in (("both", BOTH), ("one", LEFT if eye == "left" else RIGHT))
        }
        assert counted["both"] == pytest.approx(seen["both"], abs=2e-3)
        assert counted["one"] == pytest.approx(seen[eye] - seen["both"], abs=2e-3)


def test_a_screen_seen_whole_has_no_strips(rig_of, screen_at):
    rig = rig_of(
        screen=[screen_at(), screen_at("tall", width=10, height=1000, centre=[300, 700, 0])]
    )
    codes = seen_by_eyes(build(rig), eyes_of(rig, HERE), 500)
    assert [of_screen.shape for of_screen in codes] == [(375, 500), (500, 5)]
    assert all((of_screen == BOTH).all() for of_screen in codes)


def test_a_place_is_both_where_the_other_eye_sees_that_same_place(rig_of, screen_at):
    # a post hides from each eye what it has behind it: 20 wide, 300 ahead, thin, screen at 600
    post = {"name": "post", "size": [20, 0.1, 800], "centre": [0, 300, 0]}
    rig = rig_of(screen=[screen_at()], board=[post])
    assembly, eyes = build(rig), eyes_of(rig, HERE)
    view = see(assembly, eyes.left, FLAT, with_points=True)
    row = tinted(view, "left", seen_by_eyes(assembly, eyes))[600]
    places = view.points[600, :, 0]
    for code, low, high in ((BOTH, -199, -52.5), (LEFT, -50.5, -12.5), (BOTH, -10.5, 10.5)):
        hit = (places > low) & (places < high)
        assert hit.any()
        assert (row[hit] == COLOURS[code] // 2).all()
