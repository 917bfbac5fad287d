"""The outside scene, painted at each screen's native pixels through that screen's own view.

Sky, flat ground with fields and distance haze, hills at the sides, a runway straight ahead. There is no sun: an
even light. Nothing is random: the same settings paint the same picture.

Runway markings after FAA AC 150/5340-1 as read in secondary pages that quote it: threshold stripes, aiming point,
touchdown zone; the centre line's 120 ft stripes and 80 ft gaps, the side stripes and the number of threshold stripes
for a 150 ft wide runway are from memory. Designation figures are left out.
"""

import functools
import math

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from seamsight.scene.content import native_picture
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array, rotation
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.lettering import font
from seamsight.scene.rig import Rig, Wide, World
from seamsight.viewer.casting.frustum import FlatView, view_of
from seamsight.viewer.casting.kernel import compiled
from seamsight.viewer.colour import CODES
from seamsight.viewer.threads import each_on_threads

FOOT = 0.3048  # m
RUNWAY_LENGTH, RUNWAY_WIDTH = 7800 * FOOT, 150 * FOOT
THRESHOLD_START, THRESHOLD_LENGTH, STRIPE = 20 * FOOT, 150 * FOOT, 5.75 * FOOT
CENTRE_STRIPE, CENTRE_GAP, CENTRE_WIDTH, CENTRE_START = 120 * FOOT, 80 * FOOT, 3 * FOOT, 290 * FOOT
AIM_START, AIM_LENGTH, AIM_WIDTH, AIM_INSIDE = 1020 * FOOT, 150 * FOOT, 30 * FOOT, 36 * FOOT
ZONE_STEP, ZONE_LENGTH, ZONE_WIDTH, ZONE_SPACE = 500 * FOOT, 75 * FOOT, 6 * FOOT, 5 * FOOT
SIDE_WIDTH = 3 * FOOT
VISIBILITY = 9000.0  # m; the distance at which haze has taken 63 % of a colour
CLEAREST = 0.82  # haze takes no more than this, so that the horizon stays an edge

GRID_STEP = 10.0  # degrees
LABEL_WIDE, LABEL_HIGH = 2.6, 1.0  # degrees
LABEL_PIXELS = (24, 64)  # rows, columns of a label's picture
ROWS_AT_ONCE = 64


def shown_on(screen: PlacedScreen, rig: Rig) -> Picture:
    """Return what a screen shows as (h, w, 3) uint8 sRGB, top row first, at its native pixels."""
    width, height = screen.display.pixels
    shows = screen.shows
    if shows == "world":
        view = view_of(screen, np.array(rig.pilot.eye_point))
        return (
            np.zeros((height, width, 3), np.uint8)
            if view is None
            else paint(view, width, height, rig.world)
        )
    if isinstance(shows, Wide) and shows.wide == "world":
        return paint(_part_of_wide(shows, width, height), width, height, rig.world)
    return native_picture(screen, rig)


@functools.lru_cache(maxsize=12)
def paint(view: FlatView, width: int, height: int, world: World) -> Picture:
    """Return the outside scene in a flat view, (height, width, 3) uint8."""
    picture = np.empty((height, width, 3), np.uint8)
    axes = rotation(view.yaw, view.pitch, view.roll)
    attitude = rotation(
        *(math.radians(angle) for angle in (world.heading, world.pitch, world.bank))
    )
    edges = np.array(view[:4])
    place = np.array([world.eye_height / 1000, world.ahead / 1000])
    labels = _labels() if world.grid else np.zeros((1, 1, 1), np.uint8)

    def some(first: int) -> None:
        _paint_rows(
            picture,
            first,
            min(first + ROWS_AT_ONCE, height),
            edges,
            axes,
            attitude,
            place,
            labels,
            CODES,
        )

    each_on_threads(some, range(0, height, ROWS_AT_ONCE))
    picture.flags.writeable = False
    return picture


def warm_up() -> None:
    """Compile the painting, or load it where an earlier run left it."""
    paint(FlatView(-1.0, 1.0, -1.0, 1.0, 0.0, 0.0, 0.0), 2, 2, World())


