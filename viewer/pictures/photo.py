"""A photograph from the seat, placed by four matched points or more: where its pixels look.

The camera is taken as a pinhole at the eye: its lens's own distortion is not undone.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError, FileError, PoseError, SeamsightError
from seamsight.scene.files import Picture, read_picture
from seamsight.scene.frames import Array, azimuth_and_elevation, rotation
from seamsight.viewer.casting.sightlines import angle_between, directions_to_image
from seamsight.viewer.projection import Projection

LEAST_POINTS = 4
CORNERS = {
    f"{vertical} {horizontal}": (across, up)
    for vertical, up in (("top", 0.5), ("bottom", -0.5))
    for horizontal, across in (("left", -0.5), ("right", 0.5))
}
"""Corners of an image: name to place, in shares of its width and height from its middle."""

ROOM = 1.05  # field of the picture against the photograph's
NARROWEST = 5.0  # degrees across of the picture
WIDEST = 120.0

FARTHEST_OFF = math.radians(80)
"""How far a point may be from the middle of all, for a flat picture to show both."""

MARKED_WITHIN = 1.0
"""Pixels by which a matched point's place is off, each way, where the fit does not tell more."""

SMALL_STEP = 0.01
"""Pixels by which a point is moved to see what follows."""

SINGULAR = 1e-4
"""Smallest over largest singular value below which points do not fix where the photograph is."""

_PLANE_AHEAD = np.array([[1.0, 0, 0], [0, 0, 1], [0, 1, 0]])
"""From (right, up, 1) on the plane at distance 1 to right, forward and up."""


@dataclass(frozen=True)
class Match:
    """A place in the photograph, and the direction of what is there.

    Attributes
    ----------
    pixel : tuple of float
        Column and row, from the photograph's upper left corner.
    direction : tuple of float
        Right, forward, up; unit length, rig frame.
    """

    pixel: tuple[float, float]
    direction: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class PlacedPhoto:
    """A photograph of which it is known where each pixel looks.

    Attributes
    ----------
    picture : (h, w, 3) uint8
    rig_from_photo : (3, 3) float64
        From (column, row, 1) to a direction in the rig frame, any length.
    off_px, off_degrees : (n,) float64
        By how much each matched point misses, in the photograph and as an angle; 0 with four.
    corner_degrees : float
        By how much the photograph's worst corner is off, root mean square, with matched points as
        far off as the fit says, at least MARKED_WITHIN.
    """

    picture: Picture
    rig_from_photo: Array
    off_px: Array
    off_degrees: Array
    corner_degrees: float

    def directions(self, pixels: Array) -> Array:
        """Return the unit directions (n, 3), rig frame, in which places (n, 2) of it look."""
        found = np.column_stack([pixels, np.ones(len(pixels))]) @ self.rig_from_photo.T
        return _unit(found)


def corner_direction(
    assembly: Assembly, eye: Array, screen: str, corner: str
) -> tuple[float, float, float]:
    """Return the direction in which an eye (3,) sees a corner of a screen's image through its lens.

    Raises
    ------
    ChoiceError
        When there is no such screen or corner.
    PoseError
        When the eye is beside or behind it.
    """
    names = [one.name for one in assembly.screens]
    if screen not in names or corner not in CORNERS:
        msg = f'there is no corner "{corner}" of "{screen}": corners are {", ".join(CORNERS)}'
        msg += f"; screens are {', '.join(names) or 'none'}"
        raise ChoiceError(msg)

    shown = assembly.screen(screen)
    place = np.array([CORNERS[corner]]) * shown.size
    right, forward, up = (float(value) for value in directions_to_image(shown, eye, place)[0])
    if not math.isfinite(right + forward + up):
        msg = f'the {corner} corner of "{screen}" cannot be seen from this head position'
        raise PoseError(msg)
    return right, forward, up


def read_photo(path: Path) -> Picture:
    """Return a photograph, upright as its camera noted, (h, w, 3) uint8.

    Raises
    ------
    FileError
        When it cannot be read.
    """
    try:
        return read_picture(path)
    except FileError as error:
        raise FileError(path, error.what, called="the photograph") from error


