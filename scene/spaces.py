"""What the things of a rig take up in space, where two of them must not be at once."""

import atexit
import functools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np

from seamsight.scene import shapes
from seamsight.scene.assembly import Assembly
from seamsight.scene.boxes import Boxes
from seamsight.scene.carcass import board_names
from seamsight.scene.frames import Array, move
from seamsight.scene.lamps import Lamp
from seamsight.scene.layout import PlacedScreen, rig_from_pose
from seamsight.scene.notes import Where
from seamsight.scene.parts import LAMP_ROLES, OWN_ROLES, Part, own_part_name

BOX_TRIANGLES = 12
ALL_SIDES = ("top", "bottom", "left", "right")
ALIKE = 1e-9  # relative difference of two volumes up to which they are one

_bodies: WeakKeyDictionary[Part, shapes.Body | None] = WeakKeyDictionary()
# manifold3d complains of bodies that are still there when a program ends
atexit.register(_bodies.clear)

Corners = tuple[tuple[float, float, float], tuple[float, float, float]]  # opposite ones, mm


@dataclass(frozen=True, eq=False)
class Space:
    """Something that takes up space.

    Attributes
    ----------
    name : str
    owners : tuple of str
        What it is part of: itself, its screen, that screen's bank.
    where : tuple of str
        Its table in the rig file.
    let_into : str or None
        What it is meant to be let into.
    boxes : Boxes or None
        Boxes that together fill it; None if it is no such thing.
    part : Part or None
        The part that it is; None for a screen and its lens.
    """

    name: str
    owners: tuple[str, ...]
    where: Where
    let_into: str | None
    boxes: Boxes | None
    part: Part | None

    @functools.cached_property
    def bounds(self) -> Array:
        """Its lowest and its highest corner, (2, 3)."""
        return self.part.bounds if self.part else self._filling.bounds

    @functools.cached_property
    def body(self) -> shapes.Body | None:
        """What it fills; None where its surface is open."""
        if self.part is None:
            return shapes.body_of(self.surfaces())
        if self.part not in _bodies:
            _bodies[self.part] = shapes.body_of(self.surfaces())
        return _bodies[self.part]

    def surfaces(self) -> list[Array]:
        """Return the surfaces (n, 3, 3) of the shapes that together are it."""
        if self.part:
            return [self.part.triangles]
        return [
            shapes.box(*(2 * halves)) @ axes.T + centre
            for centre, axes, halves in zip(*self._filling, strict=True)
        ]

    @property
    def _filling(self) -> Boxes:
        assert self.boxes is not None  # as it is no part
        return self.boxes


def spaces_of(assembly: Assembly) -> list[Space]:
    """Return everything of a rig that takes up space, screens first.

    A screen is one with its housing and bezel. A lens is as thick as its sheet, from its plane away
    from the pilot: edges that meet in their planes, as a bank's do, only touch.
    """
    found = [space for screen in assembly.screens for space in screen_spaces(screen)]
    built = _built_owners(assembly.screens)
    rig = assembly.rig
    found += [_lamp_space(lamp) for lamp in rig.lamp]
    tables = {"board": rig.board, "plate": rig.plate, "mesh": rig.mesh}
    own = {one.name: (table, one.let_into) for table, row in tables.items() for one in row}
    for part in assembly.parts:
        if part.name in own:
            table, let_into = own[part.name]
            found.append(_space(part, (part.name,), (table, part.name), let_into))
        elif part.role not in ("image", *LAMP_ROLES, *OWN_ROLES):
            screen, key = built[part.name]
            owners = (part.name, *_owners(screen))
            found.append(_space(part, owners, (*_lens_table(screen)[:2], key), None))
    return found


