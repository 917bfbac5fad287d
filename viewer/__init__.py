"""What is seen of a rig: eyes, ray casting, pictures, numbers and comparisons."""

from seamsight.viewer.casting.trace import Ends, see, trace
from seamsight.viewer.casting.view import View, framed
from seamsight.viewer.eye import Eyes, eyes_of, head_named
from seamsight.viewer.numbers.measures import Numbers, measure
from seamsight.viewer.pictures.compare import Comparison, Seen, compare
from seamsight.viewer.pictures.framing import framed_on_screens
from seamsight.viewer.projection import Projection

__all__ = [
    "Comparison",
    "Ends",
    "Eyes",
    "Numbers",
    "Projection",
    "Seen",
    "View",
    "compare",
    "eyes_of",
    "framed",
    "framed_on_screens",
    "head_named",
    "measure",
    "see",
    "trace",
]
