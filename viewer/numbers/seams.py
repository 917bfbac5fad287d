"""Where two neighbouring images meet.

The dark strip between them for each eye, and what border both eyes need.
"""

import itertools
import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.display import Wide
from seamsight.scene.frames import Array, azimuth_and_elevation
from seamsight.scene.layout import PlacedScreen
from seamsight.viewer.casting.sightlines import angle_between, border, directions_to_image
from seamsight.viewer.casting.trace import Ids, trace
from seamsight.viewer.eye import EYES, Eyes, eyes_of
from seamsight.viewer.numbers.margins import SIDES, in_front, margin

NEAR = math.radians(15)  # up to this angle apart, images outside a bank count as neighbours
FARTHEST_TURN = 60.0  # degrees; how far a face turns towards a seam
BORDER_STEPS = 24  # points along each edge of an image
LOOKS = 2048  # directions tried at first along the line through both images' middles
CUTS = 64  # into which the place of an edge is cut again and again
FINEST = 1e-9  # radians; how closely an edge is found


@dataclass(frozen=True)
class SeamFrom:
    """A seam as a head sees it.

    Attributes
    ----------
    dark : dict
        {eye: degrees} from the last ray that ends on the first image to the first that ends on the
        second; negative where the first repeats inside the second's side; None where an eye does
        not see both.
    both_whole : bool
        Whether neither eye has a negative margin at this seam.
    gap_present, gap_needed : float
        Border beyond both images, mm, that the mid-eye has, and that both eyes need.
    black_px : tuple of int
        Pixels to keep black at this side of the first and of the second image so that both eyes
        see all the rest.
    """

    dark: dict[str, float | None]
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
    """

    between: tuple[str, str]
    sides: tuple[str, str]
    in_scene: bool
    facing: SeamFrom | None


def seams(assembly: Assembly, eyes: Eyes) -> list[Seam]:
    """Return the seams between neighbouring images.

    Neighbours are units of a bank next to each other, and images within 15 degrees of each other.
    """
    units = Counter(screen.bank for screen in assembly.screens)
    return [
        _seam(assembly, first, second, eyes)
        for first, second in itertools.combinations(assembly.screens, 2)
        if _both_in_front(first, second, eyes)
        and _neighbours(first, second, units[first.bank], eyes.mid)
    ]


def _seam(assembly: Assembly, first: PlacedScreen, second: PlacedScreen, eyes: Eyes) -> Seam:
    sides = facing_sides(first, second, eyes.mid)
    here = _seam_from(assembly, first, second, sides, eyes)

    turned = facing_seam(assembly, first, second, eyes)
    facing = None
    if _both_in_front(first, second, turned):
        facing = _seam_from(assembly, first, second, sides, turned)

    return Seam(
        **vars(here),
        between=(first.name, second.name),
        sides=sides,
        in_scene=_show_one_scene(first, second),
        facing=facing,
    )


def _both_in_front(first: PlacedScreen, second: PlacedScreen, eyes: Eyes) -> bool:
    return all(in_front(screen, eyes.rows).all() for screen in (first, second))


def _show_one_scene(first: PlacedScreen, second: PlacedScreen) -> bool:
    if first.bank and first.bank == second.bank:
        return True
    if isinstance(first.shows, Wide) and isinstance(second.shows, Wide):
        return first.shows.wide == second.shows.wide
    return first.shows == second.shows == "world"


def facing_seam(assembly: Assembly, first: PlacedScreen, second: PlacedScreen, eyes: Eyes) -> Eyes:
    """Return the eyes of a head whose face is turned and nodded to the seam.

    It turns up to 60 degrees from straight ahead.
    """
    azimuth, elevation = azimuth_and_elevation(seam_direction(first, second, eyes.mid))
    turn = _within_turn(math.degrees(azimuth))
    nod = _within_turn(math.degrees(elevation))
    return eyes_of(assembly.rig, eyes.head.model_copy(update={"turn": turn, "nod": nod}))


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


def dark_edges(
    assembly: Assembly, first: PlacedScreen, second: PlacedScreen, eye: Array
) -> tuple[float, Array, Array] | None:
    """Return the dark strip between two images for an eye (3,).

    Returns
    -------
    angle : float
        Radians, negative where the first image repeats inside the second's side.
    start, stop : (3,) float64
        Unit directions where it begins and ends, rig frame, in the plane through the eye and both
        images' middles.

    None if the eye does not see both there.
    """
    start, stop = (_middle(screen, eye) for screen in (first, second))
    whole = angle_between(start, stop)
    if not whole > 0:
        return None
    across = stop - start * (start @ stop)
    across /= np.linalg.norm(across)

    def directions_at(angles: Array) -> Array:
        return np.asarray(np.cos(angles)[:, None] * start + np.sin(angles)[:, None] * across)

    def ends(angles: Array) -> Ids:
        directions = directions_at(angles)
        return trace(assembly, np.broadcast_to(eye, directions.shape), directions).parts

    # look along the line from one image's middle to the other's
    angles = np.linspace(0.0, whole, LOOKS)
    parts = ends(angles)
    first_id = assembly.part_id(first.name)
    second_id = assembly.part_id(second.name)
    on_first = np.flatnonzero(parts == first_id)
    on_second = np.flatnonzero(parts == second_id)
    if not len(on_first) or not len(on_second):
        return None

    # narrow down where the first is left, and where the second is entered
    last = on_first[-1]
    opening = on_second[0]
    leaves = _narrowed(ends, angles[last], angles[min(last + 1, LOOKS - 1)], first_id)
    enters = _narrowed(ends, angles[opening], angles[max(opening - 1, 0)], second_id)
    edges = directions_at(np.array([leaves, enters]))
    return enters - leaves, edges[0], edges[1]


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


def _narrowed(ends: Callable[[Array], Ids], inside: float, outside: float, part: int) -> float:
    """Return the angle at which rays stop ending on a part.

    It is sought between the angle of one that does, and that of one that does not.
    """
    while abs(outside - inside) > FINEST:
        angles = np.linspace(inside, outside, CUTS + 1)
        stops = np.flatnonzero(ends(angles[1:-1]) != part)
        first = int(stops[0]) + 1 if len(stops) else CUTS
        inside, outside = float(angles[first - 1]), float(angles[first])
    return (inside + outside) / 2


def facing_sides(first: PlacedScreen, second: PlacedScreen, eye: Array) -> tuple[str, str]:
    """Return which side of each image lies towards the other, as an eye (3,) sees them."""
    return _side_towards(first, second, eye), _side_towards(second, first, eye)


def _seam_from(
    assembly: Assembly,
    first: PlacedScreen,
    second: PlacedScreen,
    sides: tuple[str, str],
    eyes: Eyes,
) -> SeamFrom:
    dark = {eye: dark_edges(assembly, first, second, eyes.point(eye)) for eye in EYES}

    # border beyond the images: each side's for the left, the right and the mid-eye
    facing = zip((first, second), sides, strict=True)
    past = [margin(screen, eyes.rows, side).tolist() for screen, side in facing]
    lowest = [min(left, right) for left, right, _ in past]
    present = [mid for *_, mid in past]

    return SeamFrom(
        dark={
            eye: None if found is None else math.degrees(found[0]) for eye, found in dark.items()
        },
        both_whole=min(lowest) >= 0,
        gap_present=sum(present),
        gap_needed=sum(mid - low for mid, low in zip(present, lowest, strict=True)),
        black_px=(
            black_border(first, sides[0], -lowest[0]),
            black_border(second, sides[1], -lowest[1]),
        ),
    )


def _neighbours(first: PlacedScreen, second: PlacedScreen, units: int, eye: Array) -> bool:
    """Return whether two screens are neighbours.

    Those of a bank of so many `units` are if their numbers follow each other; its ends only where
    it is a ring, so that their images too lie close together.
    """
    if first.bank and first.bank == second.bank:
        apart = abs(first.number - second.number)
        if apart == 1 or apart < units - 1:
            return apart == 1
    borders = [
        directions_to_image(screen, eye, border(screen, BORDER_STEPS)) for screen in (first, second)
    ]
    cosines = borders[0] @ borders[1].T
    return bool(np.nanmax(np.append(cosines, -1.0)) >= math.cos(NEAR))


def _side_towards(screen: PlacedScreen, other: PlacedScreen, eye: Array) -> str:
    """Return on which side of a screen's image another's lies, as the eye sees it."""
    own = screen.rig_from_screen[:3, :3].T @ (_middle(other, eye) - _middle(screen, eye))
    across, up = own[0] / screen.size[0], own[2] / screen.size[1]
    if abs(across) >= abs(up):
        return "right" if across > 0 else "left"
    return "top" if up > 0 else "bottom"


def _middle(screen: PlacedScreen, eye: Array) -> Array:
    return np.asarray(directions_to_image(screen, eye, np.zeros((1, 2)))[0])


def _edge_middle(screen: PlacedScreen, side: str, eye: Array) -> Array:
    axis, sign = SIDES[side]
    place = np.zeros((1, 2))
    place[0, axis] = sign * screen.size[axis] / 2
    return np.asarray(directions_to_image(screen, eye, place)[0])
