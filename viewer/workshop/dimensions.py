"""Dimension lines of a drawing: ticks at both ends, the length beside the line."""

import math

from seamsight.viewer.workshop.sketch import Label, Point, Sketch

TICK = 0.6  # of the lettering's height, each way
BEYOND = 0.5  # heights by which an extension line passes the dimension line


def add_dimension(
    sketch: Sketch, ends: tuple[Point, Point], words: str, letter: float, aside: float = 0.0
) -> None:
    """Add a dimension line between two points, moved aside to the left of their direction.

    Parameters
    ----------
    sketch : Sketch
    ends : tuple of (float, float)
        What is measured: two places apart.
    words : str
        What stands at its middle.
    letter : float
        Height of the lettering, mm of the sketch.
    aside : float
        How far the line lies beside the two points; extension lines then lead to it.
    """
    (x, y), (to_x, to_y) = ends
    length = math.hypot(to_x - x, to_y - y)
    along = ((to_x - x) / length, (to_y - y) / length)
    left = (-along[1], along[0])
    start, end = ((px + left[0] * aside, py + left[1] * aside) for px, py in ends)
    sketch.add_polygon([start, end], "MARKS", closed=False)

    # strokes across both ends, and lines to what is measured
    tick = TICK * letter
    slope = (along[0] + left[0], along[1] + left[1])
    for (place_x, place_y), (own_x, own_y) in ((start, ends[0]), (end, ends[1])):
        stroke = [
            (place_x - slope[0] * tick, place_y - slope[1] * tick),
            (place_x + slope[0] * tick, place_y + slope[1] * tick),
        ]
        sketch.add_polygon(stroke, "MARKS", closed=False)
        if aside:
            far = math.copysign(BEYOND * letter, aside)
            tip = (place_x + left[0] * far, place_y + left[1] * far)
            sketch.add_polygon([(own_x, own_y), tip], "MARKS", closed=False)

    # words are read from below or from the right
    turn = math.degrees(math.atan2(along[1], along[0]))
    side = 1.0
    if not -90 < turn <= 90:
        turn += 180 if turn <= -90 else -180
        side = -1.0
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    up = side * 0.9 * letter
    at = (middle[0] + left[0] * up, middle[1] + left[1] * up)
    sketch.labels.append(Label(at, words, letter, turn))
