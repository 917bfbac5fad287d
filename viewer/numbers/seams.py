"""Where two neighbouring images meet.

The dark strip between them for each eye, and what border both eyes need.
"""

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.display import Wide
from seamsight.scene.frames import Array, azimuth_and_elevation, inverse, move
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import border, directions_to_image
from seamsight.viewer.eye import EYES, Eyes, eyes_looking, eyes_of
from seamsight.viewer.numbers.clashes import clash_depths
from seamsight.viewer.numbers.margins import SIDES, in_front, margin
from seamsight.viewer.numbers.strips import Gaze, Strip, dark_strips, middle_direction

NEAR = math.radians(15)  # up to this angle apart, images outside a bank count as neighbours
FARTHEST_TURN = 60.0  # degrees; how far a face turns towards a seam
BORDER_STEPS = 24  # points along each edge of an image
EDGE = 0.01  # mm; nearer to an image's edge it is seen whole: rays tell places to about 0.001 mm

Pair: TypeAlias = tuple[PlacedScreen, PlacedScreen]
"""Two screens whose images are neighbours."""

Sides: TypeAlias = tuple[str, str]
"""Which side of each image of a pair faces the other."""


@dataclass(frozen=True)
class Lost:
    """A strip of an image that an eye loses at a seam.

    Attributes
    ----------
    width : float
        mm, from the image's edge to where nothing but slivers hides it any more; along the line
        through both images' middles.
    behind : str or None
        The part that hides it; None where the screen's own opening ends, or nothing is lost.
    """

    width: float
    behind: str | None


@dataclass(frozen=True)
class SeamFrom:
    """A seam as a head sees it.

    Attributes
    ----------
    dark : dict
        {eye: degrees} from the last ray that ends on the first image to the first that ends on the
        second; negative where the first repeats inside the second's side; None where an eye does
        not see both.
    lost : dict
        {eye: two of Lost}: of the first and of the second image, whatever hides it; None where an
        eye does not see both.
    both_whole : bool
        Whether neither eye has a negative margin at this seam.
    gap_present, gap_needed : float
        Margin beyond both images, mm, that the point between the eyes has, and that both eyes need.
    black_px : tuple of int
        Pixels to keep black at this side of the first and of the second image so that both eyes
        see all the rest.
    """

    dark: dict[str, float | None]
    lost: dict[str, tuple[Lost, Lost] | None]
    both_whole: bool
    gap_present: float
    gap_needed: float
    black_px: tuple[int, int]


@dataclass(frozen=True)
class Seam(SeamFrom):
    """A seam between two screens, straight ahead and once more with the face turned to it.

    Attributes
    ----------
    between : tuple of str
        Both screens' names.
    sides : tuple of str
        Which side of each image faces the other.
    in_scene : bool
        Whether they are units of one bank, or both show the outside scene or one wide picture, so
        that it should run on across the seam.
    facing : SeamFrom or None
        With the face turned to it; None if an eye is not in front of both screens then.
    clash : float
        How deep parts of the two screens cut into each other, mm; 0 if they do not.
    """

    between: tuple[str, str]
    sides: tuple[str, str]
    in_scene: bool
    facing: SeamFrom | None
    clash: float = 0.0


def seams(assembly: Assembly, eyes: Eyes) -> list[Seam]:
    """Return the seams between neighbouring images.

    Neighbours are units of a bank next to each other, and images within 15 degrees of each other.
    """
    pairs = neighbours(assembly, eyes)
    turned = [facing_seam(assembly, *pair, eyes) for pair in pairs]
    sides = [facing_sides(*pair, eyes.mid) for pair in pairs]

    here = _seams_from(assembly, pairs, sides, [eyes] * len(pairs))
    facing = _seams_from(assembly, pairs, sides, turned)
    depths = clash_depths(pairs)
    return [
        Seam(
            **vars(here[number]),
            between=(first.name, second.name),
            sides=sides[number],
            in_scene=show_one_scene(first, second),
            facing=facing[number],
            clash=depths[number],
        )
        for number, (first, second) in enumerate(pairs)
    ]


