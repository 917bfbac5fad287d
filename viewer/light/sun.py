"""Whether the sun reaches a lens, where its focus lies, and how dense the light is on what is met.

Lenses count as ideal: a real one spreads the light, but a stock lens is made to focus the sun.
"""

import dataclasses
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.kind import Kind
from seamsight.scene.lamps import Lamp
from seamsight.scene.layout import rig_from_pose
from seamsight.scene.optics import sheet_reflectance
from seamsight.viewer.casting.kernel import Segments
from seamsight.viewer.casting.trace import first_parts
from seamsight.viewer.casting.tracer import tracer_of
from seamsight.viewer.casting.walk import filled, planes_met, walk
from seamsight.viewer.light.mirrors import ACRYLIC, GLASS, Mirror, image_points_of, mirrors_of

DIRECT = 900.0
"""W/m² of direct sunlight on a surface square to it: AM1.5, ASTM G173-03. A high sun in clear air
has a tenth more, a low one less."""

SUN_WIDTH = 2 * math.tan(math.radians(0.532906 / 2))  # at 1 AU, of radius 695,700 km
CHARS_WOOD = 4300.0
"""W/m²: the least that set wood on fire in a study (V. Babrauskas, Interflam 2001, abstract)."""

IGNITES = 12_500.0  # W/m²: usual figure for wood beside a flame (fire handbooks, from memory)
PLACES = (72, 48)  # of a lens that are tried, across and up
APART = 1.0  # mm; how far before the lens its rays start


@dataclass(frozen=True)
class Lit:
    """A part that sunlight meets behind a lens.

    Attributes
    ----------
    part : str
    share : float
        Of the light that passes the lens.
    depth : float
        How far behind the lens plane the light is strongest on it, mm.
    before_focus : float
        How far it is in front of the focus there, mm; negative behind it.
    times : float
        How many times as dense the light is there as at the lens.
    flux : float
        W/m² there.
    """

    part: str
    share: float
    depth: float
    before_focus: float
    times: float
    flux: float


