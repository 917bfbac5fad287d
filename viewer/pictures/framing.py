"""Which directions a picture shows when nobody says: all screens, with some cockpit around."""

from collections.abc import Sequence

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, azimuth_and_elevation
from seamsight.scene.kind import Kind
from seamsight.viewer.casting.sightlines import border, directions_to_image
from seamsight.viewer.eye import Eyes
from seamsight.viewer.projection import Projection

AROUND = 1.25  # field of the picture against that of the screens
BESIDE = 1.1  # the same where only the outside screens are wanted
SMALLEST_FIELD = 30.0  # degrees
WIDEST_FIELD = 360.0
FACE_FIELD = 90.0  # degrees; of a rectilinear picture


def framed_on_screens(
    assembly: Assembly, eyes: Eyes, width: int, height: int, samples: int
) -> Projection:
    """Return an equirectangular projection that shows all screens and lenses."""
    corners = [
        part.triangles.reshape(-1, 3) for part in assembly.parts if part.kind is not Kind.OPAQUE
    ]
    straight_ahead = np.array([[0.0, 1.0, 0.0]]) + eyes.mid
    azimuths, elevations = _directions(np.concatenate(corners or [straight_ahead]) - eyes.mid)
    left, right = _bounds(azimuths)
    low, high = _bounds(elevations)

    field = AROUND * max(right - left, (high - low) * width / height)
    field = max(field, SMALLEST_FIELD)
    return _level(width, height, field, (left + right) / 2, (low + high) / 2, samples)


def framed_on_outside(assembly: Assembly, eye: Array, width: int, samples: int) -> Projection:
    """Return an equirectangular projection as high as it must be to show the outside screens.

    They are framed as an eye (3,) sees them, through their lenses.
    """
    edges = [
        directions_to_image(screen, eye, border(screen, 8)) for screen in assembly.outside_screens
    ]
    azimuths, elevations = _directions(np.concatenate(edges))
    left, right = _bounds(azimuths)
    low, high = _bounds(elevations)

    field = min(max((right - left) * BESIDE, SMALLEST_FIELD), WIDEST_FIELD)
    tall = min((high - low) * BESIDE, 179.0)
    height = max(1, round(width * tall / field))
    return _level(width, height, field, (left + right) / 2, (low + high) / 2, samples)


def framed_on_all(frames: Sequence[Projection]) -> Projection:
    """Return an equirectangular projection, in size as the first of some, that shows all of them.

    Where no picture can, it shows as much of them as it can.
    """
    # Count azimuths from the first one's, without a jump straight behind
    first = frames[0]
    around = np.array([frame.azimuth for frame in frames]) - first.azimuth
    azimuths = (around + 180) % 360 - 180 + first.azimuth
    elevations = np.array([frame.elevation for frame in frames])

    # Find the outermost edges of all
    width, height = first.width, first.height
    halves = np.array([frame.field / 2 for frame in frames])
    rises = halves * height / width
    left, right = _bounds(np.concatenate([azimuths - halves, azimuths + halves]))
    low, high = _bounds(np.concatenate([elevations - rises, elevations + rises]))

    field = max(right - left, (high - low) * width / height)
    return _level(width, height, field, (left + right) / 2, (low + high) / 2, first.samples)


def along_the_face(eyes: Eyes, width: int, height: int, samples: int) -> Projection:
    """Return a rectilinear projection that looks where the face points."""
    head = eyes.head
    return Projection(
        "rectilinear", width, height, FACE_FIELD, head.turn, head.nod, head.tilt, samples
    )


def _level(
    width: int, height: int, field: float, azimuth: float, elevation: float, samples: int
) -> Projection:
    """Return an equirectangular projection that does not extend beyond straight up or down.

    Where it would, it is narrowed and aimed nearer the horizon.
    """
    field = min(field, WIDEST_FIELD, 179.0 * width / height)
    room = 90.0 - field * height / width / 2
    elevation = min(max(elevation, -room), room)
    return Projection("equirectangular", width, height, field, azimuth, elevation, samples=samples)


def _bounds(values: Array) -> tuple[float, float]:
    return float(values.min()), float(values.max())


def _directions(away: Array) -> tuple[Array, Array]:
    """Return azimuths and elevations, degrees, of offsets (n, 3).

    Azimuths jump by 360 degrees only behind the middle of all.
    """
    lengths = np.linalg.norm(away, axis=1, keepdims=True)
    directions = away / np.maximum(lengths, 1e-300)  # an eye may be in a corner
    azimuths, elevations = np.degrees(azimuth_and_elevation(directions))
    middle = np.degrees(azimuth_and_elevation(away.sum(axis=0))[0])
    return (azimuths - middle + 180) % 360 - 180 + middle, elevations
