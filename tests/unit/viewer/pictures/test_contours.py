"""Contour lines: those of a plane and of a cone, which are straight lines and circles."""

import numpy as np
import pytest

from seamsight.viewer.pictures.contours import contour_lines

ACROSS, ALONG = np.arange(-40.0, 41), np.arange(-20.0, 21)


def test_of_a_plane_a_straight_line():
    values = np.add.outer(2 * ACROSS, 0 * ALONG)
    [line] = contour_lines(values, ACROSS, ALONG, 25)
    assert line[:, 0] == pytest.approx(12.5)
    assert sorted(line[[0, -1], 1]) == [-20, 20]


def test_of_a_cone_a_circle():
    values = np.hypot(ACROSS[:, None], ALONG)
    [line] = contour_lines(values, ACROSS, ALONG, 15)
    assert np.hypot(*line.T) == pytest.approx(15, abs=0.02)
    assert line[0].tolist() == line[-1].tolist()


def test_none_where_there_is_no_area_or_no_such_level():
    assert contour_lines(np.ones((1, 5)), ACROSS[:1], ALONG[:5], 1) == []
    assert contour_lines(np.ones((5, 5)), ACROSS[:5], ALONG[:5], 0.5) == []
