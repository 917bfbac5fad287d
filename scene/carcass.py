"""The boards that a lens's or bank's `carcass` and `hood` stand for.

All are upright prisms in the frame of the unit that they belong to, whose origin is the middle of
the lens (without one, of the image): x right, y away, z up.
"""

import dataclasses
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from seamsight.scene.display import Optic
from seamsight.scene.frames import Array, shift
from seamsight.scene.layout import Edges, PlacedScreen, half_widths, place, toe_angle
from seamsight.scene.outlines import Groove
from seamsight.scene.rig import Bank, Lens, Rig
from seamsight.scene.solids import Carcass, Hood, Material, Role, Slot

CARCASS_SIDES = ("top", "bottom", "left", "right")
LEAST_AREA = 1.0  # mm²; nothing smaller is a board


@dataclass(frozen=True, eq=False)
class BuiltBoard:
    """A board that follows from others' measures.

    Attributes
    ----------
    name : str
        As "outside.1 carcass top".
    screen : str
        The unit that it belongs to.
    role : str
    material : str
    rig_from_board : (4, 4) float64
        Its frame: the unit's directions, its origin the middle of the box that holds it.
    outline : (n, 2) float64
        Corners right of and away from its middle, anticlockwise.
    height : float
        How far it reaches up.
    groove : Groove or None
        A slot for the lens, across the whole board.
    """

    name: str
    screen: str
    role: Role
    material: Material
    rig_from_board: Array
    outline: Array
    height: float
    groove: Groove | None = None


class _Limit(NamedTuple):
    """Upright planes through the design eye point, between a unit and its neighbours.

    Attributes
    ----------
    left, right : float or None
        Slopes of the planes against the unit's axis, across by away; None at a bank's end.
    eye : (2,) float64
        The eye point, right and away from the unit's middle.
    leaning : tuple of float
        Cosine of the unit's pitch, and how far its upper or lower edge leans by it, mm.
    """

    left: float | None
    right: float | None
    eye: Array
    leaning: tuple[float, float]


def board_names(unit: str, carcass: bool, hood_sides: tuple[str, ...]) -> list[str]:
    """Return what the boards of a unit may be called."""
    sides = [f"carcass {side}" for side in CARCASS_SIDES] if carcass else []
    return [f"{unit} {name}" for name in (*sides, *(f"hood {side}" for side in hood_sides))]


def boards_of(rig: Rig) -> list[BuiltBoard]:
    """Return the boards of every carcass and hood of a rig whose poses are settled."""
    lenses = {lens.screen: lens for lens in rig.lens}
    banks = {bank.name: bank for bank in rig.bank}
    owners: list[Bank | Lens] = [*rig.lens, *rig.bank]
    if not any(owner.carcass or owner.hood for owner in owners):
        return []
    found: list[BuiltBoard] = []
    for screen in place(rig):
        owner = banks[screen.bank] if screen.bank else lenses.get(screen.name)
        found += unit_boards(screen, owner) if owner else []
    return found


def sheets_of(rig: Rig) -> dict[str, tuple[float, float]]:
    """Return width and height, mm, of the sheet of every lens that stands in slots, by screen.

    The rig's poses are settled. A sheet goes to the bottom of the lower slot, and has its play in
    the upper one.
    """
    lenses = {lens.screen: lens for lens in rig.lens}
    banks = {bank.name: bank for bank in rig.bank}
    found = {}
    for screen in place(rig):
        owner = banks[screen.bank] if screen.bank else lenses.get(screen.name)
        carcass = owner.carcass if owner else None
        if carcass and carcass.slot and screen.lens:
            edges = _around(screen.rim, screen.housing, carcass.gap)
            slot = carcass.slot
            height = edges.top - edges.bottom + 2 * slot.depth - slot.clearance
            found[screen.name] = (screen.lens.optic.width, height)
    return found


def unit_boards(screen: PlacedScreen, owner: Bank | Lens) -> list[BuiltBoard]:
    """Return the boards of one screen, as its bank or its lens says."""
    limit = _limit_of(owner, screen.number) if isinstance(owner, Bank) else _NO_LIMIT
    found: list[BuiltBoard] = []
    if owner.carcass and screen.lens:
        found += _carcass(screen, owner.carcass, limit)
    if owner.hood:
        slotted = owner.carcass if owner.carcass and owner.carcass.slot else None
        begin = _begin(screen.lens.optic, slotted) if slotted and screen.lens else 0.0
        found += _hood(screen, owner.hood, limit, begin)
    return found


def _carcass(screen: PlacedScreen, carcass: Carcass, limit: _Limit) -> Iterator[BuiltBoard]:
    assert screen.lens is not None
    optic = screen.lens.optic
    edges = _around(screen.rim, screen.housing, carcass.gap)
    near = _begin(optic, carcass)
    far = carcass.depth or optic.separation + screen.display.body
    thick = carcass.thickness

    # those at the sides reach over those above and below
    boxes = {
        "top": Edges(edges.left, edges.right, edges.top, edges.top + thick),
        "bottom": Edges(edges.left, edges.right, edges.bottom - thick, edges.bottom),
        "left": Edges(edges.left - thick, edges.left, edges.bottom - thick, edges.top + thick),
        "right": Edges(edges.right, edges.right + thick, edges.bottom - thick, edges.top + thick),
    }
    for side, box in boxes.items():
        name = f"{screen.name} carcass {side}"
        boards = _board(screen, name, "frame", carcass.material, box, (near, far), limit)
        if carcass.slot and side in ("top", "bottom"):
            yield from (_grooved(board, side, optic, carcass.slot, near) for board in boards)
        else:
            yield from boards


