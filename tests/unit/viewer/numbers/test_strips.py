"""The dark strip between two images, along many gazes at once."""

import math

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.numbers.strips import Gaze, dark_strips

EYE = np.zeros(3)
WIDTH, AHEAD = 400.0, 600.0


@pytest.fixture
def side_by_side(rig_of, screen_at):
    """Return a function that gives screens in one plane, with gaps between their images, mm."""

    def make(gap, count=2, **tables):
        first = -(WIDTH + gap) * (count - 1) / 2
        places = [first + number * (WIDTH + gap) for number in range(count)]
        screens = [
            screen_at(f"s{number}", width=WIDTH, centre=[x, AHEAD, 0])
            for number, x in enumerate(places)
        ]
        return build(rig_of(screen=screens, **tables))

    return make


def test_strip_between_two_bare_screens_is_the_angle_of_the_gap(side_by_side):
    assembly = side_by_side(12.0)
    first, second = assembly.screens
    (strip,) = dark_strips(assembly, [Gaze(first, second, EYE)])
    assert strip is not None
    assert strip.angle == pytest.approx(2 * math.atan(6 / AHEAD), abs=1e-6)
    np.testing.assert_allclose(strip.start[0] / strip.start[1], -6 / AHEAD, atol=1e-6)
    np.testing.assert_allclose(strip.stop[0] / strip.stop[1], 6 / AHEAD, atol=1e-6)


def test_many_gazes_get_the_answer_of_each_alone(side_by_side):
    assembly = side_by_side(12.0, count=4)
    eyes = [np.array([x, y, 10.0]) for x in (-90.0, 0.0, 140.0) for y in (-50.0, 80.0)]
    gazes = [
        Gaze(assembly.screens[number], assembly.screens[number + 1], eye)
        for number in range(3)
        for eye in eyes
    ]
    together = dark_strips(assembly, gazes)
    for gaze, strip in zip(gazes, together, strict=True):
        (alone,) = dark_strips(assembly, [gaze])
        assert strip is not None
        assert alone is not None
        assert strip.angle == alone.angle
        assert (strip.start == alone.start).all()


def test_no_strip_between_an_image_and_itself(side_by_side):
    assembly = side_by_side(12.0)
    first, second = assembly.screens
    found = dark_strips(assembly, [Gaze(first, first, EYE), Gaze(first, second, EYE)])
    assert found[0] is None
    assert found[1] is not None


def test_no_strip_where_one_image_is_hidden(side_by_side):
    board = {"name": "board", "size": [500, 5, 700], "centre": [-250, 500, 0]}
    assembly = side_by_side(12.0, board=[board])
    first, second = assembly.screens
    assert dark_strips(assembly, [Gaze(first, second, EYE)]) == [None]
    assert dark_strips(assembly, []) == []
