"""Slots and notches: what boards and plates with `notch` cut out of what they are let into."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from seamsight.scene import shapes
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import rig_from_pose
from seamsight.scene.parts import Part
from seamsight.scene.rig import Rig


class Tool(NamedTuple):
    """What cuts a notch.

    Attributes
    ----------
    name : str
        The board or plate that the notch is for.
    into : str
        What it is let into: a part, a screen with its boards, or a bank.
    low, high : (3,) float64
        The corners of its box, play included, in its own frame.
    rig_from_tool : (4, 4) float64
    """

    name: str
    into: str
    low: Array
    high: Array
    rig_from_tool: Array

    @property
    def triangles(self) -> Array:
        """Its box (n, 3, 3), rig frame."""
        return move(self.rig_from_tool, shapes.box(*(self.high - self.low)))

    def cuts(self, part: Part) -> bool:
        """Whether it is let into a part, and that is a board or plate that it comes near to."""
        bank = part.screen.rpartition(".")[0]
        if part.density is None or part.name == self.name:
            return False
        if self.into not in (part.name, part.screen, bank):
            return False
        own = self.triangles.reshape(-1, 3)
        low, high = part.bounds
        return bool((own.max(axis=0) > low).all() and (own.min(axis=0) < high).all())


def tools_of(rig: Rig) -> list[Tool]:
    """Return what cuts notches in a rig whose poses are settled."""
    boards = [(board, board.size) for board in rig.board]
    plates = [(one, (one.size[0], one.thickness, one.size[1])) for one in rig.plate]
    found = []
    for one, size in (*boards, *plates):
        if one.notch is not None and one.let_into is not None:
            half = np.array(size) / 2 + one.notch
            found.append(Tool(one.name, one.let_into, -half, half, rig_from_pose(one)))
    return found


def notched(parts: Iterable[Part], rig: Rig) -> Iterator[Part]:
    """Yield parts, those that others are let into with their notches."""
    tools = tools_of(rig)
    for part in parts:
        cutting = [tool.triangles for tool in tools if tool.cuts(part)]
        if cutting:
            rest = shapes.without(part.triangles, cutting)
            if len(rest):  # nothing is left of it otherwise
                yield replace(part, triangles=rest)
        else:
            yield part


class Notch(NamedTuple):
    """What of a part a tool cuts away.

    Attributes
    ----------
    name : str
        The board or plate that it is for.
    corners : (n, 3) float64
        Of what is cut away, in the part's own frame.
    """

    name: str
    corners: Array


def notches_of(part: Part, whole: Array, tools: Iterable[Tool]) -> Iterator[Notch]:
    """Yield the notches of a part; `whole` (n, 3, 3), rig frame, is the part before it was cut."""
    for tool in tools:
        if tool.cuts(part):
            corners = shapes.common_corners(whole, tool.triangles)
            if len(corners):
                yield Notch(tool.name, move(inverse(part.rig_from_part), corners))
