"""What the pilot touches, and which pilots reach it with their backs against the seat."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.rig import Head
from seamsight.viewer.eye import Eyes
from seamsight.viewer.numbers.holes import holes_of, screens_behind
from seamsight.viewer.studies.body import BODIES, SMALLEST, Body, shoulders_of

HANDS = ("left", "right")


@dataclass(frozen=True, eq=False)
class Target:
    """Something that a hand goes to.

    Attributes
    ----------
    name : str
    kind : str
        "mesh", "hole" or "mark".
    triangles : (n, 3, 3) float64, rig frame
        A mesh's; of a hole or mark one that is a single point.
    """

    name: str
    kind: str
    triangles: Array


@dataclass(frozen=True)
class Reach:
    """How far a target is from the nearer shoulder, and who reaches it.

    Attributes
    ----------
    target : Target
    hand : str
        "left" or "right": that of the smallest body's shoulder that is nearer.
    at : tuple of float
        The point of the target that is nearest to it, rig frame, mm.
    distance : float
        From there to that shoulder, mm.
    spare : dict
        For each body's name by how much its arm is longer than its own distance, mm; negative:
        too short.
    """

    target: Target
    hand: str
    at: tuple[float, float, float]
    distance: float
    spare: dict[str, float]

    @property
    def reached(self) -> bool:
        """Whether the smallest body reaches it."""
        return self.spare[SMALLEST.name] >= 0


def reaches(assembly: Assembly, eyes: Eyes) -> list[Reach]:
    """Return how far everything is that the pilot touches."""
    return [_reach(assembly, eyes.head, target) for target in targets(assembly, eyes)]


def targets(assembly: Assembly, eyes: Eyes) -> list[Target]:
    """Return what the pilot touches.

    Meshes without a role that are wholly in front of the neck pivot, unlike a seat; holes of plates
    without a screen behind them; and reference points.
    """
    return [*_meshes(assembly, eyes.head), *_free_holes(assembly, eyes), *_marks(assembly)]


def _meshes(assembly: Assembly, head: Head) -> Iterator[Target]:
    pilot = assembly.rig.pilot
    neck = pilot.eye_point[1] + head.offset[1] - pilot.neck
    for mesh in assembly.rig.mesh:
        triangles = assembly.parts[assembly.part_id(mesh.name)].triangles
        if mesh.role is None and triangles[..., 1].min() > neck:
            yield Target(mesh.name, "mesh", triangles)


def _free_holes(assembly: Assembly, eyes: Eyes) -> Iterator[Target]:
    holes = [hole for plate in assembly.rig.plate for hole in holes_of(plate)]
    if not holes:
        return
    for hole, screen in zip(holes, screens_behind(assembly, holes, [eyes]), strict=True):
        if screen is None:
            yield _point(f"{hole.plate}: {hole.name}", "hole", hole.front.mean(axis=0))


def _marks(assembly: Assembly) -> Iterator[Target]:
    for mark in assembly.rig.mark:
        yield _point(mark.name, "mark", np.array(mark.at))


def _point(name: str, kind: str, at: Array) -> Target:
    return Target(name, kind, np.tile(at, (1, 3, 1)))


def _reach(assembly: Assembly, head: Head, target: Target) -> Reach:
    def nearest(body: Body) -> tuple[float, int, Array]:
        shoulders = shoulders_of(assembly.rig.pilot, head, body)
        points = [nearest_point(target.triangles, shoulder) for shoulder in shoulders]
        away = np.linalg.norm(np.array(points) - shoulders, axis=1)
        hand = int(away.argmin())
        return float(away[hand]), hand, points[hand]

    found = {body: nearest(body) for body in BODIES}
    spare = {body.name: body.arm - away for body, (away, _, _) in found.items()}
    distance, hand, at = found[SMALLEST]
    x, y, z = at.tolist()
    return Reach(target, HANDS[hand], (x, y, z), distance, spare)


def nearest_point(triangles: Array, point: Array) -> Array:
    """Return the point (3,) of some triangles (n, 3, 3) that is nearest to a point (3,).

    It is within a triangle, where the point's foot on its plane is, or on an edge.
    """
    starts = triangles
    ways = np.roll(triangles, -1, axis=1) - starts

    # on the edges
    lengths = np.maximum((ways**2).sum(axis=2, keepdims=True), 1e-30)
    shares = ((point - starts) * ways).sum(axis=2, keepdims=True) / lengths
    on_edges = (starts + np.clip(shares, 0, 1) * ways).reshape(-1, 3)

    # and in the middle of those that the foot is in: on the same side of all edges
    normals = np.cross(ways[:, 0], ways[:, 1])
    square = (normals**2).sum(axis=1, keepdims=True)
    flat = square[:, 0] > 0
    height = ((point - starts[:, 0]) * normals).sum(axis=1, keepdims=True)
    feet = point - normals * height / np.where(flat[:, None], square, 1)
    sides = (np.cross(ways, feet[:, None] - starts) * normals[:, None]).sum(axis=2)
    inside = feet[flat & (sides >= 0).all(axis=1)]

    found = np.concatenate([on_edges, inside])
    return np.asarray(found[((found - point) ** 2).sum(axis=1).argmin()])
