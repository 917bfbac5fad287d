"""How much of each image an eye sees, and what covers the rest: areas found by rays.

Rows across an image are cut where what is seen changes, each cut found by halving; the rows' shares
are then integrated over the height in the same manner. So shares come out near one part in a
million with few rays.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.viewer.casting.sightlines import directions_through, image_points, project_onto_image
from seamsight.viewer.casting.trace import Ends, first_parts, trace
from seamsight.viewer.eye import Eyes

SEEN = -1
ACROSS, UP = 48, 16  # intervals that every row, and the height, are cut into at first
FINEST = 1e-6  # share of a row or of the height below which no cut is sought
ROUND = 2e-5  # share of the image by which a curve may depart from a chord before it is cut
# cuts sought at once in a row or screen; where more change, as on coinciding faces, take their mean
MOST_CUTS = 24
MOST_ROWS = 240  # the same for the intervals of a screen's height
# share of an image left out along its edges, where single precision cannot tell image from bezel
INSET = 4e-6
PIECES = 4  # into which an interval of a row is cut where something changes
FEW_TRIANGLES = 2000  # of parts whose outline is looked up
FLAT = 1e-4  # share of the height that a level edge may rise
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
    if not assembly.screens:
        return {}
    outlines = [_outlines(assembly, screen, eyes) for screen in assembly.screens]

    def across(owners: Indices, heights: Array) -> Array:
        def codes(rows: Indices, places: Array) -> Codes:
            return _who_sees(assembly, eyes, owners[rows], places, heights[rows])

        cuts = [
            _row_cuts(outlines[owner], height)
            for owner, height in zip(owners, heights, strict=True)
        ]
        return _row_shares(codes, cuts, len(assembly.parts))

    found = _mean_over_height(across, [_height_cuts(outline) for outline in outlines])
    return {
        screen.name: _named(found[number], assembly)
        for number, screen in enumerate(assembly.screens)
    }


def _outlines(assembly: Assembly, screen: PlacedScreen, eyes: Eyes) -> Array:
    """Return where the edges of the simpler parts fall on an image: (n, 2, 2), ends, 0..1.

    Equal steps alone would look past what is seen narrower than a step.
    """
    found = [np.empty((0, 2, 2))]
    for part in assembly.parts:
        if len(part.triangles) > FEW_TRIANGLES or part.screen == screen.name:
            continue
        edges = part.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2, 3)
        for eye in (eyes.left, eyes.right):
            shadow = (
                project_onto_image(screen, eye, edges.reshape(-1, 3)).reshape(-1, 2, 2)
                / screen.size
                + 0.5
            )
            low, high = shadow.min(axis=1), shadow.max(axis=1)
            found.append(shadow[((low < 1) & (high > 0)).all(axis=1)])
    return np.concatenate(found)


def _height_cuts(outlines: Array) -> Array:
    """Return where the height is cut at first: in equal steps, and at level edges."""
    level = outlines[:, :, 1].mean(axis=1)[np.ptp(outlines[:, :, 1], axis=1) < FLAT]
    return _with_close(np.linspace(0.0, 1.0, UP + 1), level)


def _row_cuts(outlines: Array, height: float) -> Array:
    """Return where a row is cut at first: in equal steps, and at edges across it."""
    (start, low), (stop, high) = outlines[:, 0].T, outlines[:, 1].T
    cross = (low < height) != (high < height)
    share = (height - low[cross]) / (high[cross] - low[cross])
    return _with_close(
        np.linspace(0.0, 1.0, ACROSS + 1), start[cross] + share * (stop[cross] - start[cross])
    )


def _with_close(steps: Array, places: Array) -> Array:
    """Return steps with, between places that lie closer than a step, a cut in the middle."""
    places = np.unique(places)
    gaps = np.diff(places)
    middle = (places[1:] + places[:-1])[(gaps > FINEST) & (gaps < steps[1] - steps[0])] / 2
    return np.unique(np.concatenate([steps, middle[(middle > 0) & (middle < 1)]]))


def _named(row: Array, assembly: Assembly) -> Shares:
    left, right, both, either = (float(value) for value in row[:4])
    covered = {
        part.name: float(share)
        for part, share in zip(assembly.parts, row[4:], strict=True)
        if share > 10 * FINEST
    }
    return Shares(
        left, right, both, either, dict(sorted(covered.items(), key=lambda item: -item[1]))
    )


def _who_sees(assembly: Assembly, eyes: Eyes, owners: Indices, across: Array, up: Array) -> Codes:
    """Return (n, 2): for either eye SEEN, or the id of the part that hides each point.

    `owners` (n,) tells whose image a point is on, `across` and `up` where, 0..1 from the lower
    left.
    """
    points = np.empty((len(owners), 3))
    places = (np.stack([across, up], axis=1) - 0.5) * (1 - 2 * INSET)
    for number, screen in enumerate(assembly.screens):
        mine = owners == number
        points[mine] = image_points(screen, places[mine] * screen.size)
    # one ray for each point and eye, through the screen's own lens if it has one
    points = np.repeat(points, 2, axis=0)
    owners = np.repeat(owners, 2)
    eye = np.tile(np.stack([eyes.left, eyes.right]), (len(points) // 2, 1))
    own_image = np.array([assembly.part_id(screen.name) for screen in assembly.screens])[owners]
    lenses = [screen.lens for screen in assembly.screens]
    directions = np.empty_like(points)
    for number, lens in enumerate(lenses):
        mine = owners == number
        directions[mine] = directions_through(lens, eye[mine], points[mine])
    ends = trace(assembly, eye, directions)
    codes = np.full(len(points), SEEN, np.int32)
    hidden = np.flatnonzero(~_reaches(ends, points, own_image))
    ends_there = Ends(ends.parts[hidden], ends.points[hidden])
    codes[hidden] = _hider(assembly, eye[hidden], directions[hidden], ends_there, owners[hidden])
    # what its own lens does not show may still be seen past the lens, or through a neighbour's
    lost, directions = _other_ways(lenses, eye, points, owners, np.flatnonzero(codes != SEEN))
    ends = trace(assembly, eye[lost], directions)
    codes[lost[_reaches(ends, points[lost], own_image[lost])]] = SEEN
    return codes.reshape(-1, 2)


def _other_ways(
    lenses: list[PlacedLens | None], eye: Array, points: Array, owners: Indices, lost: Indices
) -> tuple[Indices, Array]:
    """Return rays worth trying for the lost points: whose each is (by index), and its direction.

    They go past all lenses, or through each lens but the point's own.
    """
    tried = [np.empty(0, np.int64)]
    directions = [np.empty((0, 3))]
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


def _hider(assembly: Assembly, eye: Array, directions: Array, ends: Ends, owners: Indices) -> Codes:
    """Return which part to blame: what the ray met, or the lens that led the ray astray.

    A ray aimed at a lens may miss its aperture; then what it meets at once is to blame if that is
    opaque, but not what it meets by chance farther on, through a neighbour's lens perhaps.
    """
    own_image = np.array([assembly.part_id(screen.name) for screen in assembly.screens])
    edge = [
        assembly.lens_id(screen) if screen.lens else image
        for screen, image in zip(assembly.screens, own_image, strict=True)
    ]
    edge_id, own_image = np.array(edge, np.int32)[owners], own_image[owners]
    kinds = np.array([part.kind for part in assembly.parts])
    at_once = first_parts(assembly, eye, directions)
    strayed = (ends.parts < 0) | (ends.parts == own_image)
    strayed |= (at_once >= 0) & (kinds[at_once] == Kind.LENS) & (at_once != edge_id)
    bare = (edge_id == own_image) & (
        at_once >= 0
    )  # without a lens of its own, another's led the ray astray
    return np.where(strayed, np.where(bare, at_once, edge_id), ends.parts)


def _intervals(cuts: Sequence[Array]) -> tuple[Indices, Array, Array]:
    """Return the intervals between each owner's cuts, in order: owner, start, stop."""
    owner = np.repeat(np.arange(len(cuts)), [len(of_owner) - 1 for of_owner in cuts])
    return owner, np.concatenate([of[:-1] for of in cuts]), np.concatenate([of[1:] for of in cuts])


