"""Where parts run into each other, so that nobody can build them."""

import itertools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.boxes import Boxes, common_places, joined, overlap
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.notes import Note
from seamsight.scene.parts import own_part_name
from seamsight.scene.shapes import shared
from seamsight.scene.spaces import Space, screen_spaces, spaces_of
from seamsight.viewer.numbers.units import MM, in_words, number_words

TOUCHING = 0.05  # mm; what runs in less only touches
LEAST_VOLUME = 1.0  # mm³; round things of many flat sides share less where they only touch
AT_ONCE = 20_000  # pairs of boxes; few enough for a small computer's memory
CAN_BE_LET_IN = ("board", "plate", "mesh", "screen", "lamp")

Pairs = npt.NDArray[np.int64]


class Clash(NamedTuple):
    """How the spaces of two parts run into each other.

    Attributes
    ----------
    depth : float
        mm. Of boxes: the least that one would have to be moved to be free. Of others: the width of
        the deepest space that they share, across its narrowest side.
    place : (3,) float64
        A place that both take up, or near it.
    size : (3,) float64 or None
        Right, forward and up, of the space that others than boxes share there.
    """

    depth: float
    place: Array
    size: Array | None = None


def clashes(assembly: Assembly) -> list[Note]:
    """Return a note for each two parts that run into each other, the deepest first.

    Also one for each open mesh that cannot be held against what is near it.
    """
    spaces = spaces_of(assembly)
    found = []
    unclosed: dict[str, Space] = {}
    for first, second, clash in _clashes(spaces):
        if clash:
            found.append(_note(spaces[first], spaces[second], clash))
        else:
            pair = (spaces[first], spaces[second])
            unclosed |= {space.name: space for space in pair if space.body is None}
    found.sort(key=lambda note: -(note.amount or 0.0))
    return [*found, *(_unchecked(space) for space in unclosed.values())]


def clash_depths(pairs: Sequence[tuple[PlacedScreen, PlacedScreen]]) -> list[float]:
    """Return how deep parts of the screens of each pair run into each other, mm; 0 for none."""
    found = []
    for first, second in pairs:
        own = list(screen_spaces(first))
        spaces = [*own, *screen_spaces(second)]
        between = itertools.product(range(len(own)), range(len(own), len(spaces)))
        deepest = _box_clashes(spaces, np.array(list(between)))
        found.append(max((clash.depth for _, _, clash in deepest), default=0.0))
    return found


def _clashes(spaces: list[Space]) -> Iterator[tuple[int, int, Clash | None]]:
    """Yield which spaces run into each other, and how; None where one is open."""
    pairs = _near(spaces)
    boxes = np.array([space.boxes is not None for space in spaces], bool)
    of_boxes = boxes[pairs].all(axis=1)
    yield from _box_clashes(spaces, pairs[of_boxes])
    for first, second in pairs[~of_boxes].tolist():
        body, other = spaces[first].body, spaces[second].body
        if body is None or other is None:
            yield first, second, None
            continue
        common = [
            part
            for part in shared(body, other)
            if part.volume > LEAST_VOLUME and part.width > TOUCHING
        ]
        if common:
            deepest = max(common, key=lambda part: part.width)
            low, high = deepest.low, deepest.high
            yield first, second, Clash(deepest.width, (low + high) / 2, high - low)


def _near(spaces: list[Space]) -> Pairs:
    """Return the pairs (n, 2) whose upright boxes share some space, and that must not."""
    if not spaces:
        return np.empty((0, 2), np.int64)
    low, high = np.array([space.bounds for space in spaces]).transpose(1, 0, 2)
    meet = np.ones((len(spaces), len(spaces)), bool)
    for axis in range(3):
        first, last = low[:, axis], high[:, axis]
        least = np.minimum(last[:, None], last[None]) - np.maximum(first[:, None], first[None])
        meet &= least > TOUCHING
    pairs = np.argwhere(np.triu(meet, 1))
    told = [not _may_share(spaces[one], spaces[other]) for one, other in pairs.tolist()]
    return np.asarray(pairs[np.array(told, bool)])


