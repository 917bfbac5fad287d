"""How hard a push a rig stands before it tips: as one stiff piece, loose on the floor."""

import math
from dataclasses import dataclass

import numpy as np

from seamsight.scene.cutting import CutPiece
from seamsight.scene.frames import Array
from seamsight.scene.polygons import hull_of, rings_of

GRAVITY = 9.81  # m/s²
STANDS_ON = 1.0  # mm; what is no higher than this above its lowest place stands on the floor
LEAST_BASE = 1.0  # mm²; on less it stands on one place or one line
PUSH_SHARE = 0.2  # of its weight
PUSH_MOST = 250.0  # N
"""The push that a product must stand: IEC 62368-1:2018, 8.6.5, as a test house explains it."""

WAYS = {
    "towards the pilot": (0.0, -1.0),
    "away from the pilot": (0.0, 1.0),
    "to the left": (-1.0, 0.0),
    "to the right": (1.0, 0.0),
}


@dataclass(frozen=True)
class Tipping:
    """What it takes to tip a rig.

    Attributes
    ----------
    height : float
        Of its top above the floor, where it is pushed, mm.
    pushes : dict of str to float
        The level push each way, N; 0 where it falls by itself.
    front_edge : float or None
        Weight that tips it when it rests on its front edge, N; None where none does.
    should_stand : float
        The level push that it should stand at least, N.
    """

    height: float
    pushes: dict[str, float]
    front_edge: float | None
    should_stand: float

    @property
    def is_stable(self) -> bool:
        """Whether it stands the push that it should, each way."""
        return min(self.pushes.values()) >= self.should_stand


def tipping(pieces: list[CutPiece], mass: float, centre_of_gravity: Array) -> Tipping:
    """Return what it takes to tip a rig, of a mass in kg, that stands on its lowest pieces.

    It tips about an edge of the hull of the places on which it stands, when the moment of the push
    is above that of its weight about this edge. At least one piece is needed.
    """
    corners = np.concatenate([piece.part.triangles.reshape(-1, 3) for piece in pieces])
    floor, top = float(corners[:, 2].min()), float(corners[:, 2].max())
    weight = mass * GRAVITY
    base = hull_of(corners[corners[:, 2] <= floor + STANDS_ON, :2])
    if base.area() < LEAST_BASE:
        return Tipping(top - floor, dict.fromkeys(WAYS, 0.0), 0.0, _should_stand(weight))
    normals, reaches = _edges(rings_of(base)[0])
    moments = weight * (reaches - normals @ centre_of_gravity[:2])  # N mm, what holds it down

    height = top - floor
    pushes = {
        way: _least(moments, height * (normals @ np.array(direction)))
        for way, direction in WAYS.items()
    }
    front = corners[corners[:, 1] <= corners[:, 1].min() + STANDS_ON, :2]
    beyond = front @ normals.T - reaches
    leaning = min(_least(moments, arms) for arms in beyond)
    return Tipping(
        height=height,
        pushes=pushes,
        front_edge=None if math.isinf(leaning) else leaning,
        should_stand=_should_stand(weight),
    )


def _should_stand(weight: float) -> float:
    return min(PUSH_SHARE * weight, PUSH_MOST)


def _least(moments: Array, arms: Array) -> float:
    """Return the least force that outdoes a moment, by its arms; 0 where one is not held down."""
    if (moments <= 0).any():
        return 0.0
    turns = arms > 1e-9
    return float((moments[turns] / arms[turns]).min()) if turns.any() else math.inf


def _edges(base: Array) -> tuple[Array, Array]:
    """Return the outward normals (n, 2) of a base's edges, and how far out each lies (n,)."""
    steps = np.roll(base, -1, axis=0) - base
    normals = np.column_stack([steps[:, 1], -steps[:, 0]])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return normals, (normals * base).sum(axis=1)
