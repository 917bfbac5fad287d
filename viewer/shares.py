"""How much of each image an eye sees, and what covers the rest: areas found by rays.

Rows across an image are cut where what is seen changes, each cut found by halving; the rows' shares are then
integrated over the height in the same manner. So shares come out near one part in a million with few rays.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedLens
from seamsight.viewer.eye import Eyes
from seamsight.viewer.sightlines import directions_through, image_points
from seamsight.viewer.trace import Ends, trace

SEEN = -1
ACROSS, UP = 48, 24  # intervals that every row, and the height, are cut into at first
FINEST = 1e-6  # share of a row or of the height below which no cut is sought
MOST_CUTS = 24  # cuts sought at once in a row or screen; where more change, as on coinciding faces, take their mean
INSET = 4e-6  # share of an image left out along its edges, where single precision cannot tell image from bezel
SAME_POINT = 0.05  # mm; a ray aimed at a point of an image has reached it

Codes = npt.NDArray[np.int32]
Indices = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Shares:
    """How much of one image is seen, 0..1.

    Attributes
    ----------
    left, right, both, either : float
    hidden_by : dict
        From a part's name to the share that it covers, mean of both eyes.
    """

    left: float
    right: float
    both: float
    either: float
    hidden_by: dict[str, float]


def image_shares(assembly: Assembly, eyes: Eyes) -> dict[str, Shares]:
    """Return for every screen how much of its image each eye sees past every part of the rig."""
    parts, screens = len(assembly.parts), assembly.screens

    def across(owners: Indices, heights: Array) -> Array:
        def codes(rows: Indices, places: Array) -> Codes:
            return _who_sees(assembly, eyes, owners[rows], places, heights[rows])

        return _row_shares(codes, len(owners), parts)

    found = _mean_over_height(across, len(screens))
    return {screen.name: _named(found[number], assembly) for number, screen in enumerate(screens)}


def _named(row: Array, assembly: Assembly) -> Shares:
    left, right, both, either = (float(value) for value in row[:4])
    covered = {
        part.name: float(share) for part, share in zip(assembly.parts, row[4:], strict=True) if share > 10 * FINEST
    }
    return Shares(left, right, both, either, dict(sorted(covered.items(), key=lambda item: -item[1])))


def _who_sees(assembly: Assembly, eyes: Eyes, owners: Indices, across: Array, up: Array) -> Codes:
    """Return (n, 2): for the left and the right eye SEEN, or the id of the part that hides each point.

    `owners` (n,) tells whose image a point is on, `across` and `up` where, 0..1 from the lower left.
    """
    points = np.empty((len(owners), 3))
    places = (np.stack([across, up], axis=1) - 0.5) * (1 - 2 * INSET)
    for number, screen in enumerate(assembly.screens):
        mine = owners == number
        points[mine] = image_points(screen, places[mine] * screen.size)
    # one ray for each point and eye, through the screen's own lens if it has one
    points, owners = np.repeat(points, 2, axis=0), np.repeat(owners, 2)
    eye = np.tile(np.stack([eyes.left, eyes.right]), (len(points) // 2, 1))
    own_image = np.array([assembly.part_id(screen.name) for screen in assembly.screens])[owners]
    lenses = [screen.lens for screen in assembly.screens]
    directions = np.empty_like(points)
    for number, lens in enumerate(lenses):
        mine = owners == number
        directions[mine] = directions_through(lens, eye[mine], points[mine])
    ends = trace(assembly, eye, directions)
    codes = np.where(_reaches(ends, points, own_image), SEEN, _hider(ends, assembly, owners))
    # what its own lens does not show may still be seen past the lens, or through a neighbour's
    lost, directions = _other_ways(lenses, eye, points, owners, np.flatnonzero(codes != SEEN))
    ends = trace(assembly, eye[lost], directions)
    codes[lost[_reaches(ends, points[lost], own_image[lost])]] = SEEN
    return codes.astype(np.int32).reshape(-1, 2)


def _other_ways(
    lenses: list[PlacedLens | None], eye: Array, points: Array, owners: Indices, lost: Indices
) -> tuple[Indices, Array]:
    """Return rays worth trying for the lost points: whose each is (by index), and its direction.

    They go past all lenses, or through each lens but the point's own.
    """
    tried, directions = [np.empty(0, np.int64)], [np.empty((0, 3))]
    for way in [None, *filter(None, lenses)]:
        own = np.array([lens is way for lens in lenses], bool)
        rays = lost[~own[owners[lost]]]
        aimed = directions_through(way, eye[rays], points[rays], within=True)
        possible = np.isfinite(aimed).all(axis=1)
        tried.append(rays[possible])
        directions.append(aimed[possible])
    return np.concatenate(tried), np.concatenate(directions)


def _reaches(ends: Ends, points: Array, own_image: Indices) -> npt.NDArray[np.bool_]:
    with np.errstate(invalid="ignore"):
        near = np.linalg.norm(ends.points - points, axis=1) < SAME_POINT
    return np.asarray(near & (ends.parts == own_image))


def _hider(ends: Ends, assembly: Assembly, owners: Indices) -> Codes:
    """Return which part to blame: what the ray met, or the screen's own lens where the ray passed its edge."""
    own_image = np.array([assembly.part_id(screen.name) for screen in assembly.screens])
    edge = [
        assembly.part_id(f"{screen.name} lens") if screen.lens else image
        for screen, image in zip(assembly.screens, own_image, strict=True)
    ]
    passed = (ends.parts < 0) | (ends.parts == own_image[owners])
    return np.where(passed, np.array(edge, np.int32)[owners], ends.parts)


