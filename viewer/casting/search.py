"""Compiled searches for faces: through a tree of boxes, and between rays already sent."""

import numpy as np
import numpy.typing as npt

from seamsight.viewer.casting.box_tree import DEPTH, BoxTree
from seamsight.viewer.casting.compiling import compiled

Triple = tuple[float, float, float]

FARTHEST = 1e308  # farther than any triangle; what is not met at all is infinitely far


@compiled
def fill_between(
    faces: npt.NDArray[np.int32],
    surfaces: npt.NDArray[np.int32],
    step: int,
    width: int,
    rest: npt.NDArray[np.int64],
) -> int:
    """Fill in faces (n,) between known runs of some width whose starts are a step apart.

    A place gets the face of the run before it. Where the surface (m,) of that face is not that of
    the run behind it, or there is none, the place is written to `rest` (n,) too; how many are is
    returned.
    """
    count = 0
    for start in range(0, faces.shape[0], step):
        for place in range(start + width, min(start + step, faces.shape[0])):
            before = start + (place - start) % width
            faces[place] = faces[before]
            if (
                before + step >= faces.shape[0]
                or surfaces[faces[before]] != surfaces[faces[before + step]]
            ):
                rest[count] = place
                count += 1
    return count


@compiled
def first_faces_by_search(
    tree: BoxTree, origins: npt.NDArray[np.float32], directions: npt.NDArray[np.float32]
) -> npt.NDArray[np.int32]:
    """Return the first of a tree's triangles on each ray (m, 3), -1 for none.

    Of triangles met at the very same distance it is the one with the lowest number. No ray slips
    between two triangles that share an edge. A ray that is not finite meets nothing.
    """
    found = np.full(origins.shape[0], -1, np.int32)
    if tree.faces.shape[0] == 0:
        return found
    waiting = np.empty(DEPTH + 1, np.int64)
    ahead = np.empty(DEPTH + 1, np.float64)
    for ray in range(origins.shape[0]):
        origin = _triple(origins[ray])
        direction = _triple(directions[ray])
        if not np.isfinite(sum(origin) + sum(direction)):
            continue
        inverse = (_inverse(direction[0]), _inverse(direction[1]), _inverse(direction[2]))
        found[ray] = _first_face(tree, origin, direction, inverse, waiting, ahead)
    return found


@compiled
def _first_face(
    tree: BoxTree,
    origin: Triple,
    direction: Triple,
    inverse: Triple,
    waiting: npt.NDArray[np.int64],
    ahead: npt.NDArray[np.float64],
) -> int:
    """Return the first triangle on one ray, or -1.

    Boxes are looked into nearest first; the others wait, with how far ahead they begin.
    """
    nearest = FARTHEST
    face = -1
    waiting[0] = 0
    ahead[0] = 0.0
    top = 1
    while top > 0:
        top -= 1
        box = waiting[top]
        if ahead[top] > nearest:
            continue

        # go down to a box that is not split, into the nearer half each time
        while tree.held[box] == 0:
            box = tree.first[box]
            other = box + 1
            here = _entry(tree.boxes, box, origin, inverse)
            there = _entry(tree.boxes, other, origin, inverse)
            if there < here:
                box, other = other, box
                here, there = there, here
            if there <= nearest:
                waiting[top] = other
                ahead[top] = there
                top += 1
            if here > nearest:
                break

        # a box that is split has no triangles of its own
        for place in range(tree.first[box], tree.first[box] + tree.held[box]):
            distance = _distance(tree.corners, place, origin, direction)
            if distance < nearest or (distance == nearest and tree.faces[place] < face):
                nearest = distance
                face = tree.faces[place]
    return face


@compiled
def _entry(boxes: npt.NDArray[np.float32], box: int, origin: Triple, inverse: Triple) -> float:
    """Return how far along a ray a box begins, infinite if the ray misses it."""
    begin, end = 0.0, FARTHEST
    for axis in range(3):
        low = (boxes[box, axis] - origin[axis]) * inverse[axis]
        high = (boxes[box, axis + 3] - origin[axis]) * inverse[axis]
        begin = max(begin, min(low, high))
        end = min(end, max(low, high))
    # the last digits may be wrong: rather too near
    begin *= 1.0 - 1e-12
    return begin if begin <= end else np.inf


@compiled
def _distance(
    corners: npt.NDArray[np.float32], place: int, origin: Triple, direction: Triple
) -> float:
    """Return how far along a ray a triangle is met, infinite if it is not.

    By the side on which the ray passes each edge (Pluecker): for two triangles that share an edge
    these numbers are the same but for the sign, to the last digit.
    """
    ax, ay, az = _from(origin, corners[place, 0])
    bx, by, bz = _from(origin, corners[place, 1])
    cx, cy, cz = _from(origin, corners[place, 2])
    ab = _side(ax, ay, az, bx, by, bz, direction)
    bc = _side(bx, by, bz, cx, cy, cz, direction)
    ca = _side(cx, cy, cz, ax, ay, az, direction)
    if not (min(ab, bc, ca) >= 0.0 or max(ab, bc, ca) <= 0.0):
        return np.inf

    # where the ray meets the triangle's plane
    nx, ny, nz = _cross(bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az)
    along = nx * direction[0] + ny * direction[1] + nz * direction[2]
    if along == 0.0:
        return np.inf
    distance = (nx * ax + ny * ay + nz * az) / along
    return distance if distance > 0.0 else np.inf


@compiled
def _side(
    ax: float, ay: float, az: float, bx: float, by: float, bz: float, direction: Triple
) -> float:
    """Return on which side of an edge from a to b a ray from the origin passes, by its sign."""
    x, y, z = _cross(bx - ax, by - ay, bz - az, bx + ax, by + ay, bz + az)
    return x * direction[0] + y * direction[1] + z * direction[2]


@compiled
def _cross(ax: float, ay: float, az: float, bx: float, by: float, bz: float) -> Triple:
    return ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx


@compiled
def _from(origin: Triple, corner: npt.NDArray[np.float32]) -> Triple:
    return corner[0] - origin[0], corner[1] - origin[1], corner[2] - origin[2]


@compiled
def _triple(row: npt.NDArray[np.float32]) -> Triple:
    return np.float64(row[0]), np.float64(row[1]), np.float64(row[2])


@compiled
def _inverse(value: float) -> float:
    # a ray that runs along a side of a box then still meets it
    return 1.0 / value if value != 0.0 else 1e300
