"""What eyes see of the outside view from very many places: counted by rays, all eyes together.

Places of an image are spread as the multiples of two irrational numbers, which fill a rectangle and
both its sides evenly, however many are taken (the R2 sequence, M. Roberts 2018; from memory).
"""

import numpy as np

from seamsight.scene.assembly import Assembly, parts_around
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import directions_through, image_points
from seamsight.viewer.casting.trace import trace
from seamsight.viewer.casting.walk import TILE_RAYS
from seamsight.viewer.threads import each_on_threads

PLACES = 2048  # of each image; shares are then right to about 0.1 %
EYES_AT_ONCE = TILE_RAYS // PLACES  # a bundle that `trace` sends without threads of its own
CLOSE = 0.5  # mm; a ray that ends so near its goal went the way that was meant
_PLASTIC = 1.324717957244746  # the real root of x^3 = x + 1


def seen_shares(assembly: Assembly, eyes: Array) -> Array:
    """Return which share of each outside screen each of many eyes sees.

    Parameters
    ----------
    assembly : Assembly
    eyes : (n, 3) float64, rig frame

    Returns
    -------
    (n, s) float64
        0..1, in the order of the assembly's `outside_screens`; 0 from inside a part.
    """
    screens = assembly.outside_screens
    places = _spread(PLACES)
    shares = np.zeros((len(eyes), len(screens)))
    free = np.flatnonzero(parts_around(assembly, eyes) < 0) if len(eyes) else np.arange(0)
    for number, screen in enumerate(screens):
        points = image_points(screen, places * screen.size)

        def look(first: int, number: int = number, points: Array = points) -> None:
            rows = free[first : first + EYES_AT_ONCE]
            seen = _seen(assembly, screens[number], eyes[rows], points)
            shares[rows, number] = seen.mean(axis=1)

        each_on_threads(look, range(0, len(free), EYES_AT_ONCE))
    return shares


def _seen(assembly: Assembly, screen: PlacedScreen, eyes: Array, points: Array) -> Array:
    """Return which points (p, 3) of an image eyes (n, 3) see, (n, p) bool."""
    origins = np.repeat(eyes, len(points), axis=0)
    goals = np.tile(points, (len(eyes), 1))
    in_front = (goals - origins) @ screen.rig_from_screen[:3, 1] > 0
    seen = np.zeros(len(goals), bool)
    image = assembly.part_id(screen.name)
    # through the own lens; then past its edge
    for lens in [screen.lens, None] if screen.lens else [None]:
        asked = np.flatnonzero(in_front & ~seen)
        ways = directions_through(lens, origins[asked], goals[asked], within=True)
        ends = trace(assembly, origins[asked], ways)
        off = np.linalg.norm(ends.points - goals[asked], axis=1)
        seen[asked] = (ends.parts == image) & (off < CLOSE)
    return seen.reshape(len(eyes), len(points))


def _spread(count: int) -> Array:
    """Return places (n, 2) spread over a square about the origin, of side 1."""
    steps = np.array([1 / _PLASTIC, 1 / _PLASTIC**2])
    return np.asarray((0.5 + np.arange(1, count + 1)[:, None] * steps) % 1.0 - 0.5)
