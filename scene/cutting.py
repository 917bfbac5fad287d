"""Boards and plates as they are cut: true sizes along their own axes, slanting edges, volumes.

Every one is a prism: an outline, swept along one of its own axes (x right, y away, z up). What is
part of the room is none of them.
"""

import functools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np

from seamsight.scene import polygons, shapes
from seamsight.scene.assembly import Assembly
from seamsight.scene.carcass import BuiltBoard, boards_of
from seamsight.scene.frames import Array, move
from seamsight.scene.notches import Tool, notches_of, tools_of
from seamsight.scene.outlines import Groove, Outline, plate_piece
from seamsight.scene.parts import Part
from seamsight.scene.solids import Board, Material, Plate

SIDES = (("left", "right"), ("near", "far"), ("bottom", "top"))
"""What the ends of a part's own axes are called."""

SEEN_FROM = ("right", "near side", "above")
"""From where one looks at a face, by the axis square to it, so that it is not mirrored."""

LEAST_EDGE = 0.01  # mm; a shorter edge of an outline is a corner
LEAST_AREA = 0.01  # mm²; a notch that takes less of the face only touches it
THROUGH = 1e-3  # mm; what leaves less than this goes right through
SQUARE = math.radians(0.05)  # an edge that slants less is square


class Slant(NamedTuple):
    """An edge that is not cut square.

    Attributes
    ----------
    edge : str
        "left", "right", "near", "far", "bottom" or "top".
    angle : float
        From a square cut, degrees.
    across : str
        "thickness": the saw's blade is tilted by it (a bevel); "face": the cut runs askew over the
        face (a mitre).
    """

    edge: str
    angle: float
    across: Literal["thickness", "face"]


class Recess(NamedTuple):
    """A slot or notch for another part.

    Attributes
    ----------
    name : str
        The other part's.
    corners : (n, 2) float64
        Of what holds it, without dents, along `face_axes`.
    low, high : float
        How far it reaches along the axis square to the face.
    through : bool
        Whether it goes right through.
    """

    name: str
    corners: Array
    low: float
    high: float
    through: bool


