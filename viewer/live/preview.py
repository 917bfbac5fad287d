"""What the live views share: both eyes' pictures at once, numbers, and when the file was saved."""

import dataclasses
import functools
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.files import Picture
from seamsight.scene.rig import DESIGN, Rig
from seamsight.viewer.casting.trace import refuse_inside, see
from seamsight.viewer.casting.view import picture_of
from seamsight.viewer.eye import Eyes, eyes_of
from seamsight.viewer.light.mirrored_view import with_mirror_images
from seamsight.viewer.live.state import LiveState
from seamsight.viewer.numbers.measures import Numbers, measure
from seamsight.viewer.numbers.quantities import (
    DARK_LEFT,
    DARK_RIGHT,
    FOCUS,
    MISSING_ALONG,
    PIXEL,
    SEEN_LEFT,
    SEEN_RIGHT,
    scene_seams,
)
from seamsight.viewer.numbers.units import ARCMIN, MM, PERCENT, in_words, number_words
from seamsight.viewer.pictures.framing import framed_on_screens
from seamsight.viewer.pictures.places import seen_by_eyes, tinted

WIDTH = 640  # pixels of each eye's picture, where nothing else is asked for
HEIGHT = 360
WIDEST = 1920  # pixels that a picture may have across
# see `trace.see`: costs half as much, and 1 pixel in 30,000 differs in the main sample
MOVING_STRIDE = 4
CELLS = 640  # along the longer side of a screen, of which is computed who sees them


class FileWatch:
    """Tells when a rig file was saved. Made before the file is read, it misses no later save."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self._known = self._before = self._stamp()

    def is_saved(self) -> bool:
        """Return True once for each save: the file differs, or is gone, and lay still meanwhile."""
        now = self._stamp()
        saved = now == self._before != self._known
        self._before = now
        if saved:
            self._known = now
        return saved

    def keep(self) -> None:
        """Take the file for known as it is now: it was saved by ourselves."""
        self._known = self._before = self._stamp()

    def _stamp(self) -> tuple[int, int] | None:
        try:
            found = self.file.stat()
        except OSError:  # while an editor puts the new file in its place
            return None
        return found.st_mtime_ns, found.st_size


class Preview:
    """A rig made ready to be looked at from a moving head.

    Attributes
    ----------
    rig : Rig
    projection : Projection
        Of both pictures, for every state: all screens as seen from the design eye point.
    """

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self._with_lenses = build(rig)
        at_design = eyes_of(rig, rig.heads()[DESIGN])
        self.projection = framed_on_screens(self._with_lenses, at_design, WIDTH, HEIGHT, 1)

    def assembly(self, state: LiveState) -> Assembly:
        """Return the rig with or without its lenses."""
        return self._with_lenses if state.lenses else self._without_lenses

    @functools.cached_property
    def _without_lenses(self) -> Assembly:
        return build(self.rig, lenses=False)

    def eyes(self, state: LiveState) -> Eyes:
        """Return where the eyes are."""
        return eyes_of(self.rig, state.head)

    def pictures(
        self, state: LiveState, *, moving: bool = False, width: int = WIDTH
    ) -> tuple[Picture, Picture]:
        """Return what the left and the right eye see; see `each_picture`."""
        left, right = self.each_picture(state, moving=moving, width=width)
        return left, right

    def each_picture(
        self, state: LiveState, *, moving: bool = False, width: int = WIDTH
    ) -> Iterator[Picture]:
        """Draw what the left eye sees, then the right, (h, width, 3) uint8 sRGB, top row first.

        Parameters
        ----------
        state : LiveState
            With its `overlap`, colours show which eyes see each place of the screens.
        moving : bool
            Sends fewer rays: what is narrower than four pixels can be missed, and colour fringes
            are left out; outside views that are new are painted coarsely.
        width : int
            Pixels across; the height is 9/16 of it, rounded.

        Raises
        ------
        PoseError
            When an eye is inside a part.
        """
        assembly = self.assembly(state)
        eyes = self.eyes(state)
        height = (width * HEIGHT + WIDTH // 2) // WIDTH
        projection = dataclasses.replace(self.projection, width=width, height=height)
        codes = None
        if state.overlap:
            refuse_inside(assembly, np.array([eyes.left, eyes.right]))
            codes = seen_by_eyes(assembly, eyes, CELLS)

        for eye in ("left", "right"):
            view = see(
                assembly,
                eyes.point(eye),
                projection,
                stride=MOVING_STRIDE if moving else 1,
                draft=moving,
                with_points=state.overlap,
            )
            if not moving:
                view = with_mirror_images(view)
            yield picture_of(view) if codes is None else tinted(view, eye, codes)

    def numbers(self, state: LiveState) -> Numbers:
        """Return the numbers at this head position; takes up to a second.

        Raises
        ------
        PoseError
            When an eye is inside a part.
        """
        return measure(self.assembly(state), self.eyes(state))


def key_lines(numbers: Numbers) -> list[str]:
    """Return the main numbers: a line for each screen, and for each seam of the scene."""
    whole = numbers.as_json()
    screens = [_screen_line(name, screen) for name, screen in whole["screens"].items()]
    return screens + [_seam_line(seam) for seam in scene_seams(whole)]


def _screen_line(name: str, screen: Mapping[str, Any]) -> str:
    seen = " / ".join(
        number_words(eye.value(screen), PERCENT.digits) for eye in (SEEN_LEFT, SEEN_RIGHT)
    )
    line = f"{name}: seen by left / right eye {seen} {PERCENT.sign}"
    if FOCUS.value(screen) is None:
        return f"{line}, from beside or behind it"
    pixel = in_words(PIXEL.value(screen), ARCMIN, 1)
    return f"{line}; focus {FOCUS.told(screen)}; pixel {pixel}"


def _seam_line(seam: Mapping[str, Any]) -> str:
    dark = " / ".join(strip.told(seam) for strip in (DARK_LEFT, DARK_RIGHT))
    short = MISSING_ALONG.value(seam) or 0.0
    margin = "" if short < MM.within else f", margin {in_words(short, MM)} too small"
    return f"seam {' – '.join(seam['between'])}: dark strip {dark}{margin}"
