"""Ways from an eye through ideal thin lenses to a plane, leg by leg, in closed form.

A thin lens images every point on a point: an eye E seen from behind a lens stands elsewhere, and
from there rays run straight on. So on each leg of a way, between two lenses, rays run from (or
towards) one point, the apex, and where the ray through a point X of space ends on the plane is a
product with a matrix: a central projection, exact.
"""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedLens, PlacedScreen

CLOSE = 1e-6  # mm; what lies so near to a plane is in it
NEAR = 1e-5  # share of the way to a plane; nothing nearer to the eye is looked at
BENT_FARTHER = 2.0  # times as far as through a thin lens a ray may land through a grooved one
WIDE = 50.0  # times what is looked at, to each side: nothing farther out counts


@dataclass(frozen=True, eq=False)
class Leg:
    """The rays of a way between two planes.

    Attributes
    ----------
    apex : (4,) float64, rig frame
        From where the rays run, homogeneous: at a point x of space, the direction is w x - (x, y,
        z) of the apex.
    projection : (3, 4) float64
        From a point of the rig frame, homogeneous, to the place (x, z) of the way's last plane,
        homogeneous, where the ray through it ends.
    inside : (m, 4) float64
        Half-spaces within which these rays run. The first begins where they start, the last ends
        where they end.
    sides : (k, 4) float64
        Half-spaces too; what lies wholly out of one may be left out, and need not be.
    depth : (4,) float64
        A plane's: how far behind the plane where they end a point lies, as the rays run.
    rig_from_end : (4, 4) float64
        Frame of the plane where they end: a lens's or the last one.
    exact : bool
        False behind a grooved lens, where rays only nearly run from one point.
    """

    apex: Array
    projection: Array
    inside: Array
    sides: Array
    depth: Array
    rig_from_end: Array
    exact: bool = True

    def project(self, points: Array) -> Array:
        """Return the places (n, 2) of the way's last plane where rays through points (n, 3) end."""
        placed = points @ self.projection[:, :3].T + self.projection[:, 3]
        return np.asarray(placed[:, :2] / placed[:, 2:])

    def bounding(self, low: Array, high: Array) -> Array:
        """Return the half-spaces (4, 4) of what is projected to between two corners (2,)."""
        x, z, w = self.projection
        return np.array([x - low[0] * w, high[0] * w - x, z - low[1] * w, high[1] * w - z])

    def within(self, *half_spaces: Array) -> "Leg":
        """Return the same with more half-spaces (4,) or (k, 4) to stay within."""
        return dataclasses.replace(self, inside=np.vstack([self.inside, *half_spaces]))

    def about(self, low: Array, high: Array) -> "Leg":
        """Return the same for what meets a rectangle between two corners (2,) of the last plane."""
        middle = (low + high) / 2
        reach = WIDE * (high - low)
        return self.within(self.bounding(middle - reach, middle + reach)).narrowed(low, high)

    def narrowed(self, low: Array, high: Array) -> "Leg":
        """Return the same for what meets a smaller rectangle."""
        return dataclasses.replace(self, sides=self.bounding(low, high))

    def endless(self) -> "Leg":
        """Return the same with rays that run on straight past the plane where they end."""
        return dataclasses.replace(self, inside=self.inside[:-1])

    def rays_to(self, places: Array) -> tuple[Array, Array]:
        """Return where rays to places (n, 2) of the last plane start, and their unit directions."""
        last_from_end = self.projection @ self.rig_from_end[:, [0, 2, 3]]
        ends = np.linalg.solve(last_from_end, np.column_stack([places, np.ones(len(places))]).T)
        points = (self.rig_from_end[:3, [0, 2, 3]] @ (ends / ends[2])).T
        ways = self.apex[3] * points - self.apex[:3]
        ways /= np.linalg.norm(ways, axis=1, keepdims=True)
        start = self.inside[0]
        back = (points @ start[:3] + start[3]) / (ways @ start[:3])
        return points - back[:, None] * ways, ways


class Rectangle(NamedTuple):
    """A rectangle to look at: about a frame's origin, in its plane y = 0, its front towards -y.

    Attributes
    ----------
    rig_from_plane : (4, 4) float64
    size : (2,) float64
    """

    rig_from_plane: Array
    size: Array

    def corners(self, more: float) -> Array:
        """Return its corners (4, 3), rig frame, with some more to each side, mm."""
        x, z = self.size / 2 + more
        return move(self.rig_from_plane, np.array([(-x, 0, -z), (x, 0, -z), (x, 0, z), (-x, 0, z)]))

    def depth_of(self, point: Array) -> float:
        """Return how far behind its plane a point (3,), rig frame, lies."""
        return float((point - self.rig_from_plane[:3, 3]) @ self.rig_from_plane[:3, 1])


def image_of(screen: PlacedScreen) -> Rectangle:
    """Return a screen's image."""
    return Rectangle(screen.rig_from_screen, np.array(screen.size))


