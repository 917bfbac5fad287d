"""The numbers of a rig from a head: what a builder must know before cutting.

All in double precision. `measure` gives them all; its parts can be asked singly.
"""

import dataclasses
import math
from dataclasses import dataclass, field
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.misfits import misfits
from seamsight.scene.notes import Note, with_lines
from seamsight.scene.optics import magnification
from seamsight.viewer.casting.frustum import view_of
from seamsight.viewer.casting.sightlines import (
    ARCMIN,
    angle_between,
    aperture_of,
    directions_through,
    edge_middles,
    eye_in_aperture_frame,
    image_points,
)
from seamsight.viewer.casting.trace import refuse_inside
from seamsight.viewer.eye import EYES, Eyes
from seamsight.viewer.numbers import grooved
from seamsight.viewer.numbers.areas import ImageAreas, image_areas
from seamsight.viewer.numbers.clashes import clashes
from seamsight.viewer.numbers.comfort import Comfort, comfort
from seamsight.viewer.numbers.lens_models import LensFigures, f_number, lens_models
from seamsight.viewer.numbers.margins import SIDES, in_front, margin
from seamsight.viewer.numbers.reasons import Angles, reasons_from_before, reasons_from_behind
from seamsight.viewer.numbers.seams import Seam, seams
from seamsight.viewer.numbers.shares import Shares, image_shares
from seamsight.viewer.numbers.visible import visible_field


@dataclass(frozen=True, kw_only=True)
class ScreenNumbers:
    """One screen as a head sees it; lengths mm, angles degrees.

    What needs the eye in front of the lens plane (without a lens: of the bezel) is None elsewhere,
    and what needs a place of the image is None where grooves let nothing of it through.

    Attributes
    ----------
    outside : bool
        Whether it is one of the screens of the outside scene; see `PlacedScreen`.
    magnification : float
        f / (f - d); 1 without a lens.
    image_distance : float or None
        Point between the eyes to the plane of the (virtual) image along the screen's normal:
        e + M d.
    image_dioptres : float or None
        1000 / distance from the point between the eyes to the image's centre.
    span : dict or None
        "h", "v": angle at the point between the eyes between the middles of opposite edges.
    arcmin_per_px : dict or None
        "h", "v": at the image's centre.
    visible : dict or None
        {"left", "right", "both", "either": {"h", "v"}}, degrees: the field that is really seen,
        with all parts in place, see `visible_field`.
    seen : dict
        "left", "right", "both", "either": share of the image's area.
    through : dict or None
        The same of what is seen through the screen's own lens; None without one.
    unsure : dict
        "seen", "hidden_by": by how much shares of areas may be off.
    margin : dict or None
        {side: {eye: mm}}: from the image's edge to the last point of its plane seen through the
        aperture.
    gap_needed : dict or None
        {side: mm}: margin of the point between the eyes - the smaller of both eyes' margins. Below
        0 where both eyes see farther beyond the edge than that point: grooves bend rays that
        come from the side a little otherwise than those in line with their axis.
    frustum : dict or None
        Tangents "left", "right", "bottom", "top" at the point between the eyes in the screen's
        frame, and its yaw, pitch, roll.
    angular : dict or None
        "h", "v": how many times as large `span` is as without the lens in the same place.
    comfort : Comfort
        What the image asks of two eyes; in JSON its numbers are beside the others.
    reasons : dict
        Why numbers are None at this head position, wholly or in part, by their names. What a screen
        without a lens never has needs no reason.
    f_number : float or None
        Focal length over the diagonal of the aperture; None without a lens.
    lens_models : tuple of LensFigures or None
        What other lenses would show; None without a lens, and unless `with_lens_models` asked.
    sheet : GroovedNumbers or None
        What a real grooved lens does besides; in JSON its numbers are beside the others.
    """

    outside: bool
    magnification: float
    image_distance: float | None = None
    image_dioptres: float | None = None
    span: Angles | None = None
    arcmin_per_px: Angles | None = None
    visible: dict[str, Angles] | None = None
    seen: dict[str, float]
    through: dict[str, float] | None
    unsure: dict[str, float]
    margin: dict[str, dict[str, float]] | None = None
    gap_needed: dict[str, float] | None = None
    frustum: dict[str, float] | None = None
    angular: Angles | None = None
    comfort: Comfort = field(default_factory=Comfort)
    reasons: dict[str, str] = field(default_factory=dict)
    f_number: float | None = None
    lens_models: tuple[LensFigures, ...] | None = None
    sheet: grooved.GroovedNumbers | None = None

    def as_json(self) -> dict[str, Any]:
        """Return them as JSON has them: comfort and a real lens's numbers beside the others."""
        whole = dataclasses.asdict(self)
        asked = whole.pop("comfort")
        del whole["sheet"]
        return {**whole, **asked, **(self.sheet.as_json() if self.sheet else {})}