def _grooved(board: BuiltBoard, side: str, optic: Optic, slot: Slot, begin: float) -> BuiltBoard:
    """Return a board with its slot, whose near edge lies so far away from the lens plane."""
    away = board.outline[:, 1].min() - begin
    near, far = (float(at + away) for at in _slot_sides(optic, slot))
    return dataclasses.replace(board, groove=Groove(near, far, slot.depth, side == "bottom"))


def _slot_sides(optic: Optic, slot: Slot) -> tuple[float, float]:
    """Return where the sides of a lens's slot are, away from the lens plane.

    With grooves to the screen all of the lens is in front of its plane, otherwise a third.
    """
    ahead = optic.thickness if optic.grooves == "screen" else optic.thickness / 3
    play = slot.clearance / 2
    return -ahead - play, optic.thickness - ahead + play


def _begin(optic: Optic, carcass: Carcass) -> float:
    """Return where the boards of a carcass begin, away from the lens plane."""
    if carcass.slot:
        return _slot_sides(optic, carcass.slot)[0] - carcass.slot.front
    return optic.frame.depth if optic.frame else 0.0


def _hood(screen: PlacedScreen, hood: Hood, limit: _Limit, begin: float) -> Iterator[BuiltBoard]:
    """Yield the boards of a hood, up to where its carcass begins; none if that is in front."""
    edges = screen.rim
    thick = hood.thickness
    low = edges.bottom - (thick if "bottom" in hood.sides else 0.0)
    high = edges.top + (thick if "top" in hood.sides else 0.0)
    boxes = {
        "top": Edges(edges.left, edges.right, edges.top, edges.top + thick),
        "bottom": Edges(edges.left, edges.right, edges.bottom - thick, edges.bottom),
        "left": Edges(edges.left - thick, edges.left, low, high),
        "right": Edges(edges.right, edges.right + thick, low, high),
    }
    for side in dict.fromkeys(hood.sides):
        if getattr(limit, side, None) is None:  # a neighbour's image is seen there
            name = f"{screen.name} hood {side}"
            reach = (-hood.depth, max(begin, -hood.depth))
            yield from _board(screen, name, "hood", hood.material, boxes[side], reach, limit)


def _board(
    screen: PlacedScreen,
    name: str,
    role: Role,
    material: Material,
    box: Edges,
    reach: tuple[float, float],
    limit: _Limit,
) -> Iterator[BuiltBoard]:
    """Yield a board within a box, cut where its neighbours' begin; nothing where none is left."""
    near, far = reach
    outline = np.array(
        [(box.left, near), (box.right, near), (box.right, far), (box.left, far)], dtype=float
    )
    for side, slope in ((1.0, limit.right), (-1.0, limit.left)):
        if slope is not None:
            outline = _cut(outline, side, slope, limit)
    if len(outline) < 3 or _area(outline) < LEAST_AREA:
        return

    low, high = outline.min(axis=0), outline.max(axis=0)
    x, y = (low + high) / 2
    rig_from_unit = screen.lens.rig_from_lens if screen.lens else screen.rig_from_screen
    yield BuiltBoard(
        name=name,
        screen=screen.name,
        role=role,
        material=material,
        rig_from_board=rig_from_unit @ shift(x, y, (box.bottom + box.top) / 2),
        outline=outline - (x, y),
        height=box.top - box.bottom,
    )


def _cut(outline: Array, side: float, slope: float, limit: _Limit) -> Array:
    """Return what of a convex outline lies on a unit's own side of a plane towards a neighbour."""
    cosine, lean = limit.leaning
    away = (outline[:, 1] - limit.eye[1]) * cosine - lean
    free = slope * away - side * (outline[:, 0] - limit.eye[0])
    kept = []
    for here in range(len(outline)):
        there = (here + 1) % len(outline)
        if free[here] >= 0:
            kept.append(outline[here])
        if free[here] * free[there] < 0:
            share = free[here] / (free[here] - free[there])
            kept.append(outline[here] + share * (outline[there] - outline[here]))
    return np.array(kept).reshape(-1, 2)


def _limit_of(bank: Bank, number: int) -> _Limit:
    """Return where a bank's unit ends: midway between its own edge and its neighbour's."""
    left, right = (math.atan2(half, bank.radius) for half in half_widths(bank))
    toe = toe_angle(bank)
    across, up = bank.lens.offset if bank.lens else (0.0, 0.0)
    height = bank.lens.height if bank.lens else bank.screen.size[1]
    pitch = math.radians(bank.pitch)
    return _Limit(
        left=math.tan((toe + left - right) / 2) if number > 1 else None,
        right=math.tan((toe + right - left) / 2) if number < bank.count else None,
        eye=np.array([-across, -bank.radius]),
        leaning=(math.cos(pitch), abs(math.sin(pitch)) * (height / 2 + abs(up))),
    )


_NO_LIMIT = _Limit(None, None, np.zeros(2), (1.0, 0.0))


def _around(rim: Edges, housing: Edges, gap: float) -> Edges:
    """Return what holds a lens's rim, and a housing with a gap around it."""
    return Edges(
        left=min(rim.left, housing.left - gap),
        right=max(rim.right, housing.right + gap),
        bottom=min(rim.bottom, housing.bottom - gap),
        top=max(rim.top, housing.top + gap),
    )


def _area(outline: Array) -> float:
    x, y = outline.T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2
