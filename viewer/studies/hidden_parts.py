"""Which parts of a rig are seen from a region of heads, and how far each must move to vanish."""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.scene.parts import LAMP_ROLES, Part, own_part_name
from seamsight.scene.rig import Head
from seamsight.viewer.casting.cells import Cells, Cubes, mark_seen
from seamsight.viewer.casting.kernel import Segments
from seamsight.viewer.casting.trace import Ids, trace
from seamsight.viewer.casting.walk import planes_met
from seamsight.viewer.studies.cubes import grown
from seamsight.viewer.studies.head_box import WAYS
from seamsight.viewer.studies.hidden_room import HiddenRoom, ways_through

POINTS = 256  # of a part's surface, of which it is told whether they are seen
HEADS = 64  # by whom
FARTHEST = 200.0  # mm that a part is moved
PACE = 5.0  # mm between two places of a part that are tried
RAYS_A_CUBE = 100  # sent at each cube's face of a part's surface, to see what it hides
MOST_RAYS = 300_000
THROUGH = 4  # for so many of these there is one through each lens
CLOSE = 0.1  # mm; a ray that ends as near to a point sees it
OWN = 0.999  # cosine; a part's axis that is farther from the rig's is tried too

STRAIGHT = ""


@dataclass(frozen=True)
class Sight:
    """From where a part is seen: the head, which eye, and through which lens ("" for none)."""

    head: Head
    eye: str
    through: str


@dataclass(frozen=True)
class Vanishing:
    """How far to move a part for no eye to see it: mm, and which way.

    Ways are those of `WAYS`, of the rig's axes or, with `own`, of the part's.
    """

    mm: float
    way: str
    own: bool


@dataclass(frozen=True)
class PartFacts:
    """Whether a part is seen.

    Attributes
    ----------
    part : Part
    seen : bool
    share : float
        Of its surface, seen from some head.
    sight : Sight or None
        From where it is seen: of the heads that see it, the one that has moved least.
    move : Vanishing or None
        None also where no way was found, see `seen`.
    """

    part: Part
    seen: bool
    share: float
    sight: Sight | None
    move: Vanishing | None

    def as_json(self) -> dict[str, object]:
        """Return it as JSON has it."""
        head = self.sight and {
            "name": self.sight.head.name,
            "offset": list(self.sight.head.offset),
            "turn": self.sight.head.turn,
        }
        return {
            "part": self.part.name,
            "role": self.part.role,
            "seen": self.seen,
            "share": self.share,
            "head": head,
            "eye": self.sight and self.sight.eye,
            "through": (self.sight and self.sight.through) or None,
            "move": self.move and dataclasses.asdict(self.move),
        }


def judged(assembly: Assembly) -> list[int]:
    """Return the ids of the parts that are judged: all but images, lenses, and the room's lamps."""
    return [
        number
        for number, part in enumerate(assembly.parts)
        if part.kind is Kind.OPAQUE and part.role not in LAMP_ROLES
    ]


def part_facts(assembly: Assembly, room: HiddenRoom) -> Iterator[PartFacts]:
    """Yield what there is to say of each part of `judged`, in their order.

    The part itself is taken out for the question how far it must move: its own shadow hides
    nothing. Other parts hide what they hide now; whether it then meets one is not asked.
    """
    for number in judged(assembly):
        part = assembly.parts[number]
        share, sight = _sighted(assembly, room, number)
        if sight is None and number in room.met:
            sight = _first_sight(assembly, room, number)
        move = None if sight is None else _vanishing(assembly, room, number)
        yield PartFacts(part, sight is not None, share, sight, move)


def _sighted(assembly: Assembly, room: HiddenRoom, number: int) -> tuple[float, Sight | None]:
    """Return which share of a part is seen, and from which head already."""
    points = _spread(assembly.parts[number], POINTS, np.random.default_rng(number))
    eyes = room.lookers.rows[: 2 * HEADS]
    starts = np.repeat(eyes, len(points), axis=0)
    goals = np.tile(points, (len(eyes), 1))

    ever = np.zeros(len(points), bool)
    counts = []
    looks = _ways_to_look(assembly)
    for _, lens in looks:
        ways = ways_through(lens, starts, goals)
        parts, ends = _ends(assembly, starts, ways)
        seen = (parts == number) & (np.linalg.norm(ends - goals, axis=1) < CLOSE)
        by_eye = seen.reshape(len(eyes), len(points))
        ever |= by_eye.any(axis=0)
        counts.append(by_eye.sum(axis=1))
    if not ever.any():
        return 0.0, None

    # of the heads that see it take the nearest, and of its looks the one that sees most
    count = np.array(counts)  # by look and eye
    far = np.repeat(room.lookers.far, 2)[: len(eyes)]
    nearest = np.where(count.any(axis=0), far, np.inf).min()
    look, row = np.unravel_index(np.where(far == nearest, count, -1).argmax(), count.shape)
    sight = Sight(*room.lookers.who(int(row)), looks[int(look)][0])
    return float(ever.mean()), sight


def _ways_to_look(assembly: Assembly) -> list[tuple[str, PlacedLens | None]]:
    def named(screen: PlacedScreen) -> str:
        return own_part_name(screen.name, "lens")

    lenses = [(named(screen), screen.lens) for screen in assembly.screens if screen.lens]
    return [(STRAIGHT, None), *lenses]


