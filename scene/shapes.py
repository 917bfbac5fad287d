"""Shapes as triangles, each in its own part's frame: x right, y away, z up, mm.

Every shape is (n, 3, 3) float64 corners, wound so that outward normals follow the right hand. What
closed ones fill is a body, of which one can ask what it shares with another.
"""

from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np

from seamsight.scene import outlines
from seamsight.scene.closing import closed, shell_of
from seamsight.scene.display import Bezel
from seamsight.scene.frames import Array
from seamsight.scene.outlines import Circle, Groove, Outline, Piece, Rectangle

# edges between corners, and their sides
_AROUND = ((0, 1, "bottom"), (1, 2, "right"), (2, 3, "top"), (3, 0, "left"))
PAIRS_AT_ONCE = 1 << 15  # of triangles and points; few enough for a processor's cache
CIRCLE_STEPS = 96  # a drilled 80 mm hole then departs from its circle by 0.02 mm
MOST_WAYS = 500  # in which the width of a space is looked at


class Body(NamedTuple):
    """What closed shapes fill: pieces, which may run into each other, without what is hollow.

    Both are of the library's own type, which has no stubs.
    """

    pieces: list[Any]
    hollows: list[Any]


class Shared(NamedTuple):
    """A space that two bodies share.

    Attributes
    ----------
    volume : float
        mm³
    low, high : (3,) float64
        Corners of the upright box around it.
    width : float
        The distance between the nearest two parallel planes that hold it, mm: how deep one body
        runs into the other there.
    """

    volume: float
    low: Array
    high: Array
    width: float


def rectangle(width: float, height: float) -> Array:
    """Return a flat rectangle about the origin in the plane y = 0, facing the pilot (-y)."""
    x, z = width / 2, height / 2
    return _quads([[(-x, 0, -z), (x, 0, -z), (x, 0, z), (-x, 0, z)]])


def box(right: float, away: float, up: float) -> Array:
    """Return a closed box about the origin."""
    return solid(outlines.face(right, up), -away / 2, away / 2)


def surround(width: float, height: float, border: float, depth: float) -> Array:
    """Return a closed frame around an opening (width, height), from y = 0 away to y = depth."""
    return solid(outlines.ring(width, height, border), 0.0, depth)


def plate(piece: Piece, thickness: float) -> Array:
    """Return a flat piece as a closed plate about the origin, cut through."""
    return solid(piece, -thickness / 2, thickness / 2)


def solid(piece: Piece, near: float, far: float) -> Array:
    """Return a flat piece as a closed solid between two depths, cut through."""
    from manifold3d import Manifold

    section = _section(piece.edge)
    for cut in piece.cuts:
        section = section - _section(cut)

    # its x and y are our x and z, its height our depth, which runs the other way
    mesh = Manifold.extrude(section, far - near).to_mesh64()
    x, z, depth = mesh.vert_properties[:, :3].T
    corners = np.stack([x, far - depth, z], axis=1)
    return np.ascontiguousarray(corners[mesh.tri_verts])


def rim(outline: Outline) -> Array:
    """Return the corners (n, 2) of an outline, as `plate` cuts it: x right and z up."""
    return np.asarray(_section(outline).to_polygons()[0])


def prism(outline: Array, height: float, groove: Groove | None = None) -> Array:
    """Return a closed upright prism: corners (n, 2), right and away, anticlockwise, about z = 0.

    A groove runs right across it, in its upper or lower face.
    """
    from manifold3d import CrossSection, Manifold

    solid = Manifold.extrude(CrossSection([outline]), height).translate([0.0, 0.0, -height / 2])
    if groove:
        length = 2 * float(np.abs(outline).max()) + 1
        size = [length, groove.far - groove.near, 2 * groove.depth]
        middle = [0.0, (groove.near + groove.far) / 2, height / 2 * (1 if groove.above else -1)]
        solid = solid - Manifold.cube(size, True).translate(middle)
    mesh = solid.to_mesh64()
    return np.ascontiguousarray(mesh.vert_properties[:, :3][mesh.tri_verts])


def without(triangles: Array, tools: Iterable[Array]) -> Array:
    """Return closed triangles (n, 3, 3) less what closed tools (n, 3, 3) fill.

    A shape that touches itself along an edge, as between two holes, stays as it is.
    """
    rest = _solid_of(triangles)
    if rest is None:
        return triangles
    for tool in tools:
        rest = rest - _solid_of(tool)
    mesh = rest.to_mesh64()
    return np.ascontiguousarray(mesh.vert_properties[:, :3][mesh.tri_verts])


