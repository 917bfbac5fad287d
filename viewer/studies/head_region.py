"""All places where both eyes may be, while the head moves within a box and turns."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly, parts_around
from seamsight.scene.frames import Array
from seamsight.scene.rig import Head
from seamsight.viewer.casting.trace import refuse_inside
from seamsight.viewer.eye import eyes_of

ENDS = 1 / 6  # share of heads put on each end of each movement: most is seen from there
GOLDEN = 1.1673039782614187  # x⁵ = x + 1
EYES = ("left", "right")


@dataclass(frozen=True)
class HeadRegion:
    """Where the head may be: in a box about each of some head positions, turned to each side.

    Attributes
    ----------
    heads : tuple of Head
    reach : (right, forward, up)
        How far it moves from each to both sides, mm.
    turn : float
        How far it turns to both sides, degrees.
    """

    heads: tuple[Head, ...]
    reach: tuple[float, float, float]
    turn: float

    def places(self, count: int) -> Iterator[Head]:
        """Yield heads spread over the region, from each of `heads` in turn.

        Unmoved, then moved each way alone, half as far and all the way, then all corners, then
        about `count` more. These follow the generalised golden ratio (Roberts 2018), so that seen
        along any line they are evenly spread too.
        """
        ends = np.array([*self.reach, self.turn])
        alone = [part * row for part in (0.5, -0.5, 1.0, -1.0) for row in np.diag(ends)]
        corners = itertools.product(*((-end, end) for end in ends.tolist()))
        steps = GOLDEN ** -np.arange(1.0, 5.0)
        shares = (0.5 + np.arange(count // len(self.heads))[:, None] * steps) % 1
        spread = (2 * shares - 1) / (1 - 2 * ENDS)

        moves = np.vstack([np.zeros(4), *alone, *corners, spread.clip(-1, 1) * ends])
        for x, y, z, turn in dict.fromkeys(map(tuple, moves.round(1).tolist())):
            for head in self.heads:
                yield head.moved((x, y, z), turn)


@dataclass(frozen=True, eq=False)
class Lookers:
    """Heads that look, and where their eyes are.

    Attributes
    ----------
    heads : list of Head
    eyes : (n, 2, 3) float64, rig frame
        The left and the right eye of each.
    far : (n,) float64
        How far an eye of each has moved with the head from its place, mm.
    left_out : int
        Heads left out because an eye of theirs would be inside a part.
    """

    heads: list[Head]
    eyes: Array
    far: Array
    left_out: int

    @property
    def rows(self) -> Array:
        """All eyes one after the other (2 n, 3)."""
        return self.eyes.reshape(-1, 3)

    def who(self, row: int) -> tuple[Head, str]:
        """Return whose eye a row of `rows` is."""
        return self.heads[row // 2], EYES[row % 2]


def lookers(assembly: Assembly, region: HeadRegion, count: int) -> Lookers:
    """Return about so many heads of a region; its corners are among them.

    Raises
    ------
    PoseError
        When each of them has an eye inside a part.
    """
    heads = list(region.places(count))
    each = [eyes_of(assembly.rig, head) for head in heads]
    eyes = np.array([[one.left, one.right] for one in each])
    around = parts_around(assembly, eyes.reshape(-1, 3)).reshape(-1, 2)
    free = np.asarray((around < 0).all(axis=1))
    if not free.any():
        refuse_inside(assembly, eyes.reshape(-1, 3))
    chosen = [head for head, is_free in zip(heads, free, strict=True) if is_free]
    unmoved = eyes[np.arange(len(eyes)) % len(region.heads)]
    far = np.linalg.norm(eyes - unmoved, axis=2).max(axis=1)
    return Lookers(chosen, eyes[free], far[free], int((~free).sum()))