def _ends(assembly: Assembly, origins: Array, directions: Array) -> tuple[Ids, Array]:
    """Return on which parts rays (n) end, and where (n, 3)."""
    ends = np.full(origins.shape, np.nan)

    def note(rays: npt.NDArray[np.int64], legs: Segments, faces: Ids) -> None:
        met = np.flatnonzero(faces >= 0)
        ends[rays[met]], _ = planes_met(assembly, legs, met, faces[met])

    return trace(assembly, origins, directions, note).parts, ends


def _first_sight(assembly: Assembly, room: HiddenRoom, number: int) -> Sight:
    """Return from where a ray of the search met a part, of which little is seen."""
    row, way = room.met[number]
    lenses: list[str] = []

    def note(_: npt.NDArray[np.int64], legs: Segments, faces: Ids) -> None:
        part = assembly.parts[assembly.part_of_face[faces[0]]] if len(faces) else None
        if part and part.kind is Kind.LENS:
            lenses.append(part.name)

    trace(assembly, room.lookers.rows[row][None], way[None], note)
    return Sight(*room.lookers.who(row), lenses[0] if lenses else STRAIGHT)


def _vanishing(assembly: Assembly, room: HiddenRoom, number: int) -> Vanishing | None:
    """Return the smallest move of a part by which it comes to lie wholly in hidden room."""
    part = assembly.parts[number]
    cells, hidden = _without(assembly, room, number)
    few = _spread(part, POINTS, np.random.default_rng(number))
    all_over = _all_over(part, cells.step)

    best: Vanishing | None = None
    for way, own, axis in _ways_of(part):
        last = best.mm - PACE if best else FARTHEST
        for mm in np.arange(PACE, last + PACE / 2, PACE).tolist():
            if all(cells.picked(hidden, on + mm * axis).all() for on in (few, all_over)):
                best = Vanishing(mm, way, own)
                break
    return best


def _ways_of(part: Part) -> Iterator[tuple[str, bool, Array]]:
    """Yield the ways that a part may move: the rig's, then its own where they differ."""
    for way, step in WAYS.items():
        yield way, False, np.array(step)
    for way, step in WAYS.items():
        own = part.rig_from_part[:3, :3] @ step
        if np.abs(own).max() < OWN:
            yield way, True, own


def _without(assembly: Assembly, room: HiddenRoom, number: int) -> tuple[Cells, Cubes]:
    """Return what is hidden around a part when that is taken out: some of the room's cubes."""
    part = assembly.parts[number]
    rest = tuple(other for other in assembly.parts if other is not part)
    others = Assembly(assembly.rig, assembly.screens, rest)

    # keep to the room that it may be moved to, with a cube around it that hides nothing
    reach = FARTHEST + 2 * room.cells.step
    ends = room.cells.at(part.bounds + np.array([[-reach], [reach]]))
    low, high = np.clip(ends + np.array([[0], [1]]), 0, room.cells.shape)
    window = tuple(slice(a, b) for a, b in zip(low, high, strict=True))
    seen = room.seen[window].copy()
    right, forward, up = seen.shape
    cells = Cells(room.cells.low + room.cells.step * low, room.cells.step, (right, forward, up))

    # see what lies behind it
    chance = np.random.default_rng(number)
    area = float(np.linalg.norm(_crosses(part), axis=1).sum()) / 2
    count = int(min(MOST_RAYS, max(1000, RAYS_A_CUBE * area / cells.step**2)))
    rows = room.lookers.rows
    for name, lens in _ways_to_look(assembly):
        points = _spread(part, count if name == STRAIGHT else count // THROUGH, chance)
        eyes = rows[chance.integers(len(rows), size=len(points))]
        ways = ways_through(lens, eyes, points)
        mark_seen(others, eyes, ways, cells, seen)

    hidden = ~grown(seen)
    return cells, hidden


def _crosses(part: Part) -> Array:
    """Return for each triangle (n, 3) what is square on it, twice its area long."""
    a, b, c = np.moveaxis(part.triangles, 1, 0)
    return np.cross(b - a, c - a)


def _spread(part: Part, count: int, chance: np.random.Generator) -> Array:
    """Return so many points spread over a part's surface by chance (count, 3)."""
    areas = np.linalg.norm(_crosses(part), axis=1)
    chosen = chance.choice(len(areas), size=count, p=areas / areas.sum())
    first, second = chance.random((2, count, 1))
    # fold the far half of the parallelogram back
    beyond = first + second > 1
    first, second = np.where(beyond, 1 - first, first), np.where(beyond, 1 - second, second)
    a, b, c = np.moveaxis(part.triangles[chosen], 1, 0)
    return np.asarray(a + first * (b - a) + second * (c - a))


def _all_over(part: Part, spacing: float) -> Array:
    """Return points (n, 3) on every triangle of a part, corners too, no farther apart than that."""
    sides = np.linalg.norm(part.triangles - np.roll(part.triangles, 1, axis=1), axis=2)
    cuts = np.ceil(sides.max(axis=1) / spacing).astype(np.int64).clip(1)
    points = []
    for count in np.unique(cuts):
        i, j = np.indices((count + 1, count + 1)).reshape(2, -1)
        i, j = (each[i + j <= count] / count for each in (i, j))
        shares = np.stack([1 - i - j, i, j], axis=1)
        points.append(
            np.einsum("sc,tck->tsk", shares, part.triangles[cuts == count]).reshape(-1, 3)
        )
    return np.concatenate(points)
