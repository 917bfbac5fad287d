"""Which lamps, windows and bright screens an eye sees mirrored in lenses and screens."""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.frames import Array, azimuth_and_elevation, inverse, move
from seamsight.scene.layout import PlacedScreen, rig_from_pose
from seamsight.viewer.casting.trace import refuse_inside, trace
from seamsight.viewer.eye import Eyes
from seamsight.viewer.light.hoods import Hood, hoods_needed, without_hoods
from seamsight.viewer.light.mirrors import Mirror, Reflections, mirrors_of, reflections

COARSE = (96, 60)  # places of a mirror that are tried, across and up
FINE = (72, 48)  # of the part of it in which something was found


@dataclass(frozen=True)
class MirrorImage:
    """A lamp, window or screen as an eye sees it mirrored.

    Attributes
    ----------
    eye : str
    mirror : str
        The lens or screen that mirrors it.
    of : str
        The lamp, window or screen.
    azimuth, elevation : float
        Its middle, degrees from the eye.
    width, height : float
        From its outermost edges, degrees.
    pixels : (left, right, top, bottom) or None
        Of the screen at that place, counted from its left and its top; None where its image is not
        seen there.
    share : float
        Of the mirror that it covers.
    share_without_hood : float
        The same with all hoods of banks and lenses taken off.
    reflectance : float
        Mean share of the light that is mirrored.
    luminance : float
        Mean of the mirror image, cd/m²; of a screen that shows white all over.
    of_white : float
        That against the white of the screen at that place.
    contrast : float
        White against black of that screen, with this upon both.
    hood : dict of str to Hood
        By side: how long a hood must be so that no part of it is left.
    """

    eye: str
    mirror: str
    of: str
    azimuth: float
    elevation: float
    width: float
    height: float
    pixels: tuple[float, float, float, float] | None
    share: float
    share_without_hood: float
    reflectance: float
    luminance: float
    of_white: float
    contrast: float
    hood: dict[str, Hood]

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON has it."""
        return dataclasses.asdict(self)


class _Window(NamedTuple):
    """A rectangle of a mirror, from its middle, mm."""

    low: Array
    high: Array

    def places(self, across: int, up: int) -> Array:
        """Return the middles (n, 2) of so many equal cells."""
        size = self.high - self.low
        x = self.low[0] + (np.arange(across) + 0.5) / across * size[0]
        z = self.low[1] + (np.arange(up) + 0.5) / up * size[1]
        return np.stack(np.meshgrid(x, z), axis=-1).reshape(-1, 2)

    @property
    def area(self) -> float:
        """In mm²."""
        return float(np.prod(self.high - self.low))


def mirror_images(assembly: Assembly, eyes: Eyes) -> list[MirrorImage]:
    """Return what either eye of a head sees mirrored, the brightest first.

    Every screen is taken to show white all over; those that show black are left out.

    Raises
    ------
    PoseError
        When an eye is inside a part.
    """
    refuse_inside(assembly, eyes.rows[:2])
    bare = build(without_hoods(assembly.rig)) if _has_hoods(assembly) else assembly
    sources = _sources(bare)
    found = [
        image
        for mirror in mirrors_of(bare)
        for eye in ("left", "right")
        for image in _images(assembly, bare, mirror, eye, eyes.point(eye), sources)
    ]
    return sorted(found, key=lambda image: -image.luminance)


def _has_hoods(assembly: Assembly) -> bool:
    rig = assembly.rig
    return any(bank.hood for bank in rig.bank) or any(lens.hood for lens in rig.lens)


def _sources(assembly: Assembly) -> dict[int, float]:
    """Return the luminance of whatever shines, cd/m², by its part id."""
    shining = {
        assembly.part_id(screen.name): screen.display.luminance
        for screen in assembly.screens
        if screen.shows != "black"
    }
    return shining | {assembly.part_id(lamp.name): lamp.brightness for lamp in assembly.rig.lamp}


def _images(
    assembly: Assembly,
    bare: Assembly,
    mirror: Mirror,
    eye: str,
    point: Array,
    sources: dict[int, float],
) -> Iterator[MirrorImage]:
    if move(inverse(mirror.rig_from_mirror), point)[1] >= 0:
        return

    # look for sources all over the mirror, then closely where each is seen
    half = np.array(mirror.size) / 2
    whole = _Window(-half, half)
    places = whole.places(*COARSE)
    ends = reflections(bare, mirror, point, places).parts
    cell = (whole.high - whole.low) / COARSE
    for source, luminance in sources.items():
        hit = places[ends == source]
        window = _window(whole, hit - cell, hit + cell) if len(hit) else None
        if window is None and not mirror.through:
            window = _lamp_window(bare, mirror, point, source, whole)
        if window is None or window.area <= 0:
            continue
        fine = window.places(*FINE)
        found = reflections(bare, mirror, point, fine)
        kept = found.parts == source
        if kept.any():
            seen = _Seen(mirror, eye, point, bare.parts[source].name, fine[kept], kept, found)
            share = window.area / whole.area / len(fine)
            left = reflections(assembly, mirror_in(assembly, mirror), point, fine[kept])
            still = left.parts == assembly.part_id(seen.of)
            shares = float(still.sum() * share), float(kept.sum() * share)
            yield _image(bare, seen, luminance, shares)


def mirror_in(assembly: Assembly, mirror: Mirror) -> Mirror:
    """Return a mirror as part of another assembly that has it too."""
    return dataclasses.replace(mirror, part=assembly.part_id(mirror.name))


class _Seen(NamedTuple):
    """The places (m) of a mirror where an eye sees one thing, of all (n) that were tried there."""

    mirror: Mirror
    eye: str
    point: Array
    of: str
    places: Array  # (m, 2)
    kept: Array  # (n,) bool
    found: Reflections  # of n


def _image(
    bare: Assembly, seen: _Seen, luminance: float, shares: tuple[float, float]
) -> MirrorImage:
    found = seen.found
    kept = seen.kept
    mirror = seen.mirror
    directions = found.directions[kept]
    azimuths, elevations = np.degrees(azimuth_and_elevation(directions))
    middle = np.degrees(azimuth_and_elevation(directions.mean(axis=0)))[0]
    azimuths = (azimuths - middle + 180) % 360 - 180 + middle

    reflectance = float(found.reflectance[kept].mean())
    veil = reflectance * luminance
    white = mirror.screen.display.luminance
    far = _distances(bare, seen)
    hood = hoods_needed(bare, mirror, seen.point, found.origins[kept], found.onward[kept], far)
    return MirrorImage(
        eye=seen.eye,
        mirror=mirror.name,
        of=seen.of,
        azimuth=float(azimuths.min() + azimuths.max()) / 2,
        elevation=float(elevations.min() + elevations.max()) / 2,
        width=float(np.ptp(azimuths)) * _whole_cells(seen.places[:, 0]),
        height=float(np.ptp(elevations)) * _whole_cells(seen.places[:, 1]),
        pixels=_pixels(bare, seen, directions),
        share=shares[0],
        share_without_hood=shares[1],
        reflectance=reflectance,
        luminance=veil,
        of_white=veil / white,
        contrast=(white + veil) / veil,
        hood=hood,
    )


def _whole_cells(places: Array) -> float:
    """Return how much longer a row of cells is than from its first middle to its last."""
    count = len(np.unique(places))
    return count / (count - 1) if count > 1 else 1.0


def _window(whole: _Window, low: Array, high: Array) -> _Window:
    """Return the rectangle around some others, as far as it is on the mirror."""
    return _Window(np.maximum(low.min(axis=0), whole.low), np.minimum(high.max(axis=0), whole.high))


def _lamp_window(
    assembly: Assembly, mirror: Mirror, eye: Array, source: int, whole: _Window
) -> _Window | None:
    """Return where on a plane mirror the image of a small lamp must be; None for a screen's."""
    part = assembly.parts[source]
    if part.role != "lamp":
        return None
    # the eye sees the lamp's image behind the mirror, as far from it as the lamp is in front
    own = inverse(mirror.rig_from_mirror)
    here = move(own, eye)
    corners = move(own, part.triangles.reshape(-1, 3))
    if (corners[:, 1] >= 0).any():
        return None
    share = here[1] / (here[1] + corners[:, 1])
    crossed = (here + share[:, None] * (corners * [1, -1, 1] - here))[:, [0, 2]]
    window = _window(whole, crossed, crossed)
    return window if (window.high > window.low).all() else None


