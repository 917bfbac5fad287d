"""Cubes that rays go through: before a board, not behind it, and where a lens bends them to."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.casting.cells import Cells, mark_seen

CELLS = Cells(np.array([-100.0, 0.0, -100.0]), 10.0, (20, 80, 20))


def seen_by(assembly, origin, direction):
    seen = np.zeros(CELLS.shape, bool)
    ends = mark_seen(assembly, np.array([origin]), np.array([direction]), CELLS, seen)
    return seen, ends


def test_points_are_put_into_cubes():
    points = np.array([[-95.0, 5.0, -95.0], [95.0, 795.0, 95.0], [0.0, -1.0, 0.0]])
    assert CELLS.at(points).tolist() == [[0, 0, 0], [19, 79, 19], [10, -1, 10]]
    assert CELLS.high.tolist() == [100, 800, 100]
    cubes = np.zeros(CELLS.shape, bool)
    cubes[0, 0, 0] = cubes[10, -1, 10] = True
    assert CELLS.picked(cubes, points).tolist() == [True, False, False]


def test_a_board_ends_a_ray(rig_of):
    board = {"name": "board", "size": [100, 10, 100], "centre": [0, 300, 0]}
    assembly = build(rig_of(board=[board]))
    seen, ends = seen_by(assembly, (5.0, 0.0, 5.0), (0.0, 1.0, 0.0))
    assert ends.tolist() == [0]
    assert np.flatnonzero(seen[10, :, 10]).tolist() == list(range(30))  # its face is at 295


def test_a_lens_bends_a_ray(rig_of, screen_at):
    # a ray parallel to the axis goes to the focal point: thin lens
    lens = {"screen": "screen", "focal_length": 300, "distance": 150, "width": 180, "height": 180}
    assembly = build(rig_of(screen=[screen_at(centre=[0, 600, 0])], lens=[lens]))
    seen, ends = seen_by(assembly, (65.0, 0.0, 5.0), (0.0, 1.0, 0.0))
    assert assembly.parts[ends[0]].role == "image"
    at = [CELLS.low[0] + 10 * np.flatnonzero(row) for row in seen[:, :, 10].T]
    assert at[20] == pytest.approx([60])  # before the lens, which is at 450
    assert at[52] == pytest.approx([40])  # 65 (1 - 75/300) = 48.75
    assert not seen[16, 60:].any()
