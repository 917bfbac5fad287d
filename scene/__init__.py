"""What is there: the rig file, parts in their places, optics as laws, what screens show."""

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.errors import (
    ChoiceError,
    FileError,
    OutputError,
    PoseError,
    Problem,
    RigError,
    SeamsightError,
)
from seamsight.scene.rig import Head, Rig
from seamsight.scene.rig_file import read_rig

__all__ = [
    "Assembly",
    "ChoiceError",
    "FileError",
    "Head",
    "OutputError",
    "PoseError",
    "Problem",
    "Rig",
    "RigError",
    "SeamsightError",
    "build",
    "read_rig",
]