def _distances(assembly: Assembly, seen: _Seen) -> Array:
    """Return how far the light of each place comes, (m,) mm; infinite from other than lamps."""
    origins, onward = seen.found.origins[seen.kept], seen.found.onward[seen.kept]
    lamp = next((lamp for lamp in assembly.rig.lamp if lamp.name == seen.of), None)
    if lamp is None or seen.mirror.through:
        return np.full(len(origins), np.inf)
    frame = rig_from_pose(lamp)
    normal = frame[:3, 1]
    return np.asarray(((frame[:3, 3] - origins) @ normal) / (onward @ normal))


def _pixels(
    assembly: Assembly, seen: _Seen, directions: Array
) -> tuple[float, float, float, float] | None:
    """Return which pixels of the screen at that place it covers: left, right, top, bottom."""
    screen: PlacedScreen = seen.mirror.screen
    places = seen.places
    if seen.mirror.is_lens:
        starts = np.broadcast_to(seen.point, directions.shape).copy()
        ends = trace(assembly, starts, directions)
        on_image = ends.parts == assembly.part_id(screen.name)
        if not on_image.any():
            return None
        places = move(inverse(screen.rig_from_screen), ends.points[on_image])[:, [0, 2]]
    shares = places / screen.size * [1, -1] + 0.5
    across, down = (shares * screen.display.pixels).T
    return float(across.min()), float(across.max()), float(down.min()), float(down.max())
