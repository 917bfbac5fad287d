"""By how much each screen, lens and board of a build is off: from draws to where things stand.

Things are moved after the rig is laid out: each screen, lens and board in its own directions, and
turned about its own middle. A row's joints turn the units beyond them, with all that belongs to
these, about the edge where two units meet.
"""

import itertools
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, move, transform
from seamsight.scene.layout import PlacedScreen, arc_frame, half_widths
from seamsight.scene.parts import Part
from seamsight.scene.rig import Bank
from seamsight.scene.tolerance import Tolerance

PLACE_AND_TURN = 6  # numbers: right, away, up, then yaw, pitch, roll


class Group(NamedTuple):
    """Values with one tolerance.

    Attributes
    ----------
    name : str
        What is called off.
    key : str
        The key of the rig's `[tolerance]`.
    unit : "mm", "°" or "%"
    """

    name: str
    key: str
    unit: str


GROUPS = (
    Group("screen positions", "position", "mm"),
    Group("screen angles", "angle", "°"),
    Group("lens positions", "position", "mm"),
    Group("lens angles", "angle", "°"),
    Group("focal length", "focal_length", "%"),
    Group("lens size", "lens_size", "mm"),
    Group("toe", "toe", "°"),
    Group("board positions", "board_position", "mm"),
    Group("board angles", "board_angle", "°"),
)
_SCREEN, _LENS, _BOARD = (0, 1), (2, 3), (7, 8)
_FOCAL_LENGTH, _LENS_SIZE, _TOE = 4, 5, 6
_PER_UNIT = {"mm": 1.0, "°": math.pi / 180, "%": 0.01}


def limits_of(tolerance: Tolerance) -> Array:
    """Return the ± limit of each of `GROUPS`, in its own unit."""
    position, angle = tolerance.of_boards
    told = tolerance.model_dump() | {"board_position": position, "board_angle": angle}
    return np.array([told[group.key] for group in GROUPS])


class Builds(NamedTuple):
    """Where things stand in n builds, by their names.

    Attributes
    ----------
    screens, lenses, boards : dict
        {name: (n, 4, 4) rig-from-thing}; lenses by the names of their screens.
    focal_lengths : dict
        {screen: (n,) mm}.
    grown : dict
        {screen: (n, 2) mm}: how much wider and higher the lens's aperture is.
    """

    screens: dict[str, Array]
    lenses: dict[str, Array]
    boards: dict[str, Array]
    focal_lengths: dict[str, Array]
    grown: dict[str, Array]


