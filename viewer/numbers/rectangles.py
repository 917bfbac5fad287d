"""How much of several images their thin lenses or bezels leave, for very many eyes at once.

A thin lens's aperture, or the opening of a bezel's lip, shows a rectangle of its image: its sides
are the closed form of `margins.margin`, for all screens, eyes and sides in one go.
"""

from collections.abc import Sequence

import numpy as np

from seamsight.scene.frames import Array, inverse
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import aperture_of

_ACROSS_UP = (("left", "right"), ("bottom", "top"))


class Rectangles:
    """Screens whose lenses, if they have any, are taken for thin ones.

    Parameters
    ----------
    screens : sequence of PlacedScreen
    """

    def __init__(self, screens: Sequence[PlacedScreen]) -> None:
        apertures = [aperture_of(screen) for screen in screens]
        self._screens_from_rig = np.array([inverse(screen.rig_from_screen) for screen in screens])
        self._near = np.array([aperture.near for aperture in apertures])
        self._half = np.array([aperture.half for aperture in apertures])
        self._vergence = np.array([1 / aperture.focal_length for aperture in apertures])
        self._sizes = np.array([screen.size for screen in screens])
        self._depths = np.array([_depths(screen) for screen in screens])

    def shares(self, eyes: Array) -> Array:
        """Return which share of each image eyes (n, 3), rig frame, see past the edges: (n, s).

        0 from beside or behind the lens plane (without a lens: the bezel's front).
        """
        turns, shifts = self._screens_from_rig[:, :3, :3], self._screens_from_rig[:, :3, 3]
        here = eyes @ turns.transpose(0, 2, 1) + (shifts - self._near)[:, None]  # (s, n, 3)
        before = np.maximum(-here[..., 1], 1e-9)
        sideways = here[..., [0, 2]]

        # where the ray over each edge lands, and what it leaves beyond the image's edge
        left = np.ones(before.shape)
        for axis in (0, 1):
            size = self._sizes[:, axis, None]
            width = size
            for sign, depth in zip((-1.0, 1.0), self._depths[:, axis].T, strict=True):
                edge = sign * self._half[:, axis, None]
                slope = (edge - sideways[..., axis]) / before - edge * self._vergence[:, None]
                landing = edge + depth[:, None] * slope + self._near[:, 2 * axis, None]
                width = width + np.minimum(sign * landing - size / 2, 0.0)
            left *= np.maximum(width, 0.0) / size
        return np.asarray(np.where(here[..., 1] < 0, left, 0.0).T)


def _depths(screen: PlacedScreen) -> list[list[float]]:
    """Return from the image to what bounds the view at the sides of both axes: lens or lip."""
    depth = float(-aperture_of(screen).near[1])
    return [
        [depth if screen.lens or getattr(screen.display.bezel, side) else 0.0 for side in sides]
        for sides in _ACROSS_UP
    ]
