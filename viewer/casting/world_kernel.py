"""The outside scene's light in every direction, compiled: sky, hills, ground, runway, grid.

Sky, flat ground with fields and distance haze, hills at the sides, a runway straight ahead. There
is no sun: an even light. Nothing is random: the same settings paint the same picture.

Runway markings have the proportions of FAA AC 150/5340-1, 0.3 m here for each of its feet. From
secondary pages that quote it: threshold stripes, aiming point, touchdown zone; the centre line's
stripes and gaps of 120 and 80 ft, the side stripes and the number of threshold stripes for a 150 ft
wide runway are from memory. Designation figures are left out.
"""

import math

import numpy as np
import numpy.typing as npt

from seamsight.scene.frames import Array
from seamsight.viewer.casting.compiling import compiled

RUNWAY_LENGTH = 2400.0  # m, as all of these
RUNWAY_WIDTH = 45.0
STRIP_HALF_WIDTH = 150.0  # of the mown grass beside the runway

THRESHOLD_START = 6.0
THRESHOLD_LENGTH = 45.0
THRESHOLD_STRIPE = 1.725
CENTRE_START = 87.0
CENTRE_STRIPE = 36.0
CENTRE_GAP = 24.0
CENTRE_WIDTH = 0.9
AIM_START = 306.0
AIM_LENGTH = 45.0
AIM_WIDTH = 9.0
AIM_INSIDE = 10.8
ZONE_STEP = 150.0
ZONE_LENGTH = 22.5
ZONE_WIDTH = 1.8
ZONE_SPACE = 1.5
SIDE_WIDTH = 0.9

VISIBILITY = 9000.0  # m; the distance at which haze has taken 63 % of a colour
CLEAREST = 0.82  # haze takes no more than this, so that the horizon stays an edge

GRID_STEP = 10.0  # degrees
LABEL_WIDE, LABEL_HIGH = 2.6, 1.0  # degrees

Codes = npt.NDArray[np.uint8]
Light = tuple[float, float, float]


@compiled
def paint_rows(
    picture: Codes,
    first: int,
    last: int,
    edges: Array,
    axes: Array,
    attitude: Array,
    place: Array,
    labels: Codes,
    codes: Codes,
) -> None:
    """Paint rows of a flat view.

    Parameters
    ----------
    picture : (height, width, 3) uint8 sRGB
    first, last : int
        The rows from the first up to before the last.
    edges : (4,) float64
        Tangents of the view's left, right, bottom and top edge.
    axes : (3, 3) float64
        The view's right, away and up in the rig frame, columns.
    attitude : (3, 3) float64
        The aircraft's, columns; the rig's frame turns with it.
    place : (2,) float64
        The eye's height above the ground, and how far ahead the runway begins, m.
    labels : (55, rows, columns) uint8
        Pictures of the grid's figures; a single one where no grid is drawn.
    codes : (n,) uint8
        From linear light 0..1 in equal steps to sRGB.
    """
    height, width = picture.shape[:2]
    step = (edges[1] - edges[0]) / width
    mean_step = math.sqrt(abs(step * (edges[3] - edges[2]) / height))
    top_code = codes.shape[0] - 1
    for row in range(first, last):
        up = edges[3] + (edges[2] - edges[3]) * (row + 0.5) / height
        for column in range(width):
            across = edges[0] + step * (column + 0.5)
            scale = 1.0 / math.sqrt(1.0 + across * across + up * up)
            # the angle of a pixel here, near enough for smoothing
            pixel = mean_step * scale * math.sqrt(scale)

            # look where the pixel does, in the rig frame and in the world's
            rig_x = (axes[0, 0] * across + axes[0, 1] + axes[0, 2] * up) * scale
            rig_y = (axes[1, 0] * across + axes[1, 1] + axes[1, 2] * up) * scale
            rig_z = (axes[2, 0] * across + axes[2, 1] + axes[2, 2] * up) * scale
            x = attitude[0, 0] * rig_x + attitude[0, 1] * rig_y + attitude[0, 2] * rig_z
            y = attitude[1, 0] * rig_x + attitude[1, 1] * rig_y + attitude[1, 2] * rig_z
            z = attitude[2, 0] * rig_x + attitude[2, 1] * rig_y + attitude[2, 2] * rig_z

            red, green, blue = (
                _ground(x, y, z, pixel, place[0], place[1]) if z < 0 else _sky(x, y, z, pixel)
            )
            if labels.shape[0] > 1:
                line = _grid(rig_x, rig_y, rig_z, pixel, labels)
                # light on the ground, dark before the sky
                ink = (0.9, 0.6, 0.1) if z < 0 else (0.02, 0.03, 0.09)
                red, green, blue = _mixed(red, green, blue, ink[0], ink[1], ink[2], line)
            picture[row, column, 0] = codes[int(min(1.0, max(0.0, red)) * top_code + 0.5)]
            picture[row, column, 1] = codes[int(min(1.0, max(0.0, green)) * top_code + 0.5)]
            picture[row, column, 2] = codes[int(min(1.0, max(0.0, blue)) * top_code + 0.5)]