def _may_share(one: Space, other: Space) -> bool:
    """Return whether one is let into the other, or is the lens in front of that very screen.

    A lens that is too near to its screen is told of in other words: see `misfits`.
    """
    if one.let_into in other.owners or other.let_into in one.owners:
        return True
    return any(a.name == own_part_name(b.name, "lens") for a, b in ((one, other), (other, one)))


def _box_clashes(spaces: list[Space], pairs: Pairs) -> Iterator[tuple[int, int, Clash]]:
    """Yield which pairs of spaces made of boxes run into each other: by their deepest boxes."""
    if not len(pairs):
        return
    counts = np.array([len(space.boxes.centres) if space.boxes else 0 for space in spaces])
    starts = counts.cumsum() - counts
    boxes = joined(space.boxes for space in spaces if space.boxes)
    for start in range(0, len(pairs), AT_ONCE):
        some = pairs[start : start + AT_ONCE]

        # every box of one with every box of the other
        each = (counts[some[:, 0]] * counts[some[:, 1]]).astype(int)
        pair = np.repeat(np.arange(len(some)), each)
        number = np.arange(len(pair)) - np.repeat(each.cumsum() - each, each)
        one, other = some[pair].T
        first, second = (
            Boxes(*(of_all[at] for of_all in boxes))
            for at in (
                starts[one] + number // counts[other],
                starts[other] + number % counts[other],
            )
        )
        depths = overlap(first, second)

        # the deepest of each pair of spaces
        order = np.lexsort([-depths, pair])
        deepest = order[np.unique(pair[order], return_index=True)[1]]
        deepest = deepest[depths[deepest] > TOUCHING]
        places = common_places(*(Boxes(*(of[deepest] for of in both)) for both in (first, second)))
        for at, place in zip(deepest.tolist(), places, strict=True):
            yield int(one[at]), int(other[at]), Clash(float(depths[at]), place)


def _note(first: Space, second: Space, clash: Clash) -> Note:
    x, y, z = (number_words(at, 0) for at in clash.place)
    words = f"{first.name} and {second.name} run into each other by "
    words += f"{in_words(clash.depth, MM)} near ({x}, {y}, {z})"
    if clash.size is not None:
        size = " × ".join(number_words(side, 1) for side in clash.size)
        words += f", over {size} mm (right × forward × up)"
    cure, where = _cure(first, second, "by that" if clash.size is None else "away")
    return Note("clash", (first.name, second.name), f"{words}: {cure}", clash.depth, where)


def _cure(first: Space, second: Space, far: str) -> tuple[str, tuple[str, ...]]:
    """Return what to do about a clash, and in which table."""
    shared_owners = set(first.owners) & set(second.owners)
    bank = first.where[1]
    if first.where[0] == "bank" and shared_owners == {bank}:
        return 'make toe larger, or write toe = "touch" with a wider gap', ("bank", bank, "toe")
    if shared_owners:  # of one screen
        return "make one of them smaller, or distance larger", second.where
    inner, outer = sorted((first, second), key=_room)
    if inner.where[0] not in CAN_BE_LET_IN:
        inner, outer = outer, inner
    if inner.where[0] not in CAN_BE_LET_IN:
        return f"move one {far}", first.where
    return f'move one {far}, or say in = "{outer.name}" for {inner.name}', inner.where


def _room(space: Space) -> tuple[bool, float]:
    """Return what tells which of two is let into the other: no screen, and the smaller one."""
    return space.where[0] == "screen", float(np.prod(space.bounds[1] - space.bounds[0]))


def _unchecked(space: Space) -> Note:
    text = (
        f"not checked: mesh {space.name} is not closed, so it may run into other parts; close it "
        "in the program that made it"
    )
    return Note("misfit", (space.name,), text, None, space.where)
