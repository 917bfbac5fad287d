"""Where every screen and lens stands: banks spread out, poses as transforms, degrees as radians."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from seamsight.scene.display import Display, Optic, Wide
from seamsight.scene.frames import Array, rotation, shift, transform
from seamsight.scene.rig import Bank, Rig, Screen
from seamsight.scene.solids import Pose


class Edges(NamedTuple):
    """How far something reaches to each side of a unit's middle, mm: left and bottom negative."""

    left: float
    right: float
    bottom: float
    top: float


@dataclass(frozen=True, eq=False)
class PlacedLens:
    """A lens in its place. Its frame's origin is the aperture's middle, in the lens plane."""

    rig_from_lens: Array
    optic: Optic


@dataclass(frozen=True, eq=False)
class PlacedScreen:
    """A screen in its place, with its own lens if it has one. Lengths mm.

    Its frame's origin is the image's middle; y = 0 is the screen surface.
    """

    name: str
    rig_from_screen: Array
    display: Display
    lens: PlacedLens | None
    bank: str = ""
    number: int = 0  # its place in the bank, 1 for the leftmost; 0 for a screen of its own

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the image."""
        return self.display.size

    @property
    def rim(self) -> Edges:
        """The outer edges of the lens with its frame, without one of the housing."""
        return rim(self.display, self.lens.optic if self.lens else None)

    @property
    def housing(self) -> Edges:
        """The outer edges of the bezel, from the middle of the lens if there is one."""
        return housing(self.display, self.lens.optic if self.lens else None)

    @property
    def shows(self) -> str | Wide:
        """What is on it."""
        return self.display.shows

    @property
    def outside(self) -> bool:
        """Whether it is a unit of a bank, or shows the outside view or part of a wide picture."""
        return bool(self.bank) or isinstance(self.shows, Wide) or self.shows == "world"


def rig_from_pose(pose: Pose) -> Array:
    """Return the transform of a posed part."""
    turns = (math.radians(angle) for angle in (pose.yaw, pose.pitch, pose.roll))
    return transform(rotation(*turns), pose.centre)


def arc_frame(bank: Bank, rig: Rig) -> Array:
    """Return the frame of a bank's arc: at the design eye point, facing the bank's middle."""
    azimuth, elevation = (math.radians(angle) for angle in bank.aim)
    return transform(rotation(azimuth, elevation, 0.0), rig.pilot.eye_point)


def place(rig: Rig) -> tuple[PlacedScreen, ...]:
    """Return every screen of a rig in its place, banks spread out into their units."""
    optics = {lens.screen: lens for lens in rig.lens}
    single = [placed_screen(screen, optics.get(screen.name)) for screen in rig.screen]
    return (*single, *(unit for bank in rig.bank for unit in _units(bank, rig)))


def placed_screen(screen: Screen, optic: Optic | None) -> PlacedScreen:
    """Return a screen of its own in its place, with its lens if it has one."""
    rig_from_screen = rig_from_pose(screen)
    return PlacedScreen(
        name=screen.name,
        rig_from_screen=rig_from_screen,
        display=screen,
        lens=_placed_lens(rig_from_screen, optic),
    )


def unit_name(bank: str, number: int) -> str:
    """Return what a bank's unit is called, 1 being the leftmost."""
    return f"{bank}.{number}"


def toe_angle(bank: Bank) -> float:
    """Return the angle between neighbouring axes of a bank, radians.

    With touching edges at distances r1, r2 from the eye point and a straight gap g between them,
    the edges are `2 asin(sqrt((g^2 - (r1 - r2)^2) / (4 r1 r2)))` apart (law of cosines); each axis
    lies `atan(a / radius)` from its own edge. For equal half-widths a:
    `2 atan(a / radius) + 2 asin(gap / (2 hypot(a, radius)))`.
    """
    if not isinstance(bank.toe, str):
        return math.radians(bank.toe)
    left, right = half_widths(bank)
    edge_left, edge_right = math.hypot(left, bank.radius), math.hypot(right, bank.radius)
    chord = max(0.0, bank.gap**2 - (edge_left - edge_right) ** 2)
    between = 2 * math.asin(min(1.0, math.sqrt(chord / (4 * edge_left * edge_right))))
    return math.atan2(left, bank.radius) + math.atan2(right, bank.radius) + between


def half_widths(bank: Bank) -> tuple[float, float]:
    """Return how far a unit's rim reaches left and right of the screen's middle, mm."""
    edges = rim(bank.screen, bank.lens)
    across = bank.lens.offset[0] if bank.lens else 0.0
    return -edges.left - across, edges.right + across


def rim(display: Display, optic: Optic | None) -> Edges:
    """Return the outer edges of a unit's lens with its frame, without one of its housing."""
    if optic is None:
        return housing(display, optic)
    border = optic.frame.width if optic.frame else 0.0
    x = optic.width / 2 + border
    z = optic.height / 2 + border
    return Edges(-x, x, -z, z)


def housing(display: Display, optic: Optic | None) -> Edges:
    """Return the outer edges of a unit's bezel, from the middle of its lens if it has one."""
    across, up = optic.offset if optic else (0.0, 0.0)
    x, z = (side / 2 for side in display.size)
    bezel = display.bezel
    return Edges(
        left=-across - x - bezel.left,
        right=-across + x + bezel.right,
        bottom=-up - z - bezel.bottom,
        top=-up + z + bezel.top,
    )


def _placed_lens(rig_from_screen: Array, optic: Optic | None) -> PlacedLens | None:
    if optic is None:
        return None
    right, up = optic.offset
    return PlacedLens(rig_from_screen @ shift(right, -optic.separation, up), optic)


def _units(bank: Bank, rig: Rig) -> list[PlacedScreen]:
    # turn the arc to its aim, and each unit's axis along the arc
    rig_from_arc = arc_frame(bank, rig)
    toe = toe_angle(bank)
    arc_from_axis = [
        transform(rotation((number - (bank.count - 1) / 2) * toe, 0.0, 0.0), (0.0, 0.0, 0.0))
        for number in range(bank.count)
    ]

    # go out to the lens plane, turn about it, and on to the screen surface
    behind = bank.lens.separation if bank.lens else 0.0
    axis_from_screen = (
        shift(0.0, bank.radius, 0.0)
        @ transform(rotation(0.0, math.radians(bank.pitch), 0.0), (0.0, 0.0, 0.0))
        @ shift(0.0, behind, 0.0)
    )
    places = [rig_from_arc @ turned @ axis_from_screen for turned in arc_from_axis]

    return [
        PlacedScreen(
            name=unit_name(bank.name, number),
            rig_from_screen=rig_from_screen,
            display=_display(bank, number),
            lens=_placed_lens(rig_from_screen, bank.lens),
            bank=bank.name,
            number=number,
        )
        for number, rig_from_screen in enumerate(places, start=1)
    ]


def _display(bank: Bank, number: int) -> Display:
    """Return a unit's display: the parts of a wide picture count on from unit to unit."""
    shows = bank.screen.shows
    if not isinstance(shows, Wide):
        return bank.screen
    part = shows.model_copy(update={"part": shows.part + number - 1})
    return bank.screen.model_copy(update={"shows": part})
