"""What a part does to a ray. In a file of its own, as compiled code rests on it and little else."""

from enum import IntEnum


class Kind(IntEnum):
    """What a part does to a ray."""

    OPAQUE = 0
    IMAGE = 1
    LENS = 2
