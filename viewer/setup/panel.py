"""Which pixels of a screen are seen through a plate's hole: where to put an instrument's window.

Only the plate, the edge of the screen's own bezel or lens, and the image count. What else is in the
way, such as a control wheel, is for `check` to say. A grooved lens is taken as thin.
"""

import math
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.polygons import Region, bounds_of, region_about, region_within
from seamsight.viewer.casting.sightlines import aperture_of, project_onto_image
from seamsight.viewer.eye import Eyes, eyes_of
from seamsight.viewer.numbers.holes import Hole, holes_of, screens_behind
from seamsight.viewer.setup.desktop import Rectangle, around, desktop_of

CLOSE = 1e-6  # pixels by which a place may be beyond a pixel's edge


@dataclass(frozen=True, eq=False)
class HeadSight:
    """What is seen of the screen through a hole from one head position.

    Regions are in mm from the image's middle; None for an eye that is not in front of the plate.

    Attributes
    ----------
    left, right : Region or None
    """

    left: Region | None
    right: Region | None

    @property
    def both(self) -> Region | None:
        """What both eyes see."""
        return None if self.left is None or self.right is None else self.left ^ self.right

    @property
    def either(self) -> Region | None:
        """What at least one eye sees."""
        if self.left is None:
            return self.right
        return self.left if self.right is None else self.left + self.right


@dataclass(frozen=True, eq=False)
class HoleView:
    """What the pilot sees through a hole with a screen behind it.

    Attributes
    ----------
    hole : Hole
    screen : PlacedScreen
    square_on : Region
        The pixels straight behind the hole, along the screen's normal; mm from the image's middle.
    sights : dict
        By head position, the design one first.
    window : Rectangle
        Pixels of the screen that at least one eye sees from the design eye point.
    everywhere : Rectangle
        The same from any of the rig's head positions.
    on_desktop : Rectangle or None
        The window's place on the desktop; None where no output feeds the screen.
    filled : float
        Share of what shows through the hole that is image, for the eye that sees least of it.
    stand_off : float
        From the plate's back to the screen surface at the hole's middle, mm.
    hidden : dict
        By eye: share of the pixels straight behind the hole that it does not see from the design
        eye point, for the screen's distance ("stand_off") and for the plate's thickness besides
        ("thickness"). Empty behind a lens.
    """

    hole: Hole
    screen: PlacedScreen
    square_on: Region
    sights: dict[str, HeadSight]
    window: Rectangle
    everywhere: Rectangle
    on_desktop: Rectangle | None
    filled: float
    stand_off: float
    hidden: dict[str, dict[str, float]]

    def past(self, head: str) -> int:
        """Return how many pixels beyond the window an eye sees at a head position; 0 for none."""
        seen = pixels_of(self.screen, self.sights[head].either)
        if seen is None:
            return 0
        window = self.window
        sides = (window.x - seen.x, window.y - seen.y)
        others = (seen.right - window.right, seen.bottom - window.bottom)
        return max(0, *sides, *others)


@dataclass(frozen=True, eq=False)
class Panel:
    """The holes of a rig's plates: those with a screen behind them, and the others."""

    views: tuple[HoleView, ...]
    others: tuple[Hole, ...]


def panel_of(assembly: Assembly) -> Panel:
    """Return what the pilot sees through every hole of every plate.

    Raises
    ------
    ChoiceError
        When there is no hole, or none with a screen behind it.
    """
    holes = [hole for plate in assembly.rig.plate for hole in holes_of(plate)]
    if not holes:
        msg = "no plate of this rig has a hole"
        raise ChoiceError(msg)
    heads = {name: eyes_of(assembly.rig, head) for name, head in assembly.rig.heads().items()}
    behind = screens_behind(assembly, holes, list(heads.values()))
    desktop = desktop_of(assembly.rig.output, assembly.screens)

    views = []
    others = []
    for hole, screen in zip(holes, behind, strict=True):
        view = screen and _hole_view(hole, screen, heads, desktop.screens.get(screen.name))
        if view:
            views.append(view)
        else:
            others.append(hole)
    if not views:
        msg = "no hole of this rig has a screen behind it that an eye could see"
        raise ChoiceError(msg)
    return Panel(tuple(views), tuple(others))