def _at_ends(values: Array | Codes, cuts: Sequence[Array]) -> tuple[Any, Any]:
    """Split values at all cuts into those at the starts and at the stops of intervals."""
    stops = np.cumsum([len(of_owner) for of_owner in cuts])
    return np.delete(values, stops - 1, axis=0), np.delete(values, np.append(0, stops[:-1]), axis=0)


def _halves(keep: Any, *columns: Any) -> list[Any]:
    """Return columns of (left half's, right half's value) of kept intervals, interleaved."""
    return [
        np.stack([left[keep], right[keep]], axis=1).reshape(-1, *left.shape[1:])
        for left, right in columns
    ]


def _row_shares(
    codes: Callable[[Indices, Array], Codes], cuts: Sequence[Array], parts: int
) -> Array:
    """Return (rows, 4 + parts): shares seen by left, right, both, either; hidden by each."""
    rows = len(cuts)
    row, start, stop = _intervals(cuts)
    first, last = _at_ends(
        codes(np.repeat(np.arange(rows), [len(of) for of in cuts]), np.concatenate(cuts)), cuts
    )
    shares = np.zeros((rows, 4 + parts))
    while len(row):
        again = (first != last).any(axis=1) & (stop - start > FINEST)
        if again.sum() > MOST_CUTS * rows:
            again[:] = False
        for codes_at in (first, last):
            _add(shares, row[~again], (stop - start)[~again] / 2, codes_at[~again])
        # cut the intervals across which something changes into pieces
        row, start, length = row[again], start[again], (stop - start)[again]
        edges = start[:, None] + length[:, None] * np.linspace(0, 1, PIECES + 1)
        inner = codes(np.repeat(row, PIECES - 1), edges[:, 1:-1].ravel()).reshape(-1, PIECES - 1, 2)
        ends = np.concatenate([first[again][:, None], inner, last[again][:, None]], axis=1)
        row, start, stop = np.repeat(row, PIECES), edges[:, :-1].ravel(), edges[:, 1:].ravel()
        first, last = ends[:, :-1].reshape(-1, 2), ends[:, 1:].reshape(-1, 2)
    return shares


