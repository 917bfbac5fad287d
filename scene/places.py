"""Things that stand on other things, `on = "..."`, and mirror images, put in the rig's own frame.

Every frame has its origin in the middle of a thing: x right, y away, z up, as for any part. One can
stand on a screen or a bank's unit (the middle of its image), on "NAME lens" (of its aperture), on a
board, plate or mesh, on "pilot" (the design eye point, facing straight ahead), on a bank (the same,
facing its aim), and on a seam, "A | B": midway between the facing edges of two neighbours' lenses
or bezels, turned half way from one to the other.
"""

import functools
import math
from typing import Any, TypeVar

import numpy as np

from seamsight.scene.carcass import unit_boards
from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array, angles, move, rotation, shift, transform
from seamsight.scene.lamps import Lamp
from seamsight.scene.layout import (
    PlacedScreen,
    arc_frame,
    place,
    placed_screen,
    rig_from_pose,
    unit_name,
)
from seamsight.scene.rig import Bank, Head, Lens, Mark, Rig, Screen
from seamsight.scene.solids import Mesh, Plate, Solid, Thing

PILOT = "pilot"
SEAM = " | "
_ACROSS = np.diag([-1.0, 1.0, 1.0, 1.0])

_Thing = TypeVar("_Thing", bound=Thing)
_Solid = TypeVar("_Solid", bound=Solid | Lamp)


def settled(rig: Rig) -> Rig:
    """Return a rig whose poses all count in the rig's own frame, mirror images written out.

    Raises
    ------
    ChoiceError
        When something stands on what is not there, or things stand on each other in a circle.
    """
    tables = (rig.screen, rig.board, rig.plate, rig.mesh, rig.lamp, rig.mark, rig.head)
    if not any(one.on or getattr(one, "mirror", None) for table in tables for one in table):
        return rig

    frames = _Frames(rig)
    screens, lenses = _screens(rig, frames)
    placed = rig.model_copy(
        update={
            "screen": screens,
            "lens": lenses,
            "board": _solids(rig.board, frames),
            "plate": _solids(rig.plate, frames),
            "mesh": _solids(rig.mesh, frames),
            "lamp": _solids(rig.lamp, frames),
            "mark": tuple(_mark(mark, frames) for mark in rig.mark),
            "head": tuple(_head(head, frames) for head in rig.head),
        }
    )

    # keep what stood on what
    stands = {one.name: one.on for one in frames.things if one.on}
    images = frozenset(one.mirror for one in frames.things if one.mirror)
    return placed.keeping(stands, images)


def _screens(rig: Rig, frames: "_Frames") -> tuple[tuple[Screen, ...], tuple[Lens, ...]]:
    """Return every screen with its mirror image, and every lens with that of its screen's."""
    screens: list[Screen] = []
    lenses = list(rig.lens)
    for screen in rig.screen:
        screens.append(_posed(screen, frames.of(screen.name)) if _moves(screen) else screen)
        if screen.mirror:
            let_into = frames.opposite(screen.let_into)
            screens.append(_mirrored_screen(screen, frames.of(screen.mirror), let_into))
            own = [lens for lens in rig.lens if lens.screen == screen.name]
            lenses += [_mirrored_lens(lens, screen.mirror) for lens in own]
    return tuple(screens), tuple(lenses)


def _mirrored_screen(screen: Screen, rig_from_screen: Array, let_into: str | None = None) -> Screen:
    bezel = screen.bezel
    turned = bezel.model_copy(update={"left": bezel.right, "right": bezel.left})
    keys = {"name": screen.mirror, "let_into": let_into, "bezel": turned}
    return _posed(screen, rig_from_screen, **keys)


def _mirrored_lens(lens: Lens, screen: str) -> Lens:
    across, up = lens.offset
    return lens.model_copy(update={"screen": screen, "offset": (-across, up)})


def _solids(table: tuple[_Solid, ...], frames: "_Frames") -> tuple[_Solid, ...]:
    found = []
    for solid in table:
        found.append(_posed(solid, frames.of(solid.name)) if _moves(solid) else solid)
        if solid.mirror:
            let_into = frames.opposite(solid.let_into)
            found.append(_mirror_image(solid, frames.of(solid.mirror), let_into))
    return tuple(found)


