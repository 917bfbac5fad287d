"""Boards and plates as a list to cut from: equal ones together, and what each meets."""

from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly, parts_around
from seamsight.scene.cutting import CutPiece
from seamsight.scene.outlines import Circle, Outline

APART = 8.0  # mm between the places of an edge at which it may meet something
TOUCHING = 0.5  # mm; what is as near to an edge meets it
ALIKE = 0.05  # mm; measures that differ less are cut alike


@dataclass(frozen=True, eq=False)
class CutRow:
    """Pieces that are cut alike.

    Attributes
    ----------
    pieces : tuple of CutPiece
        Equal ones, turned or turned over; a mirror image of a board without grooves is one, turned
        over.
    meets : dict of str to tuple of str
        The edges of the first that meet other parts, and these.
    """

    pieces: tuple[CutPiece, ...]
    meets: dict[str, tuple[str, ...]]

    @property
    def first(self) -> CutPiece:
        """The piece that stands for all."""
        return self.pieces[0]

    @property
    def names(self) -> list[str]:
        """The names of all."""
        return [piece.name for piece in self.pieces]


def cut_rows(assembly: Assembly, pieces: list[CutPiece]) -> list[CutRow]:
    """Return pieces as rows of a cut list, by material and thickness, the largest first."""
    alike: dict[object, list[CutPiece]] = {}
    for piece in pieces:
        alike.setdefault(_shape(piece), []).append(piece)
    firsts = [group[0] for group in alike.values()]
    meetings = _meetings(assembly, firsts)
    rows = [
        CutRow(tuple(group), meets) for group, meets in zip(alike.values(), meetings, strict=True)
    ]
    return sorted(rows, key=_order)


def _order(row: CutRow) -> tuple[str, float, float, float]:
    length, width, thickness = row.first.size
    return row.first.material, -thickness, -length * width, -length


def _shape(piece: CutPiece) -> object:
    """Return what two pieces have in common that are cut alike.

    A prism is its own mirror image in the plane half way along; so its outline may be turned over
    as well as round. A slot is then in its other face.
    """
    if piece.notches:  # whatever else: as it is drawn
        return piece.material, _own(piece)
    if not (piece.slants or piece.holes or piece.groove):  # a box, whichever way it was swept
        return piece.material, tuple(map(_rounded, piece.size))
    length = float(piece.sides[piece.swept])
    lists = [_marks(piece, flip, swap) for flip in _FLIPS for swap in (False, True)]
    return piece.material, _rounded(length), tuple(min(lists))


_FLIPS = ((1, 1), (1, -1), (-1, 1), (-1, -1))


def _marks(piece: CutPiece, flip: tuple[int, int], swap: bool) -> list[tuple[float, ...]]:
    """Return the corners and holes of a piece's outline, turned over or round."""
    corners = [(0, *_turned(corner, flip, swap)) for corner in piece.outline.tolist()]
    holes = [(1, *_turned(hole.centre, flip, swap), *_hole(hole, swap)) for hole in piece.holes]
    return sorted({*corners, *holes, *_slot(piece, flip, swap)})


def _own(piece: CutPiece) -> object:
    """Return all of a piece that others of its kind have in the same places."""
    notches = {
        (
            one.through,
            _rounded(one.low),
            _rounded(one.high),
            *map(tuple, one.corners.round(1).tolist()),
        )
        for one in piece.notches
    }
    outline = tuple(map(tuple, piece.outline.round(1).tolist()))
    return (
        outline,
        piece.swept,
        tuple(piece.sides.round(1)),
        piece.holes,
        piece.groove,
        frozenset(notches),
    )


def _slot(piece: CutPiece, flip: tuple[int, int], swap: bool) -> set[tuple[float, ...]]:
    """Return a piece's slot as a set of one or none: its face, sides and depth."""
    if piece.groove is None:
        return set()
    near, far, depth, above = piece.groove
    sides = sorted(_rounded(flip[1] * side) for side in (near, far))
    turned_over = (flip[0] * flip[1] < 0) != swap
    return {(2.0, float(above != turned_over), *sides, _rounded(depth), float(swap))}


def _turned(point: tuple[float, float], flip: tuple[int, int], swap: bool) -> tuple[float, float]:
    x, y = (_rounded(sign * at) for sign, at in zip(flip, point, strict=True))
    return (y, x) if swap else (x, y)


def _hole(hole: Outline, swap: bool) -> tuple[float, float, float]:
    if isinstance(hole, Circle):
        return (_rounded(hole.radius), 0.0, 0.0)
    width, height = hole.size[::-1] if swap else hole.size
    return (_rounded(width), _rounded(height), _rounded(hole.radius))


def _rounded(value: float) -> float:
    return round(value / ALIKE) * ALIKE + 0.0  # no minus zero


def _meetings(assembly: Assembly, pieces: list[CutPiece]) -> list[dict[str, tuple[str, ...]]]:
    """Return which edges of each piece meet other parts."""
    edges = [
        (number, edge, points)
        for number, piece in enumerate(pieces)
        for edge, points in piece.edge_points(APART, TOUCHING)
    ]
    found: list[dict[str, tuple[str, ...]]] = [{} for _ in pieces]
    if not edges:
        return found

    # ask for the places of all edges at once
    around = parts_around(assembly, np.concatenate([points for _, _, points in edges]))
    stops = np.cumsum([len(points) for _, _, points in edges])
    for (number, edge, _), met in zip(edges, np.split(around, stops[:-1]), strict=True):
        ids = dict.fromkeys(met[met >= 0].tolist())
        names = [assembly.solids[one][0] for one in ids]
        others = tuple(name for name in names if name != pieces[number].name)
        if others:
            before = found[number].get(edge, ())
            found[number][edge] = tuple(dict.fromkeys((*before, *others)))
    return found