def _add(shares: Array, row: Indices, length: Array, codes: Codes) -> None:
    left, right = (codes == SEEN).T
    for column, seen in enumerate((left, right, left & right, left | right)):
        np.add.at(shares, (row[seen], column), length[seen])
    for code, seen in ((codes[:, 0], left), (codes[:, 1], right)):
        np.add.at(shares, (row[~seen], 4 + code[~seen]), length[~seen] / 2)


def _mean_over_height(across: Callable[[Indices, Array], Array], cuts: Sequence[Array]) -> Array:
    """Return each screen's shares, (screens, 4 + parts): the height halved while it matters."""
    screens = len(cuts)
    owner, start, stop = _intervals(cuts)
    ends = across(
        np.repeat(np.arange(screens), [len(of_screen) for of_screen in cuts]), np.concatenate(cuts)
    )
    first, last = _at_ends(ends, cuts)
    total = np.zeros((screens, ends.shape[1]))
    while len(owner):
        middle = across(owner, (start + stop) / 2)
        length = stop - start
        rise, fall = (np.abs(middle - side).max(axis=1) for side in (first, last))
        smooth = np.minimum(rise, fall) > 1e-4  # no mere step from one share to another
        again = np.abs(middle - (first + last) / 2).max(axis=1) * length > np.where(
            smooth, ROUND, FINEST
        )
        # a neighbour may hide the tip of something round between its looks
        curved = again & smooth
        touching = (owner[1:] == owner[:-1]) & (start[1:] == stop[:-1])
        again[1:] |= curved[:-1] & touching
        again[:-1] |= curved[1:] & touching
        if again.sum() > MOST_ROWS * screens:
            again[:] = False
        mean = (first + 4 * middle + last) / 6  # Simpson's rule
        np.add.at(total, owner[~again], (mean * length[:, None])[~again])
        half = (start + stop) / 2
        owner, start, stop, first, last = _halves(
            again, (owner, owner), (start, half), (half, stop), (first, middle), (middle, last)
        )
    return total