@dataclass(frozen=True, eq=False)
class CutPiece:
    """A board or plate as it is cut.

    Attributes
    ----------
    part : Part
    material : Material
    sides : (3,) float64
        How far it reaches along its own x, y and z, mm.
    swept : int
        The axis along which its outline is swept.
    outline : (n, 2) float64
        About its middle, along its other two axes in their order.
    holes : tuple of Outline
        Holes right through it, as its outline is.
    hole_names : tuple of str
        Their names, "" for those without.
    groove : Groove or None
        A slot right across it, along y of its outline, in one of its faces.
    notches : tuple of Recess
        Slots and notches for parts that are let into it.
    """

    part: Part
    material: Material
    sides: Array
    swept: int
    outline: Array
    holes: tuple[Outline, ...] = ()
    hole_names: tuple[str, ...] = ()
    groove: Groove | None = None
    notches: tuple[Recess, ...] = ()

    @property
    def name(self) -> str:
        """Its part's."""
        return self.part.name

    @property
    def thin(self) -> int:
        """The axis along which it is thinnest: square to its face."""
        return int(np.argmin(self.sides))

    @property
    def face_axes(self) -> tuple[int, int]:
        """The two axes of its face: the first runs right, the second up, as one looks at it."""
        first, second = (axis for axis in range(3) if axis != self.thin)
        return first, second

    @property
    def size(self) -> tuple[float, float, float]:
        """Length, width and thickness, mm: of the blank that it is cut from."""
        thickness, width, length = np.sort(self.sides).round(6).tolist()
        return length, width, thickness

    @property
    def face(self) -> Array:
        """Corners (n, 2) of its face, along `face_axes`: of all that is seen square on."""
        if self.swept == self.thin:
            return self.outline
        x, y = (self.sides[axis] / 2 for axis in self.face_axes)
        return np.array([(-x, -y), (x, -y), (x, y), (-x, y)])

    @property
    def slants(self) -> tuple[Slant, ...]:
        """Its edges that are not cut square."""
        first, second = (axis for axis in range(3) if axis != self.swept)
        found = []
        for step in np.roll(self.outline, -1, axis=0) - self.outline:
            if math.hypot(*step) < LEAST_EDGE:
                continue
            normal = np.zeros(3)
            normal[first], normal[second] = step[1], -step[0]
            slant = _slant(normal / np.linalg.norm(normal), self.thin)
            if slant:
                found.append(slant)
        return tuple(found)

    @functools.cached_property
    def volume(self) -> float:
        """Its volume, mm³."""
        return shapes.volume(self.part.triangles)

    @property
    def mass(self) -> float:
        """Its mass, kg."""
        assert self.part.density is not None  # no mesh
        return self.volume * 1e-9 * self.part.density

    @functools.cached_property
    def centroid(self) -> Array:
        """Its centre of gravity (3,), rig frame: of tetrahedra from one of its corners."""
        start = self.part.triangles[0, 0]
        a, b, c = (self.part.triangles[:, corner] - start for corner in range(3))
        sixfold = np.einsum("ij,ij->i", a, np.cross(b, c))
        return np.asarray(start + sixfold @ (a + b + c) / 4 / sixfold.sum())

    def edge_points(self, apart: float, beyond: float) -> list[tuple[str, Array]]:
        """Return points (n, 3), rig frame, in a row along each of its edges, so far beyond it."""
        first, second = (axis for axis in range(3) if axis != self.swept)
        found = []
        for start, end in zip(self.outline, np.roll(self.outline, -1, axis=0), strict=True):
            length = math.hypot(*(end - start))
            if length < LEAST_EDGE:
                continue
            normal = np.zeros(3)
            normal[[first, second]] = (end - start)[::-1] / length * (1.0, -1.0)
            if abs(normal[self.thin]) > math.cos(SQUARE):
                continue  # a face

            # along the edge; of one that slants through the thickness, half way up
            at_ends = np.zeros((2, 3))
            at_ends[:, [first, second]] = start, end
            if self.swept != self.thin:
                at_ends[:] = at_ends.mean(axis=0)
                at_ends[:, self.swept] = np.array([-0.5, 0.5]) * self.sides[self.swept]
            found.append((_edge_named(normal, self.thin), _row(at_ends, apart) + beyond * normal))
        if self.swept != self.thin:
            found += self._end_points(apart, beyond)
        return [(name, move(self.part.rig_from_part, points)) for name, points in found]

    def _end_points(self, apart: float, beyond: float) -> list[tuple[str, Array]]:
        """Return points, own frame, beyond both ends of the way along which it is swept."""
        [across] = (axis for axis in self.face_axes if axis != self.swept)
        found = []
        for sign, side in zip((-1.0, 1.0), SIDES[self.swept], strict=True):
            at_ends = np.zeros((2, 3))
            at_ends[:, across] = np.array([-0.5, 0.5]) * self.sides[across]
            at_ends[:, self.swept] = sign * (self.sides[self.swept] / 2 + beyond)
            found.append((side, _row(at_ends, apart)))
        return found


def cut_pieces(assembly: Assembly) -> list[CutPiece]:
    """Return every board and plate of a rig that is built, in the order of its parts."""
    rig = assembly.rig
    tables: tuple[Board | Plate | BuiltBoard, ...] = (*rig.board, *rig.plate, *boards_of(rig))
    makers = {one.name: one for one in tables if isinstance(one, BuiltBoard) or not one.room}
    tools = tools_of(rig)
    pieces = [
        _piece(part, makers[part.name])
        for part in assembly.parts
        if part.name in makers and part.density is not None
    ]
    return [replace(piece, notches=tuple(_recesses(piece, tools))) for piece in pieces]