@dataclass(frozen=True)
class SunOnLens:
    """Sunlight on a lens.

    Attributes
    ----------
    lens : str
    through : list of str
        The windows that it comes through; empty in a rig without any.
    from_pilot : bool
        Whether it comes from the pilot's side.
    share : float
        How much of the lens it reaches.
    angle : float
        From the lens's axis, degrees.
    focus : (float, float, float)
        Where the focus lies, rig axes, mm.
    focal_length : float
    burning : (float, float)
        From where to where behind the lens plane, mm, it is strong enough to set wood on fire.
    power : float
        W that pass the lens.
    meets : list of Lit
        The strongest first.
    """

    lens: str
    through: list[str]
    from_pilot: bool
    share: float
    angle: float
    focus: tuple[float, float, float]
    focal_length: float
    burning: tuple[float, float]
    power: float
    meets: list[Lit]

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON has it."""
        return dataclasses.asdict(self)


def sun_on_lenses(assembly: Assembly, towards: Array) -> list[SunOnLens]:
    """Return each lens that the sun reaches.

    In a rig with windows it comes through these alone, as if all else were walls; in one without,
    from wherever no part of the rig is in its way.

    Parameters
    ----------
    assembly : Assembly
    towards : (3,) float64, rig frame
        The direction from the rig to the sun, unit length.
    """
    lenses = [mirror for mirror in mirrors_of(assembly) if mirror.is_lens]
    found = (_sun_on(assembly, lens, towards) for lens in lenses)
    return [one for one in found if one]


def _sun_on(assembly: Assembly, lens: Mirror, towards: Array) -> SunOnLens | None:
    own = towards @ lens.rig_from_mirror[:3, :3]
    if abs(own[1]) < 1e-6 or lens.screen.lens is None:
        return None
    places = _places(lens)
    points = image_points_of(lens, places)
    starts = points + APART * towards
    lit, windows = _reached(assembly, starts, towards)
    if not lit.any():
        return None

    # the light that passes window and lens, square to the lens's axis
    cosine = abs(float(own[1]))
    flux = DIRECT * cosine * (1 - sheet_reflectance(cosine, ACRYLIC))
    flux *= min((_passed(window, towards) for window in windows), default=1.0)
    share = float(lit.mean())
    focal_length = lens.screen.lens.optic.focal_length
    focus = -own / cosine * focal_length
    near = math.sqrt(flux / CHARS_WOOD)
    reach = np.ptp(places[lit], axis=0) + np.array(lens.size) / PLACES
    return SunOnLens(
        lens=lens.name,
        through=[window.name for window in windows],
        from_pilot=bool(own[1] < 0),
        share=share,
        angle=math.degrees(math.acos(min(1.0, cosine))),
        focus=_three(move(lens.rig_from_mirror, focus)),
        focal_length=focal_length,
        burning=(focal_length * max(0.0, 1 - near), focal_length * (1 + near)),
        power=flux * share * lens.size[0] * lens.size[1] * 1e-6,
        meets=_meets(assembly, lens, (starts[lit], -towards), reach, flux),
    )


def _three(point: Array) -> tuple[float, float, float]:
    x, y, z = point.tolist()
    return x, y, z


def _places(lens: Mirror) -> Array:
    """Return places (n, 2) all over a lens."""
    sides = [
        ((np.arange(count) + 0.5) / count - 0.5) * side
        for count, side in zip(PLACES, lens.size, strict=True)
    ]
    return np.stack(np.meshgrid(*sides), axis=-1).reshape(-1, 2)


def _reached(
    assembly: Assembly, starts: Array, towards: Array
) -> tuple[npt.NDArray[np.bool_], list[Lamp]]:
    """Return which places (n,) the sun reaches, and through which windows."""
    first = first_parts(assembly, starts, np.broadcast_to(towards, starts.shape))
    windows = [lamp for lamp in assembly.rig.lamp if lamp.kind == "window"]
    if not windows:
        return first < 0, []
    lit = np.zeros(len(starts), bool)
    used = []
    for window in windows:
        shines = first == assembly.part_id(window.name)
        # the sun is outside: behind the window's face
        if shines.any() and rig_from_pose(window)[:3, 1] @ towards > 0:
            lit |= shines
            used.append(window)
    return lit, used


def _passed(window: Lamp, towards: Array) -> float:
    """Return what share of sunlight passes a pane of clear glass."""
    cosine = float(rig_from_pose(window)[:3, 1] @ towards)
    return 1 - sheet_reflectance(max(cosine, 1e-6), GLASS)


class _Ends(NamedTuple):
    """Where rays end on something that is no lens."""

    parts: npt.NDArray[np.int32]
    points: Array


def _meets(
    assembly: Assembly, lens: Mirror, rays: tuple[Array, Array], reach: Array, flux: float
) -> list[Lit]:
    """Return what light through a lens meets, from starts (n, 3) in one direction (3,)."""
    starts, direction = rays
    ends = _ends(assembly, starts, np.broadcast_to(direction, starts.shape))
    optic = lens.screen.lens.optic if lens.screen.lens else None
    assert optic is not None
    depths = np.abs(move(inverse(lens.rig_from_mirror), ends.points)[:, 1])
    # the beam narrows towards the focus, where it is as large as the sun looks from the lens
    image = np.pi / 4 * (SUN_WIDTH * optic.focal_length) ** 2
    narrowed = np.maximum((1 - depths / optic.focal_length) ** 2, image / np.prod(reach))
    times = 1 / narrowed
    found = []
    for part in np.unique(ends.parts):
        rows = np.flatnonzero(ends.parts == part)
        worst = rows[np.argmax(times[rows])]
        found.append(
            Lit(
                part=assembly.parts[part].name,
                share=len(rows) / len(starts),
                depth=float(depths[worst]),
                before_focus=float(optic.focal_length - depths[worst]),
                times=float(times[worst]),
                flux=float(flux * times[worst]),
            )
        )
    return sorted(found, key=lambda one: -one.flux)


def _ends(assembly: Assembly, origins: Array, directions: Array) -> _Ends:
    parts: list[npt.NDArray[np.int32]] = []
    points: list[Array] = []
    is_lens = np.array([part.kind is Kind.LENS for part in assembly.parts])

    def met(segments: Segments, count: int, faces: npt.NDArray[np.int32]) -> None:
        of = assembly.part_of_face[faces]
        rows = np.flatnonzero((faces >= 0) & ~is_lens[of])
        parts.append(of[rows])
        points.append(planes_met(assembly, segments, rows, faces[rows])[0])

    tracer = tracer_of(assembly)
    walk(tracer.caster, tracer.bare, filled(origins, directions), met=met)
    return _Ends(np.concatenate(parts), np.concatenate(points))


def strongest(found: Iterable[SunOnLens]) -> Lit | None:
    """Return the part with the densest light; None for none."""
    met = (lit for one in found for lit in one.meets)
    return max(met, key=lambda lit: lit.flux, default=None)