@dataclass(frozen=True)
class MarkNumbers:
    """A point compared with its reference.

    Attributes
    ----------
    off : float
        How far off it is, mm.
    good : bool
        Whether that is within its tolerance.
    """

    off: float
    good: bool


@dataclass(frozen=True)
class Numbers:
    """All numbers of a rig from one head; the names are those of `seamsight check --json`."""

    rig: str
    head: str
    screens: dict[str, ScreenNumbers]
    seams: list[Seam]
    hidden_by: dict[str, dict[str, float]]
    marks: dict[str, MarkNumbers]
    notes: list[Note] = field(default_factory=list)

    def as_json(self) -> dict[str, Any]:
        """Return them as JSON has them."""
        screens = {name: screen.as_json() for name, screen in self.screens.items()}
        notes = [note.as_json() for note in self.notes]
        return dataclasses.asdict(self) | {"screens": screens, "notes": notes}


def measure(assembly: Assembly, eyes: Eyes) -> Numbers:
    """Return the numbers of a rig as a head sees it.

    Raises
    ------
    PoseError
        When an eye is inside a part.
    """
    refuse_inside(assembly, eyes.rows)

    areas = image_areas(assembly, eyes)
    shares = {name: image_shares(assembly, of_image) for name, of_image in areas.items()}
    return Numbers(
        rig=assembly.rig.name,
        head=eyes.head.name,
        screens={
            screen.name: screen_numbers(
                assembly, screen, eyes, areas[screen.name], shares[screen.name]
            )
            for screen in assembly.screens
        },
        seams=seams(assembly, eyes),
        hidden_by={name: share.hidden_by for name, share in shares.items()},
        marks=mark_numbers(assembly),
        notes=notes_on(assembly),
    )


def notes_on(assembly: Assembly) -> list[Note]:
    """Return what to check in a rig before cutting, with lines of its file if it has one.

    Forgotten units come first, as they bring on others, then what cannot be built. They are the
    same from every head, so they are looked for once.
    """
    if assembly not in _notes:
        found = [*misfits(assembly), *clashes(assembly)]
        found.sort(key=lambda note: ("unit", "clash", "misfit").index(note.kind))
        _notes[assembly] = with_lines(found, assembly.rig.source)
    return list(_notes[assembly])


_notes: WeakKeyDictionary[Assembly, list[Note]] = WeakKeyDictionary()


def with_lens_models(numbers: Numbers, assembly: Assembly, eyes: Eyes) -> Numbers:
    """Return the numbers of a rig from a head, with what other lenses would show there."""
    found = lens_models(assembly, eyes)
    screens = {
        name: dataclasses.replace(screen, lens_models=found.get(name))
        for name, screen in numbers.screens.items()
    }
    return dataclasses.replace(numbers, screens=screens)


