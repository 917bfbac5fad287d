"""One part for each thing in a rig that a ray can meet: its triangles, its colour, its use."""

import functools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from seamsight.scene import files, shapes
from seamsight.scene.carcass import BuiltBoard, boards_of
from seamsight.scene.frames import Array, move, shift
from seamsight.scene.kind import Kind
from seamsight.scene.lamps import Lamp
from seamsight.scene.layout import PlacedScreen, rig_from_pose
from seamsight.scene.meshes import read_mesh
from seamsight.scene.outlines import plate_piece
from seamsight.scene.recent import Recent
from seamsight.scene.rig import Rig
from seamsight.scene.solids import Mesh, Plate, Solid

MATERIALS = {  # kg/m³, colour
    "plywood": (650.0, "#b08d5e"),
    "mdf": (769.0, "#8a6f52"),
    "spruce": (460.0, "#c9ab7c"),
    "aluminium": (2700.0, "#8f959c"),
    "steel": (7850.0, "#6d7278"),
    "acrylic": (1180.0, "#9fb4bd"),
    "polycarbonate": (1200.0, "#a3adb5"),
    "glass": (2500.0, "#a9bcc0"),
    "plastic": (1050.0, "#3f4246"),
    "foam": (30.0, "#26282b"),
}
"""Densities: Forest Products Laboratory (medium MDF), published atomic data (aluminium, PMMA); the
rest handbook values from memory. Colours are ours."""

LAMP_FACE = 0.1  # mm; how far a lamp's face is in front of its housing
MOST_KEPT = 128 << 20  # bytes of boards, plates and meshes
ITSELF = 6000  # bytes of a part besides its triangles, with its table and what is known of it

# a lamp's face, and what is behind it
LAMP_ROLES = ("lamp", "lamp housing")
# a screen's parts besides its image, named after it
OWN_ROLES = ("bezel", "housing", "lens", "lens frame")
_OWN_COLOURS = {
    "image": "#000000",
    "bezel": "#35373c",
    "housing": "#202226",
    "lens": "#dfe8ee",
    "lens frame": "#3a332c",
    "lamp": "#fffdf5",
}


@dataclass(frozen=True, eq=False)
class Part:
    """Something a ray can meet.

    Attributes
    ----------
    name : str
        As reports call it: the rig's own name, with "bezel", "housing", "lens" or "lens frame"
        behind a screen's.
    kind : Kind
        What it does to a ray.
    role : str
        What it is: "image", "bezel", "housing", "lens", "lens frame", "lamp", "lamp housing", or a
        board's, plate's or mesh's role.
    screen : str
        The screen it belongs to, or "".
    colour : (3,) float64
        Linear light, 0..1.
    triangles : (n, 3, 3) float64, rig frame
    rig_from_part : (4, 4) float64
        Its own frame: right, away, up as it was drawn.
    density : float or None
        kg/m³ of a board or plate; None for screens, lenses, and meshes, which may be hollow.
    """

    name: str
    kind: Kind
    role: str
    screen: str
    colour: Array
    triangles: Array
    rig_from_part: Array
    density: float | None = None

    @functools.cached_property
    def normals(self) -> Array:
        """Which way each triangle faces, (n, 3), unit length; zero for one without area."""
        corners = self.triangles
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        lengths = np.linalg.norm(normals, axis=1, keepdims=True)
        return np.asarray(normals / np.where(lengths > 0, lengths, 1.0))

    @functools.cached_property
    def surfaces(self) -> npt.NDArray[np.int32]:
        """A number from 0 for each triangle (n,), one for all that face the same way."""
        facing = self.normals.round(6) + 0.0  # + 0: no minus zero
        return np.unique(facing, axis=0, return_inverse=True)[1].reshape(-1).astype(np.int32)

    @functools.cached_property
    def corners(self) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.int32]]:
        """Corners (c, 3) in single precision, each once, and which three each triangle has."""
        single = np.ascontiguousarray(self.triangles, np.float32).reshape(-1, 3)
        corners, of = np.unique(single, axis=0, return_inverse=True)
        return corners, of.reshape(-1, 3).astype(np.int32)

    @functools.cached_property
    def bounds(self) -> Array:
        """The lowest and the highest corner, (2, 3)."""
        return np.array([self.triangles.min(axis=(0, 1)), self.triangles.max(axis=(0, 1))])

    @property
    def size(self) -> tuple[float, float, float]:
        """How far it reaches along its own right, away and up, mm."""
        reach = np.ptp(self.triangles.reshape(-1, 3) @ self.rig_from_part[:3, :3], axis=0)
        right, away, up = (float(side) for side in reach)
        return right, away, up


def own_part_name(screen: str, role: str) -> str:
    """Return the name of a screen's own part: "bezel", "housing", "lens" or "lens frame"."""
    return f"{screen} {role}"


def linear_colour(code: str) -> Array:
    """Return "#rrggbb" (sRGB) as linear light (3,), 0..1."""
    return linear_light(np.array([int(code[at : at + 2], 16) for at in (1, 3, 5)]))


def linear_light(codes: npt.NDArray[np.int64]) -> Array:
    """Return sRGB codes 0..255 as linear light 0..1, same shape; IEC 61966-2-1."""
    value = codes / 255
    return np.asarray(np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4))


