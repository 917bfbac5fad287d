"""What a rig weighs, where its centre of gravity is, and what its mountings carry."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.carcass import sheets_of
from seamsight.scene.cutting import CutPiece
from seamsight.scene.display import Optic
from seamsight.scene.frames import Array, move
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.mountings import PATTERNS, Mounting, Pattern
from seamsight.scene.parts import MATERIALS


class Load(NamedTuple):
    """Something that weighs.

    Attributes
    ----------
    name : str
    mass : float or None
        kg; None where nobody said.
    middle : (3,) float64
        Its centre of gravity, rig frame.
    """

    name: str
    mass: float | None
    middle: Array


class Mounted(NamedTuple):
    """A screen on the pattern of holes in its back."""

    screen: str
    mounting: Mounting
    pattern: Pattern
    mass: float | None

    @property
    def within(self) -> bool | None:
        """Whether it weighs no more than the pattern may carry; None where nobody knows."""
        return None if self.mass is None else self.mass <= self.pattern.limit


@dataclass(frozen=True, eq=False)
class Weights:
    """All that weighs in a rig."""

    boards: list[Load]
    screens: list[Load]
    lenses: list[Load]
    mounted: list[Mounted]

    @property
    def known(self) -> list[Load]:
        """What has a mass."""
        return [load for load in self._all if load.mass is not None]

    @property
    def unknown(self) -> list[str]:
        """The names of what has none."""
        return [load.name for load in self._all if load.mass is None]

    @property
    def mass(self) -> float:
        """The sum of the known masses, kg."""
        return sum(load.mass for load in self.known if load.mass is not None)

    @property
    def centre_of_gravity(self) -> Array | None:
        """That of all that has a mass, (3,), rig frame; None where nothing has."""
        if not self.mass:
            return None
        masses = np.array([load.mass for load in self.known])
        return np.asarray(masses @ np.array([load.middle for load in self.known]) / self.mass)

    @property
    def _all(self) -> list[Load]:
        return [*self.boards, *self.screens, *self.lenses]


def weights(assembly: Assembly, pieces: list[CutPiece]) -> Weights:
    """Return what weighs in a rig: the pieces that are cut, its screens and its lenses."""
    return Weights(
        boards=[Load(piece.name, piece.mass, piece.centroid) for piece in pieces],
        screens=[_screen(screen) for screen in assembly.screens],
        lenses=list(_lenses(assembly)),
        mounted=list(_mounted(assembly)),
    )


def _screen(screen: PlacedScreen) -> Load:
    middle = move(screen.rig_from_screen, np.array([0.0, screen.display.body / 2, 0.0]))
    return Load(screen.name, screen.display.mass, middle)


def _lenses(assembly: Assembly) -> Iterator[Load]:
    for screen in assembly.screens:
        if screen.lens:
            optic = screen.lens.optic
            middle = screen.lens.rig_from_lens[:3, 3]
            width, height, thickness = lens_sheet(assembly, screen)
            yield Load(f"{screen.name} lens", _lens_mass(optic, width * height * thickness), middle)


def lens_sheet(assembly: Assembly, screen: PlacedScreen) -> tuple[float, float, float]:
    """Return width, height and thickness of a screen's lens as it is bought, mm.

    A lens in slots is taller than its clear aperture.
    """
    assert screen.lens is not None
    optic = screen.lens.optic
    width, height = sheets_of(assembly.rig).get(screen.name, (optic.width, optic.height))
    return width, height, optic.thickness


def _lens_mass(optic: Optic, volume: float) -> float:
    """Return a lens's mass, kg: what the rig says, or the volume of sheet and frame by density."""
    if optic.mass is not None:
        return optic.mass
    if optic.frame:
        border = 2 * optic.frame.width
        outer = (optic.width + border) * (optic.height + border)
        volume += (outer - optic.width * optic.height) * optic.frame.depth
    density, _ = MATERIALS[optic.material]
    return volume * 1e-9 * density


def _mounted(assembly: Assembly) -> Iterator[Mounted]:
    for screen in assembly.screens:
        mounting = screen.display.mounting
        if mounting:
            yield Mounted(screen.name, mounting, PATTERNS[mounting], screen.display.mass)