def screen_numbers(
    assembly: Assembly, screen: PlacedScreen, eyes: Eyes, areas: ImageAreas, shares: Shares
) -> ScreenNumbers:
    """Return the numbers of one screen, of whose image these places are seen."""
    enlarged = 1.0
    fast = None
    if screen.lens:
        enlarged = magnification(screen.lens.optic.focal_length, screen.lens.optic.separation)
        fast = f_number(screen.lens.optic)
    seen = {eye: getattr(shares, eye) for eye in ("left", "right", "both", "either")}
    of_areas = ScreenNumbers(
        outside=screen.outside,
        magnification=enlarged,
        seen=seen,
        through=shares.through,
        unsure=shares.unsure,
        f_number=fast,
    )
    if not in_front(screen, eyes.rows).all():
        return dataclasses.replace(of_areas, reasons=reasons_from_behind())

    # from the point between the eyes to the image's (virtual) centre, in the aperture's frame
    aperture = aperture_of(screen)
    middle = -aperture.near * enlarged if screen.lens else -aperture.near
    away = middle - eye_in_aperture_frame(screen, eyes.mid)

    past = margins(screen, eyes)
    span = _angles(screen, eyes.mid, edge_middles(screen), math.degrees(1))
    pixel = _angles(screen, eyes.mid, _pixel_edges(screen), ARCMIN)
    bare = dataclasses.replace(screen, lens=None)
    without = _angles(bare, eyes.mid, edge_middles(bare), math.degrees(1))
    asked = comfort(assembly, screen, eyes)
    return dataclasses.replace(
        of_areas,
        image_distance=float(away[1]),
        image_dioptres=1000 / float(np.linalg.norm(away)),
        span=span,
        arcmin_per_px=pixel,
        visible=visible_field(areas, eyes),
        margin=past,
        gap_needed={
            side: by_eye["mid"] - min(by_eye["left"], by_eye["right"])
            for side, by_eye in past.items()
        },
        frustum=_frustum(screen, eyes.mid),
        reasons=reasons_from_before(span, pixel, asked),
        angular={way: _ratio(angle, without[way]) for way, angle in span.items()},
        comfort=asked,
        sheet=grooved.numbers(screen, eyes.mid),
    )


def margins(screen: PlacedScreen, eyes: Eyes) -> dict[str, dict[str, float]]:
    """Return how far beyond each side of an image each eye sees its plane, {side: {eye: mm}}."""
    return {
        side: dict(zip(EYES, margin(screen, eyes.rows, side).tolist(), strict=True))
        for side in SIDES
    }


def mark_numbers(assembly: Assembly) -> dict[str, MarkNumbers]:
    """Return for every mark of a rig how far it is from where it should be."""
    found = {}
    for mark in assembly.rig.mark:
        off = float(np.linalg.norm(np.subtract(mark.at, assembly.rig.pilot.eye_point) - mark.want))
        found[mark.name] = MarkNumbers(off, off <= mark.within)
    return found


def _angles(screen: PlacedScreen, eye: Array, places: Array, unit: float) -> Angles:
    """Return the angles between the first two places (4, 2) of an image, and between the others.

    In a unit of which a radian has so many; None where the lens lets nothing of a place through.
    """
    left, right, bottom, top = directions_through(screen.lens, eye, image_points(screen, places))
    angles = {"h": angle_between(left, right), "v": angle_between(bottom, top)}
    return {way: angle * unit if math.isfinite(angle) else None for way, angle in angles.items()}


def _pixel_edges(screen: PlacedScreen) -> Array:
    """Return the middles of the left, right, bottom and top edge of an image's middle pixel."""
    across, up = (
        side / pixels / 2 for side, pixels in zip(screen.size, screen.display.pixels, strict=True)
    )
    return np.array([(-across, 0), (across, 0), (0, -up), (0, up)])


def _ratio(angle: float | None, to: float | None) -> float | None:
    return None if angle is None or not to else angle / to


def _frustum(screen: PlacedScreen, eye: Array) -> dict[str, float] | None:
    view = view_of(screen, eye)
    if view is None:
        return None
    # a sum with 0 has no minus where it is 0
    turned = {key: math.degrees(getattr(view, key)) + 0.0 for key in ("yaw", "pitch", "roll")}
    return view._asdict() | turned