def common_corners(first: Array, second: Array) -> Array:
    """Return the corners (n, 3) of what two closed shapes (n, 3, 3) both fill; none if nothing."""
    common = _solid_of(first) ^ _solid_of(second)
    return np.asarray(common.to_mesh64().vert_properties[:, :3])


def _solid_of(triangles: Array) -> Any:
    """Return what closed triangles fill; None where they touch themselves."""
    corners, faces = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    return _filled(corners, faces.reshape(-1, 3))


def bezel(width: float, height: float, border: Bezel, lip: float) -> Array:
    """Return the border around an image: its face at y = -lip, and the lip's inner walls."""
    inner, outer = _image_and_outline(width, height, border)
    face = [
        [(*outer[i], -lip), (*outer[j], -lip), (*inner[j], -lip), (*inner[i], -lip)]
        for i, j, _ in _AROUND
    ]
    walls = [
        [(*inner[i], -lip), (*inner[j], -lip), (*inner[j], 0.0), (*inner[i], 0.0)]
        for i, j, side in _AROUND
        if getattr(border, side) > 0
    ]
    return _quads([[(x, y, z) for x, z, y in corners] for corners in face + walls])


def housing(width: float, height: float, border: Bezel, lip: float, depth: float) -> Array:
    """Return the sides and back of a screen: with its bezel and its image it closes."""
    inner, outer = _image_and_outline(width, height, border)
    sides = []
    for i, j, side in _AROUND:
        # run from the bezel's face back, or from the image where it has no border
        front = -lip if getattr(border, side) > 0 else 0.0
        sides.append(
            [(*outer[j], front), (*outer[i], front), (*outer[i], depth), (*outer[j], depth)]
        )

        # without a lip on this side, close the ends of its neighbours
        if front == 0.0:
            for a, b in ((outer[i], inner[i]), (inner[j], outer[j])):
                sides.append([(*b, -lip), (*a, -lip), (*a, 0.0), (*b, 0.0)])
    back = [[(*outer[i], depth) for i in (3, 2, 1, 0)]]
    return _quads([[(x, y, z) for x, z, y in corners] for corners in sides + back])


