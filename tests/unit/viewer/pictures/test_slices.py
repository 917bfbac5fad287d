"""Slices through a map: the right colour at the right place."""

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import Head
from seamsight.viewer.pictures.slices import BANDS, slices
from seamsight.viewer.studies.head_map import HeadMap, grid_about

COLOURS = [colour for _, colour, _ in BANDS]


def places_of(sheet: Image.Image, colour):
    rows, columns = np.nonzero((np.asarray(sheet)[: sheet.height * 2 // 3] == colour).all(axis=2))
    return rows, columns


@pytest.fixture
def grid():
    return grid_about(Head(name="design"), (100, 100, 50), 10, (0.0,))


def shown(grid, least):
    shares = np.repeat(least.reshape(-1, 1), 2, axis=1).reshape(-1, 1, 2)
    return slices(HeadMap(grid, ["screen"], shares), "rig", 1000)


def test_a_map_of_one_share_has_one_colour(grid):
    sheet = shown(grid, np.full(np.prod(grid.shape), 0.96))
    counts = [len(places_of(sheet, colour)[0]) for colour in COLOURS]
    assert counts[1] > 20_000
    assert max(counts[0], *counts[2:]) == 0


def test_right_is_right_and_up_is_up(grid):
    right, forward, up, _ = grid.places().T
    # good to the right alone: right in the first two pictures, everywhere in the middle of the last
    sheet = shown(grid, np.where(right > 0, 0.99, 0.5))
    good, bad = (places_of(sheet, colour)[1] for colour in (COLOURS[0], COLOURS[-1]))
    first = sheet.width // 3
    assert good[good < first].min() > bad[bad < first].max() - 5
    # good above alone: not in the picture from above, upper half of the others
    sheet = shown(grid, np.where(up > 0, 0.99, 0.5))
    rows, columns = places_of(sheet, COLOURS[0])
    assert columns.min() > sheet.width // 3
    assert (
        rows.max()
        < places_of(sheet, COLOURS[-1])[0][
            places_of(sheet, COLOURS[-1])[1] > sheet.width // 2
        ].max()
    )
    assert len(forward) == len(right)