def placed(picture: Picture, matches: Sequence[Match]) -> PlacedPhoto:
    """Return a photograph placed by matched points: exactly by four, by least squares by more.

    A pinhole camera at the eye and any flat picture from there differ by a homography of pixels.

    Raises
    ------
    ChoiceError
        When the points are too few, or one is outside the photograph.
    PoseError
        When they are on one line, too far apart, or such as no photograph shows.
    SeamsightError
        When OpenCV is not installed.
    """
    cv2 = opencv()
    if len(matches) < LEAST_POINTS:
        msg = f"a photograph needs at least {LEAST_POINTS} matched points (got {len(matches)})"
        raise ChoiceError(msg)
    pixels = np.array([match.pixel for match in matches], np.float64)
    directions = np.array([match.direction for match in matches], np.float64)
    high, wide = picture.shape[:2]
    if ((pixels < 0) | (pixels > (wide, high))).any():
        msg = f"a matched point is outside the photograph, which is {wide} x {high} pixels"
        raise ChoiceError(msg)

    # Take the points to a flat picture that shows them all, and find its homography
    axes = _axes_towards(directions)
    tangents = _tangents(directions @ axes)
    _refuse_unclear(pixels, tangents)
    plane_from_photo, _ = cv2.findHomography(pixels, tangents, 0)

    # Refuse what no camera shows: a point behind it, or a mirrored picture
    whole = np.column_stack([pixels, np.ones(len(pixels))])
    depths = None if plane_from_photo is None else whole @ plane_from_photo[2]
    if depths is None or not (depths * depths[0] > 0).all():
        msg = "these points cannot all be right: two of them are probably swapped"
        raise PoseError(msg)
    rig_from_photo = axes @ _PLANE_AHEAD @ (plane_from_photo * np.sign(depths[0]))
    if np.linalg.det(rig_from_photo) < 0:
        msg = "the matched points are mirrored: "
        msg += "you have probably swapped left and right, or top and bottom"
        raise PoseError(msg)

    # Say how well it fits the points, and what that means for the rest
    off_px, off_degrees = _residuals(rig_from_photo, pixels, directions)
    spare = 2 * len(pixels) - 8  # a homography has eight unknowns
    fitted = math.sqrt((off_px**2).sum() / spare) if spare else 0.0
    turned = _corner_turned(plane_from_photo, pixels, tangents, (wide, high))
    corner_degrees = max(fitted, MARKED_WITHIN) * turned
    return PlacedPhoto(picture, rig_from_photo, off_px, off_degrees, corner_degrees)


def framed_on_photo(photo: PlacedPhoto, width: int, height: int, samples: int = 2) -> Projection:
    """Return an upright rectilinear projection that looks where a photograph does and shows it all.

    It reaches at most 120 degrees across.
    """
    # Aim it at the photograph's middle
    high, wide = photo.picture.shape[:2]
    middle = photo.directions(np.array([[wide / 2, high / 2]]))[0]
    azimuth, elevation = map(math.degrees, azimuth_and_elevation(middle))
    aimed = Projection("rectilinear", width, height, 90.0, azimuth, elevation)

    # Make it as wide as the corners need it, if all of them are ahead
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float64)
    ahead = photo.directions(corners) @ aimed.axes
    field = WIDEST
    if (ahead[:, 1] > 0).all():
        across, up = np.abs(_tangents(ahead)).max(axis=0)
        field = 2 * math.degrees(math.atan(ROOM * max(across, up * width / height)))
    field = min(max(field, NARROWEST), WIDEST)
    return Projection("rectilinear", width, height, field, azimuth, elevation, samples=samples)


def opencv() -> Any:
    """Return OpenCV's module.

    Raises
    ------
    SeamsightError
        When it is not installed.
    """
    try:
        import cv2
    except ImportError as error:
        msg = "matching a photograph needs OpenCV: pip install -e '.[photo]'"
        raise SeamsightError(msg) from error
    return cv2


