"""Which part of the world a picture shows: one frame that holds the screens of all."""

import math

import pytest

from seamsight.viewer.pictures.framing import framed_on_all, framed_on_screens


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
