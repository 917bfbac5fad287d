"""What is seen of a rig: eyes, ray casting, pictures and numbers."""

from seamsight.viewer.eye import Eyes, eyes_of, head_named
from seamsight.viewer.measures import Numbers, measure
from seamsight.viewer.projection import Projection
from seamsight.viewer.trace import View, framed, see

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
