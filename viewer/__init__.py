"""What is seen of a rig: eyes, ray casting, pictures and numbers."""

from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import View, framed
from seamsight.viewer.eye import Eyes, eyes_of, head_named
from seamsight.viewer.numbers.measures import Numbers, measure
from seamsight.viewer.projection import Projection

__all__ = [
    "Eyes",
    "Numbers",
    "Projection",
    "View",
    "eyes_of",
    "framed",
    "head_named",
    "measure",
    "see",
]
