"""The rig frame and the rigid transforms that place things in it.

Rig frame: x to the pilot's right, y forward, z up; right-handed; millimetres. A part's own frame is
the same, seen square on by the pilot: x right, y away along the viewing axis, z up. Transforms are
(4, 4) float64 and named target-from-source: `rig_from_part`.
"""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def rotation(yaw: float, pitch: float, roll: float) -> Array:
    """Return the rotation that turns the rig's axes into those of a posed part.

    Parameters
    ----------
    yaw, pitch, roll : float
        Radians. Azimuth of the viewing axis, clockwise seen from above; its elevation; turn about
        it, clockwise as the pilot sees it.

    Returns
    -------
    (3, 3) float64
        Columns: the part's right, away and up in the rig frame. Equal to the intrinsic rotations
        z by -yaw, x by pitch, y by roll.
    """
    cy, sy = math.cos(yaw), math.sin(yaw)
    cp, sp = math.cos(pitch), math.sin(pitch)
    cr, sr = math.cos(roll), math.sin(roll)
    by_yaw = np.array([[cy, sy, 0.0], [-sy, cy, 0.0], [0.0, 0.0, 1.0]])
    by_pitch = np.array([[1.0, 0.0, 0.0], [0.0, cp, -sp], [0.0, sp, cp]])
    by_roll = np.array([[cr, 0.0, sr], [0.0, 1.0, 0.0], [-sr, 0.0, cr]])
    return np.asarray(by_yaw @ by_pitch @ by_roll)


def angles(axes: Array) -> tuple[float, float, float]:
    """Return yaw, pitch and roll (radians) of a rotation: the inverse of `rotation`.

    Straight up or down, where yaw and roll turn about one line, roll is 0.
    """
    pitch = math.atan2(axes[2, 1], math.hypot(axes[0, 1], axes[1, 1]))
    if math.hypot(axes[0, 1], axes[1, 1]) < 1e-9:
        return math.atan2(-axes[1, 0], axes[0, 0]), pitch, 0.0
    return math.atan2(axes[0, 1], axes[1, 1]), pitch, math.atan2(-axes[2, 0], axes[2, 2])


def azimuth_and_elevation(directions: Array) -> tuple[Array, Array]:
    """Return azimuths (...) and elevations (...), radians, of directions (..., 3).

    Azimuths count clockwise from straight ahead, seen from above, and hold for any length;
    elevations need unit length. The inverse is `direction_at`.
    """
    right, forward, up = np.moveaxis(directions, -1, 0)
    return np.arctan2(right, forward), np.arcsin(np.clip(up, -1.0, 1.0))


def direction_at(azimuth: float, elevation: float) -> tuple[float, float, float]:
    """Return the unit direction at an azimuth and an elevation, radians."""
    level = math.cos(elevation)
    return math.sin(azimuth) * level, math.cos(azimuth) * level, math.sin(elevation)


def transform(axes: Array, origin: Sequence[float] | Array) -> Array:
    """Return the (4, 4) transform with these axes (3, 3) and this origin (mm)."""
    matrix = np.eye(4)
    matrix[:3, :3] = axes
    matrix[:3, 3] = origin
    return matrix


def shift(x: float, y: float, z: float) -> Array:
    """Return the (4, 4) transform that moves by x, y, z (mm) without turning."""
    return transform(np.eye(3), (x, y, z))


def move(target_from_source: Array, points: Array) -> Array:
    """Return points (..., 3), given in the source frame, in the target frame."""
    return np.asarray(points @ target_from_source[:3, :3].T + target_from_source[:3, 3])


def inverse(target_from_source: Array) -> Array:
    """Return source_from_target of a rigid transform."""
    axes = target_from_source[:3, :3].T
    return transform(axes, -axes @ target_from_source[:3, 3])
