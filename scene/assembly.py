"""All parts of a rig as one set of triangles, ready to be looked at."""

import dataclasses
import functools
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedScreen, place
from seamsight.scene.notches import notched
from seamsight.scene.parts import Part, own_part_name, screen_parts, solid_parts
from seamsight.scene.places import settled
from seamsight.scene.rig import Rig
from seamsight.scene.shapes import winding_numbers


@dataclass(frozen=True, eq=False)
class Assembly:
    """A rig in its place.

    Attributes
    ----------
    rig : Rig
    screens : tuple of PlacedScreen
        Banks spread out.
    parts : tuple of Part
        A part's place here is its part id.
    """

    rig: Rig
    screens: tuple[PlacedScreen, ...]
    parts: tuple[Part, ...]

    @functools.cached_property
    def triangles(self) -> Array:
        """Every part's triangles in one array (n, 3, 3), rig frame."""
        return np.concatenate([part.triangles for part in self.parts] or [np.empty((0, 3, 3))])

    @functools.cached_property
    def part_of_face(self) -> npt.NDArray[np.int32]:
        """The part id of each triangle, (n,)."""
        return np.repeat(
            np.arange(len(self.parts), dtype=np.int32), [len(p.triangles) for p in self.parts]
        )

    @functools.cached_property
    def face_normals(self) -> Array:
        """Which way each triangle faces, (n, 3), unit length; zero for one without area."""
        return np.concatenate([part.normals for part in self.parts] or [np.empty((0, 3))])

    @functools.cached_property
    def flat_surfaces(self) -> npt.NDArray[np.int32]:
        """A number for each triangle (n,), one for all of a part that face the same way."""
        numbers = []
        first = 0
        for part in self.parts:
            numbers.append(part.surfaces + np.int32(first))
            first += int(part.surfaces.max()) + 1
        return np.concatenate(numbers or [np.empty(0, np.int32)])

    @functools.cached_property
    def corners(self) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.int32]]:
        """Corners (c, 3) in single precision, and which three each triangle (n, 3) has."""
        firsts = np.cumsum([0, *(len(part.corners[0]) for part in self.parts)])
        each = zip(self.parts, firsts[:-1], strict=True)
        faces = [part.corners[1] + np.int32(first) for part, first in each]
        corners = [part.corners[0] for part in self.parts]
        return (
            np.concatenate(corners or [np.empty((0, 3), np.float32)]),
            np.concatenate(faces or [np.empty((0, 3), np.int32)]),
        )

    def part_id(self, name: str) -> int:
        """Return the id of the part with this name.

        Raises
        ------
        KeyError
            When there is none.
        """
        return self._ids[name]

    def screen(self, name: str) -> PlacedScreen:
        """Return the screen of this name.

        Raises
        ------
        ChoiceError
            When there is none.
        """
        if name not in self._screens:
            names = ", ".join(f'"{screen}"' for screen in self._screens)
            msg = f'there is no screen "{name}" (there are {names or "none"})'
            raise ChoiceError(msg)
        return self._screens[name]

    def lens_id(self, screen: PlacedScreen) -> int:
        """Return the part id of a screen's own lens."""
        return self.part_id(own_part_name(screen.name, "lens"))

    @functools.cached_property
    def outside_screens(self) -> tuple[PlacedScreen, ...]:
        """The screens of the outside view."""
        return tuple(screen for screen in self.screens if screen.outside)

    @property
    def has_lenses(self) -> bool:
        """Whether any screen stands behind a lens."""
        return any(screen.lens for screen in self.screens)

    @functools.cached_property
    def _screens(self) -> dict[str, PlacedScreen]:
        return {screen.name: screen for screen in self.screens}

    @functools.cached_property
    def _ids(self) -> dict[str, int]:
        return {part.name: number for number, part in enumerate(self.parts)}

    @functools.cached_property
    def solids(self) -> list[tuple[str, Array]]:
        """Everything that an eye could lie in: its name and all its triangles (n, 3, 3)."""
        return [
            (name, np.concatenate([part.triangles for part in parts]))
            for name, parts in self._pieces.items()
        ]

    @functools.cached_property
    def bounds(self) -> Array:
        """The lowest and the highest corner of each of `solids`, (n, 2, 3)."""
        ends = [np.array([part.bounds for part in parts]) for parts in self._pieces.values()]
        corners = [(each[:, 0].min(axis=0), each[:, 1].max(axis=0)) for each in ends]
        return np.array(corners).reshape(-1, 2, 3)

    @functools.cached_property
    def _pieces(self) -> dict[str, list[Part]]:
        pieces: dict[str, list[Part]] = {}
        for part in self.parts:
            if part.kind is not Kind.LENS:
                of = part.screen if part.role in ("image", "bezel", "housing") else part.name
                pieces.setdefault(of, []).append(part)
        return pieces

    def __repr__(self) -> str:
        size = f"{len(self.parts)} parts, {len(self.triangles)} triangles"
        return f"<Assembly of {self.rig.name!r}: {size}>"


def build(rig: Rig, *, lenses: bool = True) -> Assembly:
    """Return a rig in its place.

    Parameters
    ----------
    rig : Rig
    lenses : bool
        False leaves every lens and lens frame out; screens stay where the lenses put them.

    Raises
    ------
    FileError
        When a mesh beside the rig file cannot be read, or not any more.
    ChoiceError
        When something stands on what is not there.
    """
    rig = settled(rig)
    screens = place(rig)
    if not lenses:
        screens = tuple(dataclasses.replace(screen, lens=None) for screen in screens)
    own = [part for screen in screens for part in screen_parts(screen)]
    return Assembly(rig, screens, (*own, *notched(solid_parts(rig), rig)))


def parts_around(assembly: Assembly, points: Array) -> npt.NDArray[np.int64]:
    """Return in which solid part or screen each point (n, 3) lies: its place in `solids`, or -1.

    Where several contain a point, it is the first.
    """
    low, high = assembly.bounds[:, 0], assembly.bounds[:, 1]
    each = points[:, None]
    in_bounds = np.asarray(((low < each) & (each < high)).all(axis=2))

    found = np.full(len(points), -1)
    for number in np.flatnonzero(in_bounds.any(axis=0)):
        _, triangles = assembly.solids[number]
        asked = np.flatnonzero(in_bounds[:, number] & (found < 0))
        inside = np.abs(winding_numbers(triangles, points[asked])) > 0.5
        found[asked[inside]] = number
    return found


def part_around(assembly: Assembly, point: Array) -> str | None:
    """Return the name of a solid part or screen that contains a point (3,), or None."""
    number = parts_around(assembly, point[None])[0]
    return None if number < 0 else assembly.solids[number][0]
