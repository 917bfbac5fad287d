"""What a real sheet asks of two eyes: how it departs from the ideal lens's flat, steady image."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.scene.optics import diffraction_blur, magnification, moire
from seamsight.viewer.casting.sightlines import (
    ARCMIN,
    angles_between,
    as_thin,
    border,
    directions_through,
    eye_in_aperture_frame,
    ideal_image,
    image_points,
)
from seamsight.viewer.casting.trace import trace
from seamsight.viewer.eye import Eyes

BINOCULAR = ("vertical", "vergence", "converge", "diverge")
ASIDE = 30.0  # mm that the head moves to each side to see how much an image swims
NEIGHBOUR = 0.1  # mm across the pupil from a ray to its neighbours
GRID = 25  # points along each side of an image looked at first
CLIMBS = 8  # times at most that the neighbourhood of the greatest is looked at then
SCALES = np.array(
    [-1, -1 / 4, -1 / 16, -1 / 64, 0, 1 / 64, 1 / 16, 1 / 4, 1]
)  # of the grid's steps
INSET = 2e-5  # share of an image left out along its edges, where single precision cannot tell
CORNER = 1e-3  # the same for a corner, so that a hair's breadth of bezel does not hide it
SAME_POINT = 0.05  # mm; a ray aimed at a point of an image has reached it


@dataclass(frozen=True)
class Comfort:
    """What an image asks of two eyes; all None unless both are in front of its lens plane.

    Attributes
    ----------
    binocular : dict or None
        Arcmin, greatest over the points that both eyes see through the screen's own lens.
        "vertical": between both eyes' directions to a point, about the line through the pupils.
        "vergence": by which the angle between these directions differs from that for the ideal
        lens's flat image; "converge", "diverge": how much it is greater, and smaller. 0 without a
        grooved lens; None where both eyes see no point.
    focus : dict
        Dioptres at the point between the eyes. "centre": to the image's centre, mean of both
        sections. "tangential", "sagittal": to the seen corner whose focus departs most from the
        centre's, in the plane through ray and lens axis, and across that plane; None where no
        corner is seen.
    swim : float or None
        Arcmin: greatest change in a point's departure from where the ideal lens shows it when the
        head moves 30 mm to a side; None where no point is seen from both places.
    diffraction : float or None
        Arcmin from a point to the first dark of the light that one groove spreads; None without a
        lens.
    moire : dict or None
        "ratio": how often the finer of pixels and grooves, as the eye sees them, goes into the
        coarser; "period": of the bands that they make together, arcmin, None where the ratio is
        whole, and the bands endless. The worse of both pixel directions. None without a lens.
    """

    binocular: dict[str, float] | None = None
    focus: dict[str, float | None] | None = None
    swim: float | None = None
    diffraction: float | None = None
    moire: dict[str, float | None] | None = None


def comfort(assembly: Assembly, screen: PlacedScreen, eyes: Eyes) -> Comfort:
    """Return what a screen's image asks of two eyes, all of them in front of its lens plane."""
    binocular: dict[str, float] | None = dict.fromkeys(BINOCULAR, 0.0)
    swim: float | None = 0.0
    if screen.lens is not None and screen.lens.optic.model == "grooved":
        binocular, swim = _departures(assembly, screen, eyes)
    return Comfort(
        binocular=binocular,
        focus=_focus(assembly, screen, eyes.mid),
        swim=swim,
        diffraction=_diffraction(screen, eyes.mid),
        moire=_moire(screen, eyes.mid),
    )


def _departures(
    assembly: Assembly, screen: PlacedScreen, eyes: Eyes
) -> tuple[dict[str, float] | None, float | None]:
    """Return `binocular` and `swim` through a grooved lens."""
    between = eyes.right - eyes.left
    aside = ASIDE * eyes.axes[:, 0]
    places = np.stack([eyes.left, eyes.right, eyes.mid, eyes.mid - aside, eyes.mid + aside])

    def values(points: Array) -> Array:
        # all eyes at once: many calls with few rays each would cost more
        eye = np.repeat(places, len(points), axis=0)
        point = np.tile(points, (len(places), 1))
        real = _seen(assembly, screen, eye, point).reshape(len(places), -1, 3)
        ideal = directions_through(_ideal(screen), eye, point).reshape(len(places), -1, 3)

        # what both eyes feel, then what changes for the point between them
        vertical = angles_between(np.cross(between, real[0]), np.cross(between, real[1]))
        converge = angles_between(real[0], real[1]) - angles_between(ideal[0], ideal[1])
        here, to_left, to_right = (real - ideal)[2:]
        swim = np.fmax(
            np.linalg.norm(to_left - here, axis=1), np.linalg.norm(to_right - here, axis=1)
        )
        return np.stack([vertical, converge, -converge, swim], axis=1) * ARCMIN

    vertical, converge, diverge, swim = _greatest(screen, values)
    binocular = None
    if np.isfinite(vertical):
        converge, diverge = max(0.0, converge), max(0.0, diverge)
        found = vertical, max(converge, diverge), converge, diverge
        binocular = dict(zip(BINOCULAR, found, strict=True))
    return binocular, swim if np.isfinite(swim) else None


