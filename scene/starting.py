"""A first rig from a builder's measures: where lenses and screens go so that no bezel shows.

Seen from R in front of a lens, an image w wide at a distance d behind it looks as wide in the lens
plane as g w, with g = M R / (R + M d) and M = f / (f - d), a thin lens. It fills a lens W wide when
g w = W, that is d = f R (1 - 1/g) / (R - f). No bezel shows if g is at least W/w and H/h; what is
more than that is lost at the image's edges.
"""

import dataclasses
import math
from collections.abc import Iterable
from dataclasses import dataclass

USUAL_RADIUS = 600.0  # from the eyes to the lenses, mm
USUAL_MAGNIFICATION = 1.4
USUAL_F_NUMBER = 1.05
WIDER = 1.05  # than its screen a lens may be; to leave room for it
NEAREST = 450.0
FARTHEST = 1500.0  # but for a large lens, or a long row
STEP = 10.0  # between radii
WIDEST_UNIT = 150.0  # degrees
WIDEST_FIELD = 220.0  # degrees; round more than that one cannot get in
STRONGEST = 3.0  # magnification
STRONG = 1.6  # what is passed only where nothing weaker works
LEAST_DISTANCE = 20.0  # from the screen surface to the lens
GOOD_F_NUMBER = 1.0  # real lenses that are faster have dark, blurred corners
LEAST_F_NUMBER = 0.5  # hardly any lens is made below it; common practice, from memory
MOST_LOST = 0.25  # of the image's area
HOUSING_GAP = 2.0  # between a housing and the boards around it; a carcass's default


@dataclass(frozen=True)
class Measures:
    """What a builder has: lengths mm.

    Attributes
    ----------
    count : int
        Screens side by side.
    diagonal : float
    aspect : tuple of int
        Width and height.
    pixels : tuple of int
        Across and down.
    bezel : float
    eye_height : float
        Above the floor.
    lens : tuple of float or None
        Width and height of a lens; None for bare screens.
    focal_length : float
        Of a lens; without one it has no meaning.
    """

    count: int
    diagonal: float
    aspect: tuple[int, int]
    pixels: tuple[int, int]
    bezel: float
    eye_height: float
    lens: tuple[float, float] | None = None
    focal_length: float = math.inf

    @property
    def image(self) -> tuple[float, float]:
        """Width and height of a screen's image area."""
        across, up = self.aspect
        scale = self.diagonal / math.hypot(across, up)
        return across * scale, up * scale

    @property
    def housing(self) -> tuple[float, float]:
        """Width and height of a screen with its bezels."""
        width, height = self.image
        return width + 2 * self.bezel, height + 2 * self.bezel

    @property
    def unit(self) -> tuple[float, float]:
        """Width and height of what meets its neighbours: the lens, or the bare screen."""
        return self.lens or self.housing

    @property
    def f_number(self) -> float:
        """Focal length over the lens's diagonal."""
        assert self.lens
        return self.focal_length / math.hypot(*self.lens)


@dataclass(frozen=True)
class Choice:
    """Where to put lenses and screens; lengths mm.

    Attributes
    ----------
    radius : float
        From the eyes to the lens planes, without lenses to the screen surfaces.
    distance : float
        From a screen surface to its lens; 0 without lenses.
    magnification : float
    overfill : float
        How many times as large as needed the image is; 1 if it just fills the lens one way.
    kept : tuple of float
        Share of the image's width and height that is seen through the lens.
    toe : float
        Angle between neighbours, degrees.
    """

    radius: float
    distance: float
    magnification: float
    overfill: float
    kept: tuple[float, float]
    toe: float

    @property
    def lost(self) -> float:
        """Share of the image's area that is not seen."""
        return 1 - self.kept[0] * self.kept[1]

    @property
    def image_distance(self) -> float:
        """From the eyes to the (virtual) image."""
        return self.radius + self.magnification * self.distance