def _both_in_front(pair: Pair, eyes: Eyes) -> bool:
    return all(in_front(screen, eyes.rows).all() for screen in pair)


def show_one_scene(first: PlacedScreen, second: PlacedScreen) -> bool:
    """Return whether the outside view, or one picture, runs on from one screen to the other."""
    if first.bank and first.bank == second.bank:
        return True
    if isinstance(first.shows, Wide) and isinstance(second.shows, Wide):
        return first.shows.wide == second.shows.wide
    return first.shows == second.shows == "world"


def facing_seam(assembly: Assembly, first: PlacedScreen, second: PlacedScreen, eyes: Eyes) -> Eyes:
    """Return the eyes of a head whose face is turned and nodded to the seam.

    It turns up to 60 degrees from straight ahead. The eyes turn the rest of the way, each to where
    it sees the seam, if the rig tells about what point they turn.
    """
    azimuth, elevation = azimuth_and_elevation(seam_direction(first, second, eyes.mid))
    turn = _within_turn(math.degrees(azimuth))
    nod = _within_turn(math.degrees(elevation))
    faced = eyes_of(assembly.rig, eyes.head.model_copy(update={"turn": turn, "nod": nod}))
    return eyes_looking(assembly.rig, faced, lambda point: seam_direction(first, second, point))


def _within_turn(angle: float) -> float:
    return min(max(angle, -FARTHEST_TURN), FARTHEST_TURN)


def seam_direction(first: PlacedScreen, second: PlacedScreen, eye: Array) -> Array:
    """Return the direction (3,) from an eye midway between the facing edges of two images."""
    sides = facing_sides(first, second, eye)
    edges = [
        _edge_middle(screen, side, eye) for screen, side in zip((first, second), sides, strict=True)
    ]
    between = edges[0] + edges[1]
    return np.asarray(between / np.linalg.norm(between))


def lost_strips(screen: PlacedScreen, side: str, eyes: Eyes) -> dict[str, float]:
    """Return how wide a strip of an image each eye loses at a side, mm; 0 where it loses none."""
    left, right = margin(screen, np.stack([eyes.left, eyes.right]), side).tolist()
    return {"left": max(0.0, -left), "right": max(0.0, -right)}


def black_border(screen: PlacedScreen, side: str, lost: float) -> int:
    """Return how many pixels of an image to keep black at a side.

    `lost`, mm, is how wide a strip the worse eye loses there.
    """
    axis = SIDES[side][0]
    return math.ceil(max(0.0, lost) * screen.display.pixels[axis] / screen.size[axis])


def facing_sides(first: PlacedScreen, second: PlacedScreen, eye: Array) -> tuple[str, str]:
    """Return which side of each image faces the other, as an eye (3,) sees them."""
    return _side_towards(first, second, eye), _side_towards(second, first, eye)


def _seams_from(
    assembly: Assembly, pairs: Sequence[Pair], sides: Sequence[Sides], heads: Sequence[Eyes]
) -> list[SeamFrom | None]:
    """Return each seam as a head sees it; None where an eye is not in front of both screens."""
    gazes = [
        Gaze(*pair, eyes.point(eye))
        for pair, eyes in zip(pairs, heads, strict=True)
        for eye in EYES
    ]
    strips = dark_strips(assembly, gazes)
    found: list[SeamFrom | None] = []
    for number, (pair, towards, eyes) in enumerate(zip(pairs, sides, heads, strict=True)):
        own = strips[len(EYES) * number : len(EYES) * (number + 1)]
        by_eye = dict(zip(EYES, own, strict=True))
        here = _both_in_front(pair, eyes)
        found.append(_seam_from(assembly, pair, towards, eyes, by_eye) if here else None)
    return found


