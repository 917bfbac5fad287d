"""Drawings as pictures of pixels, for a sheet."""

import math

from PIL import Image, ImageDraw

from seamsight.scene.lettering import font
from seamsight.viewer.workshop.sketch import Layer, Path, Point, Sketch, arc_of

PAPER = (255, 255, 255)
INK: dict[Layer, tuple[int, int, int]] = {
    "CUT": (0, 0, 0),
    "HIDDEN": (128, 128, 128),
    "SLOTS": (192, 80, 0),
    "SCREENS": (0, 128, 160),
    "MARKS": (192, 0, 0),
    "NAMES": (32, 64, 160),
    "SHEET": (160, 160, 160),
}
MARGIN = 30  # pixels around a drawing
FINER = 2  # pixels drawn for each one shown, each way
STEPS = 24  # lines for an arc


def picture(sketch: Sketch, width: int) -> Image.Image:
    """Return a drawing as a picture so many pixels wide."""
    (left, bottom), (right, top) = sketch.bounds
    bottom = min([bottom, *(label.at[1] - label.height for label in sketch.labels)])
    top = max([top, *(label.at[1] + label.height for label in sketch.labels)])
    scale = FINER * (width - 2 * MARGIN) / max(right - left, 1e-6)
    height = math.ceil((top - bottom) * scale / FINER) + 2 * MARGIN
    canvas = Image.new("RGB", (width * FINER, height * FINER), PAPER)
    draw = ImageDraw.Draw(canvas)

    def placed(point: Point) -> Point:
        x = (point[0] - left) * scale + FINER * MARGIN
        return x, (top - point[1]) * scale + FINER * MARGIN

    for path in sketch.paths:
        points = [placed(point) for point in _line(path)]
        draw.line(points, fill=INK[path.layer], width=FINER)
    for one in sketch.rounds:
        x, y = placed(one.centre)
        reach = one.radius * scale
        box = [x - reach, y - reach, x + reach, y + reach]
        draw.ellipse(box, outline=INK[one.layer], width=FINER)
    for label in sketch.labels:
        _draw_words(canvas, placed(label.at), label.text, label.height * scale, label.turn)
    return canvas.reduce(FINER)


def _line(path: Path) -> list[Point]:
    """Return a path's points, arcs as many short lines."""
    count = len(path.points)
    points: list[Point] = []
    for start in range(count if path.closed else count - 1):
        here, there = path.points[start], path.points[(start + 1) % count]
        points.append(here)
        bulge = path.bulges[start]
        if bulge:
            (x, y), radius = arc_of(here, there, bulge)
            first = math.atan2(here[1] - y, here[0] - x)
            turn = 4 * math.atan(bulge)
            angles = (first + turn * step / STEPS for step in range(1, STEPS))
            points += [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles]
    return [*points, path.points[0] if path.closed else path.points[-1]]


def _draw_words(canvas: Image.Image, at: Point, text: str, height: float, turn: float) -> None:
    """Draw words about a place, turned anticlockwise, degrees."""
    letters = font(max(1, round(1.2 * height)))
    patch = Image.new("L", (round(letters.getlength(text)) + 4, round(2 * height) + 4))
    middle = (patch.width / 2, patch.height / 2)
    ImageDraw.Draw(patch).text(middle, text, 255, letters, anchor="mm")
    patch = patch.rotate(turn, Image.Resampling.BICUBIC, expand=True)
    corner = (round(at[0] - patch.width / 2), round(at[1] - patch.height / 2))
    canvas.paste(INK["NAMES"], corner, patch)