def screen_spaces(screen: PlacedScreen) -> Iterator[Space]:
    """Yield a screen with its housing and bezel, its lens, and its lens frame."""
    let_into = getattr(screen.display, "let_into", None)
    table = ("bank", screen.bank) if screen.bank else ("screen", screen.name)
    body = _boxes(screen.rig_from_screen, _housing(screen))
    yield Space(screen.name, _owners(screen), table, let_into, body, None)
    if screen.lens is None:
        return

    optic = screen.lens.optic
    right, up = optic.width / 2, optic.height / 2
    pieces = {"lens": [((-right, 0.0, -up), (right, optic.thickness, up))]}
    if optic.frame:
        borders = (optic.frame.width,) * 4
        pieces["lens frame"] = _bars((right, up), borders, 0.0, optic.frame.depth)
    for role, corners in pieces.items():
        name = own_part_name(screen.name, role)
        boxes = _boxes(screen.lens.rig_from_lens, corners)
        yield Space(name, (name, *_owners(screen)), _lens_table(screen), None, boxes, None)


def _space(part: Part, owners: tuple[str, ...], where: Where, let_into: str | None) -> Space:
    return Space(part.name, owners, where, let_into, _as_box(part), part)


def _lamp_space(lamp: Lamp) -> Space:
    right, up = np.array(lamp.size) / 2
    box = _boxes(rig_from_pose(lamp), [((-right, 0.0, -up), (right, lamp.depth, up))])
    return Space(lamp.name, (lamp.name,), ("lamp", lamp.name), lamp.let_into, box, None)


def _as_box(part: Part) -> Boxes | None:
    """Return a part that is a box along its own directions as one, else None."""
    if len(part.triangles) != BOX_TRIANGLES:
        return None
    axes = part.rig_from_part[:3, :3]
    own = part.triangles.reshape(-1, 3) @ axes
    low, high = own.min(axis=0), own.max(axis=0)
    filled = shapes.volume(part.triangles)
    whole = float(np.prod(high - low))
    if whole == 0 or abs(filled - whole) > ALIKE * whole:
        return None
    return Boxes(((low + high) / 2 @ axes.T)[None], axes[None], (high - low)[None] / 2)


def _owners(screen: PlacedScreen) -> tuple[str, ...]:
    return (screen.name, screen.bank) if screen.bank else (screen.name,)


def _lens_table(screen: PlacedScreen) -> Where:
    return ("bank", screen.bank, "lens") if screen.bank else ("lens", screen.name)


def _built_owners(screens: Iterable[PlacedScreen]) -> dict[str, tuple[PlacedScreen, str]]:
    """Return of what screen's carcass or hood a board may be, by its name."""
    return {
        name: (screen, key)
        for screen in screens
        for key, names in (
            ("carcass", board_names(screen.name, True, ())),
            ("hood", board_names(screen.name, False, ALL_SIDES)),
        )
        for name in names
    }


def _housing(screen: PlacedScreen) -> list[Corners]:
    """Return a screen's body, and the bars of its bezel, which a lip puts in front of the image."""
    right, up = np.array(screen.size) / 2
    display = screen.display
    bezel = display.bezel
    low = (-right - bezel.left, 0.0, -up - bezel.bottom)
    high = (right + bezel.right, display.body, up + bezel.top)
    borders = (bezel.left, bezel.right, bezel.bottom, bezel.top)
    return [(low, high), *_bars((right, up), borders, -display.lip, 0.0)]


def _bars(
    inner: tuple[float, float], borders: tuple[float, ...], near: float, far: float
) -> list[Corners]:
    """Return the bars left of, right of, below and above an opening, from a depth to another.

    `inner` is half its width and height.
    """
    right, up = inner
    left_of, right_of, below, above = borders
    outer = (-right - left_of, right + right_of, -up - below, up + above)
    bars = [
        ((outer[0], near, outer[2]), (-right, far, outer[3])),
        ((right, near, outer[2]), (outer[1], far, outer[3])),
        ((outer[0], near, outer[2]), (outer[1], far, -up)),
        ((outer[0], near, up), (outer[1], far, outer[3])),
    ]
    return [bar for bar, border in zip(bars, borders, strict=True) if border > 0 and far > near]


def _boxes(rig_from_part: Array, corners: list[Corners]) -> Boxes:
    """Return boxes given by opposite corners in a part's frame."""
    ends = np.array(corners)
    axes = np.repeat(rig_from_part[None, :3, :3], len(ends), axis=0)
    return Boxes(move(rig_from_part, ends.mean(axis=1)), axes, (ends[:, 1] - ends[:, 0]) / 2)