def pixels_of(screen: PlacedScreen, region: Region | None) -> Rectangle | None:
    """Return the smallest rectangle of a screen's pixels around a region of its image.

    None where there is none.
    """
    if region is None or region.is_empty():
        return None
    scale = np.array(screen.display.pixels) / screen.size
    low, high = (bound * scale for bound in bounds_of(region))
    across, down = screen.display.pixels
    left, right = _whole(low[0] + across / 2, high[0] + across / 2)
    top, bottom = _whole(down / 2 - high[1], down / 2 - low[1])
    return Rectangle(left, top, right - left, bottom - top)


def _whole(low: float, high: float) -> tuple[int, int]:
    return math.floor(low + CLOSE), math.ceil(high - CLOSE)


def _hole_view(
    hole: Hole, screen: PlacedScreen, heads: dict[str, Eyes], on_desktop: Rectangle | None
) -> HoleView | None:
    """Return what is seen of a screen through a hole; None if no eye sees any of it."""
    sights = {
        name: HeadSight(_seen(screen, eyes.left, hole), _seen(screen, eyes.right, hole))
        for name, eyes in heads.items()
    }
    found = {name: pixels_of(screen, sight.either) for name, sight in sights.items()}
    rectangles = [rectangle for rectangle in found.values() if rectangle]
    if not rectangles:
        return None

    design = next(iter(heads))
    window = found[design] or rectangles[0]
    screen_from_rig = inverse(screen.rig_from_screen)
    flat = move(screen_from_rig, hole.front)
    square_on = region_within([flat[:, [0, 2]]]) ^ region_about(np.array(screen.size) / 2)
    eyes = {"left": heads[design].left, "right": heads[design].right}
    return HoleView(
        hole,
        screen,
        square_on,
        sights,
        window,
        around(rectangles),
        on_desktop and _shifted(window, screen, on_desktop),
        min((_filled(screen, eye, hole) for eye in eyes.values()), default=0.0),
        -float(move(screen_from_rig, hole.back)[:, 1].mean()),
        {} if screen.lens else _hidden(screen, eyes, hole, square_on),
    )


def _seen(screen: PlacedScreen, eye: Array, hole: Hole) -> Region | None:
    """Return what an eye (3,) sees of an image through a hole; None from beside or behind."""
    opening = _through(screen, eye, hole.front, hole.back)
    if opening is None:
        return None
    seen = opening ^ region_about(np.array(screen.size) / 2)
    aperture = aperture_of(screen)
    if aperture.near[1] == 0:
        return seen
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * aperture.half
    rim_of_aperture = aperture.near + np.insert(corners, 1, 0.0, axis=1)
    edge = _through(screen, eye, move(screen.rig_from_screen, rim_of_aperture))
    return None if edge is None else seen ^ edge


def _through(screen: PlacedScreen, eye: Array, *rims: Array) -> Region | None:
    """Return which places of a screen's endless surface an eye sees through rims (n, 3).

    Rims are convex, so a ray that passes through the first and the last passes the wall between.
    """
    regions = []
    for points in rims:
        places = project_onto_image(screen, eye, points)
        if not np.isfinite(places).all():
            return None
        regions.append(region_within([places]))
    seen = regions[0]
    for region in regions[1:]:
        seen = seen ^ region
    return seen


def _filled(screen: PlacedScreen, eye: Array, hole: Hole) -> float:
    """Return which share of what an eye sees through a hole is image."""
    opening = _through(screen, eye, hole.front, hole.back)
    seen = _seen(screen, eye, hole)
    if opening is None or seen is None or opening.is_empty():
        return 0.0
    return float(seen.area() / opening.area())


def _hidden(
    screen: PlacedScreen, eyes: dict[str, Array], hole: Hole, square_on: Region
) -> dict[str, dict[str, float]]:
    """Return what distance and thickness hide of the pixels straight behind a hole, by eye."""
    hidden = {}
    for name, eye in eyes.items():
        back = _through(screen, eye, hole.back)
        opening = _through(screen, eye, hole.front, hole.back)
        if back is None or opening is None or square_on.is_empty():
            continue
        whole = square_on.area()
        past_back = float((square_on - back).area() / whole)
        past_both = float((square_on - opening).area() / whole)
        hidden[name] = {"stand_off": past_back, "thickness": past_both - past_back}
    return hidden


def _shifted(window: Rectangle, screen: PlacedScreen, place: Rectangle) -> Rectangle:
    """Return where a window of a screen is on the desktop, on which the screen has a place."""
    across, down = screen.display.pixels
    left, right = (place.x + round(at * place.width / across) for at in (window.x, window.right))
    top, bottom = (place.y + round(at * place.height / down) for at in (window.y, window.bottom))
    return Rectangle(left, top, right - left, bottom - top)
