"""What other lenses would show: an ideal one, stock ones, and ones cut for the rig.

Each takes the place of a rig's own lens and is seen through its aperture alone.
"""

import functools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.display import Display, Optic
from seamsight.scene.frames import Array, shift
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.scene.optics import D_LINE, acrylic_index, facet_tangent
from seamsight.scene.rig import Rig
from seamsight.viewer.casting.sightlines import eye_in_aperture_frame, optics_of
from seamsight.viewer.eye import EYES, Eyes
from seamsight.viewer.numbers import grooved
from seamsight.viewer.numbers.landing import visible_field
from seamsight.viewer.numbers.margins import SIDES, in_front, margin

LENS_MODELS: dict[str, dict[str, str]] = {
    "ideal": {"model": "thin"},
    **{
        f"{words}, grooves to the {side}": {
            "model": "grooved",
            "conjugates": conjugates,
            "grooves": side,
        }
        for words, conjugates in (("stock", "infinity"), ("cut for the rig", "rig"))
        for side in ("pilot", "screen")
    },
}
"""What can take a lens's place: its name in reports, and the keys of a lens that make it."""

IDEAL = grooved.GroovedNumbers(
    distortion=0.0,
    colour=0.0,
    light={"centre": 1.0, "corner": 1.0},
    blocked={"centre": 0.0, "corner": 0.0},
    blur={"centre": 0.0, "corner": 0.0},
)
SAME_PLACE = 6  # digits of an mm to which like units of a bank have the eyes in one place

Place = tuple[float, ...]


@dataclass(frozen=True)
class LensFigures:
    """What one lens in a screen's place would show.

    Attributes
    ----------
    lens : str
        Its name in `LENS_MODELS`.
    in_rig : bool
        Whether it is the rig's own.
    field : dict
        "h", "v": degrees of the image's middle row and column that are seen through the aperture
        from the point between the eyes.
    lost : float
        Widest strip of the image that the left or the right eye loses at a side, mm.
    light : dict
        "centre", "corner" (the worst): share of the light that passes.
    distortion, colour : float or None
        Greatest along the border of what is seen: degrees off the ideal lens, arcmin between red
        and blue; None where nothing of the border passes.
    blur : dict
        "centre", "corner": of a point over a 4 mm pupil, arcmin; None where none passes.
    groove_angle : float
        Degrees from the lens plane of the facets in the aperture's corners; 0 for the ideal lens.
    """

    lens: str
    in_rig: bool
    field: dict[str, float]
    lost: float
    light: dict[str, float]
    distortion: float | None
    colour: float | None
    blur: dict[str, float | None]
    groove_angle: float


def with_lens_model(rig: Rig, name: str) -> Rig:
    """Return a rig with every lens turned into one of `LENS_MODELS`."""
    keys = LENS_MODELS[name]
    lenses = tuple(lens.model_copy(update=keys) for lens in rig.lens)
    banks = tuple(
        bank.model_copy(update={"lens": bank.lens.model_copy(update=keys)}) if bank.lens else bank
        for bank in rig.bank
    )
    return rig.model_copy(update={"lens": lenses, "bank": banks})


def optics_of_rig(rig: Rig) -> list[Optic]:
    """Return every lens of a rig, once for a whole bank."""
    return [*rig.lens, *(bank.lens for bank in rig.bank if bank.lens)]


def f_number(optic: Optic) -> float:
    """Return a lens's focal length over the diagonal of its aperture."""
    return optic.focal_length / math.hypot(optic.width, optic.height)


def lens_models(assembly: Assembly, eyes: Eyes) -> dict[str, tuple[LensFigures, ...]]:
    """Return what each of `LENS_MODELS` would show, by screens with all eyes in front of the lens.

    A lens too thick to fit between its screen and the lens plane is left out.
    """
    # the point between the eyes is alike for all units of a bank: what it sees is computed once
    seen = functools.cache(_seen)
    return {
        screen.name: tuple(_figures(screen, screen.lens.optic, eyes, seen))
        for screen in assembly.screens
        if screen.lens and in_front(screen, eyes.rows).all()
    }


def _figures(
    screen: PlacedScreen, optic: Optic, eyes: Eyes, seen: Callable[..., dict[str, Any]]
) -> Iterator[LensFigures]:
    """Yield the figures of each lens that can take the place of a screen's own."""
    own = Optic(**optic.model_dump(include=set(Optic.model_fields)))  # without its screen's name
    left, right, mid = (_place(screen, eyes.point(eye)) for eye in EYES)
    for name, keys in LENS_MODELS.items():
        model = own.model_copy(update=keys)
        if model.broken_rule() is None:
            lost = _lost(screen.size, model, left, right)
            yield LensFigures(name, model == own, lost=lost, **seen(screen.size, model, mid))


def _place(screen: PlacedScreen, eye: Array) -> Place:
    """Return where an eye is in front of a lens, rounded: alike for like units of a bank."""
    return tuple(np.round(eye_in_aperture_frame(screen, eye), SAME_PLACE).tolist())


def _alone(size: tuple[float, float], optic: Optic) -> PlacedScreen:
    """Return a screen of some size behind a lens, in the lens's own frame."""
    width, height = size
    behind = shift(-optic.offset[0], optic.separation, -optic.offset[1])
    display = Display(width=width, height=height, pixels=(1, 1))
    return PlacedScreen("", behind, display, PlacedLens(np.eye(4), optic))


def _seen(size: tuple[float, float], optic: Optic, mid: Place) -> dict[str, Any]:
    """Return those of `LensFigures` that the point between the eyes alone decides."""
    screen = _alone(size, optic)
    assert screen.lens is not None
    eye = np.array(mid)
    sheet = grooved.numbers(screen, eye) or IDEAL
    return {
        "field": {way: math.degrees(angle) for way, angle in visible_field(screen, eye).items()},
        "light": sheet.light,
        "distortion": sheet.distortion,
        "colour": sheet.colour,
        "blur": sheet.blur,
        "groove_angle": _groove_angle(screen.lens) if optic.model == "grooved" else 0.0,
    }


def _lost(size: tuple[float, float], optic: Optic, left: Place, right: Place) -> float:
    """Return the widest strip that an eye loses at a side, mm."""
    screen = _alone(size, optic)
    eyes = np.array([left, right])
    return max(0.0, *(-float(margin(screen, eyes, side).min()) for side in SIDES))


def _groove_angle(lens: PlacedLens) -> float:
    """Return how steep a lens's facets are in its aperture's corners, degrees."""
    optics = optics_of(lens)
    radius = math.hypot(lens.optic.width, lens.optic.height) / 2
    tangent = facet_tangent(
        radius, acrylic_index(D_LINE), optics.flat_vergence, optics.groove_vergence
    )
    return math.degrees(math.atan(tangent))
