"""A trade-off curve: better is up and to the right, and points stand where their figures say."""

import numpy as np
import pytest

from seamsight.viewer.pictures.trade_off import BEST, LINE, trade_off
from seamsight.viewer.studies.choosing import Answer, Point


def answer(rows):
    points = [
        Point({"row.radius": number}, {"field": up, "corner-light": across})
        for number, (up, across) in enumerate(rows)
    ]
    return Answer({}, None, points[1], {}, (), tuple(points))


def places(sheet, colour):
    rows, columns = np.nonzero((np.asarray(sheet) == colour).all(axis=2))
    return rows.mean(), columns.mean(), len(rows)


def test_points_stand_where_their_figures_say():
    sheet = trade_off(
        answer([(100, 0.5), (90, 0.8), (50, 0.9)]), ("field", "corner-light"), "", 900
    )
    best_row, best_column, count = places(sheet, BEST)
    assert sheet.width == 900 and count > 50
    frame = np.asarray(sheet).shape
    # 0.8 of 0.5 to 0.9 is three quarters across; 90 of 50 to 100 is four fifths up
    lines = np.nonzero((np.asarray(sheet) == LINE).all(axis=2))
    left, right = lines[1].min(), lines[1].max()
    top, foot = lines[0].min(), lines[0].max()
    assert best_column == pytest.approx(left + 0.75 * (right - left), abs=0.05 * frame[1])
    assert best_row == pytest.approx(foot - 0.8 * (foot - top), abs=0.06 * frame[0])


def test_a_curve_of_like_figures_can_be_drawn():
    sheet = trade_off(answer([(90, 0.5), (90, 0.5)]), ("field", "corner-light"), "rig", 600)
    assert sheet.height > 300
