"""The tables that say what is solid in a rig, beside its screens: frozen models.

As in `rig.py`, they are the one source of what a key is called, what it may hold and what it means.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, PrivateAttr

from seamsight.scene.table import Table, described
from seamsight.scene.units import (
    Angle,
    Colour,
    Depth,
    Length,
    Name,
    Size,
    Vector,
)

Material = Literal[
    "plywood",
    "mdf",
    "spruce",
    "aluminium",
    "steel",
    "acrylic",
    "polycarbonate",
    "glass",
    "plastic",
    "foam",
]
Role = Literal["hood", "bracket", "frame", "side", "panel"]


class Pose(Table):
    """Where a part is, and the direction in which the pilot looks at it square on."""

    on: Name | None = Field(
        None,
        description=(
            "name of the part on which this one is placed; position and angles are then measured "
            'from the middle of that part and in its directions. A screen, "NAME lens", a board, '
            'plate or mesh, a row of screens or "pilot" (both: the design eye point), or a seam, '
            '"A | B"'
        ),
    )
    centre: Vector = Field(
        description=(
            "middle of the part in rig axes: [right, forward, up]; with `on`: [right, away, up]"
        )
    )
    yaw: Angle = Field(
        0.0,
        description=(
            "direction in which you look at the part square on, to the right of straight ahead; a "
            "part on your right has a positive yaw"
        ),
    )
    pitch: Angle = Field(
        0.0,
        description=(
            "elevation of that direction; positive: the part is above you and its face looks down"
        ),
    )
    roll: Angle = Field(
        0.0, description="rotation about that direction, clockwise as you see the part"
    )


class Thing(Pose):
    """What has a name and a pose."""

    name: Name = Field(description="name of the part; no two parts may share one")
    mirror: Name | None = Field(
        None,
        description=(
            "name of a second one: its mirror image on the other side of the pilot's middle plane"
        ),
    )
    let_into: Name | None = Field(
        None,
        alias="in",
        description=(
            "name of what it is let into, so that `check` does not say that the two run into each "
            "other: a part, a screen with its lens and their boards, or a whole row of screens"
        ),
    )


class Solid(Thing):
    """What boards, plates and meshes share."""

    material: Material = Field("plywood", description="decides weight and colour")
    colour: Colour | None = Field(
        None, description='colour such as "#334455", in place of the material\'s'
    )
    role: Role | None = Field(None, description="kind of part; `overlap` groups parts by it")
    room: Annotated[bool, Field(strict=True)] = Field(
        False,
        description=(
            "true: part of the room, such as a wall or a desk, and not of what you build; left out "
            "of `cut-list` and `template`"
        ),
    )


class Sawn(Solid):
    """What boards and plates share."""

    notch: Depth | None = Field(
        None,
        description=(
            "with `in`: cuts a slot or notch for this part out of the boards and plates that it is "
            "let into, so much larger on every side"
        ),
    )

    def broken_rule(self) -> str | None:
        """A notch is in something."""
        if self.notch is not None and self.let_into is None:
            return 'notch needs in = "NAME", the part that it is cut out of'
        return None


class Board(Sawn):
    """A box; `centre` is its middle."""

    size: tuple[Size, Size, Size] = Field(
        description="[right, forward, up], before the board is turned"
    )


class CircleHole(Table):
    """A round hole."""

    shape: Literal["circle"] = Field(description='"circle"')
    at: tuple[Length, Length] = Field(
        description="middle of the hole: [right, up] from the plate's middle"
    )
    diameter: Size = Field(description="diameter of the hole")
    name: Name | None = Field(None, description="name of the hole")


class RectHole(Table):
    """A rectangular hole, with rounded corners if radius is given."""

    shape: Literal["rect"] = Field(description='"rect"')
    at: tuple[Length, Length] = Field(
        description="middle of the hole: [right, up] from the plate's middle"
    )
    size: tuple[Size, Size] = Field(description="[width, height]")
    radius: Depth = Field(0.0, description="radius of the corners")
    name: Name | None = Field(None, description="name of the hole")

    def broken_rule(self) -> str | None:
        """Rounded corners fit the sides."""
        if 2 * self.radius > min(self.size):
            most = min(self.size) / 2
            return f"radius must be at most half the shorter side, {most:g} (got {self.radius:g})"
        return None


Hole = Annotated[CircleHole | RectHole, Field(discriminator="shape")]


class Plate(Sawn):
    """A flat panel with holes; `centre` is its middle."""

    size: tuple[Size, Size] = Field(description="[width, height]")
    thickness: Size = Field(description="thickness, half of it on each side of `centre`")
    material: Material = Field("aluminium", description="decides weight and colour")
    holes: tuple[Hole, ...] = Field(
        (),
        max_length=500,
        description="holes right through the plate; they may overlap, or cross its edge",
    )

    def broken_rule(self) -> str | None:
        """No hole is wholly beside the plate."""
        for number, hole in enumerate(self.holes, start=1):
            half = (
                (hole.diameter / 2,) * 2
                if isinstance(hole, CircleHole)
                else (hole.size[0] / 2, hole.size[1] / 2)
            )
            if any(
                abs(at) >= reach + side / 2
                for at, reach, side in zip(hole.at, half, self.size, strict=True)
            ):
                called = f'hole "{hole.name}"' if hole.name else f"hole {number}"
                return f"{called} is outside the plate (at {hole.at[0]:g}, {hole.at[1]:g})"
        return super().broken_rule()


class Mesh(Solid):
    """A part from a 3D file; the origin of the file is put at `centre`."""

    file: Name = Field(description="STL, OBJ, PLY or GLB file in the rig file's folder")
    unit: Literal["mm", "cm", "m", "in", "ft"] = Field(
        "mm", description="unit of length in that file"
    )
    material: Material = Field("plastic", description="decides weight and colour")

    _is_mirrored: bool = PrivateAttr(False)

    @property
    def is_mirrored(self) -> bool:
        """Whether its file's left is on the right."""
        return self._is_mirrored

    def mirrored(self) -> Self:
        """Return the same with left and right of its file exchanged."""
        mesh = self.model_copy()
        mesh._is_mirrored = not self._is_mirrored
        return mesh