def _part_of_wide(shows: Wide, width: int, height: int) -> FlatView:
    """Return the view of one part of a flat view straight ahead, with square pixels."""
    half = math.tan(math.radians(shows.field / 2))
    step = 2 * half / shows.of
    left = -half + step * (shows.part - 1)
    tall = step * height / width / 2
    return FlatView(left, left + step, -tall, tall, 0.0, 0.0, 0.0)


@functools.cache
def _labels() -> npt.NDArray[np.uint8]:
    """Return pictures of the grid's figures: azimuths -180 … 170, then elevations -90 … 90."""
    texts = [f"{azimuth}°" for azimuth in range(-180, 180, 10)] + [
        f"{angle:+d}°" for angle in range(-90, 91, 10)
    ]
    pictures = []
    for text in texts:
        image = Image.new("L", LABEL_PIXELS[::-1], 0)
        ImageDraw.Draw(image).text((1, LABEL_PIXELS[0] / 2), text, 255, font(20), anchor="lm")
        pictures.append(np.asarray(image))
    return np.stack(pictures)


# ---- compiled ---------------------------------------------------------------------------------------


@compiled
def _paint_rows(
    picture: Picture,
    first: int,
    last: int,
    edges: Array,
    axes: Array,
    attitude: Array,
    place: Array,
    labels: npt.NDArray[np.uint8],
    codes: npt.NDArray[np.uint8],
) -> None:
    height, width = picture.shape[:2]
    step = (edges[1] - edges[0]) / width
    mean_step = math.sqrt(abs(step * (edges[3] - edges[2]) / height))
    for row in range(first, last):
        up = edges[3] + (edges[2] - edges[3]) * (row + 0.5) / height
        for column in range(width):
            across = edges[0] + step * (column + 0.5)
            square = 1.0 + across * across + up * up
            scale = 1.0 / math.sqrt(square)
            pixel = (
                mean_step * scale * math.sqrt(scale)
            )  # angle of a pixel here, near enough for smoothing
            rig = (
                (axes[0, 0] * across + axes[0, 1] + axes[0, 2] * up) * scale,
                (axes[1, 0] * across + axes[1, 1] + axes[1, 2] * up) * scale,
                (axes[2, 0] * across + axes[2, 1] + axes[2, 2] * up) * scale,
            )
            x = attitude[0, 0] * rig[0] + attitude[0, 1] * rig[1] + attitude[0, 2] * rig[2]
            y = attitude[1, 0] * rig[0] + attitude[1, 1] * rig[1] + attitude[1, 2] * rig[2]
            z = attitude[2, 0] * rig[0] + attitude[2, 1] * rig[1] + attitude[2, 2] * rig[2]
            red, green, blue = (
                _ground(x, y, z, pixel, place[0], place[1]) if z < 0 else _sky(x, y, z, pixel)
            )
            if labels.shape[0] > 1:
                line = _grid(rig[0], rig[1], rig[2], pixel, labels)
                ink = (
                    (0.9, 0.6, 0.1) if z < 0 else (0.02, 0.03, 0.09)
                )  # light on the ground, dark before the sky
                red, green, blue = (
                    red + (ink[0] - red) * line,
                    green + (ink[1] - green) * line,
                    blue + (ink[2] - blue) * line,
                )
            top = codes.shape[0] - 1
            picture[row, column, 0] = codes[int(min(1.0, max(0.0, red)) * top + 0.5)]
            picture[row, column, 1] = codes[int(min(1.0, max(0.0, green)) * top + 0.5)]
            picture[row, column, 2] = codes[int(min(1.0, max(0.0, blue)) * top + 0.5)]


@compiled
def _sky(x: float, y: float, z: float, pixel: float) -> tuple[float, float, float]:
    """Return the light of the sky, or of the hills that stand before it at the sides."""
    rise = min(1.0, z * 1.6)
    red, green, blue = 0.60 - 0.46 * rise, 0.68 - 0.38 * rise, 0.76 - 0.18 * rise
    azimuth, elevation = math.atan2(x, y), math.asin(min(1.0, z))
    side = min(1.0, max(0.0, (abs(azimuth) - 0.28) / 0.5))  # no hills behind the runway
    for layer in range(2):
        seed = 1.7 * layer
        ridge = (
            side
            * (0.050 - 0.018 * layer)
            * (
                0.62
                + 0.22 * math.sin(5 * azimuth + seed)
                + 0.12 * math.sin(13 * azimuth + 2.1 + 3 * seed)
                + 0.06 * math.sin(31 * azimuth + seed)
            )
        )
        share = min(1.0, max(0.0, (ridge - elevation) / pixel + 0.5)) if side > 0 else 0.0
        tint = 0.55 - 0.25 * layer  # farther hills are nearer to the haze
        shade = 1.0 - 0.25 * (elevation / ridge if ridge > 0 else 0.0)
        red += share * (0.07 + 0.40 * tint * tint - 0.05 * shade - red) * 0.9
        green += share * (0.12 + 0.42 * tint * tint - 0.05 * shade - green) * 0.9
        blue += share * (0.10 + 0.55 * tint * tint - 0.03 * shade - blue) * 0.9
    return red, green, blue


