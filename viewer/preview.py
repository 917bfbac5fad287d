"""What the live views share: where the head may go, both eyes' pictures at once, and the numbers that matter."""

from dataclasses import dataclass

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.files import Picture
from seamsight.scene.rig import DESIGN, Head, Rig
from seamsight.viewer.eye import Eyes, eyes_of
from seamsight.viewer.measures import Numbers, measure

WIDTH, HEIGHT = 640, 360  # pixels of each eye's picture


@dataclass(frozen=True)
class Reach:
    """How far a live view moves the head one way: a key of `Look`, its label, unit and limits."""

    key: str
    label: str
    unit: str
    low: float
    high: float
    step: float


REACHES = (
    Reach("x", "right", "mm", -300.0, 300.0, 5.0),
    Reach("y", "forward", "mm", -300.0, 300.0, 5.0),
    Reach("z", "up", "mm", -300.0, 300.0, 5.0),
    Reach("turn", "turn", "°", -90.0, 90.0, 1.0),
    Reach("nod", "nod", "°", -60.0, 60.0, 1.0),
)


@dataclass(frozen=True)
class Look:
    """One state of a live view: the head's offset (mm), its angles (degrees), and what is shown."""

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    turn: float = 0.0
    nod: float = 0.0
    tilt: float = 0.0
    lenses: bool = True
    overlap: bool = False

    @property
    def head(self) -> Head:
        """The head in its place."""
        return Head(name="here", offset=(self.x, self.y, self.z), turn=self.turn, nod=self.nod, tilt=self.tilt)


class Preview:
    """A rig made ready to be looked at from a moving head."""

    def __init__(self, rig: Rig) -> None:
        raise NotImplementedError

    def assembly(self, look: Look) -> Assembly:
        """Return the rig with or without its lenses."""
        raise NotImplementedError

    def eyes(self, look: Look) -> Eyes:
        """Return where the eyes are."""
        return eyes_of(self.rig, look.head)

    def pictures(self, look: Look, *, moving: bool = False) -> tuple[Picture, Picture]:
        """Return what the left and the right eye see, (360, 640, 3) uint8 each."""
        raise NotImplementedError

    def numbers(self, look: Look) -> Numbers:
        """Return the numbers from here; takes up to a second."""
        return measure(self.assembly(look), self.eyes(look))


def look_of(head: Head, lenses: bool = True) -> Look:
    """Return the state that stands for a head of the rig."""
    x, y, z = head.offset
    return Look(x, y, z, head.turn, head.nod, head.tilt, lenses)
