"""From a head position to where the eyes are and which way the face points."""

import dataclasses
import difflib
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array, move, rotation, transform
from seamsight.scene.rig import Head, Rig

MOST_EYE_TURN = math.radians(50)  # about how far an eye turns in its socket (from memory)
EYES = ("left", "right", "mid")
EYE_WORDS = {"left": "left eye", "right": "right eye", "mid": "point between the eyes"}
"""What each is called above a picture."""


@dataclass(frozen=True, eq=False)
class Eyes:
    """Both eyes of a head in its place, rig frame, mm.

    Attributes
    ----------
    head : Head
    left, right, mid : (3,) float64
        The pupils' middles, and the point between them.
    axes : (3, 3) float64
        Columns: the face's right, forward and up.
    """

    head: Head
    left: Array
    right: Array
    mid: Array
    axes: Array

    def point(self, eye: str) -> Array:
        """Return where an eye is: "left", "right" or "mid".

        Raises
        ------
        ChoiceError
            When it is none of these.
        """
        if eye not in EYES:
            msg = f'there is no eye "{eye}" (there are {", ".join(EYES)})'
            raise ChoiceError(msg)
        return {"left": self.left, "right": self.right, "mid": self.mid}[eye]

    @property
    def rows(self) -> Array:
        """All of them, (3, 3) float64: left, right, mid, in the order of `EYES`."""
        return np.stack([self.point(eye) for eye in EYES])


def head_named(rig: Rig, name: str) -> Head:
    """Return a rig's head position by name.

    Raises
    ------
    ChoiceError
        When there is none of that name.
    """
    heads = rig.heads()
    if name not in heads:
        names = ", ".join(f'"{head}"' for head in heads)
        close = difflib.get_close_matches(name, heads, 1, 0.6)
        hint = f'did you mean "{close[0]}"?' if close else f"there are {names}"
        msg = f'there is no head position "{name}" in this rig ({hint})'
        raise ChoiceError(msg)
    return heads[name]


def eyes_of(rig: Rig, head: Head) -> Eyes:
    """Return where the eyes of a head are.

    The head turns, nods and tilts about the neck pivot: `neck` straight behind the shifted point
    between the eyes.
    """
    # put a frame where the neck is, turned as the face
    axes = rotation(*(math.radians(angle) for angle in (head.turn, head.nod, head.tilt)))
    neck = np.array([0.0, -rig.pilot.neck, 0.0])
    rig_from_head = transform(axes, np.add(rig.pilot.eye_point, head.offset) + neck)

    half = rig.pilot.pupil_distance / 2
    left, right, mid = (
        move(rig_from_head, np.array([x, 0.0, 0.0]) - neck) for x in (-half, half, 0.0)
    )
    return Eyes(head, left, right, mid, axes)


def eyes_looking(rig: Rig, eyes: Eyes, towards: Callable[[Array], Array]) -> Eyes:
    """Return eyes that turn in their sockets to look somewhere, while the head stays.

    An eye turns about a point `eye_turn` straight behind its pupil. Turned by an angle A, the pupil
    has gone eye_turn sin A aside and eye_turn (1 - cos A) back. The point between the
    eyes stays midway between the pupils.

    Parameters
    ----------
    towards : callable
        From a point (3,), rig frame, to the unit direction (3,) in which to look from there.
    """
    reach = rig.pilot.eye_turn
    if not reach:
        return eyes
    ahead = eyes.axes[:, 1]

    def turned(pupil: Array) -> Array:
        pivot = pupil - reach * ahead
        return np.asarray(pivot + reach * _within_reach(towards(pivot), ahead))

    left, right = turned(eyes.left), turned(eyes.right)
    return dataclasses.replace(eyes, left=left, right=right, mid=(left + right) / 2)


def _within_reach(gaze: Array, ahead: Array) -> Array:
    """Return the direction (3,) nearest to a gaze that an eye can turn to."""
    across = gaze - ahead * (gaze @ ahead)
    aside = float(np.linalg.norm(across))
    if not math.atan2(aside, gaze @ ahead) > MOST_EYE_TURN:
        return gaze
    return np.asarray(math.cos(MOST_EYE_TURN) * ahead + math.sin(MOST_EYE_TURN) * across / aside)