def winding_numbers(triangles: Array, points: Array) -> Array:
    """Return how often triangles (n, 3, 3) go round each point (m, 3): 0 outside, +-1 inside.

    Sum of signed solid angles, Van Oosterom & Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125.
    Their products of offsets from a point p to corners a, b, c are taken apart, so that most of the
    work is one matrix times all points: (a - p).(b - p) = a.b - p.(a + b) + p.p, and
    (a - p).((b - p) x (c - p)) = a.(b x c) - p.(a x b + b x c + c x a).
    """
    # stay near the origin, where little is lost in the differences
    middle = triangles.mean(axis=(0, 1))
    corners = (triangles - middle).transpose(1, 0, 2)
    points = points - middle
    square = (points * points).sum(axis=1)

    def products(first: Array, second: Array) -> Array:
        own = (first * second).sum(axis=1)
        return np.asarray(own[:, None] - (first + second) @ points.T + square)

    angles = np.zeros(len(points))
    step = max(1, PAIRS_AT_ONCE // max(1, len(points)))
    for start in range(0, len(triangles), step):
        a, b, c = corners[:, start : start + step]
        la, lb, lc = (np.sqrt(np.maximum(products(side, side), 0.0)) for side in (a, b, c))
        normal = np.cross(a, b) + np.cross(b, c) + np.cross(c, a)
        triple = (a * np.cross(b, c)).sum(axis=1)[:, None] - normal @ points.T
        below = la * lb * lc + products(a, b) * lc + products(b, c) * la + products(c, a) * lb
        angles += np.arctan2(triple, below).sum(axis=0)
    return angles / (2 * np.pi)


def volume(triangles: Array) -> float:
    """Return the volume that closed triangles (n, 3, 3) enclose, mm³ (divergence theorem)."""
    a, b, c = (triangles[:, i] - triangles[:1, 0] for i in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def body_of(shapes: Iterable[Array]) -> Body | None:
    """Return what closed shapes (n, 3, 3) fill together, or None where one stays open.

    A shape may be of several shells, which may run into each other. Those that face inwards are
    hollows, unless all is inside out.
    """
    body = Body([], [])
    for triangles in shapes:
        shell = closed(shell_of(triangles))
        filled = _filled(shell.corners, shell.faces) if shell else None
        if shell is None or filled is None:
            return None
        if filled.volume() < 0:
            filled = _filled(shell.corners, shell.faces[:, ::-1])
        for piece in filled.decompose():
            if piece.volume() > 0:
                body.pieces.append(piece)
            elif piece.volume() < 0:
                body.hollows.append(_inside_out(piece))
    return body


def shared(first: Body, second: Body) -> list[Shared]:
    """Return the spaces that two bodies share, the largest first."""
    from manifold3d import Manifold, OpType

    (low, high), (other_low, other_high) = (_corners(body.pieces) for body in (first, second))
    least, most = np.minimum(high[:, None], other_high), np.maximum(low[:, None], other_low)
    pairs = np.argwhere((least > most).all(axis=2)).tolist()
    common = [first.pieces[one] ^ second.pieces[other] for one, other in pairs]
    if not common:
        return []
    whole = Manifold.batch_boolean(common, OpType.Add)
    for hollow in (*first.hollows, *second.hollows):
        whole = whole - hollow
    found = []
    for space in sorted(whole.decompose(), key=lambda space: -space.volume()):
        corners = np.array(space.bounding_box()).reshape(2, 3)
        found.append(Shared(space.volume(), corners[0], corners[1], _width(space)))
    return found


def _filled(corners: Array, faces: Any) -> Any:
    """Return what a shell fills, None where the library finds that it is open."""
    from manifold3d import Error, Manifold, Mesh64

    # it takes nothing that is read-only
    mesh = Mesh64(np.array(corners, order="C"), np.array(faces, np.uint64, order="C"))
    filled = Manifold(mesh)
    return None if filled.status() != Error.NoError else filled


def _inside_out(piece: Any) -> Any:
    mesh = piece.to_mesh64()
    return _filled(mesh.vert_properties[:, :3], mesh.tri_verts[:, ::-1])


def _corners(pieces: list[Any]) -> Array:
    """Return the lowest corners of pieces and their highest ones, (2, n, 3)."""
    boxes = np.array([piece.bounding_box() for piece in pieces])
    return boxes.reshape(-1, 2, 3).transpose(1, 0, 2)


def _width(space: Any) -> float:
    """Return a space's width across its narrowest side: of its hull, square to one of the faces."""
    mesh = space.hull().to_mesh64()
    corners = mesh.vert_properties[:, :3]
    a, b, c = corners[mesh.tri_verts].transpose(1, 0, 2)
    normals = np.cross(b - a, c - a)
    areas = np.linalg.norm(normals, axis=1)
    widest = np.argsort(-areas)[:MOST_WAYS]
    ways = normals[widest] / np.maximum(areas[widest], np.finfo(float).tiny)[:, None]
    along = corners @ ways.T
    return float(np.ptp(along, axis=0).min()) if along.size else 0.0


def _image_and_outline(
    width: float, height: float, border: Bezel
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Return the corners (x, z) of image and housing: from bottom left, against the clock."""
    x, z = width / 2, height / 2
    left, right = -x - border.left, x + border.right
    bottom, top = -z - border.bottom, z + border.top
    inner = [(-x, -z), (x, -z), (x, z), (-x, z)]
    return inner, [(left, bottom), (right, bottom), (right, top), (left, top)]


def _quads(corners: list[list[tuple[float, float, float]]]) -> Array:
    """Return two triangles a quadrilateral, without those that have no area."""
    four = np.asarray(corners, dtype=np.float64)
    triangles = four[:, [[0, 1, 2], [0, 2, 3]]].reshape(-1, 3, 3)
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return np.asarray(triangles[np.linalg.norm(normals, axis=1) > 0])


def _section(outline: Outline) -> Any:
    """Return an outline as a polygon of manifold3d."""
    from manifold3d import CrossSection

    if isinstance(outline, Circle):
        section = CrossSection.circle(outline.radius, CIRCLE_STEPS)
    elif outline.radius > 0:
        section = _rounded_section(outline)
    else:
        section = CrossSection.square(outline.size, True)
    return section.translate(outline.centre)


def _rounded_section(outline: Rectangle) -> Any:
    from manifold3d import CrossSection, JoinType

    # a rectangle with nothing left between its corners still needs some width to be grown from
    core = [max(side - 2 * outline.radius, 1e-6) for side in outline.size]
    section = CrossSection.square(core, True)
    return section.offset(outline.radius, JoinType.Round, 2.0, CIRCLE_STEPS)
