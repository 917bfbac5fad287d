"""The surface of a head room, as a browser draws it."""

import functools
import hashlib
from typing import NamedTuple

from seamsight.viewer.live.head_room import SEEN, Room

KEPT = 4  # rooms: tabs ask for the same one again and again


class Surface(NamedTuple):
    """A name that differs where the surface does; corners (float32) and faces (uint32), 3 each."""

    name: str
    binary: list[bytes]


@functools.lru_cache(KEPT)
def surface_of(room: Room) -> Surface:
    """Return the surface within which each eye sees enough; without a face where it never does."""
    # VTK's import would hold up the first picture
    from seamsight.viewer.live.plotting import body_above

    body = body_above(room.shares, room.corner, room.step, SEEN)
    corners = body.points.astype("<f4").tobytes()
    faces = body.regular_faces.astype("<u4").tobytes() if body.n_cells else b""
    return Surface(hashlib.sha256(corners + faces).hexdigest()[:16], [corners, faces])
