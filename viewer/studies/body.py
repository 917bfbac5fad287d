"""Published measures of the pilots that a cockpit is built for, and where their shoulders are."""

from dataclasses import dataclass

import numpy as np

from seamsight.scene.frames import Array
from seamsight.scene.rig import Head, Pilot

EYES_OVER_SHOULDERS = 215.0
"""mm, sitting erect: NUREG-0700 rev. 3, Table 11.4 (5th percentile woman 724 - 509, 95th percentile
man 862 - 646)."""


@dataclass(frozen=True)
class Body:
    """A pilot; mm.

    Attributes
    ----------
    name : str
        Which of all pilots.
    arm : float
        From the shoulder's bony point (acromion) to the middle of what the hand grips, arm
        straight: shoulder-grip length of British adults aged 19 to 65, dimension 25 of a
        university's "Online Anthropometry".
    shoulders : float
        From one acromion to the other: biacromial breadth, dimension 18 there.
    eye_height : float
        From the seat to the eyes, sitting erect: ANSUR II (2012), NATICK/TR-15/007.
    """

    name: str
    arm: float
    shoulders: float
    eye_height: float


BODIES = (
    Body("5th percentile woman", 555.0, 325.0, 698.0),
    Body("median woman", 600.0, 355.0, 748.0),
    Body("5th percentile man", 610.0, 365.0, 750.0),
    Body("median man", 665.0, 400.0, 804.0),
    Body("95th percentile man", 715.0, 430.0, 860.0),
)
SMALLEST = BODIES[0]


def shoulders_of(pilot: Pilot, head: Head, body: Body) -> Array:
    """Return the left and the right shoulder (2, 3) of a pilot with the eyes at a head position.

    Below the neck pivot, as in upright posture ear and shoulder are in one plumb line (from
    memory). They move with the head; when it turns they stay.
    """
    neck = np.add(pilot.eye_point, head.offset) - (0.0, pilot.neck, 0.0)
    half = body.shoulders / 2
    below = -EYES_OVER_SHOULDERS
    return np.asarray(neck + np.array([[-half, 0, below], [half, 0, below]]))


@dataclass(frozen=True)
class Seat:
    """How a body's eyes come to the design eye point.

    Attributes
    ----------
    body : Body
    surface : float
        Height of the seat, in rig axes, that brings them there, mm.
    higher : float or None
        How much higher that is than the rig's seat, mm; None where the rig does not say.
    """

    body: Body
    surface: float
    higher: float | None


def seats(pilot: Pilot) -> list[Seat]:
    """Return the seat that each body needs."""
    found = []
    for body in BODIES:
        surface = pilot.eye_point[2] - body.eye_height
        higher = None if pilot.seat is None else surface - pilot.seat
        found.append(Seat(body, surface, higher))
    return found