@compiled
def _ground(
    x: float, y: float, z: float, pixel: float, height: float, ahead: float
) -> tuple[float, float, float]:
    """Return the light of the ground where a direction meets it, the eye `height` m above it."""
    distance = height / -z
    east, north = x * distance, y * distance
    across = (
        distance * pixel
    )  # what a pixel covers on the ground, m: sideways, and along the line of sight
    along = across / -z
    red, green, blue = _fields(east, north, along)
    past = north - ahead
    if abs(east) < RUNWAY_WIDTH and -100.0 < past < RUNWAY_LENGTH + 100.0:
        paved = _box(east, -RUNWAY_WIDTH / 2, RUNWAY_WIDTH / 2, across) * _box(
            past, 0.0, RUNWAY_LENGTH, along
        )
        if paved > 0:
            paint_share = _markings(abs(east), past, across, along)
            grain = 0.012 * _noise(east * 0.7, north * 0.7) * max(0.0, 1.0 - along / 1.5)
            tar = 0.065 + grain
            white = paint_share * 0.72 + (1 - paint_share) * tar
            red, green, blue = (
                red + paved * (white - red),
                green + paved * (white - green),
                blue + paved * (white - blue),
            )
    haze = CLEAREST * (1.0 - math.exp(-distance / VISIBILITY))
    return red + haze * (0.52 - red), green + haze * (0.60 - green), blue + haze * (0.68 - blue)


@compiled
def _fields(east: float, north: float, footprint: float) -> tuple[float, float, float]:
    """Return the colour of the land: fields of some 200 m, with grain that fades where a pixel covers more of it."""
    skew_east, skew_north = east + 0.21 * north, north - 0.16 * east
    cell_east, cell_north = math.floor(skew_east / 210.0), math.floor(skew_north / 150.0)
    kind, lush = _hash(cell_east, cell_north), _hash(cell_north + 91.0, cell_east - 37.0)
    clear = max(0.0, min(1.0, 1.6 - footprint / 130.0))
    if abs(east) < 150.0:  # mown strip beside the runway
        kind, lush = 0.2, 0.6
    red = 0.075 + clear * (0.085 * kind * kind - 0.02 * lush)
    green = 0.115 + clear * (0.035 * kind - 0.025 * lush + 0.01)
    blue = 0.040 + clear * (0.022 * kind - 0.01 * lush)
    grain = 0.0
    size = 40.0
    for _ in range(3):
        seen = 1.0 - footprint / size * 1.5
        if seen > 0:
            grain += seen * (_noise(east / size, north / size) - 0.5) * 0.35
        size *= 0.28
    return red * (1 + grain), green * (1 + grain), blue * (1 + grain)


