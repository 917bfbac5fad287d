"""Slices through a room: cubes and cut parts at their places, to scale."""

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer.pictures.room_slices import HIDDEN, _section, room_slices
from seamsight.viewer.sheet import INK
from seamsight.viewer.studies.head_region import HeadRegion, lookers
from seamsight.viewer.studies.hidden_room import HiddenRoom, cells_around


@pytest.fixture(scope="module")
def placed(rig_of):
    board = {"name": "board", "size": [400, 100, 200], "centre": [0, 500, 0]}
    return build(rig_of(board=[board]))


@pytest.fixture(scope="module")
def room(placed):
    cells = cells_around(placed, 20)
    hidden = np.zeros(cells.shape, bool)
    hidden[:10] = True  # the 200 mm at the left
    region = HeadRegion((Head(name="design"),), (0, 0, 0), 0)
    return HiddenRoom(cells, ~hidden, hidden, lookers(placed, region, 1), 0, {})


def test_hidden_cubes_are_at_their_places(placed, room):
    sheet = np.asarray(room_slices(placed, room, "rig", 1200))
    rows, columns = np.nonzero((sheet == HIDDEN).all(axis=2))
    above = rows < rows.min() + 100
    starts = columns[above]
    # three slices side by side, of each the left quarter: 200 of 800 mm
    runs = np.flatnonzero(np.diff(np.unique(starts)) > 1)
    assert len(runs) == 2
    wide = len(np.unique(starts)) / 3
    assert wide == pytest.approx((1200 - 52) / 3 / 4, abs=3)


def test_a_cut_box_is_a_rectangle(placed):
    lines = _section(placed.triangles, 2, 13.0)
    assert lines[..., 2] == pytest.approx(np.full(lines.shape[:2], 13.0))
    assert np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1).sum() == pytest.approx(1000)
    assert lines[..., 0].min() == -200
    assert lines[..., 1].max() == 550
    assert not len(_section(placed.triangles, 2, 130.0))


def test_parts_are_drawn(placed, room):
    sheet = np.asarray(room_slices(placed, room, "", 1200))
    assert (sheet == INK).all(axis=2).sum() > 2000
