"""A photograph taken from the seat, laid over what is computed from there: four matched points or more say how.

The camera is taken as a pinhole at the eye: its lens's own distortion is not undone.
"""

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageFilter

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError, FileError, PoseError, SeamsightError
from seamsight.scene.files import Picture, read_picture
from seamsight.scene.frames import Array, rotation
from seamsight.viewer.casting.sightlines import angle_between, directions_to_image
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import View
from seamsight.viewer.colour import srgb
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import noted, stacked, with_scale

LEAST_POINTS = 4
CORNERS = {
    f"{vertical} {horizontal}": (across, up)
    for vertical, up in (("top", 0.5), ("bottom", -0.5))
    for horizontal, across in (("left", -0.5), ("right", 0.5))
}
"""Corners of an image: name to place, in shares of its width and height from its middle."""

ROOM = 1.05  # field of the picture against the photograph's
NARROWEST, WIDEST = 5.0, 120.0  # degrees across of the picture
FARTHEST_OFF = math.radians(
    80
)  # how far a point may be from the middle of all, for a flat picture to show both
SINGULAR = 1e-4  # smallest against largest singular value below which points do not say how the photograph lies

FAR_OUTSIDE = 1e5  # pixels; where no photograph reaches
MOST_SAMPLES = 4  # looks into the photograph along each side of a pixel

_LINE, _SHADOW, _NOTHING = (255, 90, 170), (30, 0, 15), (110, 110, 110)


@dataclass(frozen=True)
class Match:
    """A place in the photograph, and in which direction what is there lies.

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
        By how much each matched point misses, in the photograph and as an angle; 0 with four points.
    """

    picture: Picture
    rig_from_photo: Array
    off_px: Array
    off_degrees: Array

    def directions(self, pixels: Array) -> Array:
        """Return the unit directions (n, 3), rig frame, in which places (n, 2) of the photograph look."""
        found = np.column_stack([pixels, np.ones(len(pixels))]) @ self.rig_from_photo.T
        return np.asarray(found / np.linalg.norm(found, axis=1, keepdims=True))


def direction_at(azimuth: float, elevation: float) -> tuple[float, float, float]:
    """Return the direction at an azimuth (clockwise) and an elevation, degrees."""
    across, up = math.radians(azimuth), math.radians(elevation)
    return math.sin(across) * math.cos(up), math.cos(across) * math.cos(up), math.sin(up)


def corner_direction(
    assembly: Assembly, eye: Array, screen: str, corner: str
) -> tuple[float, float, float]:
    """Return the direction in which an eye (3,) sees a corner of a screen's image through its lens.

    Raises
    ------
    ChoiceError
        When there is no such screen or corner.
    PoseError
        When the eye is not before it.
    """
    by_name = {one.name: one for one in assembly.screens}
    if screen not in by_name or corner not in CORNERS:
        msg = f'there is no corner "{corner}" of "{screen}": corners are {", ".join(CORNERS)}'
        msg += f"; screens are {', '.join(by_name) or 'none'}"
        raise ChoiceError(msg)
    place = np.array([CORNERS[corner]]) * by_name[screen].size
    right, forward, up = (
        float(value) for value in directions_to_image(by_name[screen], eye, place)[0]
    )
    if not math.isfinite(right + forward + up):
        msg = f'the {corner} corner of "{screen}" cannot be seen from this head'
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
    """Return a photograph placed by matched points: exactly by four, by least squares if there are more.

    A pinhole camera at the eye and any flat picture from there differ by a homography of their pixels.

    Raises
    ------
    ChoiceError
        When the points are too few, or one lies outside the photograph.
    PoseError
        When they are on one line, too far apart, or such as no photograph shows.
    SeamsightError
        When OpenCV is not installed.
    """
    cv2 = _opencv()
    if len(matches) < LEAST_POINTS:
        msg = f"a photograph needs at least {LEAST_POINTS} matched points (got {len(matches)})"
        raise ChoiceError(msg)
    pixels = np.array([match.pixel for match in matches], np.float64)
    directions = np.array([match.direction for match in matches], np.float64)
    high, wide = picture.shape[:2]
    if ((pixels < 0) | (pixels > (wide, high))).any():
        msg = f"a matched point lies outside the photograph, which is {wide} x {high} pixels"
        raise ChoiceError(msg)
    axes = _axes_towards(directions)
    tangents = _tangents(directions @ axes)
    _refuse_unclear(pixels, tangents)
    plane_from_photo, _ = cv2.findHomography(pixels, tangents, 0)
    whole = np.column_stack([pixels, np.ones(len(pixels))])
    depths = None if plane_from_photo is None else whole @ plane_from_photo[2]
    if depths is None or not (depths * depths[0] > 0).all():
        msg = "no photograph shows these points so: two of them are probably exchanged"
        raise PoseError(msg)
    rig_from_photo = (
        axes
        @ np.array([[1.0, 0, 0], [0, 0, 1], [0, 1, 0]])
        @ (plane_from_photo * np.sign(depths[0]))
    )
    if np.linalg.det(rig_from_photo) < 0:
        msg = "the matched points stand as in a mirror: left and right, or top and bottom, are probably exchanged"
        raise PoseError(msg)
    return PlacedPhoto(picture, rig_from_photo, *_residuals(rig_from_photo, pixels, directions))


