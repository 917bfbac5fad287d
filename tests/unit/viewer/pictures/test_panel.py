"""A panel's screen with its holes, and its mask: the right pixels at the right place."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.pictures.panel import all_screens_picture, holes_picture, mask_picture
from seamsight.viewer.setup.panel import panel_of

BLUE, ORANGE = (120, 200, 255), (255, 190, 92)


@pytest.fixture
def views(rig_of, screen_at):
    holes = [
        {"shape": "circle", "at": [-60, 30], "diameter": 60, "name": "speed"},
        {"shape": "rect", "at": [50, -20], "size": [70, 50], "name": "map"},
    ]
    plate = {"name": "panel", "size": [300, 200], "thickness": 4, "centre": [0, 500, 0]}
    screen = {"width": 240, "height": 150, "pixels": [800, 500], "on": "panel"}
    rig = rig_of(
        plate=[plate | {"holes": holes}],
        screen=[screen_at(centre=[0, 7, 0], **screen)],
    )
    return panel_of(build(rig)).views


def test_the_mask_is_clear_within_the_windows_alone(views):
    mask = np.asarray(mask_picture(views))
    assert mask.shape == (500, 800, 4)
    assert set(np.unique(mask[..., 3])) == {0, 255}
    clear = mask[..., 3] == 0
    for view in views:
        window = view.window
        rows, columns = slice(window.y, window.bottom), slice(window.x, window.right)
        # the round hole is pi / 4 of its rectangle, and either eye sees a little more
        share = clear[rows, columns].mean()
        assert share == pytest.approx(np.pi / 4 if view.hole.name == "speed" else 1, abs=0.02)
        clear[rows, columns] = False
    assert not clear.any()


def test_up_on_the_plate_is_up_on_the_mask(views):
    speed, chart = views
    assert speed.window.bottom < chart.window.bottom
    assert speed.window.right < chart.window.x
    clear = np.asarray(mask_picture(views))[..., 3] == 0
    # the round hole's middle: 60 left and 30 up of the screen's, 800 / 240 pixels a mm
    assert clear[250 - 100, 400 - 200]
    assert not clear[250 + 100, 400 - 200]


def test_the_picture_has_holes_and_windows_in_their_places(views):
    picture = np.asarray(holes_picture(views))
    assert picture.shape == (500, 800, 3)
    for view in views:
        window = view.window
        for corner in ((window.y, window.x), (window.bottom - 1, window.right - 1)):
            assert tuple(picture[corner]) == BLUE
    # the round hole's circle is 30 mm, 100 pixels, from its middle
    rows, columns = np.nonzero((picture == ORANGE).all(axis=2))
    away = np.hypot(rows - 150, columns - 200)
    circle = away[(away > 60) & (away < 120)]
    assert len(circle) > 300
    assert np.abs(circle - 100).max() < 3


def test_all_screens_are_put_side_by_side(views):
    assert all_screens_picture(views, 1000).size == (1000, 333)