@compiled
def _markings(east: float, past: float, across: float, along: float) -> float:
    """Return the share of white paint at a place: `east` m from the centre line, `past` m from the threshold."""
    share = _box(east, RUNWAY_WIDTH / 2 - SIDE_WIDTH, RUNWAY_WIDTH / 2, across)
    near = min(past, RUNWAY_LENGTH - past)  # both ends are marked alike
    # threshold: on each side six stripes, the innermost one stripe's width from the centre line
    if near < THRESHOLD_START + THRESHOLD_LENGTH + along:
        length = _box(near, THRESHOLD_START, THRESHOLD_START + THRESHOLD_LENGTH, along)
        for stripe in range(6):
            start = STRIPE * (1 + 2 * stripe)
            share += length * _box(east, start, start + STRIPE, across)
    # aiming point
    share += _box(near, AIM_START, AIM_START + AIM_LENGTH, along) * _box(
        east, AIM_INSIDE, AIM_INSIDE + AIM_WIDTH, across
    )
    # touchdown zone: three bars at 500 ft, two at 1500 and 2000, one at 2500 and 3000
    for number in range(1, 7):
        bars = (3, 0, 2, 2, 1, 1)[number - 1]
        start = number * ZONE_STEP
        if bars and abs(near - start) < ZONE_LENGTH + along:
            length = _box(near, start, start + ZONE_LENGTH, along)
            for bar in range(bars):
                inside = AIM_INSIDE + bar * (ZONE_WIDTH + ZONE_SPACE)
                share += length * _box(east, inside, inside + ZONE_WIDTH, across)
    # centre line
    if near > CENTRE_START:
        period = CENTRE_STRIPE + CENTRE_GAP
        place = (past - CENTRE_START) % period
        length = _box(place, 0.0, CENTRE_STRIPE, along) + _box(
            place, period, period + CENTRE_STRIPE, along
        )
        far = min(1.0, along / period)  # where a pixel covers whole periods, their mean
        length += far * (CENTRE_STRIPE / period - length)
        share += length * _box(east, -CENTRE_WIDTH / 2, CENTRE_WIDTH / 2, across)
    return min(1.0, share)


@compiled
def _grid(x: float, y: float, z: float, pixel: float, labels: npt.NDArray[np.uint8]) -> float:
    """Return the share of ink of the grid's lines and figures in a direction of the rig frame."""
    level = math.sqrt(x * x + y * y)
    azimuth, elevation = math.degrees(math.atan2(x, y)), math.degrees(math.atan2(z, level))
    line_azimuth, line_elevation = (
        round(azimuth / GRID_STEP) * GRID_STEP,
        round(elevation / GRID_STEP) * GRID_STEP,
    )
    thick = max(1.2, 0.0009 / pixel)  # lines keep about 0.05 degree where pixels are fine
    off_azimuth = math.radians(abs(azimuth - line_azimuth)) * level / pixel
    off_elevation = math.radians(abs(elevation - line_elevation)) / pixel
    ink = 0.0
    if abs(elevation) < 80.5:
        ink = min(1.0, max(0.0, thick / 2 + 0.5 - off_azimuth))
    ink = 0.8 * max(ink, min(1.0, max(0.0, thick / 2 + 0.5 - off_elevation)))
    # figures above and right of crossings: azimuths along the horizon, elevations each 30 degrees
    corner_azimuth, corner_elevation = (
        math.floor(azimuth / GRID_STEP) * GRID_STEP,
        math.floor(elevation / GRID_STEP) * GRID_STEP,
    )
    right, up = (
        (azimuth - corner_azimuth - 0.3) / LABEL_WIDE,
        (elevation - corner_elevation - 0.2) / LABEL_HIGH,
    )
    if 0 <= right < 1 and 0 <= up < 1:
        label = -1
        if corner_elevation == 0:
            label = round((corner_azimuth + 180.0) / 10.0) % 36
        elif corner_azimuth % 30 == 0:
            label = 36 + round((corner_elevation + 90.0) / 10.0)
        if label >= 0:
            rows, columns = labels.shape[1], labels.shape[2]
            ink = max(ink, labels[label, int((1 - up) * rows - 1e-9), int(right * columns)] / 255.0)
    return ink


@compiled
def _box(place: float, start: float, stop: float, width: float) -> float:
    """Return the share of an interval of some width about a place that lies between start and stop."""
    low, high = max(start, place - width / 2), min(stop, place + width / 2)
    return max(0.0, high - low) / width


@compiled
def _hash(a: float, b: float) -> float:
    """Return a number 0..1 that looks random but hangs only on two whole ones."""
    value = math.sin(a * 127.1 + b * 311.7) * 43758.5453
    return value - math.floor(value)


@compiled
def _noise(a: float, b: float) -> float:
    """Return smooth noise, 0..1, with a grain of 1."""
    i, j = math.floor(a), math.floor(b)
    u, v = a - i, b - j
    u, v = u * u * (3 - 2 * u), v * v * (3 - 2 * v)
    low = _hash(i, j) + (_hash(i + 1, j) - _hash(i, j)) * u
    high = _hash(i, j + 1) + (_hash(i + 1, j + 1) - _hash(i, j + 1)) * u
    return low + (high - low) * v