def _recesses(piece: CutPiece, tools: list[Tool]) -> Iterator[Recess]:
    """Yield the slots and notches of a piece."""
    cutting = [tool for tool in tools if tool.cuts(piece.part)]
    if not cutting:
        return
    whole = move(piece.part.rig_from_part, _swept(piece))
    half = piece.sides[piece.thin] / 2
    for notch in notches_of(piece.part, whole, cutting):
        thin = notch.corners[:, piece.thin]
        low, high = float(thin.min()), float(thin.max())
        hull = polygons.hull_of(notch.corners[:, list(piece.face_axes)])
        if hull.area() < LEAST_AREA:
            continue
        [corners] = polygons.rings_of(hull)
        through = low <= THROUGH - half and high >= half - THROUGH
        yield Recess(notch.name, corners, low, high, through)


def _swept(piece: CutPiece) -> Array:
    """Return a piece without holes, slots and notches, (n, 3, 3), own frame."""
    first, second = (axis for axis in range(3) if axis != piece.swept)
    upright = shapes.prism(piece.outline, float(piece.sides[piece.swept]))
    turned = np.empty_like(upright)
    turned[..., first], turned[..., second] = upright[..., 0], upright[..., 1]
    turned[..., piece.swept] = upright[..., 2]
    # x, z, y is left-handed: turn it inside out again
    return turned[:, ::-1] if piece.swept == 1 else turned


def _piece(part: Part, made_as: Board | Plate | BuiltBoard) -> CutPiece:
    if isinstance(made_as, BuiltBoard):
        sides = np.array([*np.ptp(made_as.outline, axis=0), made_as.height])
        return CutPiece(part, made_as.material, sides, 2, made_as.outline, groove=made_as.groove)
    if isinstance(made_as, Plate):
        width, height = made_as.size
        sides = np.array([width, made_as.thickness, height])
        holes = plate_piece(made_as).cuts
        names = tuple(hole.name or "" for hole in made_as.holes)
        outline = _rectangle(width, height)
        return CutPiece(part, made_as.material, sides, 1, outline, holes, names)
    sides = np.array(made_as.size)
    thin = int(np.argmin(sides))
    outline = _rectangle(*(sides[axis] for axis in range(3) if axis != thin))
    return CutPiece(part, made_as.material, sides, thin, outline)


def _rectangle(width: float, height: float) -> Array:
    x, y = width / 2, height / 2
    return np.array([(-x, -y), (x, -y), (x, y), (-x, y)])


def _slant(normal: Array, thin: int) -> Slant | None:
    """Return how an edge slants that faces along a unit normal (3,); None if it is square."""
    is_bevel = abs(normal[thin]) > math.sin(SQUARE)
    if is_bevel and abs(normal[thin]) > math.cos(SQUARE):
        return None  # the face itself
    axis = _edge_axis(normal, thin)
    angle = math.acos(min(1.0, abs(float(normal[axis]))))
    if angle < SQUARE:
        return None
    edge = _edge_named(normal, thin)
    return Slant(edge, math.degrees(angle), "thickness" if is_bevel else "face")


def _edge_named(normal: Array, thin: int) -> str:
    axis = _edge_axis(normal, thin)
    return SIDES[axis][int(normal[axis] > 0)]


def _edge_axis(normal: Array, thin: int) -> int:
    """Return the axis, along the face, that an edge's unit normal (3,) is nearest to."""
    within = np.abs(normal)
    within[thin] = -1.0
    return int(np.argmax(within))


def _row(ends: Array, apart: float) -> Array:
    """Return points (n, 3) between two (2, 3), evenly spaced and not at the ends."""
    count = max(1, math.ceil(float(np.linalg.norm(ends[1] - ends[0])) / apart))
    share = ((np.arange(count) + 0.5) / count)[:, None]
    return np.asarray(ends[0] + share * (ends[1] - ends[0]))