def _mirror_image(solid: _Solid, rig_from_part: Array, let_into: str | None) -> _Solid:
    assert solid.mirror is not None
    image = _posed(solid, rig_from_part, name=solid.mirror, let_into=let_into)
    if isinstance(image, Mesh):
        return image.mirrored()
    if isinstance(image, Plate):
        holes = [hole.model_copy(update={"at": (-hole.at[0], hole.at[1])}) for hole in image.holes]
        return image.model_copy(update={"holes": tuple(holes)})
    return image


def _moves(one: Thing) -> bool:
    return one.on is not None or one.mirror is not None


def _posed(one: _Thing, rig_from_part: Array, **keys: Any) -> _Thing:
    """Return a posed thing that stands in a frame, on nothing."""
    pose: dict[str, Any] = {"on": None, "mirror": None}
    if keys or one.on:
        pose |= _pose(rig_from_part)
    return one.model_copy(update=pose | keys)


def _pose(rig_from_part: Array) -> dict[str, Any]:
    """Return the keys of a pose that lead to a frame."""
    # + 0.0: no minus zero
    yaw, pitch, roll = (math.degrees(angle) + 0.0 for angle in angles(rig_from_part[:3, :3]))
    centre = tuple(float(x) for x in rig_from_part[:3, 3])
    return {"centre": centre, "yaw": yaw, "pitch": pitch, "roll": roll}


def _mark(mark: Mark, frames: "_Frames") -> Mark:
    if mark.on is None:
        return mark
    at = move(frames.of(mark.on), np.array(mark.at))
    return mark.model_copy(update={"on": None, "at": tuple(float(x) for x in at)})


def _head(head: Head, frames: "_Frames") -> Head:
    """Return a head as from the design eye point."""
    if head.on is None:
        return head
    turns = (math.radians(angle) for angle in (head.turn, head.nod, head.tilt))
    rig_from_face = frames.of(head.on) @ transform(rotation(*turns), head.offset)
    pose = _pose(rig_from_face)
    offset = np.subtract(pose["centre"], frames.eye_point)
    return head.model_copy(
        update={
            "on": None,
            "offset": tuple(float(x) for x in offset),
            "turn": pose["yaw"],
            "nod": pose["pitch"],
            "tilt": pose["roll"],
        }
    )


