"""Drawings as pictures: lines where they are drawn, at one scale both ways."""

import numpy as np

from seamsight.scene.outlines import Circle, Rectangle
from seamsight.viewer.workshop.raster import MARGIN, picture
from seamsight.viewer.workshop.sketch import Label, Sketch


def drawn(outline):
    sketch = Sketch()
    sketch.add_outline(outline)
    return np.asarray(picture(sketch, 260))


def test_a_rectangle_fills_its_picture_but_for_the_margin():
    pixels = drawn(Rectangle((7, -3), (400, 200), 20))
    assert pixels.shape == (100 + 2 * MARGIN, 260, 3)
    rows, columns = np.nonzero(pixels.min(axis=2) < 128)
    assert abs(columns.min() - MARGIN) <= 1
    assert abs(columns.max() - (260 - MARGIN)) <= 1
    # rounded by 20 mm, 10 pixels: nothing is in the very corners
    assert not ((rows < MARGIN + 2) & (columns < MARGIN + 4)).any()


def test_a_circle_is_round():
    rows, columns = np.nonzero(drawn(Circle((0, 0), 50)).min(axis=2) < 128)
    away = np.hypot(rows - 129.5, columns - 129.5)
    assert np.abs(away - 100).max() < 2


def test_words_stand_at_their_place_turned():
    sketch = Sketch(labels=[Label((0, 0), "dimension", 8, 90)])
    sketch.add_outline(Rectangle((0, 0), (200, 200)))
    pixels = np.asarray(picture(sketch, 260)).astype(int)
    blue = pixels[..., 2] - pixels[..., 0] > 40
    rows, columns = np.nonzero(blue)
    assert np.ptp(rows) > 2 * np.ptp(columns)
    assert abs(rows.mean() - 130) < 6
    assert abs(columns.mean() - 130) < 6
