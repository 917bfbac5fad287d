"""The tables of a rig file, format 1, as frozen models.

The models, here and in `display.py`, are the one source of what a key is called, what it may hold
and what it means: the reader, the JSON Schema for editors and the key tables of
sample_rigs/README.md all come from them. Lengths are mm, angles degrees, as in the file. What spans
several tables (names, references, files) is checked in `rig_rules.py`.
"""

from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import Discriminator, Field, PrivateAttr, Tag

from seamsight.scene.display import Display, Optic, Wide
from seamsight.scene.table import Table, described
from seamsight.scene.units import (
    Angle,
    Colour,
    Depth,
    Distance,
    Height,
    Length,
    Name,
    Size,
    Vector,
)

# the head position that every rig has: eyes at the design eye point, face straight ahead
DESIGN = "design"
MOST_UNITS = 24  # of a bank
MARK_TOLERANCE = 25.0  # mm; what `within` is when a mark does not say

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
    """Where a part stands and which way the pilot looks at it square on."""

    centre: Vector = Field(description="the part's middle in the rig frame: right, forward, up")
    yaw: Angle = Field(
        0.0,
        description=(
            "azimuth of the viewing axis, clockwise seen from above; "
            "a thing on the right has a positive yaw"
        ),
    )
    pitch: Angle = Field(
        0.0,
        description=(
            "elevation of the viewing axis; positive: the thing is high and its face looks down"
        ),
    )
    roll: Angle = Field(
        0.0, description="turn about the viewing axis, clockwise as the pilot sees it"
    )


class Pilot(Table):
    """The person in the seat."""

    eye_point: Vector = Field(description="design eye point, midway between the pupils")
    pupil_distance: Annotated[Size, Field(le=200)] = Field(63.0, description="between the pupils")
    neck: Depth = Field(
        100.0,
        description="from the eye point straight back to the point about which the head turns",
    )
    eye_turn: Annotated[Depth, Field(le=30)] = Field(
        0.0,
        description=(
            "from a pupil back to the point about which the eye turns when it looks at a seam; 0: "
            "pupils stay where they are; a published figure is 10.45"
        ),
    )


class Head(Table):
    """A named head position; `design` always exists."""

    name: Name = Field(description='what `--head` calls it; "design" is taken')
    offset: Vector = Field(
        (0.0, 0.0, 0.0), description="of the mid-eye point from the eye point, before turning"
    )
    turn: Angle = Field(
        0.0, description="azimuth of the face, clockwise; the eyes swing about the neck"
    )
    nod: Angle = Field(0.0, description="elevation of the face")
    tilt: Angle = Field(
        0.0,
        description=(
            "ear to shoulder, clockwise as the pilot feels it: positive, towards the right shoulder"
        ),
    )


class World(Table):
    """The outside scene, and how the aircraft stands in it."""

    model_config = described(
        "The outside scene, and how the aircraft stands in it: a runway straight ahead on flat "
        "ground between hills."
    )

    eye_height: Height = Field(
        60_000.0,
        description="of the eye point above the ground; 60 m fits a 3 degree approach 800 m out",
    )
    ahead: Distance = Field(
        800_000.0, description="from the eye point forward to the runway's threshold"
    )
    heading: Angle = Field(0.0, description="of the nose, clockwise from the runway's direction")
    pitch: Angle = Field(0.0, description="of the nose above the horizon")
    bank: Angle = Field(0.0, description="right wing down is positive")
    grid: Annotated[bool, Field(strict=True)] = Field(
        False,
        description=(
            "draws azimuths and elevations from the design eye point, each 10 degrees, with figures"
        ),
    )


Toe = Annotated[
    Annotated[Literal["touch"], Tag("text")]
    | Annotated[float, Field(strict=True, ge=0, le=180, allow_inf_nan=False), Tag("number")],
    Discriminator(lambda value: "text" if isinstance(value, str) else "number"),
]


class Screen(Display, Pose):
    """A flat display placed by its pose; `centre` is the middle of its image surface."""

    name: Name = Field(description="unique among all parts")


class Lens(Optic):
    """A lens in front of one placed screen."""

    screen: Name = Field(description="name of the [[screen]] it stands in front of")


class Bank(Table):
    """Several like units in an arc about the eye point."""

    name: Name = Field(description='units are called "NAME.1" (leftmost), "NAME.2", …')
    count: Annotated[int, Field(strict=True, ge=1, le=MOST_UNITS)] = Field(
        description="how many units"
    )
    radius: Size = Field(
        description=(
            "eye point to each unit's lens plane (without a lens: its image surface), along its "
            "axis"
        )
    )
    toe: Toe = Field("touch", description='angle between neighbouring axes, or "touch"')
    gap: Depth = Field(
        0.0, description='with toe = "touch": straight-line distance between neighbouring edges'
    )
    pitch: Angle = Field(
        0.0,
        description=(
            "turns every unit about its own horizontal axis, on top of the aim; positive: its face "
            "looks down"
        ),
    )
    aim: tuple[Angle, Angle] = Field(
        (0.0, 0.0),
        description="azimuth and elevation of the bank's middle; the whole arc is turned there",
    )
    screen: Display = Field(
        description="what every unit is: the keys of [[screen]] without name and pose"
    )
    lens: Optic | None = Field(
        None, description="what stands before every unit: the keys of [[lens]] without screen"
    )

    def broken_rule(self) -> str | None:
        """A gap lies between touching units; a wide picture has a part for every unit."""
        if self.gap > 0 and self.toe != "touch":
            return f'gap goes with toe = "touch" (got gap {self.gap:g} with toe {self.toe:g})'
        if self.gap >= 2 * self.radius:
            return f"gap must be below twice the radius, {2 * self.radius:g} (got {self.gap:g})"
        shows = self.screen.shows
        if isinstance(shows, Wide) and shows.part + self.count - 1 > shows.of:
            return (
                f"screen shows has too few parts: {self.count} units from part {shows.part} "
                f"need more than {shows.of}"
            )
        return None