class Slot(Table):
    """Slots in the boards above and below a lens, in which its sheet stands."""

    model_config = described(
        "Slots in the boards above and below a lens, in which its sheet stands: order the sheet "
        "taller than its clear aperture, as `cut-list` says."
    )

    depth: Size = Field(4.0, description="depth of the slots")
    clearance: Depth = Field(
        0.5, description="how much wider a slot is than the lens is thick; and play above the lens"
    )
    front: Size = Field(8.0, description="how far the boards reach towards the pilot beyond a slot")


class Carcass(Table):
    """Boards above, below and beside the space between a lens and its screen."""

    thickness: Size = Field(18.0, description="thickness of the boards")
    material: Material = Field("plywood", description="decides weight and colour")
    depth: Size | None = Field(
        None,
        description="from the lens plane to the back edge of the boards; to the housing's back",
    )
    gap: Depth = Field(2.0, description="space between the screen's housing and the boards")
    slot: Slot | None = Field(
        None, description="slots for the lens; the boards then begin in front of the lens"
    )

    def broken_rule(self) -> str | None:
        """A slot leaves some of the board."""
        if self.slot and self.slot.depth >= self.thickness:
            return (
                f"slot depth must be below the thickness of the boards, {self.thickness:g} "
                f"(got {self.slot.depth:g})"
            )
        return None


class Hood(Table):
    """Boards from the edges of a lens, or of a bare screen, towards the pilot."""

    depth: Size = Field(description="from the lens plane or screen surface towards the pilot")
    thickness: Size = Field(6.0, description="thickness of the boards")
    material: Material = Field("plywood", description="decides weight and colour")
    sides: tuple[Literal["top", "bottom", "left", "right"], ...] = Field(
        ("top", "left", "right"),
        min_length=1,
        max_length=4,
        description="sides with a board; in a row, left and right at its two ends only",
    )