def _seam_from(
    assembly: Assembly, pair: Pair, sides: Sides, eyes: Eyes, strips: dict[str, Strip | None]
) -> SeamFrom:
    """Return a seam as a head sees it, of which the dark strip for each eye is known."""
    # margin beyond the images: each side's for the left eye, the right and the point between
    facing = zip(pair, sides, strict=True)
    past = [margin(screen, eyes.rows, side).tolist() for screen, side in facing]
    lowest = [min(left, right) for left, right, _ in past]
    present = [mid for *_, mid in past]

    return SeamFrom(
        dark={eye: strip and math.degrees(strip.angle) for eye, strip in strips.items()},
        lost={eye: strip and _lost(assembly, pair, sides, strip) for eye, strip in strips.items()},
        both_whole=min(lowest) >= 0,
        gap_present=sum(present),
        gap_needed=sum(mid - low for mid, low in zip(present, lowest, strict=True)),
        black_px=(
            black_border(pair[0], sides[0], -lowest[0]),
            black_border(pair[1], sides[1], -lowest[1]),
        ),
    )


def _lost(assembly: Assembly, pair: Pair, sides: Sides, strip: Strip) -> tuple[Lost, Lost]:
    """Return what is lost of both images of a pair at their seam."""
    found = []
    for number, (screen, side) in enumerate(zip(pair, sides, strict=True)):
        axis, sign = SIDES[side]
        place = move(inverse(screen.rig_from_screen), strip.whole_to[number])[2 * axis]
        width = max(0.0, screen.size[axis] / 2 - sign * float(place))
        hider = _hider(assembly, screen, strip.hidden_by[number])
        found.append(Lost(width, hider) if width > EDGE else Lost(0.0, None))
    return found[0], found[1]


def _hider(assembly: Assembly, screen: PlacedScreen, part: int) -> str | None:
    """Return the name of a part that hides a screen's image; None where that is its own opening.

    What is met first beyond a lens's edge may belong to the neighbour, and hides nothing.
    """
    hider = assembly.parts[part] if part >= 0 else None
    if hider is None or hider.screen == screen.name or (screen.lens and hider.screen):
        return None
    return hider.name


def neighbours(assembly: Assembly, eyes: Eyes) -> list[Pair]:
    """Return pairs of neighbours among the screens that all eyes are in front of."""
    units = Counter(screen.bank for screen in assembly.screens)
    screens = [screen for screen in assembly.screens if in_front(screen, eyes.rows).all()]
    borders = {
        screen.name: directions_to_image(screen, eyes.mid, border(screen, BORDER_STEPS))
        for screen in screens
    }
    return [
        (first, second)
        for first, second in itertools.combinations(screens, 2)
        if _are_neighbours(first, second, units[first.bank], borders)
    ]


def outside_neighbours(assembly: Assembly, eyes: Eyes) -> list[Pair]:
    """Return those pairs of neighbours that are both of the outside view."""
    pairs = neighbours(assembly, eyes)
    return [pair for pair in pairs if all(screen.outside for screen in pair)]


def _are_neighbours(
    first: PlacedScreen, second: PlacedScreen, units: int, borders: dict[str, Array]
) -> bool:
    """Return whether two screens are neighbours.

    Those of a bank of so many `units` are if their numbers follow each other; its ends only where
    it is a ring, so that their images' `borders`, directions (n, 3), too lie close together.
    """
    if first.bank and first.bank == second.bank:
        apart = abs(first.number - second.number)
        if apart == 1 or apart < units - 1:
            return apart == 1
    cosines = borders[first.name] @ borders[second.name].T
    return bool(np.nanmax(np.append(cosines, -1.0)) >= math.cos(NEAR))


def _side_towards(screen: PlacedScreen, other: PlacedScreen, eye: Array) -> str:
    """Return on which side of a screen's image another's lies, as the eye sees it."""
    towards = middle_direction(other, eye) - middle_direction(screen, eye)
    own = screen.rig_from_screen[:3, :3].T @ towards
    across, up = own[0] / screen.size[0], own[2] / screen.size[1]
    if abs(across) >= abs(up):
        return "right" if across > 0 else "left"
    return "top" if up > 0 else "bottom"


def _edge_middle(screen: PlacedScreen, side: str, eye: Array) -> Array:
    axis, sign = SIDES[side]
    place = np.zeros((1, 2))
    place[0, axis] = sign * screen.size[axis] / 2
    return np.asarray(directions_to_image(screen, eye, place)[0])
