"""Tiles cover the drawing, overlap, and are left out where nothing is."""

import itertools

import pytest

from seamsight.scene.outlines import Rectangle
from seamsight.viewer.workshop.sketch import Sketch
from seamsight.viewer.workshop.tiles import OVERLAP, PAPERS, tiling


def drawn(width, height):
    sketch = Sketch()
    sketch.add_outline(Rectangle((50, 20), (width, height)))
    return sketch


def test_a_small_drawing_is_on_one_sheet():
    assert len(tiling(drawn(180, 240), PAPERS["a4"]).tiles) == 1


def test_a_wide_one_turns_the_paper():
    laid = tiling(drawn(260, 100), PAPERS["a4"])
    assert laid.paper == (297, 210)
    assert len(laid.tiles) == 1


@pytest.mark.parametrize("paper", PAPERS)
def test_tiles_cover_all_and_overlap(paper):
    laid = tiling(drawn(620, 270), PAPERS[paper])
    columns = sorted({tile.corner[0] for tile in laid.tiles})
    rows = sorted({tile.corner[1] for tile in laid.tiles})
    for places, shown, low, high in (
        (columns, laid.shown[0], 50 - 310, 50 + 310),
        (rows, laid.shown[1], 20 - 135, 20 + 135),
    ):
        assert places[0] < low
        assert places[-1] + shown > high
        steps = {round(b - a, 6) for a, b in itertools.pairwise(places)}
        assert steps <= {round(shown - OVERLAP, 6)}


def test_tiles_without_a_line_are_left_out():
    laid = tiling(drawn(1500, 1500), PAPERS["a4"])
    assert len(laid.tiles) == 2 * laid.columns + 2 * laid.rows - 4
