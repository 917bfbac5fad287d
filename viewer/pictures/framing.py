"""Which part of the world a picture shows when nobody says: all screens, with some cockpit around them."""

from collections.abc import Sequence

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.viewer.eye import Eyes
from seamsight.viewer.projection import Projection

AROUND = 1.25  # field of the picture against that of the screens
SMALLEST_FIELD, WIDEST_FIELD = 30.0, 360.0  # degrees
FACE_FIELD = 90.0  # degrees; of a rectilinear picture


def framed_on_screens(
    assembly: Assembly, eyes: Eyes, width: int, height: int, samples: int
) -> Projection:
    """Return an equirectangular projection in which all screens and lenses lie."""
    corners = [
        part.triangles.reshape(-1, 3) for part in assembly.parts if part.kind is not Kind.OPAQUE
    ]
    away = np.concatenate(corners or [np.array([[0.0, 1.0, 0.0]]) + eyes.mid]) - eyes.mid
    azimuths, elevations = _directions(away)
    low, high = float(elevations.min()), float(elevations.max())
    left, right = float(azimuths.min()), float(azimuths.max())
    field = AROUND * max(right - left, (high - low) * width / height)
    field = max(field, SMALLEST_FIELD)
    return _level(width, height, field, (left + right) / 2, (low + high) / 2, samples)


def framed_on_all(frames: Sequence[Projection]) -> Projection:
    """Return the equirectangular projection, in size as the first of some, that holds them all as far as it can."""
    first = frames[0]
    azimuths = np.array(
        [(frame.azimuth - first.azimuth + 180) % 360 - 180 + first.azimuth for frame in frames]
    )
    halves = np.array([frame.field / 2 for frame in frames])
    elevations, rises = (
        np.array([frame.elevation for frame in frames]),
        halves * first.height / first.width,
    )
    left, right = float((azimuths - halves).min()), float((azimuths + halves).max())
    low, high = float((elevations - rises).min()), float((elevations + rises).max())
    field = max(right - left, (high - low) * first.width / first.height)
    return _level(
        first.width, first.height, field, (left + right) / 2, (low + high) / 2, first.samples
    )


def along_the_face(eyes: Eyes, width: int, height: int, samples: int) -> Projection:
    """Return a rectilinear projection that looks where the face points."""
    head = eyes.head
    return Projection(
        "rectilinear", width, height, FACE_FIELD, head.turn, head.nod, head.tilt, samples
    )


def _level(
    width: int, height: int, field: float, azimuth: float, elevation: float, samples: int
) -> Projection:
    """Return an equirectangular projection, narrowed and aimed so that it does not reach past straight up or down."""
    field = min(field, WIDEST_FIELD, 179.0 * width / height)
    room = 90.0 - field * height / width / 2
    return Projection(
        "equirectangular",
        width,
        height,
        field,
        azimuth,
        min(max(elevation, -room), room),
        samples=samples,
    )


def _directions(away: Array) -> tuple[Array, Array]:
    """Return azimuths and elevations, degrees, of offsets (n, 3); azimuths without a jump where the screens are."""
    middle = float(np.degrees(np.arctan2(away[:, 0].sum(), away[:, 1].sum())))
    azimuths = (np.degrees(np.arctan2(away[:, 0], away[:, 1])) - middle + 180) % 360 - 180 + middle
    return azimuths, np.degrees(np.arctan2(away[:, 2], np.hypot(away[:, 0], away[:, 1])))
