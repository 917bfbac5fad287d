"""How much light comes straight from screens and lamps, through lenses too, to points of a rig."""

import functools
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.kernel import Tables
from seamsight.viewer.casting.tracer import tracer_of
from seamsight.viewer.casting.walk import TILE_RAYS, dark_void, filled, unlit, walk
from seamsight.viewer.threads import each_on_threads

ALONG = 3  # samples along each side of a portal
NEAR = 1.5  # times a portal's longer side; nearer ones are looked at in more places
CLOSER = 2  # times as many along each side
MOST = 4 * np.pi  # of what one place may count for: else a place beside a portal would sparkle
OFF = 0.05  # mm; how far from its surface light is gathered
FAINTEST = 1e-4
"""Irradiance, against that in front of an endless white screen over pi, below which a portal is
not looked at."""

SEED = 20_261


@dataclass(frozen=True, eq=False)
class Portal:
    """A rectangle from which light comes: a screen's image, a lamp's face, or a lens.

    Attributes
    ----------
    centre : (3,) float64, rig frame
    sides : (2, 3) float64
        Its whole width and height.
    away : (3,) float64
        Its unit normal, away from the pilot.
    part : int
        The part on which its light starts; below 0 for a lens, through which other parts shine.
    behind : (3,) float64 or None
        A point of the plane of a lens in front of it, beyond which that lens is the portal.
    both_sides : bool
    """

    centre: Array
    sides: Array
    away: Array
    part: int
    behind: Array | None = None
    both_sides: bool = False

    @functools.cached_property
    def area(self) -> float:
        """In mm²."""
        return float(np.linalg.norm(np.cross(*self.sides)))

    def is_open_to(self, points: Array) -> npt.NDArray[np.bool_]:
        """Return at which points (n, 3) its light is looked for."""
        if self.both_sides:
            return np.ones(len(points), bool)
        open_to = (points - self.centre) @ self.away < 0
        if self.behind is not None:
            open_to &= (points - self.behind) @ self.away > 0
        return np.asarray(open_to)


def portals_of(assembly: Assembly) -> list[Portal]:
    """Return what light comes from in a rig that is otherwise dark."""
    found = []
    for screen in assembly.screens:
        if screen.shows == "black":
            continue
        found.append(_image(assembly, screen))
        if screen.lens:
            optic = screen.lens.optic
            frame = screen.lens.rig_from_lens
            # light of lamps goes the other way, in to the screen
            both_sides = bool(assembly.rig.lamp)
            size = (optic.width, optic.height)
            found.append(_portal(frame, size, -1, both_sides=both_sides))
    for lamp in assembly.rig.lamp:
        part = assembly.part_id(lamp.name)
        found.append(_portal(assembly.parts[part].rig_from_part, lamp.size, part))
    return found


def irradiances(
    assembly: Assembly, tables: Tables, points: Array, normals: Array, along: int = ALONG
) -> Array:
    """Return the irradiance at points, of red, green and blue.

    The integral of L cos cos' / r² over each portal's area, by one ray to a place at random in each
    of its equal cells (stratified sampling; M. Pharr and others, Physically Based Rendering).

    Parameters
    ----------
    assembly : Assembly
    tables : Tables
        What screens show.
    points, normals : (n, 3) float64, rig frame
        Normals of unit length, to the side on which light is gathered.
    along : int
        Cells along each side of a portal.

    Returns
    -------
    (n, 3) float64
        In front of an endless screen of the brightest one's white it is pi.
    """
    found = np.zeros((len(points), 3))

    def gather(first: int) -> None:
        rows = slice(first, first + TILE_RAYS)
        found[rows] = gathered(assembly, tables, points[rows], normals[rows], along)

    each_on_threads(gather, range(0, len(points), TILE_RAYS))
    return found


def gathered(
    assembly: Assembly, tables: Tables, points: Array, normals: Array, along: int
) -> Array:
    """Return irradiances as `irradiances` does, on one thread."""
    tables = unlit(tables)
    caster = tracer_of(assembly).caster
    random = np.random.default_rng(SEED)
    starts = points + OFF * normals
    found = np.zeros((len(points), 3))
    for portal in portals_of(assembly):
        opens = portal.is_open_to(starts)
        reach = NEAR * float(np.linalg.norm(portal.sides, axis=1).max())
        close = np.linalg.norm(starts - portal.centre, axis=1) < reach
        for rows, cells in ((opens & ~close, along), (opens & close, CLOSER * along)):
            of = np.flatnonzero(rows)
            for cell in range(cells * cells if len(of) else 0):
                ways = _places(portal, cell, cells, random, len(of)) - starts[of]
                shares = _shares(portal, ways, normals[of])
                bright = np.flatnonzero(shares > FAINTEST)
                if len(bright):
                    sent = filled(starts[of[bright]], ways[bright])
                    fates = walk(caster, tables, sent, met=dark_void)
                    light = fates.light * (shares[bright] / cells**2)[:, None]
                    if portal.part >= 0:
                        light[fates.part != portal.part] = 0.0
                    found[of[bright]] += light
    return found


def _shares(portal: Portal, ways: Array, normals: Array) -> Array:
    """Return cos cos' A / r² of ways (n, 3) to a portal, and make the ways' length 1."""
    far = np.linalg.norm(ways, axis=1)
    ways /= far[:, None]
    shares = (ways * normals).sum(axis=1) * np.abs(ways @ portal.away) * portal.area / far**2
    return np.asarray(np.minimum(shares, MOST))


def _image(assembly: Assembly, screen: PlacedScreen) -> Portal:
    behind = screen.lens.rig_from_lens[:3, 3] if screen.lens else None
    part = assembly.part_id(screen.name)
    return _portal(screen.rig_from_screen, screen.size, part, behind)


def _portal(
    frame: Array,
    size: tuple[float, float],
    part: int,
    behind: Array | None = None,
    *,
    both_sides: bool = False,
) -> Portal:
    sides = np.stack([size[0] * frame[:3, 0], size[1] * frame[:3, 2]])
    return Portal(frame[:3, 3], sides, frame[:3, 1], part, behind, both_sides)


def _places(
    portal: Portal, cell: int, along: int, random: np.random.Generator, count: int
) -> Array:
    """Return places (n, 3) at random in one of a portal's equal cells."""
    corner = np.array([cell % along, cell // along])
    shares = (random.random((count, 2)) + corner) / along - 0.5
    return np.asarray(portal.centre + shares @ portal.sides)
