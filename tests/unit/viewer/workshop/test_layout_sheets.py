"""Sheets drawn: every board is there, as large as it is cut."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.layout_sheets import WOOD, layout_picture, layout_sketch
from seamsight.viewer.workshop.sheet_layout import layouts

SIZES = [[600, 300, 12], [300, 12, 700], [12, 90, 40]]


@pytest.fixture
def laid(rig_of):
    boards = [
        {"name": f"b{n}", "size": size, "centre": [0, 9000, 0]} for n, size in enumerate(SIZES)
    ]
    return layouts(cut_pieces(build(rig_of(board=boards))), {})


NUMBERS = {"b0": 1, "b1": 2, "b2": 3}


def test_the_drawing_has_boards_at_their_places(laid):
    sketch = layout_sketch(laid, NUMBERS)
    cut = [np.ptp(path.points, axis=0) for path in sketch.paths if path.layer == "CUT"]
    placed = [one.size for one in laid[0].sheets[0]]
    assert np.array(cut) == pytest.approx(np.array(placed))
    assert {label.text for label in sketch.labels} >= {"1 b0", "2 b1", "3 b2"}


def test_the_picture_shows_their_area(laid):
    picture = layout_picture(laid, NUMBERS, "rig", 1000)
    pixels = np.asarray(picture)
    scale = (1000 - 24) / 2440
    wood = float((pixels == WOOD).all(axis=2).sum()) / scale**2
    assert wood == pytest.approx(laid[0].area, rel=0.1)  # less lines and lettering
