"""What a live view shows: where the head is and may go, with lenses or not, from where the rig.

Light to import: the page needs it before the rig is there in 3D.
"""

import math
from dataclasses import asdict, dataclass

from seamsight.scene.rig import Head
from seamsight.scene.units import FARTHEST, MOST_DEGREES


@dataclass(frozen=True)
class HeadAxis:
    """One way the head can be moved.

    Attributes
    ----------
    name : str
        In `LiveState`.
    less, label : str
        What less and more of it are called; sliders show the latter.
    unit : "mm" or "°"
    low, high : float
        The ends of its slider.
    step : float
        How far a key moves the head.
    farthest : float
        How far keys move it at most, beyond the slider's ends too.
    """

    name: str
    less: str
    label: str
    unit: str
    low: float
    high: float
    step: float
    farthest: float

    def stepped(self, value: float, way: int) -> float:
        """Return the value after one step less (-1) or more (+1)."""
        return min(self.farthest, max(-self.farthest, value + way * self.step))


HEAD_AXES = (
    HeadAxis("x", "left", "right", "mm", -300.0, 300.0, 5.0, FARTHEST),
    HeadAxis("y", "back", "forward", "mm", -300.0, 300.0, 5.0, FARTHEST),
    HeadAxis("z", "down", "up", "mm", -300.0, 300.0, 5.0, FARTHEST),
    HeadAxis("turn", "turn left", "turn right", "°", -90.0, 90.0, 1.0, MOST_DEGREES),
    HeadAxis("nod", "nod down", "nod up", "°", -60.0, 60.0, 1.0, MOST_DEGREES),
    HeadAxis("tilt", "tilt left", "tilt right", "°", -45.0, 45.0, 1.0, MOST_DEGREES),
)


@dataclass(frozen=True)
class LiveState:
    """The head's offset (mm) and angles (degrees), and what both eyes' pictures show."""

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    turn: float = 0.0
    nod: float = 0.0
    tilt: float = 0.0
    lenses: bool = True
    overlap: bool = False
    room: bool = False  # the head room in 3D

    @property
    def head(self) -> Head:
        """The head in its place."""
        offset = (self.x, self.y, self.z)
        return Head(name="here", offset=offset, turn=self.turn, nod=self.nod, tilt=self.tilt)

    def is_at(self, head: Head) -> bool:
        """Tell whether the head is where a head of the rig is."""
        return self.head.model_copy(update={"name": head.name}) == head

    def moved(self, axis: HeadAxis, value: float) -> "LiveState":
        """Return the state with the head at a place along one axis."""
        return LiveState(**{**asdict(self), axis.name: value})


def state_at(head: Head, lenses: bool = True) -> LiveState:
    """Return the state whose head is where a head of the rig is."""
    x, y, z = head.offset
    return LiveState(x, y, z, head.turn, head.nod, head.tilt, lenses)


ORBIT_LIMITS = {
    "azimuth": (-360.0, 360.0),
    "elevation": (-89.0, 89.0),
    "distance": (0.15, 4.0),
}


@dataclass(frozen=True)
class Orbit:
    """From where the rig is shown in 3D, on a way about the screens and the head.

    Attributes
    ----------
    azimuth : float
        Degrees from behind the pilot round to the right; at first behind the left shoulder.
    elevation : float
        Degrees up.
    distance : float
        1 shows all screens and the head, 0.5 is from half as far.

    Raises
    ------
    ValueError
        When one of them is beyond `ORBIT_LIMITS`.
    """

    azimuth: float = -48.0
    elevation: float = 12.0
    distance: float = 1.0

    def __post_init__(self) -> None:
        for name, (low, high) in ORBIT_LIMITS.items():
            if not low <= getattr(self, name) <= high:
                msg = f"{name} is not within {low:g} and {high:g}"
                raise ValueError(msg)

    def turned(self, right: float, up: float) -> "Orbit":
        """Return the orbit after going so many degrees round and up, as far as that goes."""
        azimuth = math.fmod(self.azimuth + right, 360)
        low, high = ORBIT_LIMITS["elevation"]
        return Orbit(azimuth, min(high, max(low, self.elevation + up)), self.distance)

    def scaled(self, factor: float) -> "Orbit":
        """Return the orbit at so many times the distance, as far as that goes."""
        low, high = ORBIT_LIMITS["distance"]
        return Orbit(self.azimuth, self.elevation, min(high, max(low, self.distance * factor)))