class Solid(Pose):
    """What boards, plates and meshes share."""

    name: Name = Field(description="unique among all parts")
    material: Material = Field("plywood", description="sets density and colour")
    colour: Colour | None = Field(None, description='"#334455"; overrides the material\'s')
    role: Role | None = Field(None, description="what reports call it")


class Board(Solid):
    """A box; `centre` is its middle."""

    size: tuple[Size, Size, Size] = Field(description="[right, away, up] in its own frame")


class CircleHole(Table):
    """A round hole."""

    shape: Literal["circle"] = Field(description='"circle"')
    at: tuple[Length, Length] = Field(description="right of and above the plate's middle")
    diameter: Size = Field(description="of the hole")
    name: Name | None = Field(None, description="free text")


class RectHole(Table):
    """A rectangular hole, with rounded corners if radius is given."""

    shape: Literal["rect"] = Field(description='"rect"')
    at: tuple[Length, Length] = Field(description="right of and above the plate's middle")
    size: tuple[Size, Size] = Field(description="[across, up]")
    radius: Depth = Field(0.0, description="of the corners")
    name: Name | None = Field(None, description="free text")

    def broken_rule(self) -> str | None:
        """Rounded corners fit the sides."""
        if 2 * self.radius > min(self.size):
            most = min(self.size) / 2
            return f"radius must be at most half the shorter side, {most:g} (got {self.radius:g})"
        return None


Hole = Annotated[CircleHole | RectHole, Field(discriminator="shape")]


class Plate(Solid):
    """A flat panel with holes; `centre` is its middle."""

    size: tuple[Size, Size] = Field(description="[across, up]")
    thickness: Size = Field(description="of the sheet, half of it on each side of `centre`")
    material: Material = Field("aluminium", description="sets density and colour")
    holes: tuple[Hole, ...] = Field(
        (), max_length=500, description="cut through; they may overlap, or cross the edge"
    )

    def broken_rule(self) -> str | None:
        """No hole lies beside the plate."""
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
                return f"{called} lies outside the plate (at {hole.at[0]:g}, {hole.at[1]:g})"
        return None


class Mesh(Solid):
    """A part modelled elsewhere; its file's origin lands on `centre`."""

    file: Name = Field(
        description="STL, OBJ, PLY or GLB beside the rig file; never outside its folder"
    )
    unit: Literal["mm", "cm", "m", "in", "ft"] = Field("mm", description="of the file")
    material: Material = Field("plastic", description="sets density and colour")


class Mark(Table):
    """A point to hold to a reference, e.g. measured in the real aircraft."""

    name: Name = Field(description="what reports call it")
    at: Vector = Field(description="where it is, in the rig frame")
    want: Vector = Field(description="where it should be, from the eye point")
    within: Size = Field(MARK_TOLERANCE, description="how far off it may be")


class Rig(Table):
    """A whole rig file."""

    format: Literal[1] = Field(description="of this file: 1")
    name: Name = Field(description="free text")
    note: str = Field("", strict=True, max_length=4000, description="free text")
    pilot: Pilot = Field(description="the person in the seat")
    world: World = Field(World(), description='the outside scene, for screens that show "world"')
    head: tuple[Head, ...] = Field((), max_length=200, description="named head positions")
    screen: tuple[Screen, ...] = Field(
        (), max_length=64, description="flat displays placed by their poses"
    )
    lens: tuple[Lens, ...] = Field(
        (), max_length=64, description="flat Fresnel lenses before placed screens"
    )
    bank: tuple[Bank, ...] = Field(
        (), max_length=24, description="like units in an arc about the eye point"
    )
    board: tuple[Board, ...] = Field((), max_length=500, description="boxes")
    plate: tuple[Plate, ...] = Field((), max_length=100, description="flat panels with holes")
    mesh: tuple[Mesh, ...] = Field((), max_length=100, description="parts modelled elsewhere")
    mark: tuple[Mark, ...] = Field((), max_length=200, description="points to hold to a reference")

    _file: Path = PrivateAttr(Path("rig.toml"))

    @property
    def file(self) -> Path:
        """The rig file; meshes and pictures are read from its folder."""
        return self._file

    def read_from(self, file: Path) -> Self:
        """Return this rig as read from a file."""
        rig = self.model_copy()
        rig._file = file
        return rig

    def heads(self) -> dict[str, Head]:
        """Return every head position by name, `design` first."""
        return {DESIGN: Head(name=DESIGN)} | {head.name: head for head in self.head}

    def _repr_html_(self) -> str:
        """Return what a notebook shows: a plan, an elevation and a table of screens."""
        from seamsight.scene.plan import rig_html  # which builds on this module

        return rig_html(self)