def aperture_of(lens: PlacedLens) -> Rectangle:
    """Return a lens's aperture."""
    return Rectangle(lens.rig_from_lens, np.array([lens.optic.width, lens.optic.height]))


def legs_to(
    eye: Array, lenses: Sequence[PlacedLens], rig_from_plane: Array
) -> tuple[Leg, ...] | None:
    """Return the legs of the way from an eye (3,) through thin lenses to a frame's plane y = 0.

    Returns
    -------
    tuple of Leg or None
        One more than lenses; None where no ray can go this way.
    """
    apex = np.append(eye, 1.0)
    behind = eye  # a point on the side of the next plane from which rays come
    start: Array | None = None
    steps: list[tuple[Array, Array, Array, Array | None, float]] = []
    for number, frame in enumerate([*(lens.rig_from_lens for lens in lenses), rig_from_plane]):
        frame_from_rig = inverse(frame)
        here = frame_from_rig @ apex
        sense = -np.sign(frame_from_rig[1] @ np.append(behind, 1.0))
        if -here[1] * sense <= CLOSE * abs(here[3]):
            return None
        steps.append((frame, apex, _onto_plane(here, sense) @ frame_from_rig, start, sense))
        if number < len(lenses):
            optic = lenses[number].optic
            # slope' = slope - place / f: the apex keeps its place and changes its weight
            here = here - np.array([0.0, 0.0, 0.0, abs(here[1]) / optic.focal_length])
            apex = frame @ here
            behind = frame[:3, 3]
            start = sense * frame_from_rig[1] - np.array([0.0, 0.0, 0.0, CLOSE])
    return _composed(steps)


def lenses_towards(
    screens: Sequence[PlacedScreen], eye: Array, rectangle: Rectangle
) -> list[PlacedScreen]:
    """Return the screens through whose lenses an eye (3,) may see a rectangle's front."""
    lensed = [screen for screen in screens if screen.lens]
    if not lensed:
        return []
    frames = np.array([screen.lens.rig_from_lens for screen in lensed if screen.lens])
    optics = [screen.lens.optic for screen in lensed if screen.lens]
    focal_lengths = np.array([optic.focal_length for optic in optics])
    halves = np.array([(optic.width, 0.0, optic.height, 2.0) for optic in optics]) / 2
    reach = np.array([1.0 if optic.model == "thin" else BENT_FARTHER for optic in optics])

    # where the eye stands as seen from behind each lens, and each lens's corners
    here = np.einsum("nji,nj->ni", frames[:, :3, :3], eye - frames[:, :3, 3])
    weight = 1 - np.abs(here[:, 1]) / focal_lengths
    plane_from_lens = inverse(rectangle.rig_from_plane) @ frames
    ax, ay, az, aw = np.einsum("nij,nj->in", plane_from_lens, np.column_stack([here, weight]))
    corners = np.array([(-1, 1, -1, 1), (1, 1, -1, 1), (1, 1, 1, 1), (-1, 1, 1, 1)])
    placed = np.einsum("nij,cnj->icn", plane_from_lens, corners[:, None] * halves)

    x, y, z, _ = placed
    ahead = aw * y - ay
    across, up = ax * y - ay * x, az * y - ay * z
    right, top = (side / 2 * reach * ahead for side in rectangle.size)
    sides = np.array([-y, ahead, right - across, right + across, top - up, top + up])
    reaching = np.flatnonzero(~(sides <= 0).all(axis=1).any(axis=0))
    return [lensed[number] for number in reaching]


def _onto_plane(apex: Array, sense: float) -> Array:
    """Return the central projection (3, 4) from an apex (4,) onto the plane y = 0.

    Its last row is positive where rays run the way of the sense. The point of the line from apex A
    to X with y = 0 is a_y X - x_y A.
    """
    ax, ay, az, aw = apex
    return sense * np.array([[-ay, ax, 0.0, 0.0], [0.0, az, -ay, 0.0], [0.0, aw, 0.0, -ay]])


def _composed(
    steps: list[tuple[Array, Array, Array, Array | None, float]],
) -> tuple[Leg, ...] | None:
    """Chain the projections onto single planes, the last first, to such onto the last plane."""
    found: list[Leg] = []
    onward: Array | None = None
    for frame, apex, onto, start, sense in reversed(steps):
        frame_from_rig = inverse(frame)
        depth = sense * frame_from_rig[1]
        end = -depth - np.array([0.0, 0.0, 0.0, CLOSE])
        speed = onto[2] - np.array([0.0, 0.0, 0.0, NEAR * (onto @ frame[:, 3])[2]])
        inside = [speed] if start is None else [start, speed]
        projection = onto
        if onward is not None:
            # a place of this plane, put into space, is what the next leg projects
            projection = onward @ frame[:, [0, 2, 3]] @ onto
            inside.append(projection[2])
        onward = projection
        found.append(
            Leg(apex, projection, np.array([*inside, end]), np.empty((0, 4)), depth, frame)
        )
    return tuple(reversed(found))