class _Frames:
    """The frame of each thing of a rig by its name, found when it is asked for."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self.eye_point = np.array(rig.pilot.eye_point)
        self._posed: dict[str, Thing] = {}
        self._mirrors: dict[str, str] = {}
        self.things: tuple[Thing, ...] = (
            *rig.screen,
            *rig.board,
            *rig.plate,
            *rig.mesh,
            *rig.lamp,
        )
        for one in self.things:
            self._posed[one.name] = one
            if one.mirror:
                self._mirrors[one.mirror] = one.name
        self._found: dict[str, Array] = {PILOT: shift(*self.eye_point)}
        self._found |= {bank.name: arc_frame(bank, rig) for bank in rig.bank}
        self._open: list[str] = []

    def of(self, name: str) -> Array:
        """Return the frame (4, 4), rig-from-thing, of the thing of a name."""
        if name not in self._found:
            if name in self._open:
                msg = f"things stand on each other in a circle: {', '.join(self._open)}"
                raise ChoiceError(msg)
            self._open.append(name)
            self._found[name] = self._find(name)
            self._open.pop()
        return self._found[name]

    def opposite(self, name: str | None) -> str | None:
        """Return what is there for a mirror image as this is for the thing itself.

        That is the mirror image of this or of what it is part of, the unit of a row that is as far
        from the other end, or, in the middle, this itself.
        """
        if name is None or (name in self._posed and self._posed[name].mirror is None):
            return name
        images = {own: image for image, own in self._mirrors.items()}
        banks = {bank.name: bank.count for bank in self._rig.bank}
        for unit in self._units.values():
            images[unit.name] = unit_name(unit.bank, banks[unit.bank] + 1 - unit.number)
        for own, image in images.items():
            if name == own or name.startswith(f"{own} "):
                return image + name.removeprefix(own)
        return name

    def _find(self, name: str) -> Array:
        if name in self._posed:
            pose = self._posed[name]
            placed = rig_from_pose(pose)
            return np.asarray(self.of(pose.on) @ placed) if pose.on else placed
        if name in self._mirrors:
            # x to -x in the rig about the eye point, and in the thing itself, which stays a turn
            about = shift(self.eye_point[0], 0.0, 0.0)
            back = shift(-self.eye_point[0], 0.0, 0.0)
            return np.asarray(about @ _ACROSS @ back @ self.of(self._mirrors[name]) @ _ACROSS)
        first, bar, second = name.partition(SEAM)
        if bar:
            return _seam(self._screen(first), self._screen(second))
        if name in self._units:
            return self._units[name].rig_from_screen
        return self._own_part(name)

    def _own_part(self, name: str) -> Array:
        """Return the frame of a lens, or of a board of a carcass or hood, by its name."""
        for unit in (*self._units, *self._posed, *self._mirrors):
            if not name.startswith(f"{unit} ") or not self._is_screen(unit):
                continue
            screen = self._screen(unit)
            if screen.lens and name == f"{unit} lens":
                return screen.lens.rig_from_lens
            owner = self._owner(screen)
            for board in unit_boards(screen, owner) if owner else ():
                if board.name == name:
                    return board.rig_from_board
        msg = f'there is nothing called "{name}" to stand on'
        raise ChoiceError(msg)

    @functools.cached_property
    def _units(self) -> dict[str, PlacedScreen]:
        banks = self._rig.model_copy(update={"screen": (), "lens": ()})
        return {unit.name: unit for unit in place(banks)}

    def _is_screen(self, name: str) -> bool:
        own = self._mirrors.get(name, name)
        return name in self._units or isinstance(self._posed.get(own), Screen)

    def _owner(self, screen: PlacedScreen) -> Bank | Lens | None:
        """Return what says which boards a screen has around it."""
        if screen.bank:
            return next(bank for bank in self._rig.bank if bank.name == screen.bank)
        return self._lens(screen.name)

    def _lens(self, screen: str) -> Lens | None:
        own = self._mirrors.get(screen, screen)
        lens = next((lens for lens in self._rig.lens if lens.screen == own), None)
        return _mirrored_lens(lens, screen) if lens and own != screen else lens

    def _screen(self, name: str) -> PlacedScreen:
        """Return the screen or unit of a name in its place."""
        if name in self._units:
            return self._units[name]
        own = self._mirrors.get(name, name)
        screen = self._posed.get(own)
        if not isinstance(screen, Screen):
            msg = f'there is no screen "{name}" to make a seam of'
            raise ChoiceError(msg)
        frame = self.of(name)
        turned = _posed(screen, frame) if own == name else _mirrored_screen(screen, frame)
        return placed_screen(turned, self._lens(name))


def _seam(first: PlacedScreen, second: PlacedScreen) -> Array:
    """Return the frame midway between the facing edges of two screens' lenses or bezels."""
    here, there = (_edge_middles(screen) for screen in (first, second))
    apart = np.linalg.norm(here[:, None] - there[None], axis=2)
    one, other = np.unravel_index(np.argmin(apart), apart.shape)
    middle = (here[one] + there[other]) / 2

    # half way from one's directions to the other's: away and up count, right follows
    axes = first.rig_from_screen[:3, :3] + second.rig_from_screen[:3, :3]
    away = axes[:, 1] / np.linalg.norm(axes[:, 1])
    up = axes[:, 2] - (axes[:, 2] @ away) * away
    up /= np.linalg.norm(up)
    return transform(np.column_stack([np.cross(away, up), away, up]), middle)


def _edge_middles(screen: PlacedScreen) -> Array:
    """Return the middles (4, 3) of the edges of a screen's lens with its frame, or its bezel."""
    edges = screen.rim
    x, z = (edges.left + edges.right) / 2, (edges.bottom + edges.top) / 2
    frame = screen.lens.rig_from_lens if screen.lens else screen.rig_from_screen
    front = 0.0 if screen.lens else -screen.display.lip
    places = [(edges.left, z), (edges.right, z), (x, edges.bottom), (x, edges.top)]
    return move(frame, np.array([(right, front, up) for right, up in places]))