def _greatest(screen: PlacedScreen, values: Callable[[Array], Array]) -> list[float]:
    """Return the greatest of each of some values (k,) over an image; minus infinity for none.

    Parameters
    ----------
    values : callable
        From points (n, 3), rig frame, to values (n, k); not a number where a point does not count.
    """

    def known(places: Array) -> Array:
        found = values(image_points(screen, places * (1 - 2 * INSET) * screen.size))
        return np.where(np.isnan(found), -np.inf, found)

    # look all over the image, then climb from the greatest of each; steps of unlike lengths both
    # ways follow the slanting edge of what is seen, where most of them stand
    places = _grid(np.linspace(-0.5, 0.5, GRID))
    found = known(places)
    most = found.max(axis=0)
    best = places[found.argmax(axis=0)]
    each = np.arange(len(most))
    steps = _grid(SCALES / (GRID - 1))
    for _ in range(CLIMBS):
        near = np.clip(best[:, None] + steps, -0.5, 0.5)
        found = known(near.reshape(-1, 2)).reshape(*near.shape[:2], -1)[each, :, each]
        best = near[each, found.argmax(axis=1)]
        higher = found.max(axis=1) > most
        most = found.max(axis=1)
        if not higher.any():
            break
    return [float(value) for value in most]


def _grid(steps: Array) -> Array:
    """Return every pair of some steps, (n, 2)."""
    return np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)


def _focus(assembly: Assembly, screen: PlacedScreen, eye: Array) -> dict[str, float | None]:
    corners = border(screen, 1)
    middle, *found = _sections(screen, eye, np.vstack([[0.0, 0.0], corners]))
    centre = float(middle.mean())

    # the seen corner that departs most from the centre
    inside = image_points(screen, corners * (1 - 2 * CORNER))
    seen = np.isfinite(_seen(assembly, screen, eye, inside)).all(axis=1)
    off = np.where(seen, np.abs(np.array(found) - centre).max(axis=1), np.nan)
    known = np.isfinite(off).any()
    tangential, sagittal = found[int(np.nanargmax(off))] if known else (None, None)
    return {
        "centre": centre if np.isfinite(centre) else None,
        "tangential": None if tangential is None else float(tangential),
        "sagittal": None if sagittal is None else float(sagittal),
    }


def _sections(screen: PlacedScreen, eye: Array, places: Array) -> Array:
    """Return an eye's focus on places (n, 2) of an image, dioptres: tangential, sagittal (n, 2)."""
    if screen.lens is None or screen.lens.optic.model == "thin":
        away = ideal_image(screen, places) - eye_in_aperture_frame(screen, eye)
        return np.repeat(1000 / np.linalg.norm(away, axis=1, keepdims=True), 2, axis=1)
    return _pencils(screen.lens, eye, image_points(screen, places))


def _pencils(lens: PlacedLens, eye: Array, points: Array) -> Array:
    """Return the vergence of the rays beside that from an eye to each point; see `_sections`.

    Rays to a point at a distance L turn by -1 / L for each mm that they begin farther along the
    pupil.
    """
    chief = directions_through(lens, eye, points)
    right, axis, _ = lens.rig_from_lens[:3, :3].T

    # across the plane through ray and axis; along the axis all planes are alike
    across = np.cross(chief, axis)
    level = np.linalg.norm(across, axis=1) < 1e-9
    across[level] = np.cross(np.cross(chief[level], right), chief[level])
    across /= np.linalg.norm(across, axis=1, keepdims=True)

    found = []
    for section in (np.cross(across, chief), across):
        ends = [
            directions_through(lens, eye + way * NEIGHBOUR * section, points) for way in (-1, 1)
        ]
        turned = np.sum((ends[0] - ends[1]) * section, axis=1)
        found.append(1000 * turned / (2 * NEIGHBOUR))
    return np.stack(found, axis=1)


def _diffraction(screen: PlacedScreen, eye: Array) -> float | None:
    if screen.lens is None:
        return None
    before, behind = _distances(screen, eye)
    return ARCMIN * diffraction_blur(screen.lens.optic.pitch, before, behind)


def _moire(screen: PlacedScreen, eye: Array) -> dict[str, float | None] | None:
    if screen.lens is None:
        return None
    before, behind = _distances(screen, eye)
    enlarged = behind / screen.lens.optic.separation

    # all as angles at the eye, for the worse direction of the pixels
    grooves = screen.lens.optic.pitch / before
    pixels = [
        side / count * enlarged / (before + behind)
        for side, count in zip(screen.size, screen.display.pixels, strict=True)
    ]
    ratio, period = max((moire(grooves, pixel) for pixel in pixels), key=lambda found: found[1])
    return {"ratio": ratio, "period": period * ARCMIN if np.isfinite(period) else None}


def _distances(screen: PlacedScreen, eye: Array) -> tuple[float, float]:
    """Return how far an eye is in front of the lens plane, and the ideal image behind it."""
    assert screen.lens is not None
    optic = screen.lens.optic
    before = -float(eye_in_aperture_frame(screen, eye)[1])
    return before, magnification(optic.focal_length, optic.separation) * optic.separation


def _ideal(screen: PlacedScreen) -> PlacedLens | None:
    return as_thin(screen.lens) if screen.lens else None


def _seen(assembly: Assembly, screen: PlacedScreen, eye: Array, points: Array) -> Array:
    """Return in which directions (n, 3) an eye sees points of an image through its own lens.

    Not a number where a part is in the way, or the ray would pass beside the lens.
    """
    directions = directions_through(screen.lens, eye, points, within=True)
    ends = trace(assembly, np.broadcast_to(eye, points.shape), directions)
    off = np.linalg.norm(ends.points - points, axis=1)
    reached = (ends.parts == assembly.part_id(screen.name)) & (off < SAME_POINT)
    return np.where(reached[:, None], directions, np.nan)
