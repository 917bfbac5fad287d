"""The view over the nose, and an aircraft's clear view."""

import math

import numpy as np
import pytest
import shapely

from seamsight.scene import build
from seamsight.viewer.studies.clear_view import AZIMUTHS, asked_at, clear_view, over_the_nose

EYE = np.zeros(3)
# AC 25.773-1's polygon, as the geometry program OpenVSP transcribes it (VspCurve.cpp,
# CreateAC25773); azimuth to the right, elevation up, degrees
POLYGON = [
    *((20, 0), (20, -10), (10, -17), (-30, -17), (-60, -24.5), (-70, -27), (-95, -27)),
    *((-120, -15), (-120, 0), (-120, 15), (-80, 35), (-60, 35), (-40, 35), (20, 15)),
]


def test_asked_is_the_published_polygon():
    shape = shapely.Polygon(POLYGON)
    for azimuth in np.linspace(-119.9, 19.9, 300):
        low, high = asked_at(np.array(azimuth))
        upright = shapely.LineString([(azimuth, -90), (azimuth, 90)])
        assert shape.intersection(upright).bounds[1::2] == pytest.approx((low, high))
    assert {azimuth for azimuth, _ in POLYGON} >= set(AZIMUTHS) - {0}


def rig_with(rig_of, screen_at, **more):
    # from 300 below to 300 above the eyes, 600 ahead
    screen = screen_at(width=800, height=600, centre=[0, 600, 0], shows="world")
    return build(rig_of(screen=[screen], **more))


def test_over_the_nose_of_a_bare_screen(rig_of, screen_at):
    nose = over_the_nose(rig_with(rig_of, screen_at), EYE)
    half = math.degrees(math.atan(300 / 600))
    assert (nose.down, nose.up) == pytest.approx((half, half), abs=0.02)
    assert nose.below is None


def test_glare_shield_cuts_it(rig_of, screen_at):
    shield = {"name": "glare shield", "size": [600, 100, 50], "centre": [0, 350, -150]}
    nose = over_the_nose(rig_with(rig_of, screen_at, board=[shield]), EYE)
    # its far upper edge, 400 ahead and 125 below, is lower at the eye than its near one, 300 ahead
    assert nose.down == pytest.approx(math.degrees(math.atan(125 / 400)), abs=0.02)
    assert nose.below == "glare shield"


def test_eyes_that_look_over_the_screen(rig_of, screen_at):
    nose = over_the_nose(rig_with(rig_of, screen_at), np.array([0.0, 0, 900]))
    # from 600 to 1200 below them, 600 ahead
    assert nose.down == pytest.approx(math.degrees(math.atan(2)), abs=0.02)
    assert nose.up == pytest.approx(-45, abs=0.02)


def test_nothing_ahead(rig_of, screen_at):
    aside = screen_at(centre=[600, 0, 0], yaw=90, shows="world")
    assert over_the_nose(build(rig_of(screen=[aside])), EYE) is None
    inside = build(rig_of(screen=[screen_at()]))
    assert over_the_nose(inside, EYE) is None


def test_screens_all_around_fill_it(rig_of, screen_at):
    walls = [
        screen_at(name, width=4000, height=4000, centre=centre, yaw=yaw, shows="world")
        for name, centre, yaw in (
            ("ahead", [0, 2000, 0], 0),
            ("left", [-2000, 0, 0], -90),
            ("right", [2000, 0, 0], 90),
            ("behind", [0, -2000, 0], 180),
        )
    ]
    for seat in ("left", "right"):
        assert clear_view(build(rig_of(screen=walls)), EYE, seat).share > 0.99
    # without the left wall, a left seat lacks what is beyond 45 degrees, a right seat nothing
    some = build(rig_of(screen=[walls[0], walls[2], walls[3]]))
    assert clear_view(some, EYE, "right").share > 0.99
    found = clear_view(some, EYE, "left")
    assert found.share == pytest.approx(ahead_of(-45), abs=0.01)
    seen = {one.azimuth: one.seen for one in found.uprights}
    assert seen[-70] is seen[-95] is seen[-120] is None
    assert seen[0] == pytest.approx((-45, 45), abs=0.03)


def ahead_of(azimuth):
    """Return which share of the polygon's solid angle is to the right of an azimuth."""
    shape = shapely.Polygon(POLYGON)
    azimuths = np.arange(-119.75, 20, 0.5)
    solid = []
    for at in azimuths:
        _, low, _, high = shape.intersection(shapely.LineString([(at, -90), (at, 90)])).bounds
        solid.append(math.sin(math.radians(high)) - math.sin(math.radians(low)))
    return np.sum(np.array(solid)[azimuths > azimuth]) / np.sum(solid)


def test_a_right_seat_is_mirrored(rig_of, screen_at):
    to_left = build(rig_of(screen=[screen_at(centre=[-600, 0, 0], yaw=-90, shows="world")]))
    to_right = build(rig_of(screen=[screen_at(centre=[600, 0, 0], yaw=90, shows="world")]))
    left, right = clear_view(to_left, EYE, "left"), clear_view(to_right, EYE, "right")
    assert left.share == pytest.approx(right.share, abs=1e-3)
    assert left.share > 5 * clear_view(to_right, EYE, "left").share
    assert [one.azimuth for one in right.uprights] == [-azimuth for azimuth in AZIMUTHS]