def framed_on_photo(photo: PlacedPhoto, width: int, height: int, samples: int = 2) -> Projection:
    """Return an upright rectilinear projection that looks where the photograph does and holds it, as far as 120°."""
    high, wide = photo.picture.shape[:2]
    middle = photo.directions(np.array([[wide / 2, high / 2]]))[0]
    azimuth, elevation = (
        math.degrees(math.atan2(middle[0], middle[1])),
        math.degrees(math.asin(middle[2])),
    )
    aimed = Projection("rectilinear", width, height, 90.0, azimuth, elevation)
    corners = (
        photo.directions(np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float64))
        @ aimed.axes
    )
    field = WIDEST
    if (corners[:, 1] > 0).all():
        across, up = np.abs(_tangents(corners)).max(axis=0)
        field = 2 * math.degrees(math.atan(ROOM * max(across, up * width / height)))
    field = min(max(field, NARROWEST), WIDEST)
    return Projection("rectilinear", width, height, field, azimuth, elevation, samples=samples)


def warped(photo: PlacedPhoto, projection: Projection) -> Image.Image:
    """Return a photograph as a projection shows it, grey where it does not reach.

    Raises
    ------
    SeamsightError
        When OpenCV is not installed.
    """
    cv2 = _opencv()
    finer = min(math.ceil(photo.picture.shape[1] / projection.width), MOST_SAMPLES)
    places = _photo_places(photo, dataclasses.replace(projection, samples=finer))
    shown = cv2.remap(
        photo.picture,
        *places,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=_NOTHING,
    )
    return Image.fromarray(
        cv2.resize(shown, (projection.width, projection.height), interpolation=cv2.INTER_AREA)
    )


def photo_sheet(
    assembly: Assembly, eye: Array, photo: PlacedPhoto, projection: Projection, caption: str
) -> Image.Image:
    """Return what is computed, the photograph at the same scale, and the computed parts' outlines over it.

    Raises
    ------
    PoseError
        When the eye (3,) is inside a part.
    SeamsightError
        When OpenCV is not installed.
    """
    view = see(assembly, eye, projection)
    laid = warped(photo, projection)
    sheets = [
        with_scale(Image.fromarray(srgb(view.light)), projection, f"Computed · {caption}"),
        with_scale(laid, projection, "Photograph, at the same scale"),
        with_scale(
            outlined(laid, view), projection, "Photograph, with the outlines of the computed parts"
        ),
    ]
    return noted(stacked(sheets), [residual_words(photo)])


def outlined(picture: Image.Image, view: View) -> Image.Image:
    """Return a picture with lines where one part of a view ends and another begins."""
    parts = view.parts
    edge = np.zeros(parts.shape, bool)
    edge[:, :-1] |= parts[:, 1:] != parts[:, :-1]
    edge[:-1] |= parts[1:] != parts[:-1]
    wide = (
        np.asarray(Image.fromarray(edge.astype(np.uint8) * 255).filter(ImageFilter.MaxFilter(3)))
        > 0
    )
    pixels = np.array(picture)
    pixels[wide] = _SHADOW
    pixels[edge] = _LINE
    return Image.fromarray(pixels)


def residual_words(photo: PlacedPhoto) -> str:
    """Return how well the matched points fit, in words."""
    count = len(photo.off_px)
    if count == LEAST_POINTS:
        return "Placed by 4 points, which fit any photograph: match more to learn how well it fits."
    mean = [math.sqrt(float((off**2).mean())) for off in (photo.off_px, photo.off_degrees)]
    worst = int(photo.off_degrees.argmax())
    return (
        f"Placed by {count} points, by least squares: off by {mean[0]:.1f} px, {mean[1]:.2f}° (root mean square); "
        f"most at point {worst + 1}, by {photo.off_px[worst]:.1f} px, {photo.off_degrees[worst]:.2f}°."
    )


