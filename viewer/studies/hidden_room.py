"""The room around a rig that no eye sees, straight or through a lens, from a region of heads.

The space is cut into cubes. Rays go out from eyes all over the region, and every cube that one
enters is marked as seen: first rays in all directions and through every lens, then rays aimed at
cubes that are still unmarked, more of them near to where the last of these were seen. A cube counts
as hidden where it and all that touch it stay unmarked: that margin of one cube is for eyes between
those that looked.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array, move
from seamsight.scene.layout import PlacedLens
from seamsight.scene.parts import LAMP_ROLES
from seamsight.viewer.casting.cells import Cells, Cubes, mark_seen
from seamsight.viewer.casting.sightlines import directions_through
from seamsight.viewer.studies.cubes import grown, simply_joined
from seamsight.viewer.studies.head_region import HeadRegion, Lookers, lookers

AROUND = 200.0  # mm of room around the parts
MOST_CELLS = 40_000_000
HEADS = 4096  # that look
PER_CELL = 40.0  # rays for each cube's side on a sphere as wide as the room
AT_ONCE = 1 << 18  # rays between two words of progress
ROUNDS = 3  # of looks at cubes that are still unmarked
LOOKED_AT = 0.5  # share of them in each
THROUGH = 4  # of these, one in so many is looked at through each lens
NEAR_ROUNDS = 8  # at most, of looks at those near to newly seen ones
NEAR_LOOKS = 16  # at each of these
BESIDE = 2.0  # times an aperture's size; at 1.3 some ways through grooves are missed, at 1.6 none


Numbers = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class HiddenRoom:
    """What no eye of a region of heads sees.

    Attributes
    ----------
    cells : Cells
    seen : (x, y, z) bool
        Cubes through which some ray went.
    hidden : (x, y, z) bool
        Cubes hidden with a margin of one cube.
    lookers : Lookers
    rays : int
        That were sent.
    met : dict
        {part id: (row of `Lookers.rows`, direction (3,))}: a ray that ended there, for each part
        that one did.
    """

    cells: Cells
    seen: Cubes
    hidden: Cubes
    lookers: Lookers
    rays: int
    met: dict[int, tuple[int, Array]]

    @property
    def volume(self) -> float:
        """Of the hidden cubes, litres."""
        return float(self.hidden.sum()) * self.cells.step**3 / 1e6


def cells_around(assembly: Assembly, step: float) -> Cells:
    """Return cubes of a step (mm) that fill the room around a rig that has parts.

    Lamps and windows of the room do not widen it, unless there is nothing else.

    Raises
    ------
    ChoiceError
        When there would be too many cubes.
    """
    built = [part.triangles for part in assembly.parts if part.role not in LAMP_ROLES]
    corners = np.concatenate(built or [assembly.triangles]).reshape(-1, 3)
    low, high = corners.min(axis=0) - AROUND, corners.max(axis=0) + AROUND
    count = np.prod(np.ceil((high - low) / step))
    if count > MOST_CELLS:
        finest = math.ceil(10 * (float(np.prod(high - low)) / MOST_CELLS) ** (1 / 3)) / 10
        msg = (
            f"a step of {step:g} mm makes {count:,.0f} cubes; at most {MOST_CELLS:,} can be "
            f"looked at: use a step of about {finest:g} mm or more"
        )
        raise ChoiceError(msg)
    right, forward, up = (int(number) for number in np.ceil((high - low) / step))
    return Cells(low, step, (right, forward, up))


class Search:
    """The search for what is hidden, in pieces so that its progress can be told.

    Parameters
    ----------
    assembly : Assembly
    region : HeadRegion
    step : float
        A cube's side, mm.
    """

    def __init__(self, assembly: Assembly, region: HeadRegion, step: float) -> None:
        self._assembly = assembly
        self._cells = cells_around(assembly, step)
        self._lookers = lookers(assembly, region, HEADS)
        self._seen = np.zeros(self._cells.shape, bool)
        self._met: dict[int, tuple[int, Array]] = {}
        self._chance = np.random.default_rng(1)
        self._rays = 0

    @property
    def pieces(self) -> int:
        """How many pieces the search has at most."""
        return self._far_pieces * (1 + bool(self._lenses)) + ROUNDS + NEAR_ROUNDS

    @property
    def _far_pieces(self) -> int:
        half = float(np.linalg.norm(self._cells.high - self._cells.low)) / 2
        rays = PER_CELL * 4 * math.pi * (half / self._cells.step) ** 2
        return math.ceil(rays / AT_ONCE)

    @property
    def _lenses(self) -> list[PlacedLens]:
        return [screen.lens for screen in self._assembly.screens if screen.lens]

    def run(self) -> Iterator[int]:
        """Search, and yield how many pieces are done."""
        done = 0
        for _ in range(self._far_pieces):
            self._look_around()
            done += 1
            yield done
        for _ in range(self._far_pieces if self._lenses else 0):
            self._look_through()
            done += 1
            yield done

        # look at what is left, then closer where something new was seen
        newly = np.zeros_like(self._seen)
        for _ in range(ROUNDS):
            unseen = np.argwhere(~self._seen).astype(np.int64)
            newly |= self._look_at(unseen[self._chance.random(len(unseen)) < LOOKED_AT])
            done += 1
            yield done
        for _ in range(NEAR_ROUNDS):
            near = np.argwhere(grown(grown(newly)) & ~self._seen).astype(np.int64)
            if not len(near):
                return
            newly = self._look_at(np.repeat(near, NEAR_LOOKS, axis=0))
            done += 1
            yield done

    def room(self) -> HiddenRoom:
        """Return what was found."""
        hidden = simply_joined(~grown(self._seen))
        return HiddenRoom(self._cells, self._seen, hidden, self._lookers, self._rays, self._met)

    def _some_eyes(self, count: int) -> tuple[Numbers, Array]:
        """Return so many eyes by chance: their rows, and where they are."""
        rows = self._chance.integers(len(self._lookers.rows), size=count)
        return rows, self._lookers.rows[rows]

    def _send(self, rows: Numbers, directions: Array) -> None:
        """Send rays from eyes, mark what they go through, and keep the first to meet a part."""
        eyes = self._lookers.rows[rows]
        ends = mark_seen(self._assembly, eyes, directions, self._cells, self._seen)
        self._rays += int(np.isfinite(directions[:, 0]).sum())
        for part, ray in zip(*np.unique(ends, return_index=True), strict=True):
            if part >= 0:
                self._met.setdefault(int(part), (int(rows[ray]), directions[ray]))

    def _look_around(self) -> None:
        """Send rays in all directions."""
        rows, _ = self._some_eyes(AT_ONCE)
        self._send(rows, _unit(self._chance.standard_normal((AT_ONCE, 3))))

    def _look_through(self) -> None:
        """Send rays through all lenses."""
        count = AT_ONCE // len(self._lenses)
        for lens in self._lenses:
            places = self._chance.uniform(-0.5, 0.5, (count, 3))
            places *= [lens.optic.width, 0.0, lens.optic.height]
            rows, eyes = self._some_eyes(count)
            self._send(rows, _unit(move(lens.rig_from_lens, places) - eyes))

    def _look_at(self, cubes: Numbers) -> Cubes:
        """Look at a place in each cube (n, 3), and return those seen for the first time."""
        before = self._seen.copy()
        for first in range(0, len(cubes), AT_ONCE):
            some = cubes[first : first + AT_ONCE]
            for lens in (None, *self._lenses):
                # most cubes have no way through a lens
                chosen = some[self._chance.integers(THROUGH) :: THROUGH] if lens else some
                places = chosen + self._chance.random(chosen.shape)
                points = self._cells.low + self._cells.step * places
                rows, eyes = self._some_eyes(len(points))
                self._send(rows, ways_through(lens, eyes, points))
        return np.asarray(self._seen & ~before)


def ways_through(lens: PlacedLens | None, eyes: Array, points: Array) -> Array:
    """Return directions from eyes to points (n, 3) within a lens, as `directions_through` does.

    Where the thin lens would pass far beside its aperture, ways through grooves are not sought.
    """
    if lens is None or lens.optic.model == "thin":
        return directions_through(lens, eyes, points, within=True)
    size = {"width": BESIDE * lens.optic.width, "height": BESIDE * lens.optic.height}
    wide = lens.optic.model_copy(update={"model": "thin", **size})
    thin = directions_through(PlacedLens(lens.rig_from_lens, wide), eyes, points, within=True)

    ways = np.full(points.shape, np.nan)
    near = np.isfinite(thin).all(axis=1)
    ways[near] = directions_through(lens, eyes[near], points[near], within=True)
    return ways


def _unit(ways: Array) -> Array:
    return np.asarray(ways / np.linalg.norm(ways, axis=1, keepdims=True))
