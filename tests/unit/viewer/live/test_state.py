"""Where the head and the 3D view's camera may go."""

import pytest

from seamsight.scene import read_rig
from seamsight.viewer.live.state import HEAD_AXES, ORBIT_LIMITS, LiveState, Orbit, state_at


def test_a_state_stands_for_a_head_of_the_rig(sample):
    rig = read_rig(sample)
    for head in rig.heads().values():
        again = state_at(head).head
        assert again.model_dump(exclude={"name"}) == head.model_dump(exclude={"name"})


def test_every_head_axis_is_in_a_state():
    for axis in HEAD_AXES:
        moved: dict = {axis.name: axis.high}
        assert getattr(LiveState(**moved), axis.name) == axis.high
        assert axis.low < 0 < axis.high


def test_an_orbit_stays_within_its_limits():
    everywhere = [Orbit().turned(500, 500).scaled(1e9), Orbit().turned(-500, -500).scaled(1e-9)]
    for key in ("elevation", "distance"):
        assert tuple(getattr(orbit, key) for orbit in everywhere) == ORBIT_LIMITS[key][::-1]
    assert Orbit().turned(408, 0) == Orbit(azimuth=0.0)
    with pytest.raises(ValueError, match="elevation"):
        Orbit(elevation=90)
