"""Where each board lies on the sheets that it is cut from: straight cuts from edge to edge.

Many orders are tried, always the same ones; what needs the fewest sheets, and then the least of the
last one, counts. Most tries change the best order so far a little.
"""

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from seamsight.scene.cutting import CutPiece
from seamsight.scene.errors import ChoiceError
from seamsight.scene.solids import Material

SHEET = (2440.0, 1220.0)
"""Along the grain and across it, mm: plywood as the trade sells it; of acrylic and MDF from memory.
"""
KERF = 3.2  # mm; the least of a panel saw's, as a guide to saw blades says
GRAINED = ("plywood", "spruce")  # whose boards lie along their sheet
MOST_THICK = 40.0  # mm; what is thicker is not cut from a sheet
TRIES = 400  # orders of the boards of one kind of sheet
LEAST_TRIES = 40
MOST_PLACED = 30_000  # boards in all these tries
NEAR = 0.8  # share of the tries that begin with the best order so far

CLOSE = 1e-6  # mm; boards that are larger by less still fit

Size = tuple[float, float]


class Placed(NamedTuple):
    """A board on its sheet.

    Attributes
    ----------
    piece : CutPiece
    at : tuple of float
        Its corner nearest to the sheet's, along the sheet's length and across it, mm.
    size : tuple of float
        How far it reaches along and across the sheet.
    """

    piece: CutPiece
    at: Size
    size: Size


@dataclass(frozen=True, eq=False)
class Layout:
    """Boards of one material and thickness on sheets of one size.

    Attributes
    ----------
    material : Material
    thickness : float
    sheet : tuple of float
        Along the grain, and across it, mm.
    kerf : float
    sheets : tuple of tuple of Placed
    """

    material: Material
    thickness: float
    sheet: Size
    kerf: float
    sheets: tuple[tuple[Placed, ...], ...]

    @property
    def used(self) -> float:
        """How far the last sheet is used up along its length, mm."""
        return max(one.at[0] + one.size[0] for one in self.sheets[-1])

    @property
    def area(self) -> float:
        """The area of all boards, mm²."""
        return sum(one.size[0] * one.size[1] for sheet in self.sheets for one in sheet)

    @property
    def share(self) -> float:
        """The share of the sheets, the last one as far as it is used, that becomes boards."""
        length, width = self.sheet
        return self.area / (((len(self.sheets) - 1) * length + self.used) * width)


class Stock(NamedTuple):
    """What sheets of a material are like: length along the grain, width, and the saw's kerf, mm."""

    sheet: Size = SHEET
    kerf: float = KERF


_Room = tuple[int, float, float, float, float]
"""A rectangle of a sheet that is still free: the sheet's number, its corner, its size."""

_Sheets = list[list[tuple[int, Size, Size]]]
_Cost = tuple[float, float, float]


class _Rule(NamedTuple):
    """How boards are placed.

    Attributes
    ----------
    cost : function
        Of a room, by its sheet and what a board leaves over along and across: the least counts.
    rips : function
        Whether the first cut runs along the whole room, by what is left over along and across.
    """

    cost: Callable[[int, float, float], _Cost]
    rips: Callable[[float, float], bool]


_COSTS: tuple[Callable[[int, float, float], _Cost], ...] = (
    lambda sheet, along, across: (sheet, min(along, across), max(along, across)),
    lambda sheet, along, across: (sheet, max(along, across), min(along, across)),
    lambda sheet, along, across: (min(along, across), sheet, max(along, across)),
)
_RIPS: tuple[Callable[[float, float], bool], ...] = (
    lambda along, across: True,
    lambda along, across: False,
    lambda along, across: along < across,
    lambda along, across: along >= across,
)
_RULES = [_Rule(cost, rips) for cost in _COSTS for rips in _RIPS]


def from_sheets(pieces: Sequence[CutPiece]) -> list[CutPiece]:
    """Return the pieces that are cut from sheets: the others are too thick."""
    return [piece for piece in pieces if piece.size[2] <= MOST_THICK]


def layouts(pieces: Sequence[CutPiece], stock: dict[Material, Stock]) -> list[Layout]:
    """Return a layout for each material and thickness.

    Raises
    ------
    ChoiceError
        When a board is larger than its sheet.
    """
    groups: dict[tuple[Material, float], list[CutPiece]] = {}
    for piece in from_sheets(pieces):
        groups.setdefault((piece.material, round(piece.size[2], 3)), []).append(piece)
    return [
        _layout(material, thickness, group, stock.get(material, Stock()))
        for (material, thickness), group in sorted(groups.items())
    ]


def _layout(material: Material, thickness: float, pieces: list[CutPiece], stock: Stock) -> Layout:
    ways = [_ways(piece, stock) for piece in pieces]
    sheets = tuple(
        tuple(Placed(pieces[one], at, size) for one, at, size in sheet)
        for sheet in _best(ways, stock)
    )
    return Layout(material, thickness, stock.sheet, stock.kerf, sheets)


