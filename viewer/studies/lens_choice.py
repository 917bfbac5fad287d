"""Lens sizes and focal lengths tried in front of a bank or screen: what each would show.

A lens takes its place in a copy of the rig; whatever stands on the screen or bank moves with it.
Formulas of the rig file are worked out before, with the file's own values.
"""

import dataclasses
import itertools
import math
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.display import Optic
from seamsight.scene.errors import ChoiceError, PoseError
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.notes import Note
from seamsight.scene.optics import magnification
from seamsight.scene.rig import Head, Rig
from seamsight.viewer.casting.sightlines import angle_between, directions_through, image_points
from seamsight.viewer.casting.trace import refuse_inside
from seamsight.viewer.eye import Eyes, eyes_of
from seamsight.viewer.numbers.clashes import clashes
from seamsight.viewer.numbers.lens_models import LENS_MODELS, LensFigures, lens_models
from seamsight.viewer.numbers.margins import SIDES, in_front, seen_ends
from seamsight.viewer.numbers.seams import outside_neighbours
from seamsight.viewer.numbers.strips import Gaze, dark_strips
from seamsight.viewer.studies.head_box import Asked, head_room
from seamsight.viewer.studies.lens_filling import Lens, filling

ROOM = ("left", "right", "forward", "back")  # ways of `head_box` that head room is given for
SEEN = 0.98  # share of each image that each eye keeps within the head room
BRIGHT = 0.5  # share of the light from which corners do not look dim (our choice)


@dataclass(frozen=True)
class KindFigures:
    """What one kind of lens shows: the worst of all units of a bank.

    Attributes
    ----------
    lens : str
        Its name in `LENS_MODELS`.
    field : dict
        "h", "v": degrees, at the point between the eyes, of the image's middle row and column that
        both eyes see through the aperture.
    lost : float
        Widest strip that an eye loses at a side of an image, mm.
    dark : float or None
        Widest dark strip that the left or the right eye sees between neighbouring images, degrees;
        negative where they overlap at every seam. None without seams, or where an eye does not see
        both images.
    light : float
        Share of the light that passes the worst corner.
    blur : float or None
        Of a point in the worst corner, arcmin; None where no light passes.
    distortion : float or None
        Greatest, degrees off the ideal lens; None where no light passes at the border.
    """

    lens: str
    field: dict[str, float]
    lost: float
    dark: float | None
    light: float
    blur: float | None
    distortion: float | None


@dataclass(frozen=True)
class Tried:
    """What a lens comes to in a rig; lengths mm.

    Attributes
    ----------
    lens : Lens
    distance, magnification : float or None
        From the screen surface to the lens plane, and f / (f - d); None where there is none.
    impossible : tuple of str
        Why it cannot be built or used so, in words; empty where it can.
    kinds : tuple of KindFigures
        The ideal lens first; empty where it is impossible.
    head_room : dict or None
        {way of `ROOM`: mm}: how far the head may move until an eye sees less than 98 % of a screen
        of the outside view, with ideal lenses; None without such screens, and where impossible.
    runs_into : tuple of (str, str)
        Pairs of parts that run into each other with this lens but not in the rig as it is, so that
        one must move.
    """

    lens: Lens
    distance: float | None
    magnification: float | None
    impossible: tuple[str, ...] = ()
    kinds: tuple[KindFigures, ...] = ()
    head_room: dict[str, float] | None = None
    runs_into: tuple[tuple[str, ...], ...] = ()


def lensed_names(rig: Rig) -> list[str]:
    """Return the banks and screens that have a lens, banks first."""
    banks = [bank.name for bank in rig.bank if bank.lens]
    return banks + [lens.screen for lens in rig.lens]


def tried(rig: Rig, name: str, lens: Lens, head: Head, *, fill: bool = True) -> Tried:
    """Return what a lens would show in front of the bank or screen of that name.

    Parameters
    ----------
    rig : Rig
    name : str
        One of `lensed_names`.
    lens : Lens
    head : Head
    fill : bool
        Whether the image is to just fill the lens from the design eye point; else distance or
        magnification stay as the rig gives them.
    """
    optic = _optic(rig, name)
    width, height = lens.size
    keys: dict[str, float | None] = {"width": width, "height": height}
    keys["focal_length"] = lens.focal_length
    if fill:
        distance, why = filling(_units(build(rig), name)[0], rig.pilot.eye_point, lens)
        if why:
            return Tried(lens, distance, None, (why,))
        keys |= {"distance": distance, "magnification": None}
    changed = optic.model_copy(update={"model": "thin", **keys})
    broken = changed.broken_rule()
    if broken:
        return Tried(lens, changed.separation, None, (f"the lens {broken}",))
    enlarged = magnification(lens.focal_length, changed.separation)
    return _looked_at(rig, name, Tried(lens, changed.separation, enlarged), changed, head)


def best(found: list[Tried]) -> tuple[Tried, KindFigures] | None:
    """Return where both eyes see the largest field through a real lens, and that lens.

    Of those that leave half of the light in the corners, if any does. None where nothing is
    possible, or every lens is too thick to be a real one there.
    """
    real = [(one, kind) for one in found for kind in one.kinds if kind.lens != "ideal"]
    bright = [(one, kind) for one, kind in real if kind.light >= BRIGHT]
    return max(bright or real, key=lambda pair: math.prod(pair[1].field.values()), default=None)


