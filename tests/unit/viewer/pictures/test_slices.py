"""Slices through a map: the right colour at the right place, and lines over the rig to scale."""

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import Head, build
from seamsight.scene.plan import plan_picture
from seamsight.viewer.pictures.slices import BANDS, LEVELS, slices
from seamsight.viewer.studies.head_map import HeadMap, grid_about

COLOURS = [colour for _, colour, _ in BANDS]


WIDTH = 1000
KEY = 60  # rows at the foot


def places_of(sheet: Image.Image, colour):
    rows, columns = np.nonzero((np.asarray(sheet)[:-KEY] == colour).all(axis=2))
    return rows, columns


@pytest.fixture
def placed(rig_of, screen_at):
    return build(rig_of(screen=[screen_at(shows="world")]))


@pytest.fixture
def grid():
    return grid_about(Head(name="design"), (100, 100, 50), 10, (0.0,))


@pytest.fixture
def shown(placed, grid):
    def shown(least, seen=0.98):
        shares = np.repeat(least.reshape(-1, 1), 2, axis=1).reshape(-1, 1, 2)
        return slices(placed, HeadMap(grid, ["screen"], shares), "rig", WIDTH, seen)

    return shown


def test_a_map_of_one_share_has_one_colour(grid, shown):
    sheet = shown(np.full(np.prod(grid.shape), 0.96))
    counts = [len(places_of(sheet, colour)[0]) for colour in COLOURS]
    assert counts[1] > 20_000
    assert max(counts[0], *counts[2:]) == 0


def test_right_is_right_and_up_is_up(grid, shown):
    right, forward, up, _ = grid.places().T
    # good to the right alone: right in the first two pictures, everywhere in the middle of the last
    sheet = shown(np.where(right > 0, 0.99, 0.5))
    good, bad = (places_of(sheet, colour)[1] for colour in (COLOURS[0], COLOURS[-1]))
    first = sheet.width // 3
    assert good[good < first].min() > bad[bad < first].max() - 5
    # good above alone: not in the picture from above, upper half of the others
    sheet = shown(np.where(up > 0, 0.99, 0.5))
    rows, columns = places_of(sheet, COLOURS[0])
    assert columns.min() > sheet.width // 3
    assert (
        rows.max()
        < places_of(sheet, COLOURS[-1])[0][
            places_of(sheet, COLOURS[-1])[1] > sheet.width // 2
        ].max()
    )
    assert len(forward) == len(right)


def test_lines_are_over_the_rig_at_its_scale(placed, grid, shown):
    right, forward, up, _ = grid.places().T
    plain = np.asarray(plan_picture(placed, WIDTH))
    # a ball of 60 mm about the head: 0.98 there, linear in the distance, 0.80 at 78 mm
    far = np.sqrt(right**2 + forward**2 + up**2)
    sheet = shown(1.58 - far / 100)
    rows, columns = places_of(sheet, LEVELS[0.98])
    in_plan = (columns < WIDTH / 2) & (rows < len(plain))  # the key is below
    wide, high = np.ptp(columns[in_plan]) + 1, np.ptp(rows[in_plan]) + 1
    scale = plan_scale(placed)
    assert wide == pytest.approx(120 * scale, abs=4)
    assert high == pytest.approx(wide, abs=4)


def plan_scale(placed):
    """Return pixels of a mm, from how wide and deep what is shown is (200 mm around all)."""
    corners = np.concatenate([placed.triangles.reshape(-1, 3), np.zeros((1, 3))])
    images = [part.triangles for part in placed.parts if part.kind != 0]
    corners = np.concatenate([np.concatenate(images).reshape(-1, 3), np.zeros((1, 3))])
    reach = np.ptp(corners, axis=0) + 400
    return (WIDTH - 5 * max(10, WIDTH // 70)) / (reach[0] + reach[1])


def test_the_share_asked_for_has_a_line_of_its_own(grid, shown):
    right = grid.places()[:, 0]
    least = 0.9 + right / 1000  # 0.87 at 30 mm to the left, far from all other levels
    without, with_line = shown(least), shown(least, seen=0.87)
    assert (np.asarray(without) != np.asarray(with_line)).any()
