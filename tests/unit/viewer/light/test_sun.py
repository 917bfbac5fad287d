"""Sunlight through lenses: where it focuses, what it meets, how dense it is there."""

import math

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.light.sun import strongest, sun_on_lenses

LENS = {"screen": "screen", "focal_length": 500, "distance": 150, "width": 400, "height": 300}
BEHIND_ME = np.array([0.0, -1.0, 0.0])
WINDOW = {"name": "window", "kind": "window", "centre": [0, -2000, 0], "yaw": 180}
SMALL = {"width": 40, "height": 30}


@pytest.fixture
def sun_on(rig_of, screen_at):
    def sun_on(towards=BEHIND_ME, screen=(), **tables):
        rig = rig_of(screen=[screen_at(**dict(screen))], lens=[LENS], **tables)
        return sun_on_lenses(build(rig), towards / np.linalg.norm(towards))

    return sun_on


def test_on_the_axis_the_screen_is_in_front_of_the_focus(sun_on):
    [found] = sun_on()
    assert found.focus == pytest.approx((0, 950, 0))  # the lens plane is at 450
    assert (found.from_pilot, found.share, found.through) == (True, 1, [])
    [screen] = found.meets
    assert (screen.part, screen.depth) == ("screen", pytest.approx(150))
    assert screen.before_focus == pytest.approx(350)
    # the beam has narrowed to 1 - d/f = 0.7 each way
    assert screen.times == pytest.approx(1 / 0.7**2)
    # 900 W/m² less what acrylic of 1.49 mirrors, square on: it passes 0.925
    assert screen.flux == pytest.approx(900 * 0.925 / 0.7**2, rel=2e-3)
    assert found.power == pytest.approx(900 * 0.925 * 0.12, rel=2e-3)


def test_a_board_in_the_focus_burns(sun_on):
    # a lens of 400 x 300 and f 500 makes 7,065 suns in an image of 4.65 mm (geometry, done apart)
    board = {"name": "board", "size": [900, 18, 900], "centre": [0, 959, 0]}
    [found] = sun_on(board=[board], screen=SMALL.items())
    assert found.meets[0].part == "board"
    assert found.meets[0].times == pytest.approx(7065, rel=0.01)
    assert found.meets[0].before_focus == pytest.approx(0, abs=1e-6)
    assert strongest([found]) == found.meets[0]


def test_from_where_to_where_it_burns(sun_on):
    # with E through the lens, where E / (1 - z/f)^2 reaches 4,300: 0.578 to 1.422 f for 765 W/m²
    [found] = sun_on()
    near = math.sqrt(900 * 0.925 / 4300)
    assert found.burning == pytest.approx((500 * (1 - near), 500 * (1 + near)), rel=1e-3)
    assert math.sqrt(765 / 4300) == pytest.approx(0.422, abs=5e-4)


def test_from_the_side_the_focus_moves_across(sun_on):
    # the ray through an ideal lens's middle goes straight on, the focus lies in its focal plane
    [found] = sun_on(np.array([math.tan(math.radians(20)), -1.0, 0.0]))
    assert found.focus == pytest.approx((-500 * math.tan(math.radians(20)), 950, 0))
    assert found.angle == pytest.approx(20)


def test_only_through_windows(sun_on):
    wide = WINDOW | {"size": [1000, 1000], "luminance": 5000}
    [found] = sun_on(lamp=[wide])
    assert (found.through, found.share) == (["window"], 1)
    assert found.meets[0].flux == pytest.approx(900 * 0.925 * 0.918 / 0.7**2, rel=3e-3)  # n 1.52
    [half] = sun_on(lamp=[wide | {"centre": [500, -2000, 0]}])
    assert half.share == pytest.approx(0.5, abs=0.02)
    assert sun_on(lamp=[wide | {"centre": [1000, -2000, 0]}]) == []
    assert sun_on(lamp=[wide | {"kind": "lamp"}]) == []  # it is in the sun's way


def test_what_is_in_the_way_shades(sun_on):
    board = {"name": "board", "size": [900, 18, 900], "centre": [0, -500, 0]}
    assert sun_on(board=[board]) == []
    assert sun_on(np.array([0.0, 1.0, 0.0])) == []  # the screen itself is
