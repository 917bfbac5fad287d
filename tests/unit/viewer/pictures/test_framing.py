"""Which part of the world a picture shows: one frame that holds the screens of all."""

import math

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.pictures.framing import (
    framed_on_all,
    framed_on_outside,
    framed_on_screens,
)


@pytest.mark.parametrize(
    "places", [([-700, 600, 0], [500, 400, 300]), ([-40, -600, 0], [40, -600, -200])]
)
def test_the_frame_holds_the_screens_of_all(rig_of, screen_at, seen_of, places):
    items = []
    for place in places:
        yaw = math.degrees(math.atan2(place[0], place[1]))
        items.append(seen_of(rig_of(screen=[screen_at(centre=place, yaw=yaw)])))
    shown = framed_on_all(
        [framed_on_screens(item.assembly, item.eyes, 800, 400, 1) for item in items]
    )
    half = shown.field / 2
    for one in items:
        of_screen = one.assembly.part_of_face == one.assembly.part_id("screen")
        for x, y, z in one.assembly.triangles[of_screen].reshape(-1, 3):
            off = (math.degrees(math.atan2(x, y)) - shown.azimuth + 180) % 360 - 180
            assert abs(off) < half
            assert abs(math.degrees(math.atan2(z, math.hypot(x, y))) - shown.elevation) < half / 2
    assert shown.field < 200


def test_the_frame_of_likes_is_the_usual_one(bare, seen_of):
    one = seen_of(bare)
    alone = framed_on_screens(one.assembly, one.eyes, 800, 400, 2)
    assert framed_on_all([alone, alone]) == alone


def test_a_frame_on_the_outside_is_as_high_as_needed(rig_of, screen_at):
    # 400 x 300 at 600: 36.87 degrees across, 28.07 up, a tenth more around
    screens = [screen_at(shows="world"), screen_at("card", shows="card", centre=[0, 600, -500])]
    shown = framed_on_outside(build(rig_of(screen=screens)), np.zeros(3), 1000, 1)
    assert shown.field == pytest.approx(1.1 * 2 * math.degrees(math.atan(200 / 600)))
    assert shown.height == round(1000 * math.atan(150 / 600) / math.atan(200 / 600))
    assert (shown.azimuth, shown.elevation) == pytest.approx((0, 0), abs=1e-9)
