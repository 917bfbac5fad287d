"""The table that says how exactly a rig is built: a frozen model, as those in `rig.py`."""

from typing import Annotated

from pydantic import Field

from seamsight.scene.table import Table, described
from seamsight.scene.units import Angle, Depth

_Place = Annotated[Depth, Field(le=100)]
_Turn = Annotated[Angle, Field(ge=0, le=10)]


class Tolerance(Table):
    """How exactly the rig is built."""

    model_config = described(
        "How exactly the rig is built: each measure lies anywhere within ± this of what the rig "
        "says, all values equally likely."
    )

    position: _Place = Field(
        1.0,
        description="± of each screen's and each lens's place: right, away and up, each by itself",
    )
    angle: _Turn = Field(
        0.25, description="± of each screen's and each lens's yaw, pitch and roll, degrees"
    )
    focal_length: Annotated[float, Field(strict=True, ge=0, le=20, allow_inf_nan=False)] = Field(
        5.0,
        description=(
            "± of the focal length, percent; lenses of one kind come from one lot and are off alike"
        ),
    )
    lens_size: Annotated[Depth, Field(le=50)] = Field(
        1.0, description="± of each clear aperture's width and height"
    )
    toe: _Turn = Field(
        0.25,
        description=(
            "± of the angle between neighbouring screens of a row, degrees; they turn about the "
            "edge where they meet, and the row's middle screen stays"
        ),
    )
    board_position: _Place | None = Field(
        None, description="± of the place of each board, plate and mesh; as `position`"
    )
    board_angle: _Turn | None = Field(
        None, description="± of the yaw, pitch and roll of each of these, degrees; as `angle`"
    )

    @property
    def of_boards(self) -> tuple[float, float]:
        """± of boards: of their place, mm, and of their angles, degrees."""
        position = self.position if self.board_position is None else self.board_position
        return position, self.angle if self.board_angle is None else self.board_angle
