"""Which direction each pixel of a picture looks in."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array, rotation

ProjectionKind = Literal["equirectangular", "rectilinear"]
WIDEST = {"equirectangular": 360.0, "rectilinear": 170.0}  # degrees across
LARGEST = 16384  # pixels along a side


@dataclass(frozen=True)
class Projection:
    """A picture's rays: a grid of columns and rows.

    Attributes
    ----------
    kind : "equirectangular" or "rectilinear"
        Equirectangular: equal steps of azimuth across and of elevation down, the rig's vertical
        upright. Rectilinear: as a camera aimed and tilted so would draw it; straight lines stay
        straight.
    width, height : int
        Pixels.
    field : float
        Azimuths from edge to edge, degrees.
    azimuth, elevation, tilt : float
        Where the middle looks, degrees; tilt turns a rectilinear picture.
    samples : int
        Rays along each side of a pixel.
    """

    kind: ProjectionKind
    width: int
    height: int
    field: float
    azimuth: float = 0.0
    elevation: float = 0.0
    tilt: float = 0.0
    samples: int = 1

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn.

        Raises
        ------
        ChoiceError
        """
        if self.kind not in WIDEST:
            msg = f'there is no projection "{self.kind}" (there are {", ".join(WIDEST)})'
            raise ChoiceError(msg)
        widest = WIDEST[self.kind]
        if not 0 < self.field <= widest:
            article = "an" if self.kind == "equirectangular" else "a"
            msg = f"{article} {self.kind} picture covers up to {widest:g} degrees across "
            msg += f"(got {self.field:g})"
            raise ChoiceError(msg)
        if not 1 <= self.samples <= 8:
            msg = f"samples must be from 1 to 8 along each side of a pixel (got {self.samples})"
            raise ChoiceError(msg)
        if not (1 <= self.width <= LARGEST and 1 <= self.height <= LARGEST):
            msg = f"width and height must be from 1 to {LARGEST} pixels "
            msg += f"(got {self.width} x {self.height})"
            raise ChoiceError(msg)

        top, bottom = self.elevation_at(-0.5), self.elevation_at(self.height - 0.5)
        if self.kind == "equirectangular" and (top > 90.001 or bottom < -90.001):
            msg = "the picture would extend beyond straight up or down, "
            msg += f"from {bottom:.0f} to {top:.0f} degrees: "
            msg += "reduce its height or field, or aim it nearer the horizon"
            raise ChoiceError(msg)

    @property
    def axes(self) -> Array:
        """Columns: right, forward and up of the ray grid in the rig frame, (3, 3)."""
        if self.kind == "equirectangular":
            return rotation(math.radians(self.azimuth), 0.0, 0.0)
        return rotation(
            math.radians(self.azimuth), math.radians(self.elevation), math.radians(self.tilt)
        )

    @property
    def degrees_per_pixel(self) -> float:
        """Angle between neighbouring pixels in the picture's middle."""
        if self.kind == "equirectangular":
            return self.field / self.width
        return math.degrees(2 * math.tan(math.radians(self.field / 2)) / self.width)

    def columns(self) -> Array:
        """Return (x, y) of every column of rays, (width * samples, 2); see `kernel.start_rays`."""
        place = self._places(self.width)
        if self.kind == "rectilinear":
            return np.stack([place * self._tangent_step, np.ones_like(place)], axis=1)
        angle = np.radians(place * self.degrees_per_pixel)
        return np.stack([np.sin(angle), np.cos(angle)], axis=1)

    def rows(self) -> Array:
        """Return (a, b) of every row of rays, (height * samples, 2), top row first."""
        place = -self._places(self.height)
        if self.kind == "rectilinear":
            return np.stack([np.ones_like(place), place * self._tangent_step], axis=1)
        angle = np.radians(self.elevation + place * self.degrees_per_pixel)
        return np.stack([np.cos(angle), np.sin(angle)], axis=1)

    def azimuth_at(self, column: float) -> float:
        """Return the azimuth (degrees) at a place along the middle row.

        Column 0 is the first pixel's middle.
        """
        place = column - (self.width - 1) / 2
        if self.kind == "equirectangular":
            return self.azimuth + place * self.degrees_per_pixel
        return self.azimuth + math.degrees(
            math.atan(place * self._tangent_step / self._level_share)
        )

    def elevation_at(self, row: float) -> float:
        """Return the elevation (degrees) at a place along the middle column."""
        place = (self.height - 1) / 2 - row
        if self.kind == "equirectangular":
            return self.elevation + place * self.degrees_per_pixel
        return self.elevation + math.degrees(math.atan(place * self._tangent_step))

    def column_at(self, azimuth: float) -> float:
        """Return the place along the middle row that looks at an azimuth (degrees).

        The inverse of `azimuth_at`.
        """
        return (self.width - 1) / 2 + self._pixels_from(azimuth - self.azimuth, self._level_share)

    def row_at(self, elevation: float) -> float:
        """Return the place along the middle column that looks at an elevation (degrees)."""
        return (self.height - 1) / 2 - self._pixels_from(elevation - self.elevation)

    def _pixels_from(self, angle: float, share: float = 1.0) -> float:
        if self.kind == "equirectangular":
            return angle / self.degrees_per_pixel
        return math.tan(math.radians(angle)) * share / self._tangent_step

    @property
    def _level_share(self) -> float:
        """How much of the way ahead is level: azimuths spread as a picture looks up or down.

        In a tilted picture the middle row is no level line; there angles count along the row
        itself.
        """
        if self.kind == "equirectangular" or self.tilt:
            return 1.0
        return math.cos(math.radians(self.elevation))

    @property
    def _tangent_step(self) -> float:
        return 2 * math.tan(math.radians(self.field / 2)) / self.width

    def _places(self, pixels: int) -> Array:
        """Return every ray's place from the middle, in pixels."""
        return np.asarray((np.arange(pixels * self.samples) + 0.5) / self.samples - pixels / 2)