def _row_shares(codes: Callable[[Indices, Array], Codes], rows: int, parts: int) -> Array:
    """Return (rows, 4 + parts): shares of each row seen by left, right, both, either; then hidden by each part."""
    edges = np.linspace(0.0, 1.0, ACROSS + 1)
    row = np.repeat(np.arange(rows), ACROSS)
    start, stop = np.tile(edges[:-1], rows), np.tile(edges[1:], rows)
    at_edges = codes(np.repeat(np.arange(rows), ACROSS + 1), np.tile(edges, rows)).reshape(rows, ACROSS + 1, 2)
    first, last = at_edges[:, :-1].reshape(-1, 2), at_edges[:, 1:].reshape(-1, 2)
    shares = np.zeros((rows, 4 + parts))
    while len(row):
        middle = codes(row, (start + stop) / 2)
        changes = (first != middle).any(axis=1) | (middle != last).any(axis=1)
        done = ~changes | (stop - start < FINEST)
        if (~done).sum() > MOST_CUTS * rows:
            done[:] = True
        for codes_at, weight in ((first, 0.25), (middle, 0.5), (last, 0.25)):
            _add(shares, row[done], weight * (stop - start)[done], codes_at[done])
        # halve the intervals in which something changes
        half = (start + stop)[~done] / 2
        row = np.tile(row[~done], 2)
        start, stop = np.concatenate([start[~done], half]), np.concatenate([half, stop[~done]])
        first, last = (
            np.concatenate([first[~done], middle[~done]]),
            np.concatenate([middle[~done], last[~done]]),
        )
    return shares


def _add(shares: Array, row: Indices, length: Array, codes: Codes) -> None:
    left, right = (codes == SEEN).T
    for column, seen in enumerate((left, right, left & right, left | right)):
        np.add.at(shares, (row[seen], column), length[seen])
    for code, seen in ((codes[:, 0], left), (codes[:, 1], right)):
        np.add.at(shares, (row[~seen], 4 + code[~seen]), length[~seen] / 2)


def _mean_over_height(across: Callable[[Indices, Array], Array], screens: int) -> Array:
    """Return each screen's shares, (screens, 4 + parts): trapezoids over the height, halved while that changes them."""
    edges = np.linspace(0.0, 1.0, UP + 1)
    owner = np.repeat(np.arange(screens), UP)
    start, stop = np.tile(edges[:-1], screens), np.tile(edges[1:], screens)
    at_edges = across(np.repeat(np.arange(screens), UP + 1), np.tile(edges, screens)).reshape(screens, UP + 1, -1)
    first, last = (side.reshape(len(owner), -1) for side in (at_edges[:, :-1], at_edges[:, 1:]))
    total = np.zeros((screens, at_edges.shape[-1]))
    while len(owner):
        middle = across(owner, (start + stop) / 2)
        length = stop - start
        change = np.abs(middle - (first + last) / 2).max(axis=1) * length
        done = change < FINEST
        if (~done).sum() > MOST_CUTS * screens:
            done[:] = True
        mean = (first + 2 * middle + last) / 4
        np.add.at(total, owner[done], (mean * length[:, None])[done])
        half = (start + stop)[~done] / 2
        owner = np.tile(owner[~done], 2)
        start, stop = np.concatenate([start[~done], half]), np.concatenate([half, stop[~done]])
        first, last = (
            np.concatenate([first[~done], middle[~done]]),
            np.concatenate([middle[~done], last[~done]]),
        )
    return total