def usual_lens(measures: Measures) -> tuple[float, float]:
    """Return width and height, whole mm and of the screens' shape, of lenses that suit these.

    They are k times as large as the image that fills them, R from the eyes, with magnification M
    and the focal length that suits them, n k D for an image of diagonal D. By the formulas above
    n D (M - 1) k^2 + R k = M R.
    """
    width, height = measures.image
    bare = dataclasses.replace(measures, lens=(WIDER * width, height))
    radius = max(USUAL_RADIUS, nearest_radius(bare))
    square = USUAL_F_NUMBER * measures.diagonal * (USUAL_MAGNIFICATION - 1)
    root = math.sqrt(radius**2 + 4 * square * USUAL_MAGNIFICATION * radius)
    larger = (root - radius) / (2 * square)
    across, up = (side // math.gcd(*measures.aspect) for side in measures.aspect)
    times = max(1, round(larger * width / across))
    return float(times * across), float(times * up)


def usual_focal_length(lens: tuple[float, float]) -> float:
    """Return a focal length that suits a lens: a little above f/1, in whole 10 mm."""
    return 10.0 * math.ceil(USUAL_F_NUMBER * math.hypot(*lens) / 10)


def usual_pixels(aspect: tuple[int, int]) -> tuple[int, int]:
    """Return square pixels that fill an aspect: 1080 rows or more on 16:9 and wider."""
    long, short = max(aspect), min(aspect)
    across = max(1920, round(1080 * long / short))
    pixels = across, round(across * short / long)
    return pixels if aspect[0] >= aspect[1] else pixels[::-1]


def best(measures: Measures) -> Choice | None:
    """Return the best choice, None where there is none."""
    if measures.lens and measures.f_number < LEAST_F_NUMBER:
        return None
    radii = _radii(measures)
    choices = [choice for choice in (at_radius(measures, radius) for radius in radii) if choice]
    return min(choices, key=_rank, default=None)


def at_radius(measures: Measures, radius: float) -> Choice | None:
    """Return the choice with the lenses at a distance from the eyes, None where that is no use."""
    width = measures.unit[0]
    toe = 2 * math.degrees(math.atan2(width / 2, radius))
    if measures.lens is None:
        return Choice(radius, 0.0, 1.0, 1.0, (1.0, 1.0), toe)

    # the distance at which the image just fills its lens, or the nearest that there is room for
    focal_length = measures.focal_length
    filling = max(lens / image for lens, image in zip(measures.lens, measures.image, strict=True))
    least, most = LEAST_DISTANCE, focal_length * (1 - 1 / STRONGEST)
    if measures.count > 1:
        room = (measures.housing[0] + 2 * HOUSING_GAP) / width - 1
        least = max(least, room * radius)
    if abs(radius - focal_length) < STEP / 2:
        return None  # every distance looks the same there, and small errors count for much
    exact = filling_distance(focal_length, radius, filling)
    assert exact is not None
    distance = max(exact, least) if radius > focal_length else min(exact, most)
    if not least <= distance <= most:
        return None

    magnification = focal_length / (focal_length - distance)
    looks = magnification * radius / (radius + magnification * distance)
    kept_across, kept_up = (
        min(1.0, lens / (looks * image))
        for lens, image in zip(measures.lens, measures.image, strict=True)
    )
    kept = kept_across, kept_up
    choice = Choice(radius, distance, magnification, max(1.0, looks / filling), kept, toe)
    return choice if choice.lost <= MOST_LOST else None


def filling_distance(focal_length: float, radius: float, filling: float) -> float | None:
    """Return how far behind a lens an image looks so many times as wide in the lens plane, mm.

    The d of this module's formula, from g = `filling`; 0 or less where no place behind the lens
    does that, None where every place looks the same, f = R.
    """
    if focal_length == radius:
        return None
    return focal_length * radius * (1 - 1 / filling) / (radius - focal_length)


def nearest_radius(measures: Measures) -> float:
    """Return how near to the eyes, mm, a row may be that does not close round them."""
    most_toe = min(WIDEST_FIELD / measures.count, WIDEST_UNIT)
    return max(NEAREST, measures.unit[0] / 2 / math.tan(math.radians(most_toe / 2)))


def _radii(measures: Measures) -> Iterable[float]:
    """Return the distances from the eyes to try, mm."""
    nearest = nearest_radius(measures)
    first = math.ceil(nearest / STEP)
    last = math.ceil(max(FARTHEST, 1.5 * max(measures.unit), 1.2 * nearest) / STEP)
    return (STEP * number for number in range(first, last + 1))


def _rank(choice: Choice) -> tuple[float, float, float]:
    return (
        math.floor(choice.lost * 20 + 1e-9),
        max(0.0, round(choice.magnification - STRONG, 1)),
        abs(choice.radius - USUAL_RADIUS),
    )