def screen_parts(screen: PlacedScreen) -> Iterator[Part]:
    """Yield the parts of one screen and its lens."""
    width, height = screen.size
    display = screen.display
    shapes_of = {
        "image": shapes.rectangle(width, height),
        "bezel": shapes.bezel(width, height, display.bezel, display.lip),
        "housing": shapes.housing(width, height, display.bezel, display.lip, display.body),
    }
    for role, triangles in shapes_of.items():
        kind = Kind.IMAGE if role == "image" else Kind.OPAQUE
        yield from _own_part(screen, role, kind, screen.rig_from_screen, triangles)

    if screen.lens:
        optic = screen.lens.optic
        aperture = shapes.rectangle(optic.width, optic.height)
        yield from _own_part(screen, "lens", Kind.LENS, screen.lens.rig_from_lens, aperture)
        if optic.frame:
            ring = shapes.surround(optic.width, optic.height, optic.frame.width, optic.frame.depth)
            yield from _own_part(screen, "lens frame", Kind.OPAQUE, screen.lens.rig_from_lens, ring)


def solid_parts(rig: Rig) -> Iterator[Part]:
    """Yield the parts of every board, plate, mesh and lamp of a rig whose poses are settled.

    Raises
    ------
    FileError
        When a mesh file cannot be read.
    """
    for board in rig.board:
        shape = functools.partial(shapes.box, *board.size)
        yield from _kept_part(board, "board", shape)
    for plate in rig.plate:
        yield from _kept_part(plate, "plate", functools.partial(_drilled, plate))
    for mesh in rig.mesh:
        path = files.beside(rig.file, mesh.file)
        shape = functools.partial(_loaded, mesh, path)
        yield from _kept_part(mesh, "mesh", shape, (path, files.saved_at(path), mesh.is_mirrored))
    yield from (_built_part(board) for board in boards_of(rig))
    for lamp in rig.lamp:
        yield from _lamp_parts(lamp)


# A rig that is built again after a change elsewhere keeps its parts, and all that is known of them.
_kept = Recent[tuple[Part, ...]](
    MOST_KEPT, lambda parts: sum(ITSELF + part.triangles.nbytes for part in parts)
)


def _kept_part(
    solid: Solid, table: str, shape: Callable[[], Array], also: tuple[object, ...] = ()
) -> tuple[Part, ...]:
    """Return the part of a solid, made now where it is new; `also` is what else decides it."""
    return _kept.get((solid, *also), lambda: tuple(_solid_part(solid, table, shape())))


def _drilled(plate: Plate) -> Array:
    return shapes.plate(plate_piece(plate), plate.thickness)


def _loaded(mesh: Mesh, path: Path) -> Array:
    triangles = read_mesh(path, mesh.unit)
    return triangles[:, ::-1] * [-1.0, 1.0, 1.0] if mesh.is_mirrored else triangles


def _built_part(board: BuiltBoard) -> Part:
    density, colour = MATERIALS[board.material]
    return Part(
        name=board.name,
        kind=Kind.OPAQUE,
        role=board.role,
        screen=board.screen,
        colour=linear_colour(colour),
        triangles=move(
            board.rig_from_board, shapes.prism(board.outline, board.height, board.groove)
        ),
        rig_from_part=board.rig_from_board,
        density=density,
    )


def _lamp_parts(lamp: Lamp) -> Iterator[Part]:
    """Yield a lamp's face and its housing, a closed box just behind it."""
    rig_from_face = rig_from_pose(lamp)
    width, height = lamp.size
    behind = LAMP_FACE + lamp.depth / 2
    box = shapes.box(width, lamp.depth, height)
    yield Part(
        name=lamp.name,
        kind=Kind.OPAQUE,
        role="lamp",
        screen="",
        colour=linear_colour(_OWN_COLOURS["lamp"]),
        triangles=move(rig_from_face, shapes.rectangle(width, height)),
        rig_from_part=rig_from_face,
    )
    yield Part(
        name=own_part_name(lamp.name, "housing"),
        kind=Kind.OPAQUE,
        role="lamp housing",
        screen="",
        colour=linear_colour(_OWN_COLOURS["housing"]),
        triangles=move(rig_from_face @ shift(0.0, behind, 0.0), box),
        rig_from_part=rig_from_face,
    )


def _own_part(
    screen: PlacedScreen, role: str, kind: Kind, rig_from_part: Array, triangles: Array
) -> Iterator[Part]:
    if len(triangles):
        name = screen.name if role == "image" else own_part_name(screen.name, role)
        colour = linear_colour(_OWN_COLOURS[role])
        yield Part(
            name=name,
            kind=kind,
            role=role,
            screen=screen.name,
            colour=colour,
            triangles=move(rig_from_part, triangles),
            rig_from_part=rig_from_part,
        )


def _solid_part(solid: Solid, table: str, triangles: Array) -> Iterator[Part]:
    density, usual_colour = MATERIALS[solid.material]
    rig_from_part = rig_from_pose(solid)
    if len(triangles):  # holes may leave nothing of a plate
        placed = move(rig_from_part, triangles)
        placed.flags.writeable = False
        yield Part(
            name=solid.name,
            kind=Kind.OPAQUE,
            role=solid.role or table,
            screen="",
            colour=linear_colour(solid.colour or usual_colour),
            triangles=placed,
            rig_from_part=rig_from_part,
            density=None if table == "mesh" else density,  # a mesh may be hollow
        )