def _best(ways: list[list[Size]], stock: Stock) -> _Sheets:
    """Return the best sheets found for boards that may lie in some ways each."""
    # large ones first, by every rule
    sizes = [each[0] for each in ways]
    large_first = [
        sorted(range(len(sizes)), key=lambda one: -sizes[one][0]),
        sorted(range(len(sizes)), key=lambda one: -sizes[one][1]),
        sorted(range(len(sizes)), key=lambda one: -sizes[one][0] * sizes[one][1]),
    ]
    starts = [(order, rule) for order in large_first for rule in _RULES]
    tried = [(_placed(order, ways, stock, rule), order, rule) for order, rule in starts]
    sheets, order, rule = min(tried, key=lambda one: _cost(one[0]))

    # then a little otherwise
    chance = random.Random(1)
    for _ in range(max(LEAST_TRIES, min(TRIES, MOST_PLACED // len(ways)))):
        near = chance.random() < NEAR
        before, by = (order, rule) if near else (chance.choice(large_first), chance.choice(_RULES))
        other = _shaken(before, chance)
        found = _placed(other, ways, stock, by)
        if _cost(found) <= _cost(sheets):
            sheets = found
            order = other
            rule = by
    return sheets


def _shaken(order: list[int], chance: random.Random) -> list[int]:
    """Return an order with up to three boards elsewhere."""
    other = list(order)
    for _ in range(chance.randint(1, 3)):
        board = other.pop(chance.randrange(len(other)))
        other.insert(chance.randint(0, len(other)), board)
    return other


def _ways(piece: CutPiece, stock: Stock) -> list[Size]:
    """Return the ways in which a piece may lie on its sheet."""
    length, width, _ = piece.size
    ways = [(length, width)]
    if piece.material not in GRAINED and length != width:
        ways.append((width, length))
    fitting = [way for way in ways if way[0] <= stock.sheet[0] and way[1] <= stock.sheet[1]]
    if not fitting:
        along, across = stock.sheet
        grain = " with its length along the grain" if piece.material in GRAINED else ""
        msg = (
            f"{piece.name}, {length:g} × {width:g} mm, does not fit on a {piece.material} sheet of "
            f"{along:g} × {across:g} mm{grain}: give a larger --sheet, make it of two boards, or "
            "write room = true if you do not build it"
        )
        raise ChoiceError(msg)
    return fitting


def _cost(sheets: _Sheets) -> tuple[int, float]:
    """Return what a layout costs: sheets, and the used length of the last one."""
    return len(sheets), max(at[0] + size[0] for _, at, size in sheets[-1])


def _placed(order: list[int], ways: list[list[Size]], stock: Stock, rule: _Rule) -> _Sheets:
    """Return the boards of each sheet, placed in an order, each in the room that costs least.

    Each board has the saw's kerf behind it both ways, and so has the sheet beyond its edges: no
    kerf is lost there.
    """
    kerf = stock.kerf
    free: list[_Room] = []
    sheets: _Sheets = []
    for one in order:
        found = _best_room(free, ways[one], kerf, rule)
        if found is None:
            free.append((len(sheets), 0.0, 0.0, stock.sheet[0] + kerf, stock.sheet[1] + kerf))
            sheets.append([])
            found = _best_room(free[-1:], ways[one], kerf, rule)
            assert found is not None  # it fits on a sheet of its own
            found = (len(free) - 1, found[1])
        number, size = found
        room = free.pop(number)
        sheets[room[0]].append((one, (room[1], room[2]), size))
        free += _rest(room, (size[0] + kerf, size[1] + kerf), rule)
    return sheets


def _best_room(
    free: list[_Room], ways: list[Size], kerf: float, rule: _Rule
) -> tuple[int, Size] | None:
    """Return which room costs a board least, and how it lies there; None where none is free."""
    best = None
    least = (math.inf, 0.0, 0.0)
    for number, (sheet, _, _, length, width) in enumerate(free):
        for size in ways:
            along, across = length - size[0] - kerf, width - size[1] - kerf
            if along >= -CLOSE and across >= -CLOSE:
                cost = rule.cost(sheet, along, across)
                if cost < least:
                    best, least = (number, size), cost
    return best


def _rest(room: _Room, size: Size, rule: _Rule) -> list[_Room]:
    """Return what is left of a room when a board is cut from its corner with two cuts."""
    sheet, x, y, length, width = room
    along, across = length - size[0], width - size[1]
    if rule.rips(along, across):
        beside = (sheet, x, y + size[1], length, across)
        behind = (sheet, x + size[0], y, along, size[1])
    else:
        beside = (sheet, x, y + size[1], size[0], across)
        behind = (sheet, x + size[0], y, along, width)
    return [one for one in (beside, behind) if min(one[3:]) > CLOSE]
