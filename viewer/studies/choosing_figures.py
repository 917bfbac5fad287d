"""What a rig comes to, in the few numbers that a search compares, and quickly.

An image counts as seen that its own lens's or bezel's edge leaves: what else stands in the way no
lens distance changes. It is looked at when the search is over.
"""

import functools
import itertools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.frames import Array, azimuth_and_elevation
from seamsight.scene.layout import PlacedScreen, place
from seamsight.scene.optics import magnification
from seamsight.scene.places import settled
from seamsight.scene.rig import Rig
from seamsight.viewer.casting.sightlines import (
    directions_through,
    eye_in_aperture_frame,
    image_points,
)
from seamsight.viewer.eye import Eyes, eyes_of, head_named
from seamsight.viewer.numbers import grooved
from seamsight.viewer.numbers.clashes import clash_depths
from seamsight.viewer.numbers.margins import in_front, seen_ends
from seamsight.viewer.numbers.rectangles import Rectangles
from seamsight.viewer.numbers.seams import outside_neighbours
from seamsight.viewer.numbers.strips import Gaze, dark_strips
from seamsight.viewer.numbers.units import ARCMIN, DEGREES, MM, PERCENT, TIMES, Unit
from seamsight.viewer.studies.head_box import FARTHEST, WAYS, seen_between

LOOKS = 32  # places along a way, of which the first that fails is looked at more closely
CLOSER = 3  # times
DARK = 60.0  # arcmin of blur where no light passes
UNSEEN = 180.0  # degrees of a dark strip where an eye does not see both images


@dataclass(frozen=True)
class Figure:
    """A number that a goal or a constraint is about.

    Attributes
    ----------
    words : str
    unit : Unit
    better : "more" or "less"
    scale : float
        What counts as a lot of it, so that falling short of several can be added up.
    """

    words: str
    unit: Unit
    better: Literal["more", "less"]
    scale: float


FIGURES = {
    "field": Figure("visible field of both eyes", DEGREES, "more", 100.0),
    "head-room": Figure("head room", MM, "more", 50.0),
    "blur": Figure("blur in the worst corner", ARCMIN, "less", 10.0),
    "dark-strip": Figure("widest dark strip", DEGREES, "less", 5.0),
    "corner-light": Figure("light in the worst corner", PERCENT, "more", 1.0),
    "magnification": Figure("magnification", TIMES, "more", 1.0),
    "seen": Figure("share of the least seen screen", PERCENT, "more", 1.0),
    "hide": Figure("strip in which hidden parts show", DEGREES, "less", 5.0),
    "width": Figure("width of the screens", MM, "less", 500.0),
    "depth": Figure("depth of the screens", MM, "less", 500.0),
    "height": Figure("height of the screens", MM, "less", 500.0),
    "clash": Figure("overlap of neighbouring screens", MM, "less", 20.0),
}
"""By their keys. The first six can be goals; the screens are those of the outside view."""

GOALS = ("field", "head-room", "blur", "dark-strip", "corner-light", "magnification")


@dataclass(frozen=True)
class Views:
    """From where to look, and what for.

    Attributes
    ----------
    head : str
        The head position that all figures but two are for.
    heads : tuple of str
        The head positions for `seen` and `hide`.
    seen : float
        Share of each image that each eye must keep while the head moves.
    hide : tuple of str
        Roles of parts that may not be seen between neighbouring images.
    """

    head: str
    heads: tuple[str, ...]
    seen: float = 0.98
    hide: tuple[str, ...] = ()


def figures(rig: Rig, views: Views, keys: frozenset[str]) -> dict[str, float | None]:
    """Return some of `FIGURES` of a rig, None for what it has not at all.

    Raises
    ------
    ChoiceError, PoseError
        When it cannot be built or looked at so.
    """
    look = _Look(settled(rig), views)
    return {key: _FINDERS[key](look) for key in FIGURES if key in keys}


class _Look:
    """A rig in its place, of which only what is asked for is worked out."""

    def __init__(self, rig: Rig, views: Views) -> None:
        self.rig = rig
        self.views = views
        self.screens = tuple(screen for screen in place(rig) if screen.outside)
        self.eyes = eyes_of(rig, head_named(rig, views.head))

    @functools.cached_property
    def rectangles(self) -> Rectangles:
        return Rectangles(self.screens)

    @functools.cached_property
    def assembly(self) -> Assembly:
        return build(self.rig)


def _magnification(look: _Look) -> float | None:
    lenses = [screen.lens.optic for screen in look.screens if screen.lens]
    return min(
        (magnification(optic.focal_length, optic.separation) for optic in lenses), default=None
    )


def _seen(look: _Look) -> float:
    places = [eyes_of(look.rig, head_named(look.rig, name)) for name in look.views.heads]
    rows = np.concatenate([[eyes.left, eyes.right] for eyes in places])
    return float(look.rectangles.shares(rows).min())


def _field(look: _Look) -> float:
    """Return over which angle across, degrees, both eyes see middle rows; what two show, once."""
    starts, stops = [], []
    for screen in look.screens:
        ends = _ends_of_row(screen, look.eyes)
        if ends is not None:
            start, stop = ends
            starts.append(start)
            stops.append(start + (stop - start) % (2 * math.pi))
    reached = -math.inf
    whole = 0.0
    for start, stop in sorted(zip(starts, stops, strict=True)):
        whole += max(0.0, stop - max(start, reached))
        reached = max(reached, stop)
    return min(math.degrees(whole), 360.0)


