"""How long the hood of a lens or screen must be so that light does not reach its mirror."""

from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.rig import Rig
from seamsight.viewer.light.mirrors import Mirror

SIDES = ("left", "right", "bottom", "top")


@dataclass(frozen=True)
class Hood:
    """A hood that keeps light from a mirror, at one of its sides.

    Attributes
    ----------
    depth : float or None
        Of the hood, mm; None where none helps: a neighbour's image is seen there, the light starts
        nearer than the hood would reach, or the eye is nearer.
    hides_view : bool
        Whether it would hide part of lens or screen from the eye.
    """

    depth: float | None
    hides_view: bool


def without_hoods(rig: Rig) -> Rig:
    """Return a rig whose banks and lenses have no hoods."""
    banks = tuple(bank.model_copy(update={"hood": None}) for bank in rig.bank)
    lenses = tuple(lens.model_copy(update={"hood": None}) for lens in rig.lens)
    return rig.model_copy(update={"bank": banks, "lens": lenses})


def hoods_needed(
    assembly: Assembly, mirror: Mirror, eye: Array, origins: Array, onward: Array, far: Array
) -> dict[str, Hood]:
    """Return how long a hood must be at each side past which light comes to a mirror.

    Parameters
    ----------
    assembly : Assembly
    mirror : Mirror
    eye : (3,) float64, rig frame
    origins, onward : (n, 3) float64, rig frame
        Places of the mirror, and the directions from there to where the light comes from.
    far : (n,) float64
        How far away that is, mm; infinite where it does not matter.
    """
    screen = mirror.screen
    edges = screen.rim
    frame = screen.lens.rig_from_lens if screen.lens else screen.rig_from_screen
    own = inverse(frame)
    starts = move(own, origins)
    ways = onward @ frame[:3, :3]
    if mirror.through:
        starts, ways = _through_lens(starts, ways, mirror.through.optic.focal_length)

    # find at which side each ray leaves the space before lens or screen, and how far out
    limits = np.array([edges.left, edges.right, edges.bottom, edges.top])
    axes = np.array([0, 0, 2, 2])
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (limits - starts[:, axes]) / ways[:, axes]
    along[~(ways[:, axes] * np.sign(limits) > 0)] = np.inf
    side = np.argmin(along, axis=1)
    reach = along[np.arange(len(side)), side]
    depths = np.where(reach < far, reach * -ways[:, 1], np.inf)

    here = move(own, eye)
    needed = {}
    for number in np.unique(side):
        depth = float(depths[side == number].max())
        helps = depth < -here[1] and not _has_neighbour(assembly, screen, SIDES[number])
        beyond = here[axes[number]] * np.sign(limits[number]) > abs(limits[number])
        needed[SIDES[number]] = Hood(depth if helps else None, bool(beyond))
    return needed


def _through_lens(starts: Array, ways: Array, focal_length: float) -> tuple[Array, Array]:
    """Return where rays from behind an ideal lens cross it, and how they go on; lens frame."""
    slopes = ways / -ways[:, 1:2]
    places = starts + slopes * starts[:, 1:2]
    bent = slopes - places / focal_length  # see `optics.thin_slope`; places have no depth
    return places, bent / np.linalg.norm(bent, axis=1, keepdims=True)


def _has_neighbour(assembly: Assembly, screen: PlacedScreen, side: str) -> bool:
    """Return whether a row has another screen at a side, where no hood can be."""
    if not screen.bank or side not in ("left", "right"):
        return False
    next_to = screen.number + (1 if side == "right" else -1)
    return any(other.bank == screen.bank and other.number == next_to for other in assembly.screens)
