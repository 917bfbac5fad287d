"""Where outside images are seen: over the nose, and against an aircraft's clear view.

AC 25.773-1 recommends the directions that an airliner's windscreen should leave clear. For a
cockpit at home it is a yardstick, not a rule.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.viewer.casting.trace import trace

LOWER = np.array([(-120, -15), (-95, -27), (-70, -27), (-60, -24.5), (-30, -17), (10, -17)])
LOWER = np.vstack([LOWER, [(20, -10)]])
UPPER = np.array([(-120, 15), (-80, 35), (-40, 35), (20, 15)])
"""Azimuth and elevation, degrees, of the edges of AC 25.773-1's clear view from a left seat; as an
open-source program for aircraft shapes has them (the circular itself was not read)."""

AZIMUTHS = (-120, -95, -70, -60, -30, 0, 10, 20)  # where both are compared, left seat
SEATS = {"left": 1.0, "right": -1.0}  # azimuths of a right seat are mirrored
STEP = 0.02  # degrees between rays from top to bottom
CELL = 1.0  # degrees, side of the cells whose share is counted

Seen = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class OverTheNose:
    """How far down outside images are seen straight ahead.

    Attributes
    ----------
    down : float
        Degrees below the horizon, of the unbroken picture nearest to it; negative: it ends above.
    up : float
        The same upwards.
    below : str or None
        The part on which the eye's ray ends just below; None where it meets nothing.
    """

    down: float
    up: float
    below: str | None


@dataclass(frozen=True)
class Upright:
    """The clear view at one azimuth; degrees, lowest and highest.

    Attributes
    ----------
    azimuth : float
    asked : tuple of float
    seen : tuple of float or None
        Of the unbroken picture nearest to the horizon; None where there is none.
    """

    azimuth: float
    asked: tuple[float, float]
    seen: tuple[float, float] | None


@dataclass(frozen=True)
class ClearView:
    """What of an aircraft's clear view outside images fill, as a share of the solid angle."""

    share: float
    uprights: list[Upright]


def asked_at(azimuths: Array) -> tuple[Array, Array]:
    """Return from where to where the view should be clear at azimuths (n,) of a left seat."""
    return np.interp(azimuths, *LOWER.T), np.interp(azimuths, *UPPER.T)


def over_the_nose(assembly: Assembly, eye: Array) -> OverTheNose | None:
    """Return how far down an eye (3,) sees outside images straight ahead; None if not at all."""
    elevations = _elevations()
    ends = _ends(assembly, eye, np.zeros_like(elevations), elevations)
    run = _nearest_run(_outside(assembly, ends), elevations)
    if run is None:
        return None
    first, last = run
    part = int(ends[first - 1]) if first else -1
    below = assembly.parts[part].name if part >= 0 else None
    return OverTheNose(-float(elevations[first]), float(elevations[last]), below)


def clear_view(assembly: Assembly, eye: Array, seat: str) -> ClearView:
    """Return what of AC 25.773-1's clear view an eye (3,) sees filled, from a seat of `SEATS`."""
    side = SEATS[seat]
    return ClearView(_share(assembly, eye, side), _uprights(assembly, eye, side))


def _share(assembly: Assembly, eye: Array, side: float) -> float:
    azimuths, elevations = np.meshgrid(
        np.arange(LOWER[0, 0], LOWER[-1, 0], CELL) + CELL / 2,
        np.arange(LOWER[:, 1].min(), UPPER[:, 1].max(), CELL) + CELL / 2,
    )
    low, high = asked_at(azimuths.ravel())
    within = (low < elevations.ravel()) & (elevations.ravel() < high)
    azimuths, elevations = azimuths.ravel()[within], elevations.ravel()[within]
    seen = _outside(assembly, _ends(assembly, eye, side * azimuths, elevations))
    solid = np.cos(np.radians(elevations))
    return float(solid[seen].sum() / solid.sum())


def _uprights(assembly: Assembly, eye: Array, side: float) -> list[Upright]:
    elevations = _elevations()
    count = len(elevations)
    azimuths = np.repeat(np.array(AZIMUTHS, np.float64), count)
    ends = _ends(assembly, eye, side * azimuths, np.tile(elevations, len(AZIMUTHS)))
    seen = _outside(assembly, ends).reshape(len(AZIMUTHS), count)
    found = []
    for azimuth, column in zip(AZIMUTHS, seen, strict=True):
        low, high = (float(edge) for edge in asked_at(np.array(float(azimuth))))
        run = _nearest_run(column, elevations)
        ends_of_run = run and (float(elevations[run[0]]), float(elevations[run[1]]))
        found.append(Upright(side * azimuth + 0.0, (low, high), ends_of_run))
    return found


def _elevations() -> Array:
    """Return elevations from straight down to straight up, degrees."""
    return np.linspace(-90, 90, round(180 / STEP) + 1)


def _ends(
    assembly: Assembly, eye: Array, azimuths: Array, elevations: Array
) -> npt.NDArray[np.int32]:
    """Return the part ids on which an eye's rays in directions (n,), degrees, end."""
    across, up = np.radians(azimuths), np.radians(elevations)
    level = np.cos(up)
    ways = np.stack([np.sin(across) * level, np.cos(across) * level, np.sin(up)], axis=1)
    return trace(assembly, np.broadcast_to(eye, ways.shape), ways).parts


def _outside(assembly: Assembly, ends: npt.NDArray[np.int32]) -> Seen:
    """Return which rays end on an image of the outside view."""
    ids = [assembly.part_id(screen.name) for screen in assembly.outside_screens]
    return np.isin(ends, ids)


def _nearest_run(seen: Seen, elevations: Array) -> tuple[int, int] | None:
    """Return first and last place of the unbroken run of what is seen nearest to the horizon."""
    places = np.flatnonzero(seen)
    if not len(places):
        return None
    nearest = places[np.abs(elevations[places]).argmin()]
    gaps = np.flatnonzero(~seen)
    before, after = gaps[gaps < nearest], gaps[gaps > nearest]
    first = int(before[-1]) + 1 if len(before) else 0
    last = int(after[0]) - 1 if len(after) else len(seen) - 1
    return first, last
