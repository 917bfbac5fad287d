"""The rig in 3D, off-screen."""

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer import eyes_of
from seamsight.viewer.live.head_room import Room
from seamsight.viewer.live.plotting import snapshot
from seamsight.viewer.live.stage import Stage
from seamsight.viewer.live.state import Orbit

ORANGE = (224, 138, 0)  # an image's outline


def count(picture, colour):
    return int((np.abs(picture.astype(int) - colour).max(axis=-1) < 12).sum())


def test_a_snapshot_has_its_size_and_shows_the_rig(plotter, rig):
    stage = Stage(plotter, build(rig))
    stage.show(eyes_of(rig, Head(name="here")))
    picture = snapshot(plotter)
    assert picture.shape == (240, 320, 3) and picture.dtype == np.uint8
    assert len(np.unique(picture.reshape(-1, 3), axis=0)) > 100
    stage.place_camera(Orbit(60.0, 40.0, 0.8))
    assert (snapshot(plotter) != picture).any(axis=-1).mean() > 0.1


def test_without_lenses_there_are_no_virtual_images(plotter, rig):
    stage = Stage(plotter, build(rig))
    eyes = eyes_of(rig, Head(name="here"))
    stage.show(eyes, lenses=True)
    assert count(snapshot(plotter), ORANGE) > 50
    stage.show(eyes, lenses=False)
    assert count(snapshot(plotter), ORANGE) == 0
    stage.show(eyes, lenses=True)
    assert count(snapshot(plotter), ORANGE) > 50


def test_a_head_room_is_shown_and_taken_away(plotter, rig):
    stage = Stage(plotter, build(rig))
    eyes = eyes_of(rig, Head(name="here"))
    stage.show(eyes)
    without = snapshot(plotter)
    axes = np.meshgrid(*[np.arange(-200.0, 201, 50)] * 3, indexing="ij")
    ball = Room(1.1 - np.sqrt(sum(axis**2 for axis in axes)) / 1000, np.full(3, -200.0), 50.0)
    stage.show_room(ball)
    within = snapshot(plotter)
    assert (within != without).any(axis=-1).mean() > 0.01
    stage.show_room(None)
    assert (snapshot(plotter) == without).all()


def test_the_head_is_drawn_where_it_is(plotter, rig_of):
    nobody = rig_of()
    stage = Stage(plotter, build(nobody))
    middles = []
    for x in (-50.0, 50.0):
        stage.show(eyes_of(nobody, Head(name="here", offset=(x, 0, 0))))
        stage.place_camera(Orbit(0.0, 0.0))
        picture = snapshot(plotter).astype(int)
        # the ground is the same all along a row
        drawn = (np.abs(picture - picture[:, :1]) > 8).any(axis=-1)
        middles.append(np.nonzero(drawn)[1].mean())
    assert middles[0] + middles[1] == pytest.approx(319, abs=2)
    assert middles[1] - middles[0] > 40


def test_a_second_stage_takes_the_first_ones_place(plotter, rig, rig_of):
    Stage(plotter, build(rig))
    nothing = rig_of()
    stage = Stage(plotter, build(nothing))
    stage.show(eyes_of(nothing, Head(name="here")))
    assert count(snapshot(plotter), ORANGE) == 0
