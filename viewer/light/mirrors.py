"""Lenses and screens as flat mirrors: which way an eye's ray goes on from them.

The grooved face of a lens mirrors in many small pieces; here it counts as flat, so that a lens
mirrors at most as much as is told.
"""

import functools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.scene.optics import D_LINE, acrylic_index, face_reflectance, sheet_reflectance
from seamsight.viewer.casting.kernel import STEP
from seamsight.viewer.casting.sightlines import directions_to_image, image_points
from seamsight.viewer.casting.trace import first_parts, trace

ACRYLIC = acrylic_index(D_LINE)
GLASS = 1.52  # crown and window glass, from memory
COATED = 0.125
"""An antireflective coating mirrors about 0.5 % of light square on, an eighth of what bare glass
does (from memory)."""

COSINES = np.linspace(0.0, 1.0, 4097)
NEAR = 0.05  # mm; how near a ray must land to the place that it was aimed at


@dataclass(frozen=True, eq=False)
class Mirror:
    """A lens or a screen's front as a flat mirror.

    Attributes
    ----------
    name : str
        Of the part: "outside.1 lens", or the screen's.
    part : int
        Its part id.
    screen : PlacedScreen
        The screen, or that behind the lens.
    is_lens : bool
    rig_from_mirror : (4, 4) float64
        Its frame, the middle of lens or image at the origin.
    size : (float, float)
        Width and height, mm.
    """

    name: str
    part: int
    screen: PlacedScreen
    is_lens: bool
    rig_from_mirror: Array
    size: tuple[float, float]

    @property
    def normal(self) -> Array:
        """The direction (3,) straight away from the pilot."""
        return self.rig_from_mirror[:3, 1]

    @property
    def through(self) -> PlacedLens | None:
        """The lens that it is seen through."""
        return None if self.is_lens else self.screen.lens

    def reflectance(self, cosines: Array) -> Array:
        """Return which share of light it mirrors at cosines (n,) of the angle to its normal.

        Of a lens both faces; of a screen its front.
        """
        if self.is_lens:
            optic = self.screen.lens.optic if self.screen.lens else None
            coated = optic is not None and optic.coating == "antireflective"
            table = _tabled(sheet_reflectance, ACRYLIC)
        else:
            coated = self.screen.display.surface == "coated"
            table = _tabled(face_reflectance, GLASS)
        shares = np.interp(cosines, COSINES, table)
        return np.asarray(shares * COATED if coated else shares)


@dataclass(frozen=True, eq=False)
class Reflections:
    """Rays from an eye that a mirror sends on.

    Attributes
    ----------
    seen : (n,) bool
        Whether the eye sees that place of the mirror.
    directions : (n, 3) float64, rig frame
        In which direction the eye looks there.
    origins, onward : (n, 3) float64, rig frame
        The place on the mirror, and the direction in which the ray goes on from it.
    reflectance : (n,) float64
    parts : (n,) int32
        The part that the ray ends on; below 0 for none, or where the eye does not see the place.
    """

    seen: Array
    directions: Array
    origins: Array
    onward: Array
    reflectance: Array
    parts: npt.NDArray[np.int32]


def mirrors_of(assembly: Assembly) -> list[Mirror]:
    """Return what mirrors in a rig: every lens, and every screen that is not matt."""
    found = []
    for screen in assembly.screens:
        if screen.lens:
            optic = screen.lens.optic
            part = assembly.lens_id(screen)
            frame = screen.lens.rig_from_lens
            size = (optic.width, optic.height)
            found.append(Mirror(assembly.parts[part].name, part, screen, True, frame, size))
        if screen.display.surface != "matt":
            part = assembly.part_id(screen.name)
            frame = screen.rig_from_screen
            size = screen.size
            found.append(Mirror(screen.name, part, screen, False, frame, size))
    return found


def reflections(assembly: Assembly, mirror: Mirror, eye: Array, places: Array) -> Reflections:
    """Return where rays from an eye (3,) go by way of places (n, 2) of a mirror."""
    # look at each place, bent by the lens in front of it if there is one
    points = image_points_of(mirror, places)
    before = points - eye
    if mirror.through:
        directions = directions_to_image(mirror.screen, eye, places)
        before = points - _crossings(mirror.through, eye, directions)
        ends = trace(assembly, np.broadcast_to(eye, points.shape).copy(), directions)
        missed = np.linalg.norm(ends.points - points, axis=1)
        seen = (ends.parts == mirror.part) & (missed < NEAR)
    else:
        directions = before / np.linalg.norm(before, axis=1, keepdims=True)
        ahead = (directions @ mirror.normal > 0)[:, None]
        aimed = np.where(ahead, directions, np.nan)
        seen = first_parts(assembly, np.broadcast_to(eye, points.shape), aimed) == mirror.part

    # go on as a plane mirror sends it
    onto = before / np.linalg.norm(before, axis=1, keepdims=True)
    cosines = onto @ mirror.normal
    onward = onto - 2 * cosines[:, None] * mirror.normal
    sent = np.where(seen[:, None], onward, np.nan)
    parts = trace(assembly, points + STEP * onward, sent).parts
    reflectance = mirror.reflectance(np.clip(cosines, 0.0, 1.0))
    return Reflections(seen, directions, points, onward, reflectance, parts)


def image_points_of(mirror: Mirror, places: Array) -> Array:
    """Return places (n, 2) of a mirror, from its middle, in the rig frame (n, 3)."""
    if not mirror.is_lens:
        return image_points(mirror.screen, places)
    flat = np.stack([places[:, 0], np.zeros(len(places)), places[:, 1]], axis=1)
    return move(mirror.rig_from_mirror, flat)


def _crossings(lens: PlacedLens, eye: Array, directions: Array) -> Array:
    """Return where rays from an eye cross a lens's plane, (n, 3), rig frame."""
    lens_from_rig = inverse(lens.rig_from_lens)
    away = -move(lens_from_rig, eye)[1] / (directions @ lens.rig_from_lens[:3, 1])
    return np.asarray(eye + away[:, None] * directions)


@functools.cache
def _tabled(law: Callable[[float, float], float], index: float) -> Array:
    """Return a law of reflection at each of `COSINES`."""
    return np.array([law(cosine, index) for cosine in COSINES.tolist()])