def _photo_places(
    photo: PlacedPhoto, projection: Projection
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """Return in which column and row of a photograph each ray of a projection finds its colour, (h, w) each.

    Counted as OpenCV does, from the first pixel's middle; far outside where the ray leaves the photograph's back.
    """
    columns, lines = projection.columns(), projection.rows()
    photo_from_grid = np.linalg.inv(photo.rig_from_photo) @ projection.axes
    # a ray's direction on the grid is (x a, y a, b): see `kernel.start_rays`
    grid = np.stack(
        [
            np.outer(lines[:, 0], columns[:, 0]),
            np.outer(lines[:, 0], columns[:, 1]),
            np.repeat(lines[:, 1:], len(columns), axis=1),
        ]
    )
    column, row, depth = np.einsum("ij,jhw->ihw", photo_from_grid, grid)
    with np.errstate(divide="ignore", invalid="ignore"):
        found = (np.where(depth > 0, place / depth - 0.5, FAR_OUTSIDE) for place in (column, row))
        x, y = (np.clip(place, -FAR_OUTSIDE, FAR_OUTSIDE).astype(np.float32) for place in found)
    return x, y


def _residuals(rig_from_photo: Array, pixels: Array, directions: Array) -> tuple[Array, Array]:
    """Return by how much points miss: in the photograph (n,), pixels, and as an angle (n,), degrees."""
    back = directions @ np.linalg.inv(rig_from_photo).T
    off_px = np.linalg.norm(back[:, :2] / back[:, 2:] - pixels, axis=1)
    found = np.column_stack([pixels, np.ones(len(pixels))]) @ rig_from_photo.T
    off = [
        math.degrees(angle_between(one, other))
        for one, other in zip(found, directions, strict=True)
    ]
    return off_px, np.array(off)


def _axes_towards(directions: Array) -> Array:
    """Return right, forward and up (columns) of a flat picture that looks at the middle of directions (n, 3).

    Raises
    ------
    PoseError
        When no flat picture shows them all.
    """
    middle = directions.mean(axis=0)
    azimuth, elevation = (
        math.atan2(middle[0], middle[1]),
        math.atan2(middle[2], math.hypot(middle[0], middle[1])),
    )
    axes = rotation(azimuth, elevation, 0.0)
    if (directions @ axes[:, 1] < math.cos(FARTHEST_OFF)).any():
        msg = f"the matched points are too far apart: each within {math.degrees(FARTHEST_OFF):.0f}° of their middle"
        raise PoseError(msg)
    return axes


def _tangents(directions: Array) -> Array:
    """Return where directions (n, 3) cross the plane at distance 1 ahead: right and up, (n, 2)."""
    return directions[:, [0, 2]] / directions[:, 1:2]


def _refuse_unclear(pixels: Array, tangents: Array) -> None:
    """Raise PoseError where points do not say how a photograph lies: all, or all but one, on one line.

    The homography's linear equations (Hartley and Zisserman, Multiple View Geometry, 4.1) then lack a row's worth.
    """
    (x, y), (u, v) = (_normalised(points).T for points in (pixels, tangents))
    one, nothing = np.ones_like(x), np.zeros_like(x)
    across = np.column_stack([x, y, one, nothing, nothing, nothing, -u * x, -u * y, -u])
    up = np.column_stack([nothing, nothing, nothing, x, y, one, -v * x, -v * y, -v])
    _, sizes, rows = np.linalg.svd(np.concatenate([across, up]))
    of_solution = np.linalg.svd(rows[8].reshape(3, 3), compute_uv=False)
    if sizes[7] < SINGULAR * sizes[0] or of_solution[2] < SINGULAR * of_solution[0]:
        msg = "the matched points lie on one line, or nearly: match corners that are far apart across and up"
        raise PoseError(msg)


def _normalised(points: Array) -> Array:
    """Return points (n, 2) moved and scaled so that their middle is 0 and their mean distance from it 1."""
    around = points - points.mean(axis=0)
    return np.asarray(around / max(float(np.linalg.norm(around, axis=1).mean()), 1e-300))


def _opencv() -> Any:
    try:
        import cv2
    except ImportError as error:
        msg = "matching a photograph needs OpenCV: pip install -e '.[photo]'"
        raise SeamsightError(msg) from error
    return cv2