def _ends_of_row(screen: PlacedScreen, eyes: Eyes) -> tuple[float, float] | None:
    """Return the azimuths, radians, at the point between the eyes of what both see of a row."""
    if not in_front(screen, eyes.rows).all():
        return None
    places = seen_ends(screen, np.stack([eyes.left, eyes.right]), ("left", "right"))
    if not places[0, 0] < places[1, 0]:
        return None
    ways = directions_through(screen.lens, eyes.mid, image_points(screen, places))
    start, stop = azimuth_and_elevation(ways)[0].tolist()
    return (start, stop) if math.isfinite(start + stop) else None


def _head_room(look: _Look) -> float:
    """Return how far a head may move each way alone, the least of all, mm; at most 1 m.

    As far as each eye keeps so much of each image.
    """
    ways = np.array(list(WAYS.values()))
    both = np.stack([look.eyes.left, look.eyes.right])

    def spare(far: Array) -> Array:
        """Return what each way (w) leaves at distances (w, n) of the share asked for, (w, n)."""
        moved = both + (far[..., None] * ways[:, None])[:, :, None]
        least = look.rectangles.shares(moved.reshape(-1, 3)).min(axis=1)
        return np.asarray(least.reshape(moved.shape[:3]).min(axis=2) - look.views.seen)

    # take the first step of each way that fails, and cut it into as many again
    rows = np.arange(len(ways))
    low, high = np.zeros(len(ways)), np.full(len(ways), FARTHEST)
    for _ in range(CLOSER):
        steps = np.linspace(low, high, LOOKS + 1, axis=1)
        left = spare(steps)
        fails = left < 0
        if fails[:, 0].any():
            return 0.0
        first = np.where(fails.any(axis=1), np.argmax(fails, axis=1), LOOKS)
        low, high = steps[rows, first - 1], steps[rows, first]

    # between two neighbouring steps it falls all but evenly
    before, after = left[rows, first - 1], np.minimum(left[rows, first], 0.0)
    share = before / np.where(before > after, before - after, 1.0)
    share = np.where(fails.any(axis=1), share, 1.0)
    return float((low + share * (high - low)).min())


def _corners(look: _Look) -> list[tuple[float, float | None]]:
    """Return light and blur in the worst corner of each grooved lens.

    Once where units of a bank have the eyes alike.
    """
    found = {}
    for screen in look.screens:
        if screen.lens and screen.lens.optic.model == "grooved":
            place = np.round(eye_in_aperture_frame(screen, look.eyes.mid), 6)
            key = (screen.bank or screen.name, tuple(place.tolist()))
            if key not in found:
                found[key] = grooved.worst_corner(screen, look.eyes.mid)
    return [one for one in found.values() if one is not None]


def _blur(look: _Look) -> float | None:
    """Return the worst blur, arcmin; 60 where no light passes a corner."""
    blurs = [blur for _, blur in _corners(look)]
    return max((DARK if blur is None else blur for blur in blurs), default=None)


def _corner_light(look: _Look) -> float | None:
    return min((light for light, _ in _corners(look)), default=None)


def _dark_strip(look: _Look) -> float | None:
    """Return the widest dark strip, degrees, 0 where images overlap at every seam."""
    pairs = outside_neighbours(look.assembly, look.eyes)
    gazes = [Gaze(*pair, eye) for pair in pairs for eye in (look.eyes.left, look.eyes.right)]
    if not gazes:
        return None
    strips = dark_strips(look.assembly, gazes)
    angles = [math.degrees(strip.angle) if strip else UNSEEN for strip in strips]
    return max(0.0, *angles)


def _hide(look: _Look) -> float:
    """Return the widest strip, degrees, in which a part shows that should not."""
    widest = 0.0
    for name in look.views.heads:
        eyes = eyes_of(look.rig, head_named(look.rig, name))
        shows = seen_between(look.assembly, eyes, look.views.hide)
        widest = max(widest, *(failure.by for failure in shows), 0.0)
    return widest


def _reach(axis: int) -> Callable[[_Look], float]:
    """Return what tells how far the screens with their lenses and boards reach along an axis."""

    def reach(look: _Look) -> float:
        names = tuple(screen.name for screen in look.screens)
        starts = tuple(f"{name} " for name in names)
        parts = [
            part.bounds
            for part in look.assembly.parts
            if part.name in names or part.name.startswith(starts)
        ]
        ends = np.array(parts)[:, :, axis]
        return float(ends[:, 1].max() - ends[:, 0].min())

    return reach


def _clash(look: _Look) -> float:
    """Return how deep neighbours of a bank run into each other, mm."""
    pairs = [
        (first, second)
        for first, second in itertools.pairwise(look.screens)
        if first.bank and first.bank == second.bank and first.number == 1
    ]  # all units of a bank meet alike
    return max(clash_depths(pairs), default=0.0)


_FINDERS: Mapping[str, Callable[[_Look], float | None]] = {
    "field": _field,
    "head-room": _head_room,
    "blur": _blur,
    "dark-strip": _dark_strip,
    "corner-light": _corner_light,
    "magnification": _magnification,
    "seen": _seen,
    "hide": _hide,
    "width": _reach(0),
    "depth": _reach(1),
    "height": _reach(2),
    "clash": _clash,
}
