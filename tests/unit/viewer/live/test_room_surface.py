"""A head room's surface: where it lies, and its name."""

import numpy as np

from seamsight.viewer.live.head_room import SEEN, Room
from seamsight.viewer.live.room_surface import surface_of

STEP = 10.0


def ball(radius):
    """Return a room that is a ball about the origin."""
    axes = np.meshgrid(*[np.arange(-80.0, 81, STEP)] * 3, indexing="ij")
    far = np.sqrt(sum(axis**2 for axis in axes))
    return Room(SEEN + (radius - far) / 1000, np.full(3, -80.0), STEP)


def test_a_surface_lies_where_the_share_is_just_enough():
    corners, faces = surface_of(ball(50.0)).binary
    places = np.frombuffer(corners, "<f4").reshape(-1, 3)
    of = np.frombuffer(faces, "<u4").reshape(-1, 3)
    assert of.max() == len(places) - 1
    np.testing.assert_allclose(np.linalg.norm(places, axis=1), 50, atol=1)

    # volume by the divergence theorem; positive: faces turn counterclockwise seen from outside
    volume = np.linalg.det(places[of].astype(float)).sum() / 6
    assert 0.95 < volume / (4 / 3 * np.pi * 50**3) < 1


def test_each_surface_has_a_name_of_its_own():
    assert surface_of(ball(50.0)).name == surface_of(ball(50.0)).name
    assert surface_of(ball(50.0)).name != surface_of(ball(40.0)).name


def test_a_room_nowhere_good_enough_has_no_faces():
    assert surface_of(ball(-500.0)).binary == [b"", b""]