@compiled
def _mixed(
    red: float,
    green: float,
    blue: float,
    other_red: float,
    other_green: float,
    other_blue: float,
    share: float,
) -> Light:
    """Return light with a share of another in it."""
    return (
        red + share * (other_red - red),
        green + share * (other_green - green),
        blue + share * (other_blue - blue),
    )


@compiled
def _sky(x: float, y: float, z: float, pixel: float) -> Light:
    """Return the light of the sky, or of the hills that stand before it at the sides."""
    rise = min(1.0, z * 1.6)
    red, green, blue = 0.60 - 0.46 * rise, 0.68 - 0.38 * rise, 0.76 - 0.18 * rise

    azimuth = math.atan2(x, y)
    elevation = math.asin(min(1.0, z))
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
def _ground(x: float, y: float, z: float, pixel: float, height: float, ahead: float) -> Light:
    """Return the light of the ground where a direction meets it, the eye `height` m above it."""
    distance = height / -z
    east, north = x * distance, y * distance
    # what a pixel covers on the ground, m: sideways, and along the line of sight
    across = distance * pixel
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
            red, green, blue = _mixed(red, green, blue, white, white, white, paved)

    haze = CLEAREST * (1.0 - math.exp(-distance / VISIBILITY))
    return _mixed(red, green, blue, 0.52, 0.60, 0.68, haze)


@compiled
def _fields(east: float, north: float, footprint: float) -> Light:
    """Return the colour of the land: fields of some 200 m, with grain.

    Both fade where a pixel covers more of the land.
    """
    # find the field, and what grows on it
    skew_east, skew_north = east + 0.21 * north, north - 0.16 * east
    cell_east, cell_north = math.floor(skew_east / 210.0), math.floor(skew_north / 150.0)
    kind = _hash(cell_east, cell_north)
    lush = _hash(cell_north + 91.0, cell_east - 37.0)
    if abs(east) < STRIP_HALF_WIDTH:
        kind = 0.2
        lush = 0.6
    clear = max(0.0, min(1.0, 1.6 - footprint / 130.0))
    red = 0.075 + clear * (0.085 * kind * kind - 0.02 * lush)
    green = 0.115 + clear * (0.035 * kind - 0.025 * lush + 0.01)
    blue = 0.040 + clear * (0.022 * kind - 0.01 * lush)

    # add grain of three sizes
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
    """Return the share of white paint at a place.

    It is `east` m from the centre line and `past` m from the threshold.
    """
    share = _box(east, RUNWAY_WIDTH / 2 - SIDE_WIDTH, RUNWAY_WIDTH / 2, across)
    near = min(past, RUNWAY_LENGTH - past)  # both ends are marked alike

    # threshold: on each side six stripes, the innermost one stripe's width from the centre line
    if near < THRESHOLD_START + THRESHOLD_LENGTH + along:
        length = _box(near, THRESHOLD_START, THRESHOLD_START + THRESHOLD_LENGTH, along)
        for stripe in range(6):
            start = THRESHOLD_STRIPE * (1 + 2 * stripe)
            share += length * _box(east, start, start + THRESHOLD_STRIPE, across)

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
def _grid(x: float, y: float, z: float, pixel: float, labels: Codes) -> float:
    """Return the share of ink of the grid's lines and figures in a direction of the rig frame."""
    level = math.sqrt(x * x + y * y)
    azimuth, elevation = math.degrees(math.atan2(x, y)), math.degrees(math.atan2(z, level))

    # lines
    line_azimuth = round(azimuth / GRID_STEP) * GRID_STEP
    line_elevation = round(elevation / GRID_STEP) * GRID_STEP
    thick = max(1.2, 0.0009 / pixel)  # lines keep about 0.05 degree where pixels are fine
    off_azimuth = math.radians(abs(azimuth - line_azimuth)) * level / pixel
    off_elevation = math.radians(abs(elevation - line_elevation)) / pixel
    ink = 0.0
    if abs(elevation) < 80.5:
        ink = min(1.0, max(0.0, thick / 2 + 0.5 - off_azimuth))
    ink = 0.8 * max(ink, min(1.0, max(0.0, thick / 2 + 0.5 - off_elevation)))

    # figures above and right of crossings: azimuths along the horizon, elevations each 30 degrees
    corner_azimuth = math.floor(azimuth / GRID_STEP) * GRID_STEP
    corner_elevation = math.floor(elevation / GRID_STEP) * GRID_STEP
    right = (azimuth - corner_azimuth - 0.3) / LABEL_WIDE
    up = (elevation - corner_elevation - 0.2) / LABEL_HIGH
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
    """Return the share of an interval of some width about a place that is between two others."""
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
