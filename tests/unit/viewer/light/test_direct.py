"""Which rectangles light comes from, and where it is looked for."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.casting.tracer import tracer_of
from seamsight.viewer.light.direct import irradiances, portals_of

LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 400}
LAMP = {"name": "lamp", "centre": [0, 0, 900], "pitch": 90, "size": [100, 50], "luminance": 500.0}


def test_portals(rig_of, screen_at):
    lit, black = screen_at(shows="card"), screen_at("black", centre=[900, 600, 0])
    assembly = build(rig_of(screen=[lit, black], lens=[LENS], lamp=[LAMP]))
    image, lens, lamp = portals_of(assembly)
    assert (image.area, lens.area, lamp.area) == pytest.approx((120_000, 200_000, 5_000))
    # before the lens, between lens and screen, behind the screen
    points = np.array([[0.0, 100, 0], [0, 500, 0], [0, 700, 0]])
    assert image.is_open_to(points).tolist() == [False, True, False]
    assert lens.is_open_to(points).all()  # lamps shine in through it
    assert lamp.is_open_to(points).all()
    assert not lamp.is_open_to(np.array([[0.0, 0, 950]])).any()


def test_a_lens_without_lamps_is_open_to_the_pilot_alone(rig_of, screen_at):
    assembly = build(rig_of(screen=[screen_at(shows="card")], lens=[LENS]))
    _, lens = portals_of(assembly)
    assert lens.is_open_to(np.array([[0.0, 100, 0], [0, 500, 0]])).tolist() == [True, False]


def test_a_lamp_s_light_and_its_shadow(rig_of):
    # E = L A cos cos' / r² far from a small lamp; a board in between leaves nothing
    board = {"name": "board", "size": [100, 100, 5], "centre": [0, 0, 100]}
    rig = rig_of(lamp=[LAMP], board=[board])
    assembly = build(rig)
    points = np.array([[0.0, 0, -900], [0, 900, 0], [0, 0, 90]])
    up = np.broadcast_to([0.0, 0, 1], (3, 3))
    found = irradiances(assembly, tracer_of(assembly).bare, points, up, 4)
    below, aside = 500 * 5000 / 1800**2, 500 * 5000 / (2 * 900**2) / 2
    assert found[0] == pytest.approx(0, abs=0.01 * below)
    assert found[1] == pytest.approx(aside, rel=0.02)
    assert (found[2] == 0).all()
