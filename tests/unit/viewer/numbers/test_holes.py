"""Rims of a plate's holes in the rig, and the screen that is seen through each."""

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.numbers.holes import holes_of, screens_behind

ROUND = {"shape": "circle", "at": [-60, 20], "diameter": 56, "name": "round"}
SQUARE = {"shape": "rect", "at": [50, -10], "size": [90, 60], "radius": 8}
PLATE = {
    "name": "panel",
    "size": [300, 200],
    "thickness": 4,
    "centre": [0, 500, 0],
    "holes": [ROUND, SQUARE],
}


@pytest.fixture
def panel_rig(rig_of):
    def make(*screens, **tables):
        return rig_of(plate=[PLATE], screen=list(screens), **tables)

    return make


def test_rims_are_the_plate_s_own(panel_rig):
    rig = panel_rig()
    first, second = holes_of(rig.plate[0])
    assert np.linalg.norm(first.front - first.back, axis=1) == pytest.approx(4)
    spans = [
        np.linalg.norm(hole.front - hole.front.mean(axis=0), axis=1) for hole in (first, second)
    ]
    assert spans[0] == pytest.approx(28, abs=0.01)
    assert spans[1].max() < np.hypot(45, 30)


def behind(rig):
    found = screens_behind(build(rig), holes_of(rig.plate[0]), [eyes_of(rig, Head(name="here"))])
    return [screen and screen.name for screen in found]


def test_each_hole_has_the_screen_that_is_seen_through_it(panel_rig, screen_at):
    clock = screen_at("clock", width=70, height=70, centre=[-60, 510, 20])
    far = screen_at("far", width=2000, height=1500, centre=[0, 1500, 0])
    assert behind(panel_rig(clock, far)) == ["clock", "far"]
    assert behind(panel_rig(clock)) == ["clock", None]


def test_what_is_before_the_plate_does_not_count(panel_rig, screen_at):
    # neither a screen in front of a hole, nor a board that hides the hole from the eyes
    near = screen_at("near", width=70, height=70, centre=[-60, 450, 20], body=5)
    far = screen_at("far", width=2000, height=1500, centre=[0, 1500, 0])
    board = {"name": "lid", "size": [400, 2, 300], "centre": [0, 300, 0]}
    assert behind(panel_rig(near, far)) == ["far", "far"]
    assert behind(panel_rig(far, board=[board])) == ["far", "far"]
