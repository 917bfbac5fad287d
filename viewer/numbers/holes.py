"""The holes of plates, and which screen is seen through each."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, move
from seamsight.scene.layout import PlacedScreen, rig_from_pose
from seamsight.scene.outlines import plate_piece
from seamsight.scene.shapes import rim
from seamsight.scene.solids import Plate
from seamsight.viewer.casting.trace import trace
from seamsight.viewer.eye import Eyes

SHARES = (
    0.0,
    0.35,
    0.65,
    0.95,
)  # of the way from a hole's middle to its rim, where rays go through
RAYS = 12  # about so many for each share
ONWARDS = 0.01  # mm behind a plate's back, where rays start


@dataclass(frozen=True, eq=False)
class Hole:
    """A hole of a plate, in the rig frame: its rims (n, 3) at the plate's front and back."""

    plate: str
    name: str
    front: Array
    back: Array


def holes_of(plate: Plate) -> list[Hole]:
    """Return the holes of a plate, in the file's order."""
    rig_from_plate = rig_from_pose(plate)
    found = []
    for number, (hole, cut) in enumerate(
        zip(plate.holes, plate_piece(plate).cuts, strict=True), start=1
    ):
        across, up = rim(cut).T
        front, back = (
            move(rig_from_plate, np.stack([across, np.full_like(across, y), up], axis=1))
            for y in (-plate.thickness / 2, plate.thickness / 2)
        )
        found.append(Hole(plate.name, hole.name or f"hole {number}", front, back))
    return found


def screens_behind(
    assembly: Assembly, holes: Sequence[Hole], heads: Sequence[Eyes]
) -> list[PlacedScreen | None]:
    """Return for each hole the screen that most rays from the eyes reach through it."""
    eyes = [eye for head in heads for eye in (head.left, head.right)]
    starts = np.concatenate([_places_in(hole) for hole in holes])
    counts = [len(_places_in(hole)) for hole in holes]
    images = {assembly.part_id(screen.name): screen for screen in assembly.screens}
    hits = np.zeros((len(holes), len(assembly.parts)), np.int64)
    of_hole = np.repeat(np.arange(len(holes)), counts)
    for eye in eyes:
        ways = starts - eye
        ways /= np.linalg.norm(ways, axis=1, keepdims=True)
        ends = trace(assembly, starts + ONWARDS * ways, ways)
        ended = ends.parts >= 0
        np.add.at(hits, (of_hole[ended], ends.parts[ended]), 1)

    def most(row: Iterable[int]) -> PlacedScreen | None:
        found = {part: count for part, count in enumerate(row) if count and part in images}
        return images[max(found, key=lambda part: found[part])] if found else None

    return [most(row) for row in hits.tolist()]


def _places_in(hole: Hole) -> Array:
    """Return some points (n, 3) of a hole, at its plate's back."""
    middle = hole.back.mean(axis=0)
    rim_points = hole.back[:: max(1, len(hole.back) // RAYS)]
    return np.concatenate([middle + share * (rim_points - middle) for share in SHARES])
