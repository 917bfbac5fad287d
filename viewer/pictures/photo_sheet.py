"""A placed photograph at the scale of what is computed from the seat, and laid over it."""

import dataclasses
import math

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageFilter

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import View
from seamsight.viewer.colour import srgb
from seamsight.viewer.pictures.photo import LEAST_POINTS, PlacedPhoto, opencv
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import noted, stacked, with_scale

FAR_OUTSIDE = 1e5  # pixels; where no photograph reaches
MOST_AT_CORNER = 0.5  # degrees of expected error above which other points are worth matching
MOST_SAMPLES = 4  # looks into the photograph along each side of a pixel

_LINE = (255, 90, 170)
_SHADOW = (30, 0, 15)
_NOTHING = (110, 110, 110)


def photo_sheet(
    assembly: Assembly, eye: Array, photo: PlacedPhoto, projection: Projection, caption: str
) -> Image.Image:
    """Return what is computed, a photograph at the same scale, and the parts' outlines over it.

    Raises
    ------
    PoseError
        When the eye (3,) is inside a part.
    SeamsightError
        When OpenCV is not installed.
    """
    view = see(assembly, eye, projection)
    laid = warped(photo, projection)
    pictures = {
        f"Computed · {caption}": Image.fromarray(srgb(view.light)),
        "Photograph, at the same scale": laid,
        "Photograph, with the outlines of the computed parts": outlined(laid, view),
    }
    sheets = [with_scale(picture, projection, above) for above, picture in pictures.items()]
    return noted(stacked(sheets), [residual_words(photo)])


def warped(photo: PlacedPhoto, projection: Projection) -> Image.Image:
    """Return a photograph as a projection shows it, grey where it does not reach.

    Raises
    ------
    SeamsightError
        When OpenCV is not installed.
    """
    cv2 = opencv()
    finer = min(math.ceil(photo.picture.shape[1] / projection.width), MOST_SAMPLES)
    places = _photo_places(photo, dataclasses.replace(projection, samples=finer))
    outside = {"borderMode": cv2.BORDER_CONSTANT, "borderValue": _NOTHING}
    fine = cv2.remap(photo.picture, *places, cv2.INTER_LINEAR, **outside)
    size = (projection.width, projection.height)
    return Image.fromarray(cv2.resize(fine, size, interpolation=cv2.INTER_AREA))


def outlined(picture: Image.Image, view: View) -> Image.Image:
    """Return a picture with lines where one part of a view ends and another begins."""
    parts = view.parts
    edge = np.zeros(parts.shape, bool)
    edge[:, :-1] |= parts[:, 1:] != parts[:, :-1]
    edge[:-1] |= parts[1:] != parts[:-1]
    grown = Image.fromarray(edge.astype(np.uint8) * 255).filter(ImageFilter.MaxFilter(3))

    pixels = np.array(picture)
    pixels[np.asarray(grown) > 0] = _SHADOW
    pixels[edge] = _LINE
    return Image.fromarray(pixels)


def residual_words(photo: PlacedPhoto) -> str:
    """Return how well the matched points fit, and what that means at the edge, in words."""
    return f"{_fit_words(photo)} {_corner_words(photo)}"


def _fit_words(photo: PlacedPhoto) -> str:
    count = len(photo.off_px)
    if count == LEAST_POINTS:
        return (
            "Placed by 4 points, which always fit exactly. Match more points, spread over the "
            "picture, to check the fit."
        )
    px, degrees = (_root_mean_square(off) for off in (photo.off_px, photo.off_degrees))
    worst = int(photo.off_degrees.argmax())
    off = f"{photo.off_px[worst]:.1f} px, {photo.off_degrees[worst]:.2f}°"
    return (
        f"Placed by {count} points, by least squares: fit error {px:.1f} px, {degrees:.2f}° "
        f"(root mean square); worst at point {worst + 1}: {off}."
    )


def _corner_words(photo: PlacedPhoto) -> str:
    words = f"Expected error at the photograph's corners: {photo.corner_degrees:.2f}°."
    if photo.corner_degrees > MOST_AT_CORNER:
        words += (
            " That is much: the points are close together, or nearly on a line. Match points "
            "near the photograph's corners."
        )
    return words


def _root_mean_square(values: Array) -> float:
    return math.sqrt(float((values**2).mean()))


def _photo_places(
    photo: PlacedPhoto, projection: Projection
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """Return the column and row of a photograph that each ray of a projection meets, (h, w) each.

    Counted as OpenCV does, from the first pixel's middle; far outside where the ray leaves the
    photograph's back.
    """
    # Take the rays to the photograph; on the grid they are (x a, y a, b), see `start_rays`
    columns = projection.columns()
    lines = projection.rows()
    grid = np.stack(
        [
            np.outer(lines[:, 0], columns[:, 0]),
            np.outer(lines[:, 0], columns[:, 1]),
            np.repeat(lines[:, 1:], len(columns), axis=1),
        ]
    )
    photo_from_grid = np.linalg.inv(photo.rig_from_photo) @ projection.axes
    column, row, depth = np.einsum("ij,jhw->ihw", photo_from_grid, grid)

    # Find where they meet it
    with np.errstate(divide="ignore", invalid="ignore"):
        found = (np.where(depth > 0, place / depth - 0.5, FAR_OUTSIDE) for place in (column, row))
        x, y = (np.clip(place, -FAR_OUTSIDE, FAR_OUTSIDE).astype(np.float32) for place in found)
    return x, y