def with_optic(rig: Rig, name: str, optic: Optic) -> Rig:
    """Return a rig with another lens in front of the bank or screen of that name."""
    keys = {key: getattr(optic, key) for key in Optic.model_fields}
    banks = tuple(
        bank.model_copy(update={"lens": optic}) if bank.name == name else bank for bank in rig.bank
    )
    lenses = tuple(
        lens.model_copy(update=keys) if lens.screen == name else lens for lens in rig.lens
    )
    return rig.model_copy(update={"bank": banks, "lens": lenses})


def _optic(rig: Rig, name: str) -> Optic:
    banks = {bank.name: bank.lens for bank in rig.bank if bank.lens}
    return banks.get(name) or next(lens for lens in rig.lens if lens.screen == name)


def _units(assembly: Assembly, name: str) -> list[PlacedScreen]:
    return [screen for screen in assembly.screens if name in (screen.bank, screen.name)]


def _looked_at(rig: Rig, name: str, one: Tried, optic: Optic, head: Head) -> Tried:
    """Return what a lens that follows its own rules shows, or why its rig cannot be built."""
    try:
        assembly = build(with_optic(rig, name, optic))
        eyes = eyes_of(rig, head)
        refuse_inside(assembly, eyes.rows)
    except (ChoiceError, PoseError) as error:
        return dataclasses.replace(one, impossible=(str(error),))
    units = _units(assembly, name)
    own, others = _clashes(assembly, units)
    if own:
        more = f" ({len(own)} such places in all)" if len(own) > 1 else ""
        return dataclasses.replace(one, impossible=(own[0].text + more,))
    if not all(in_front(unit, eyes.rows).all() for unit in units):
        why = f'from head position "{head.name}" an eye would be beside or behind the lens'
        return dataclasses.replace(one, impossible=(why,))

    # what runs into each other as it is needs no other lens to do so
    before = {note.names for note in clashes(build(rig))} if others else set()
    room = None
    if any(unit.outside for unit in units):
        ways = head_room(assembly, head, Asked(SEEN), ROOM)
        room = {way: travel.far for way, travel in ways.items()}
    return dataclasses.replace(
        one,
        kinds=_kinds(rig, name, optic, assembly, eyes),
        head_room=room,
        runs_into=tuple(note.names for note in others if note.names not in before),
    )


def _clashes(assembly: Assembly, units: list[PlacedScreen]) -> tuple[list[Note], list[Note]]:
    """Return clashes between a bank's or screen's own parts, and others; the deepest first.

    A part is a unit's own if it is called after it, as "outside.1 lens frame".
    """
    names = tuple(unit.name for unit in units)
    starts = tuple(f"{name} " for name in names)
    own: list[Note] = []
    others: list[Note] = []
    for note in clashes(assembly):
        if note.kind == "clash":
            is_own = all(part in names or part.startswith(starts) for part in note.names)
            (own if is_own else others).append(note)
    return own, others


def _kinds(
    rig: Rig, name: str, optic: Optic, assembly: Assembly, eyes: Eyes
) -> tuple[KindFigures, ...]:
    """Return what each kind of lens shows that fits between its screen and the lens plane."""
    found = lens_models(assembly, eyes)
    by_kind: dict[str, list[LensFigures]] = {kind: [] for kind in LENS_MODELS}
    for figures in itertools.chain(*(found[unit.name] for unit in _units(assembly, name))):
        by_kind[figures.lens].append(figures)
    return tuple(
        _kind(
            build(with_optic(rig, name, optic.model_copy(update=keys))), name, eyes, by_kind[kind]
        )
        for kind, keys in LENS_MODELS.items()
        if by_kind[kind]
    )


def _kind(assembly: Assembly, name: str, eyes: Eyes, figures: list[LensFigures]) -> KindFigures:
    """Return what one kind of lens, which the assembly has, shows: the worst of all units."""
    units = _units(assembly, name)
    fields = [_field_of_both(unit, eyes) for unit in units]
    return KindFigures(
        lens=figures[0].lens,
        field={way: min(field[way] for field in fields) for way in ("h", "v")},
        lost=max(one.lost for one in figures),
        dark=_widest_dark(assembly, units, eyes),
        light=min(one.light["corner"] for one in figures),
        blur=_worst([one.blur["corner"] for one in figures]),
        distortion=_worst([one.distortion for one in figures]),
    )


def _worst(values: list[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return max(known) if len(known) == len(values) else None


def _field_of_both(screen: PlacedScreen, eyes: Eyes) -> dict[str, float]:
    """Return the angles of an image's middle row and column that both eyes see past its aperture.

    Degrees at the point between the eyes; 0 where nothing is left, or can be seen.
    """
    places = seen_ends(screen, np.stack([eyes.left, eyes.right]), tuple(SIDES))
    left, right, bottom, top = directions_through(
        screen.lens, eyes.mid, image_points(screen, places)
    )
    seen = {"h": places[0, 0] < places[1, 0], "v": places[2, 1] < places[3, 1]}
    angles = {"h": angle_between(left, right), "v": angle_between(bottom, top)}
    return {
        way: math.degrees(angle) if seen[way] and math.isfinite(angle) else 0.0
        for way, angle in angles.items()
    }


def _widest_dark(assembly: Assembly, units: list[PlacedScreen], eyes: Eyes) -> float | None:
    """Return the widest dark strip, degrees, at the seams of a bank or screen."""
    gazes = [
        Gaze(*pair, eyes.point(eye))
        for pair in outside_neighbours(assembly, eyes)
        if any(screen in units for screen in pair)
        for eye in ("left", "right")
    ]
    strips = [strip for strip in dark_strips(assembly, gazes) if strip] if gazes else []
    return max((math.degrees(strip.angle) for strip in strips), default=None)
