"""What both eyes see from every head position of a grid, and that as a table or as arrays."""

import csv
import io
import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array
from seamsight.scene.rig import Head
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.sweep import seen_shares

MOST_PLACES = 1_000_000
AT_ONCE = 256  # heads between two words of progress


@dataclass(frozen=True, eq=False)
class Grid:
    """Head positions about one: how far right, forward and up of it, mm, and turned, degrees."""

    head: Head
    right: Array
    forward: Array
    up: Array
    turn: Array

    @property
    def shape(self) -> tuple[int, int, int, int]:
        """How many places along right, forward, up and turn."""
        return len(self.right), len(self.forward), len(self.up), len(self.turn)

    def places(self) -> Array:
        """Return right, forward, up and turn of every position, (n, 4), the last one fastest."""
        axes = np.meshgrid(self.right, self.forward, self.up, self.turn, indexing="ij")
        return np.stack([axis.ravel() for axis in axes], axis=1)

    def heads(self) -> Iterator[Head]:
        """Yield every head in the same order."""
        for x, y, z, turn in self.places().tolist():
            yield self.head.moved((x, y, z), turn)


@dataclass(frozen=True, eq=False)
class HeadMap:
    """What is seen from a grid of head positions.

    Attributes
    ----------
    grid : Grid
    screens : list of str
        Those of the outside view.
    shares : (n, s, 2) float64
        Of each image that the left and the right eye see, in the order of `Grid.places`.
    """

    grid: Grid
    screens: list[str]
    shares: Array

    @property
    def least(self) -> Array:
        """The least share of any screen and eye at each position, (n,)."""
        return np.asarray(self.shares.min(axis=(1, 2)))

    def as_csv(self) -> bytes:
        """Return a table: where the head is, the least share, and that of each screen and eye."""
        stream = io.StringIO()
        writer = csv.writer(stream, lineterminator="\n")
        columns = [f"{screen} {eye}" for screen in self.screens for eye in ("left", "right")]
        writer.writerow(["right", "forward", "up", "turn", "least", *columns])
        shares = self.shares.reshape(len(self.shares), -1)
        for place, least, row in zip(self.grid.places(), self.least, shares, strict=True):
            told = [f"{value:.10g}" for value in place]
            writer.writerow([*told, f"{least:.4f}", *(f"{share:.4f}" for share in row)])
        return stream.getvalue().encode()

    def as_npz(self) -> bytes:
        """Return the grid's axes, screens, and shares: (right, forward, up, turn, screen, eye)."""
        stream = io.BytesIO()
        grid = self.grid
        np.savez_compressed(
            stream,
            right=grid.right,
            forward=grid.forward,
            up=grid.up,
            turn=grid.turn,
            screens=np.array(self.screens),
            shares=self.shares.reshape(*grid.shape, len(self.screens), 2),
        )
        return stream.getvalue()


def grid_about(
    head: Head, reach: tuple[float, float, float], step: float, turns: tuple[float, ...]
) -> Grid:
    """Return positions up to a reach to each side of a head, mm, a step apart; and turns, degrees.

    Raises
    ------
    ChoiceError
        When they are too many.
    """
    counts = [int(far / step + 1e-9) for far in reach]
    total = len(turns) * int(np.prod([2.0 * count + 1 for count in counts]))
    if total > MOST_PLACES:
        msg = f"that makes {total:,} head positions, and at most {MOST_PLACES:,} can be mapped"
        raise ChoiceError(msg)
    right, forward, up = (step * np.arange(-count, count + 1.0) for count in counts)
    return Grid(head, right, forward, up, np.array(turns, np.float64))


def mapped(assembly: Assembly, grid: Grid) -> Iterator[tuple[int, Array]]:
    """Yield how many positions are done, and the shares (m, s, 2) of the newest of them."""
    done = 0
    heads = grid.heads()
    while some := list(itertools.islice(heads, AT_ONCE)):
        eyes = np.concatenate([eyes_of(assembly.rig, head).rows[:2] for head in some])
        shares = seen_shares(assembly, eyes).reshape(len(some), 2, -1).transpose(0, 2, 1)
        done += len(some)
        yield done, shares


def head_map(assembly: Assembly, grid: Grid, shares: list[Array]) -> HeadMap:
    """Return a map out of all shares that `mapped` gave."""
    screens = [screen.name for screen in assembly.outside_screens]
    return HeadMap(grid, screens, np.concatenate(shares))
