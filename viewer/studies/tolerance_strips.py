"""What shows between two images that is no image, in many builds at once.

Rays go across each seam for each eye. Many builds stand in one scene, far from each other; what a
ray meets of another build it does not meet.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.kind import Kind
from seamsight.scene.parts import OWN_ROLES, Part
from seamsight.viewer.casting.caster import Caster
from seamsight.viewer.casting.kernel import Tables
from seamsight.viewer.casting.lens_kernel import Optics
from seamsight.viewer.casting.sightlines import optics_of
from seamsight.viewer.casting.tables import bare_tables
from seamsight.viewer.casting.trace import trace_bundle
from seamsight.viewer.eye import Eyes
from seamsight.viewer.numbers.seams import Pair
from seamsight.viewer.numbers.strips import Gaze, dark_strips, middle_direction
from seamsight.viewer.studies.tolerance_errors import Builds
from seamsight.viewer.studies.tolerance_sights import built_lens
from seamsight.viewer.threads import each_on_threads

RAYS = 256  # across a seam
PAD = np.radians(2.0)  # looked at on either side of the strip as designed
NEAR_PLANE = 60.0  # mm; what is farther from where an eye looks along a seam is left out
NEAR_ANGLE = np.radians(10.0)  # beyond what is looked at, of parts that are not a screen's own
BUILDS_AT_ONCE = 32  # in one scene; fewer where they have many seams or triangles
RAYS_AT_ONCE, FACES_AT_ONCE = 65_536, 65_536
ROOM = 2.2  # times how far a build reaches, from one to the next
FOCAL_LENGTH = Optics._fields.index("focal_length")
LENS_ROLES = ("lens", "lens frame")
NOTHING, IMAGE = -1, -2  # what a ray meets: no part of its build; one of the two images


class Fan(NamedTuple):
    """Where an eye looks across a seam.

    Attributes
    ----------
    pair : int
        Which of the pairs.
    eye : (3,) float64
    directions : (RAYS, 3) float64
        Unit length, in one plane, evenly spread.
    spacing : float
        Degrees from one to the next.
    centre, across : (3,) float64
        The middle direction, and in their plane square to it.
    images : tuple of str
        Both screens.
    """

    pair: int
    eye: Array
    directions: Array
    spacing: float
    centre: Array
    across: Array
    images: tuple[str, str]


class Strips:
    """Seams of a rig, ready to be looked at in builds.

    Attributes
    ----------
    fans : list of Fan
        For each pair and eye from which both images are seen.
    boards : list of Part
        Boards, plates and meshes that may come into view there.
    """

    def __init__(self, assembly: Assembly, eyes: Eyes, pairs: Sequence[Pair]) -> None:
        self._assembly = assembly
        self.fans = _fans(assembly, eyes, pairs)
        self._own = {screen.name for pair in pairs for screen in pair}
        kept = [(part, self._kept(part)) for part in assembly.parts]
        self._parts = [part for part, faces in kept if faces.any()]
        faces = [part.triangles[faces] for part, faces in kept if faces.any()]
        self._part_of_face = np.repeat(np.arange(len(faces)), [len(each) for each in faces])
        self._local = np.concatenate(
            [
                move(inverse(part.rig_from_part), triangles)
                for part, triangles in zip(self._parts, faces, strict=True)
            ]
            or [np.empty((0, 3, 3))]
        )

        self._tables = _rows_of(bare_tables(assembly), assembly, self._parts)
        self._middle = eyes.mid
        rays = len(self.fans) * RAYS
        count = len(self._local)
        fitting = min(RAYS_AT_ONCE // max(rays, 1), FACES_AT_ONCE // max(count, 1))
        self._at_once = max(1, min(BUILDS_AT_ONCE, fitting))
        reach = np.concatenate(faces or [np.zeros((1, 3, 3))]) - eyes.mid
        self._room = ROOM * float(np.abs(reach).max()) + 1000.0

    @property
    def boards(self) -> list[Part]:
        """Boards, plates and meshes that may come into view."""
        return [part for part in self._parts if self._is_board(part)]

    def widths(self, builds: Builds, count: int) -> Array:
        """Return what of each fan is no image in n builds, (n, fans) degrees."""
        found = np.zeros((count, len(self.fans)))
        spacings = [fan.spacing for fan in self.fans]

        def look(first: int) -> None:
            rows = np.arange(first, min(first + self._at_once, count))
            found[rows] = (self._met(builds, rows) != IMAGE).sum(axis=2) * spacings

        each_on_threads(look, range(0, count if self.fans else 0, self._at_once))
        return found

    def most_shown(self, builds: Builds, count: int) -> list[str | None]:
        """Return the part of which each fan shows most in n builds; None for a gap, or nothing."""
        if not self.fans:
            return []
        firsts = range(0, count, self._at_once)
        rows = [np.arange(first, min(first + self._at_once, count)) for first in firsts]
        met = np.concatenate([self._met(builds, some) for some in rows])
        found: list[str | None] = []
        for number in range(len(self.fans)):
            parts, times = np.unique(met[:, number], return_counts=True)
            parts, times = parts[parts != IMAGE], times[parts != IMAGE]
            most = int(parts[times.argmax()]) if len(parts) else NOTHING
            found.append(None if most == NOTHING else self._parts[most].name)
        return found

    def _met(self, builds: Builds, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """Return what rays meet in some builds, (n, fans, RAYS): a part, IMAGE or NOTHING."""
        cells = self._cells(len(rows))
        caster, tables = self._scene(builds, rows, cells)
        origins = np.array([fan.eye - self._middle for fan in self.fans])
        shape = (len(rows), len(self.fans), RAYS)
        starts = (cells[:, None, None] + origins[None, :, None]).repeat(RAYS, axis=2)
        ways = np.broadcast_to(np.array([fan.directions for fan in self.fans]), (*shape, 3))
        ends = trace_bundle(caster, tables, starts.reshape(-1, 3), ways.reshape(-1, 3))

        # only what belongs to a ray's own build counts
        count = len(self._parts)
        met = ends.parts.reshape(shape) - np.arange(len(rows))[:, None, None] * count
        met = np.where((met >= 0) & (met < count), met, NOTHING)
        names = [part.name for part in self._parts]
        images = np.array([[names.index(name) for name in fan.images] for fan in self.fans])
        seen = (met[..., None] == images[None, :, None]).any(axis=-1)
        return np.where(seen, IMAGE, met)

    def _scene(
        self, builds: Builds, rows: npt.NDArray[np.int64], cells: Array
    ) -> tuple[Caster, Tables]:
        """Return all parts of some builds, each build in its cell."""
        rig_from_part = np.stack(
            [self._stands(part, builds, rows) for part in self._parts], axis=1
        ).copy()
        rig_from_part[:, :, :3, 3] += (cells - self._middle)[:, None]

        # move the triangles, of lenses with their edges
        local = np.repeat(self._local[None], len(rows), axis=0)
        for number, part in enumerate(self._parts):
            if part.role in LENS_ROLES and part.screen in builds.grown:
                faces = self._part_of_face == number
                wider = builds.grown[part.screen][rows] / 2
                local[:, faces, :, ::2] += (
                    np.sign(self._local[faces][..., ::2]) * (wider[:, None, None])
                )
        of_face = rig_from_part[:, self._part_of_face]
        triangles = np.einsum("kfij,kfcj->kfci", of_face[..., :3, :3], local)
        triangles += of_face[:, :, None, :3, 3]
        triangles = triangles.reshape(-1, 3, 3)
        caster = Caster(triangles, np.zeros(len(triangles), np.int32))
        return caster, self._tables_of(builds, rows, rig_from_part, triangles)

    def _tables_of(
        self, builds: Builds, rows: npt.NDArray[np.int64], rig_from_part: Array, triangles: Array
    ) -> Tables:
        count = len(rows)
        one = self._tables
        normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
        lengths = np.linalg.norm(normals, axis=1, keepdims=True)
        frames = np.concatenate(
            [rig_from_part[:, :, None, :3, 3], rig_from_part[:, :, :3, :3].swapaxes(2, 3)], axis=2
        )

        # what each build's lenses do
        lenses = np.repeat(one.lens[None], count, axis=0)
        for number, part in enumerate(self._parts):
            if part.kind is not Kind.LENS or part.screen not in builds.lenses:
                continue
            screen = self._assembly.screen(part.screen)
            lenses[:, number, FOCAL_LENGTH] = builds.focal_lengths[part.screen][rows]
            if screen.lens and screen.lens.optic.model == "grooved":  # of which more depends on it
                for cell, row in enumerate(rows.tolist()):
                    lenses[cell, number] = optics_of(built_lens(screen, builds, row))

        # each build has part numbers of its own
        faces = np.arange(count)[:, None] * len(self._parts) + self._part_of_face
        return one._replace(
            part_of_face=faces.ravel().astype(np.int32),
            face_normal=normals / np.where(lengths > 0, lengths, 1.0),
            kind=np.tile(one.kind, count),
            colour=np.tile(one.colour, (count, 1)),
            frame=frames.reshape(-1, 4, 3),
            size=np.tile(one.size, (count, 1)),
            gain=np.tile(one.gain, count),
            lens=lenses.reshape(-1, lenses.shape[-1]),
            texture=np.tile(one.texture, (count, 1)),
        )

    def _stands(self, part: Part, builds: Builds, rows: npt.NDArray[np.int64]) -> Array:
        """Return where a part stands in some builds, (n, 4, 4) rig-from-part."""
        if self._is_board(part) and part.name in builds.boards:
            return builds.boards[part.name][rows]
        where = builds.lenses if part.role in LENS_ROLES else builds.screens
        if part.screen in where and not self._is_board(part):
            return where[part.screen][rows]
        return np.tile(part.rig_from_part, (len(rows), 1, 1))

    def _is_board(self, part: Part) -> bool:
        if not part.screen:
            return True
        return part.screen in self._own and part.role not in ("image", *OWN_ROLES)

    def _cells(self, count: int) -> Array:
        """Return the middles of cells (n, 3), about the origin: single precision suffices."""
        side = int(np.ceil(np.cbrt(count)))
        numbers = np.arange(count)
        places = np.stack([numbers % side, numbers // side % side, numbers // side**2], axis=1)
        return np.asarray((places - (side - 1) / 2) * self._room)

    def _kept(self, part: Part) -> npt.NDArray[np.bool_]:
        """Return which triangles of a part may be met."""
        if part.screen in self._own and part.role in ("image", *OWN_ROLES):
            return np.ones(len(part.triangles), bool)
        kept = np.zeros(len(part.triangles), bool)
        for fan in self.fans:
            away = part.triangles - fan.eye
            off = away @ np.cross(fan.centre, fan.across)
            angles = np.arctan2(away @ fan.across, away @ fan.centre)
            reach = fan.spacing * np.pi / 180 * RAYS / 2 + NEAR_ANGLE
            kept |= (
                (off.min(axis=1) < NEAR_PLANE)
                & (off.max(axis=1) > -NEAR_PLANE)
                & ((away @ fan.centre).max(axis=1) > 0)
                & (angles.min(axis=1) < reach)
                & (angles.max(axis=1) > -reach)
            )
        return kept


def _fans(assembly: Assembly, eyes: Eyes, pairs: Sequence[Pair]) -> list[Fan]:
    gazes = [
        (number, Gaze(*pair, eyes.point(eye)))
        for number, pair in enumerate(pairs)
        for eye in ("left", "right")
    ]
    strips = dark_strips(assembly, [gaze for _, gaze in gazes]) if gazes else []

    # spread rays over each strip, and a little beyond its ends
    fans = []
    for (number, gaze), strip in zip(gazes, strips, strict=True):
        if strip is None:
            continue
        centre = strip.start + strip.stop
        centre /= np.linalg.norm(centre)
        across = middle_direction(gaze.second, gaze.eye)
        across -= centre * (across @ centre)
        across /= np.linalg.norm(across)
        reach = abs(strip.angle) / 2 + PAD
        angles = ((np.arange(RAYS) + 0.5) / RAYS * 2 - 1)[:, None] * reach
        fans.append(
            Fan(
                number,
                gaze.eye,
                np.cos(angles) * centre + np.sin(angles) * across,
                float(np.degrees(2 * reach / RAYS)),
                centre,
                across,
                (gaze.first.name, gaze.second.name),
            )
        )
    return fans


def _rows_of(tables: Tables, assembly: Assembly, parts: Sequence[Part]) -> Tables:
    """Return tables of some parts of an assembly alone."""
    rows = np.array([assembly.part_id(part.name) for part in parts], np.int64)
    kept = {
        name: getattr(tables, name)[rows]
        for name in ("kind", "colour", "frame", "size", "gain", "lens", "texture")
    }
    return tables._replace(**kept)