class Errors:
    """What of a rig is off, and to which of `GROUPS` each number belongs that says by how much.

    Parameters
    ----------
    assembly : Assembly
    screens : sequence of PlacedScreen
        Those that count; with their lenses.
    boards : sequence of Part
        Boards, plates and meshes that count.

    Attributes
    ----------
    groups : (d,) int64
        The group of each column of draws.
    """

    def __init__(
        self, assembly: Assembly, screens: Sequence[PlacedScreen], boards: Sequence[Part]
    ) -> None:
        self._screens = list(screens)
        self._boards = list(boards)
        self._columns: dict[object, npt.NDArray[np.int64]] = {}
        self._groups: list[int] = []
        self._hinges = {}

        for screen in self._screens:
            self._add(("screen", screen.name), [_SCREEN[0]] * 3 + [_SCREEN[1]] * 3)
            if screen.lens:
                self._add(("lens", screen.name), [_LENS[0]] * 3 + [_LENS[1]] * 3)
                self._add(("size", screen.name), [_LENS_SIZE] * 2)
                self._add(("lot", _lot(screen)), [_FOCAL_LENGTH])
        for bank in assembly.rig.bank:
            units = [screen for screen in self._screens if screen.bank == bank.name]
            for before, behind in itertools.pairwise(units):
                if behind.number == before.number + 1:
                    self._add(("joint", behind.name), [_TOE])
                    self._hinges[behind.name] = _hinge(before, behind, bank, assembly)
        for board in self._boards:
            self._add(("board", board.name), [_BOARD[0]] * 3 + [_BOARD[1]] * 3)
        self.groups = np.array(self._groups, np.int64)

    def _add(self, key: object, groups: list[int]) -> None:
        if key not in self._columns:
            first = len(self._groups)
            self._columns[key] = np.arange(first, first + len(groups))
            self._groups += groups

    def builds(self, drawn: Array, limits: Array) -> Builds:
        """Return where things stand in builds.

        Parameters
        ----------
        drawn : (n, d) float64
            -1..1 of each column's limit.
        limits : (g,) float64
            ± limit of each group, in its own unit.
        """
        scale = limits * [_PER_UNIT[group.unit] for group in GROUPS]
        off = drawn * scale[self.groups]
        units = self._turned_units(off)
        screens, lenses, focal_lengths, grown = {}, {}, {}, {}
        for screen in self._screens:
            name = screen.name
            screens[name] = units[name] @ self._moved(off, ("screen", name), screen.rig_from_screen)
            if screen.lens:
                placed = self._moved(off, ("lens", name), screen.lens.rig_from_lens)
                lenses[name] = units[name] @ placed
                share = off[:, self._columns["lot", _lot(screen)][0]]
                focal_lengths[name] = screen.lens.optic.focal_length * (1 + share)
                grown[name] = off[:, self._columns["size", name]]

        # a unit's own boards turn with it
        boards = {}
        for board in self._boards:
            placed = self._moved(off, ("board", board.name), board.rig_from_part)
            boards[board.name] = units[board.screen] @ placed if board.screen in units else placed
        return Builds(screens, lenses, boards, focal_lengths, grown)

    def _moved(self, off: Array, key: object, rig_from_thing: Array) -> Array:
        return rig_from_thing @ moves(off[:, self._columns[key]])

    def _turned_units(self, off: Array) -> dict[str, Array]:
        """Return by which transform (n, 4, 4), rig frame, each unit is turned by its row's joints.

        The middle unit stays (of an even number, the left one of both in the middle).
        """
        stands = np.tile(np.eye(4), (len(off), 1, 1))
        turned = {screen.name: stands for screen in self._screens}
        for bank in dict.fromkeys(screen.bank for screen in self._screens if screen.bank):
            units = [screen.name for screen in self._screens if screen.bank == bank]
            middle = (len(units) - 1) // 2
            for number in range(middle + 1, len(units)):
                turn = self._joint(off, units[number], 1.0)
                turned[units[number]] = turned[units[number - 1]] @ turn
            for number in range(middle - 1, -1, -1):
                turn = self._joint(off, units[number + 1], -1.0)
                turned[units[number]] = turned[units[number + 1]] @ turn
        return turned

    def _joint(self, off: Array, name: str, sense: float) -> Array:
        """Return the turn (n, 4, 4), rig frame, about the joint at a unit's left edge."""
        if name not in self._hinges:
            return np.tile(np.eye(4), (len(off), 1, 1))
        rig_from_hinge = self._hinges[name]
        angles = np.zeros((len(off), PLACE_AND_TURN))
        angles[:, 3] = sense * off[:, self._columns["joint", name][0]]
        return np.asarray(rig_from_hinge @ moves(angles) @ np.linalg.inv(rig_from_hinge))


def moves(errors: Array) -> Array:
    """Return transforms (n, 4, 4) from errors (n, 6): right, away, up, mm; yaw, pitch, roll.

    Radians; the turn is that of `frames.rotation`.
    """
    (cy, cp, cr), (sy, sp, sr) = np.cos(errors[:, 3:].T), np.sin(errors[:, 3:].T)
    moved = np.zeros((len(errors), 4, 4))
    moved[:, :3, :3] = np.moveaxis(
        np.array(
            [
                [cy * cr + sy * sp * sr, sy * cp, cy * sr - sy * sp * cr],
                [-sy * cr + cy * sp * sr, cy * cp, -sy * sr - cy * sp * cr],
                [-cp * sr, sp, cp * cr],
            ]
        ),
        2,
        0,
    )
    moved[:, :3, 3] = errors[:, :3]
    moved[:, 3, 3] = 1.0
    return moved


def _lot(screen: PlacedScreen) -> tuple[float, float, float]:
    """Return what lenses of one kind have in common."""
    assert screen.lens is not None
    optic = screen.lens.optic
    return optic.focal_length, optic.width, optic.height


def _hinge(before: PlacedScreen, behind: PlacedScreen, bank: Bank, assembly: Assembly) -> Array:
    """Return the frame (4, 4) of a row's joint: midway between two edges, upright as the arc."""
    left, right = half_widths(bank)
    away = -bank.lens.separation if bank.lens else 0.0
    edges = [
        move(unit.rig_from_screen, np.array([across, away, 0.0]))
        for unit, across in ((before, right), (behind, -left))
    ]
    return transform(arc_frame(bank, assembly.rig)[:3, :3], (edges[0] + edges[1]) / 2)