def _residuals(rig_from_photo: Array, pixels: Array, directions: Array) -> tuple[Array, Array]:
    """Return by how much points miss: in the photograph, pixels, and as angles, degrees, (n,)."""
    back = directions @ np.linalg.inv(rig_from_photo).T
    off_px = np.linalg.norm(back[:, :2] / back[:, 2:] - pixels, axis=1)
    found = np.column_stack([pixels, np.ones(len(pixels))]) @ rig_from_photo.T
    off = [
        math.degrees(angle_between(one, other))
        for one, other in zip(found, directions, strict=True)
    ]
    return off_px, np.array(off)


def _corner_turned(
    plane_from_photo: Array, pixels: Array, tangents: Array, size: tuple[int, int]
) -> float:
    """Return how far a photograph's worst corner turns where matched points (n, 2) move a pixel.

    Each point moves by itself, across and up; what a corner turns by, degrees, adds up as squares,
    as errors that do not depend on each other do.
    """
    cv2 = opencv()
    wide, high = size
    corners = np.array([[0, 0, 1], [wide, 0, 1], [wide, high, 1], [0, high, 1]], np.float64)
    there = _unit(corners @ plane_from_photo.T)

    squares = np.zeros(4)
    for number in np.ndindex(pixels.shape):
        moved = pixels.copy()
        moved[number] += SMALL_STEP
        other, _ = cv2.findHomography(moved, tangents, 0)
        now = _unit(corners @ other.T)
        now *= np.sign((now * there).sum(axis=1, keepdims=True))  # no depth is negative
        squares += ((now - there) ** 2).sum(axis=1)
    return math.degrees(math.sqrt(squares.max()) / SMALL_STEP)


def _unit(vectors: Array) -> Array:
    """Return vectors (n, 3) at unit length."""
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))


def _axes_towards(directions: Array) -> Array:
    """Return right, forward and up (columns) of a flat picture aimed amid directions (n, 3).

    Raises
    ------
    PoseError
        When no flat picture shows them all.
    """
    middle = directions.mean(axis=0)
    azimuth, elevation = azimuth_and_elevation(middle / max(float(np.linalg.norm(middle)), 1e-300))
    axes = rotation(float(azimuth), float(elevation), 0.0)
    if (directions @ axes[:, 1] < math.cos(FARTHEST_OFF)).any():
        msg = "the matched points are too far apart: "
        msg += f"each must be within {math.degrees(FARTHEST_OFF):.0f}° of their middle"
        raise PoseError(msg)
    return axes


def _tangents(directions: Array) -> Array:
    """Return where directions (n, 3) cross the plane at distance 1 ahead: right and up, (n, 2)."""
    return directions[:, [0, 2]] / directions[:, 1:2]


def _refuse_unclear(pixels: Array, tangents: Array) -> None:
    """Refuse points that do not fix where a photograph is: all, or all but one, on one line.

    The homography's linear equations (Hartley and Zisserman, Multiple View Geometry, 4.1) then
    lack a row's worth.

    Raises
    ------
    PoseError
    """
    x, y = _normalised(pixels).T
    u, v = _normalised(tangents).T
    one = np.ones_like(x)
    nothing = np.zeros_like(x)

    # Two equations a point, nine unknowns
    across = np.column_stack([x, y, one, nothing, nothing, nothing, -u * x, -u * y, -u])
    up = np.column_stack([nothing, nothing, nothing, x, y, one, -v * x, -v * y, -v])

    # Look how near the equations, and their solution, come to having a row too few
    _, sizes, rows = np.linalg.svd(np.concatenate([across, up]))
    of_solution = np.linalg.svd(rows[8].reshape(3, 3), compute_uv=False)
    if sizes[7] < SINGULAR * sizes[0] or of_solution[2] < SINGULAR * of_solution[0]:
        msg = "the matched points are on one line, or nearly: "
        msg += "match corners that are far apart both sideways and upwards"
        raise PoseError(msg)


def _normalised(points: Array) -> Array:
    """Return points (n, 2), their middle moved to 0, their mean distance from it scaled to 1."""
    around = points - points.mean(axis=0)
    return np.asarray(around / max(float(np.linalg.norm(around, axis=1).mean()), 1e-300))
