"""What both eyes see from every head position of a grid, and that as a table or as arrays."""

import csv
import hashlib
import io
import math
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import version

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array
from seamsight.scene.rig import Head
from seamsight.viewer.casting.caster import HAS_ENGINE
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.sweep import PLACES, seen_shares

MOST_PLACES = 1_000_000
PIECE = 256  # head positions that are computed and kept together


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

    @property
    def count(self) -> int:
        """How many positions there are."""
        return math.prod(self.shape)

    @property
    def pieces(self) -> range:
        """The numbers of the pieces of `PIECE` positions, the last one smaller, that are mapped."""
        return range(math.ceil(self.count / PIECE))

    def piece(self, number: int) -> range:
        """Return the numbers of a piece's positions."""
        return range(number * PIECE, min((number + 1) * PIECE, self.count))

    def places(self, some: range | None = None) -> Array:
        """Return right, forward, up and turn of some or all positions, (n, 4), turn fastest."""
        numbers = np.arange(self.count) if some is None else np.array(some)
        axes = (self.right, self.forward, self.up, self.turn)
        indices = np.unravel_index(numbers, self.shape)
        return np.stack([axis[at] for axis, at in zip(axes, indices, strict=True)], axis=1)

    def heads(self, some: range | None = None) -> Iterator[Head]:
        """Yield the heads of some or all positions in the same order."""
        for x, y, z, turn in self.places(some).tolist():
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


def mapped(assembly: Assembly, grid: Grid, number: int) -> Array:
    """Return the shares (m, s, 2) of the head positions of one of a grid's pieces."""
    heads = list(grid.heads(grid.piece(number)))
    eyes = np.concatenate([eyes_of(assembly.rig, head).rows[:2] for head in heads])
    shares = seen_shares(assembly, eyes).reshape(len(heads), 2, -1)
    return np.ascontiguousarray(shares.transpose(0, 2, 1))


def shares_shape(assembly: Assembly, grid: Grid, number: int) -> tuple[int, int, int]:
    """Return the shape of what `mapped` gives."""
    return len(grid.piece(number)), len(assembly.outside_screens), 2


def question_of(assembly: Assembly, grid: Grid) -> str:
    """Return 16 hexadecimal digits that stand for all that decides a map, meshes included."""
    counted = f"{version('seamsight')} {HAS_ENGINE} {PLACES} {PIECE}"
    told = [counted, assembly.rig.model_dump_json(), grid.head.model_dump_json()]
    digest = hashlib.sha256("\n".join(told).encode())
    for values in (assembly.triangles, grid.right, grid.forward, grid.up, grid.turn):
        digest.update(f"{values.shape}".encode() + np.ascontiguousarray(values).tobytes())
    return digest.hexdigest()[:16]


def head_map(assembly: Assembly, grid: Grid, pieces: list[Array]) -> HeadMap:
    """Return a map out of what `mapped` gave for all pieces, in their order."""
    screens = [screen.name for screen in assembly.outside_screens]
    return HeadMap(grid, screens, np.concatenate(pieces))
