"""The outside view from the seat, once for each way of setting up a simulator's views."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.frames import Array, azimuth_and_elevation
from seamsight.viewer.casting.frustum import FlatView, directions_of
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import picture_of
from seamsight.viewer.pictures.framing import framed_on_outside
from seamsight.viewer.projection import Projection
from seamsight.viewer.setup.views import seen_at
from seamsight.viewer.sheet import noted, stacked, with_scale

WIDTH = 1500  # pixels
SAMPLES = 2
SHARES = (0.05, 0.275, 0.5, 0.725, 0.95)  # of an image's width and height, where errors are marked

_MARK = (255, 70, 160)
_RADIUS = 3  # pixels
_LEAST = 2.0  # pixels; a shorter line is not drawn
_NOTE = (
    "Each line goes from where a thing is in the outside view to where it is seen (dot). The grid "
    "is drawn with the outside view: where all is right, it fits the scale."
)


@dataclass(frozen=True)
class Setup:
    """A way of setting up a simulator: what it is called, and each screen's view by name."""

    title: str
    views: Mapping[str, FlatView]


def setups_picture(
    assembly: Assembly, setups: list[Setup], caption: str, width: int = WIDTH
) -> Image.Image:
    """Return what is seen of the outside from the design eye point with each of some set-ups.

    Each picture is so many pixels wide, without its scale.

    Raises
    ------
    FileError
        When a picture that a screen shows cannot be read.
    PoseError
        When the design eye point is inside a part.
    """
    rig = assembly.rig
    gridded = build(rig.model_copy(update={"world": rig.world.model_copy(update={"grid": True})}))
    eye = np.array(rig.pilot.eye_point)
    projection = framed_on_outside(gridded, eye, width, SAMPLES)

    rows = []
    for setup in setups:
        view = see(gridded, eye, projection, views=setup.views)
        picture = Image.fromarray(picture_of(view))
        _mark_errors(picture, projection, gridded, setup.views)
        rows.append(with_scale(picture, projection, f"{caption} · {setup.title}"))
    return noted(stacked(rows), [_NOTE])


def _mark_errors(
    picture: Image.Image,
    projection: Projection,
    assembly: Assembly,
    views: Mapping[str, FlatView],
) -> None:
    """Draw from where things should be to where they are seen, at some places of each screen."""
    draw = ImageDraw.Draw(picture)
    eye = np.array(assembly.rig.pilot.eye_point)
    places = np.stack(np.meshgrid(SHARES, SHARES), axis=-1).reshape(-1, 2)
    for name, view in views.items():
        seen = seen_at(assembly.screen(name), eye, places)
        passes = np.isfinite(seen).all(axis=1)
        starts = _pixels(projection, directions_of(view, places)[passes])
        for start, end in zip(starts, _pixels(projection, seen[passes]), strict=True):
            if np.linalg.norm(end - start) < _LEAST:
                continue
            x, y = end
            draw.line([tuple(start), (x, y)], fill=_MARK, width=2)
            draw.ellipse([x - _RADIUS, y - _RADIUS, x + _RADIUS, y + _RADIUS], fill=_MARK)


def _pixels(projection: Projection, directions: Array) -> Array:
    """Return the column and row (n, 2) where an equirectangular picture shows directions (n, 3)."""
    azimuths, elevations = np.degrees(azimuth_and_elevation(directions))
    around = (azimuths - projection.azimuth + 180) % 360 - 180 + projection.azimuth
    pairs = zip(around, elevations, strict=True)
    return np.array(
        [
            (projection.column_at(float(azimuth)), projection.row_at(float(elevation)))
            for azimuth, elevation in pairs
        ]
    )
