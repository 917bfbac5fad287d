"""The tables of a rig file, format 1, as frozen models.

The models, here and in `display.py`, `solids.py` and `outputs.py`, are the one source of what a key
is called, what it may hold and what it means: the reader, the JSON Schema for editors and the key
tables of sample_rigs/README.md all come from them. Lengths are mm, angles degrees, as in the file.
What spans several tables (names, references, files) is checked in `rig_rules.py`.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import Discriminator, Field, PrivateAttr, Tag

from seamsight.scene.display import Display, Optic, Wide
from seamsight.scene.lamps import Lamp
from seamsight.scene.outputs import MOST_OUTPUTS, Output
from seamsight.scene.solids import Board, Carcass, Hood, Mesh, Plate, Thing
from seamsight.scene.table import Table, described
from seamsight.scene.tolerance import Tolerance
from seamsight.scene.units import (
    Angle,
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
MOST_SCREENS = 48  # of a rig, those of banks included; `check` takes 10 s with as many lenses
MOST_HOLES = 1000  # of all plates; `check` takes some 5 s with as many
MARK_TOLERANCE = 25.0  # mm; what `within` is when a mark does not say


class Pilot(Table):
    """The person in the seat."""

    eye_point: Vector = Field(
        description=(
            "design eye point: the point midway between the pupils from which the cockpit is laid "
            "out; it does not move with the head"
        )
    )
    pupil_distance: Annotated[Size, Field(le=200)] = Field(
        63.0,
        description=(
            "interpupillary distance (IPD), from pupil centre to pupil centre; opticians call it PD"
        ),
    )
    neck: Depth = Field(
        100.0,
        description=(
            "distance from the eyes straight back to the neck pivot, about which the head turns"
        ),
    )
    eye_turn: Annotated[Depth, Field(le=30)] = Field(
        0.0,
        description=(
            "distance from a pupil back to the point about which the eye turns when it looks at a "
            "seam; 0: the pupils stay where they are; a published figure is 10.45"
        ),
    )
    seat: Length | None = Field(
        None,
        description=(
            "height of the seat's surface with the pilot on it, in rig axes; `reach` compares it "
            "with published seated eye heights"
        ),
    )

    def broken_rule(self) -> str | None:
        """Where a seat cannot be."""
        if self.seat is not None and self.seat >= self.eye_point[2]:
            return (
                f"seat must be below the design eye point, {self.eye_point[2]:g} "
                f"(got {self.seat:g})"
            )
        return None


class Head(Table):
    """A named head position; `design` always exists."""

    name: Name = Field(description='name of the head position, for `--head`; "design" is reserved')
    on: Name | None = Field(
        None,
        description=(
            "as for a part: `offset` then counts from that thing's middle, and turn 0 faces it"
        ),
    )
    offset: Vector = Field(
        (0.0, 0.0, 0.0),
        description=(
            "head offset: how far the point between the eyes is from the design eye point, before "
            "the head is turned: [right, forward, up]"
        ),
    )
    turn: Angle = Field(
        0.0, description="turn to the right; the eyes move too, as they turn about the neck pivot"
    )
    nod: Angle = Field(0.0, description="nod up; looking down is negative")
    tilt: Angle = Field(0.0, description="tilt towards the right shoulder; left is negative")

    def moved(self, by: Iterable[float], turn: float = 0, nod: float = 0, tilt: float = 0) -> Self:
        """Return the head farther right, forward and up, mm, and turned on, degrees."""
        x, y, z = (start + step for start, step in zip(self.offset, by, strict=True))
        angles = {"turn": self.turn + turn, "nod": self.nod + nod, "tilt": self.tilt + tilt}
        return self.model_copy(update={"offset": (x, y, z), **angles})


class World(Table):
    """The outside view, and where the aircraft is in it."""

    model_config = described(
        "The outside view, and where the aircraft is in it: a runway straight ahead on flat "
        "ground between hills."
    )

    eye_height: Height = Field(
        60_000.0,
        description=(
            "height of the design eye point above the ground outside; 60 m is right for a 3 degree "
            "approach, 800 m before the runway"
        ),
    )
    ahead: Distance = Field(
        800_000.0, description="distance from the design eye point forward to the runway's start"
    )
    heading: Angle = Field(0.0, description="direction of the nose, to the right of the runway's")
    pitch: Angle = Field(0.0, description="angle of the nose above the horizon")
    bank: Angle = Field(0.0, description="bank angle of the aircraft; right wing down is positive")
    grid: Annotated[bool, Field(strict=True)] = Field(
        False,
        description=(
            "true draws azimuth and elevation lines every 10 degrees, as seen from the design eye "
            "point, with figures"
        ),
    )


FreePath = Annotated[str, Field(min_length=1, max_length=200)]
FreeWords = Annotated[str, Field(strict=True, min_length=1, max_length=400)]
Toe = Annotated[
    Annotated[Literal["touch"], Tag("text")]
    | Annotated[float, Field(strict=True, ge=0, le=180, allow_inf_nan=False), Tag("number")],
    Discriminator(lambda value: "text" if isinstance(value, str) else "number"),
]


class Screen(Display, Thing):
    """A flat screen with a position of its own; `centre` is the middle of its image area."""


def _slot_rule(optic: Optic, carcass: Carcass | None) -> str | None:
    """Return that a lens stands in slots and in a frame, None where it does not."""
    if carcass and carcass.slot and optic.frame:
        return "stands either in slots of its carcass or in a frame: leave out slot or frame"
    return None


class Lens(Optic):
    """A lens in front of one [[screen]]."""

    screen: Name = Field(description="name of the [[screen]] behind the lens")
    carcass: Carcass | None = Field(None, description="boards between the lens and its screen")
    hood: Hood | None = Field(None, description="boards from the lens towards the pilot")

    def broken_rule(self) -> str | None:
        """What a lens keeps, and a slot for it."""
        return super().broken_rule() or _slot_rule(self, self.carcass)


class Bank(Table):
    """A row of equal screens, in an arc about the design eye point."""

    name: Name = Field(
        description='name of the row; its screens are "NAME.1" (leftmost), "NAME.2", …'
    )
    count: Annotated[int, Field(strict=True, ge=1, le=MOST_UNITS)] = Field(
        description="number of screens"
    )
    radius: Size = Field(
        description=(
            "distance from the design eye point to each lens plane (without lenses: to each screen "
            "surface), along the screen's centre line"
        )
    )
    toe: Toe = Field(
        "touch",
        description=(
            "angle between the centre lines of neighbouring screens, degrees; or "
            '"touch": their edges just meet (plus `gap`)'
        ),
    )
    gap: Depth = Field(
        0.0, description='with toe = "touch": straight distance between neighbouring edges'
    )
    pitch: Angle = Field(
        0.0,
        description=(
            "tilts every screen about its own horizontal middle line, in addition to `aim`; "
            "positive: its face looks down"
        ),
    )
    aim: tuple[Angle, Angle] = Field(
        (0.0, 0.0),
        description=(
            "direction of the row's middle: [right, up], degrees; the whole arc is turned there"
        ),
    )
    screen: Display = Field(
        description="every screen: the keys of [[screen]] without name and position"
    )
    lens: Optic | None = Field(
        None, description="the lens in front of every screen: the keys of [[lens]] without screen"
    )
    carcass: Carcass | None = Field(
        None,
        description=(
            "boards between every lens and its screen; side boards of neighbours are bevelled to "
            "fit between them"
        ),
    )
    hood: Hood | None = Field(None, description="boards from the screens towards the pilot")

    def broken_rule(self) -> str | None:
        """A gap is between touching screens; a wide picture has a part for every screen."""
        if self.gap > 0 and self.toe != "touch":
            return f'gap needs toe = "touch" (got gap {self.gap:g} with toe {self.toe:g})'
        if self.gap >= 2 * self.radius:
            return f"gap must be below twice the radius, {2 * self.radius:g} (got {self.gap:g})"
        if self.carcass and not self.lens:
            return "a carcass is between lens and screen: give a lens, or leave out carcass"
        if self.lens and _slot_rule(self.lens, self.carcass):
            return _slot_rule(self.lens, self.carcass)
        if self.hood and self.hood.depth >= self.radius:
            return f"hood depth must be below the radius, {self.radius:g} (got {self.hood.depth:g})"
        shows = self.screen.shows
        if isinstance(shows, Wide) and shows.part + self.count - 1 > shows.of:
            return (
                f"screen shows has too few parts: {self.count} screens from part {shows.part} on "
                f"need of = {shows.part + self.count - 1} (got {shows.of})"
            )
        return None


class Mark(Table):
    """A reference point: a point of the rig, compared with the same one in the real aircraft."""

    name: Name = Field(description="name of the reference point")
    on: Name | None = Field(None, description="as for a part: `at` then counts from its middle")
    at: Vector = Field(description="where it is in the rig, in rig axes: [right, forward, up]")
    want: Vector = Field(
        description=(
            "where it should be, from the DESIGN EYE POINT: [right, forward, up], as measured in "
            "the real cockpit"
        )
    )
    within: Size = Field(MARK_TOLERANCE, description="tolerance: how far off it may be")


class Rig(Table):
    """A whole rig file."""

    format: Literal[1] = Field(description="format of the file: 1")
    name: Name = Field(description="title of the rig")
    note: str = Field("", strict=True, max_length=4000, description="notes on the rig")
    values: dict[Name, Length] = Field(
        {},
        max_length=500,
        description='numbers of your own, for formulas: text that begins with "="',
    )
    free: dict[FreePath, FreeWords] = Field(
        {},
        max_length=20,
        description=(
            "values that `choose` may change: a path in quotes, and a range or a list in quotes, "
            'as "outside.radius" = "550..700" or "outside.lens.focal_length" = "400, 450, 500"'
        ),
    )
    pilot: Pilot = Field(description="the person in the seat: eyes and neck")
    world: World = Field(World(), description='the outside view, for screens that show "world"')
    head: tuple[Head, ...] = Field((), max_length=200, description="named head positions")
    screen: tuple[Screen, ...] = Field(
        (), max_length=MOST_SCREENS, description="flat screens, each with a position of its own"
    )
    lens: tuple[Lens, ...] = Field(
        (), max_length=MOST_SCREENS, description="flat Fresnel lenses in front of these screens"
    )
    bank: tuple[Bank, ...] = Field(
        (),
        max_length=24,
        description=(
            "rows of equal screens in an arc about the design eye point; nothing to do with the "
            "bank angle"
        ),
    )
    board: tuple[Board, ...] = Field((), max_length=500, description="plain boxes")
    plate: tuple[Plate, ...] = Field((), max_length=100, description="flat panels with holes")
    mesh: tuple[Mesh, ...] = Field((), max_length=100, description="parts from 3D files")
    lamp: tuple[Lamp, ...] = Field(
        (), max_length=100, description="ceiling lamps and windows, which shine in the room"
    )
    mark: tuple[Mark, ...] = Field((), max_length=200, description="reference points")
    output: tuple[Output, ...] = Field(
        (), max_length=MOST_OUTPUTS, description="sockets of the computer, and what they feed"
    )
    tolerance: Tolerance = Field(
        Tolerance(), description="how exactly it is built, for `seamsight exact`"
    )

    _file: Path = PrivateAttr(Path("rig.toml"))
    _changes: dict[str, Any] = PrivateAttr(default_factory=dict)
    _source: str | None = PrivateAttr(None)
    _stands: dict[str, str] = PrivateAttr(default_factory=dict)
    _images: frozenset[str] = PrivateAttr(frozenset())

    @property
    def file(self) -> Path:
        """The rig file; meshes and pictures are read from its folder."""
        return self._file

    @property
    def changes(self) -> Mapping[str, Any]:
        """What counts instead of the file's values, by paths such as "outside.radius"."""
        return self._changes

    @property
    def source(self) -> str | None:
        """The rig file's text; None for a rig that was read from none."""
        return self._source

    @property
    def stands(self) -> Mapping[str, str]:
        """On what parts stood in the file, by their names, where poses are settled."""
        return self._stands

    @property
    def images(self) -> frozenset[str]:
        """The names of parts that are mirror images of others, where poses are settled."""
        return self._images

    def read_from(
        self, file: Path, changes: Mapping[str, Any] | None = None, source: str | None = None
    ) -> Self:
        """Return this rig as read from a file with a text, of which some values do not count."""
        rig = self.model_copy()
        rig._file = file
        rig._changes = dict(changes or {})
        rig._source = source
        return rig

    def keeping(self, stands: dict[str, str], images: frozenset[str]) -> Self:
        """Return this rig, which keeps on what parts stood, and which are mirror images."""
        rig = self.model_copy()
        rig._stands = stands
        rig._images = images
        return rig

    def heads(self) -> dict[str, Head]:
        """Return every head position by name, `design` first."""
        return {DESIGN: Head(name=DESIGN)} | {head.name: head for head in self.head}

    def _repr_html_(self) -> str:
        """Return what a notebook shows: a plan, an elevation and a table of screens."""
        from seamsight.scene.plan import rig_html  # which builds on this module

        return rig_html(self)
