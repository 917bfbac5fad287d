"""The outside view with each set-up: wrong ones show and mark their error."""

import math

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.casting.frustum import FlatView
from seamsight.viewer.pictures import setups as pictures_setups
from seamsight.viewer.pictures.setups import Setup, setups_picture
from seamsight.viewer.setup.views import screen_views

MARK = (255, 70, 160)


@pytest.fixture
def assembly(rig_of, screen_at):
    return build(rig_of(screen=[screen_at(shows="world", pixels=[400, 300])]))


@pytest.fixture
def drawn(assembly, monkeypatch):
    """Return a function from views of its screen to the rows of a picture, as arrays."""
    monkeypatch.setattr(pictures_setups, "SAMPLES", 1)

    def drawn(*views):
        setups = [Setup(str(number), {"screen": view}) for number, view in enumerate(views)]
        sheet = np.asarray(setups_picture(assembly, setups, "rig", 500)).astype(int)
        return np.split(sheet[: len(sheet) // len(views) * len(views)], len(views))

    return drawn


def marks(row):
    return np.argwhere((row == MARK).all(axis=2))


def test_a_right_view_has_no_mark(drawn, assembly):
    [row] = drawn(screen_views(assembly)["screen"].view)
    assert len(marks(row)) == 0
    # sky above, ground below
    height, width, _ = row.shape
    assert row[height // 4, width // 2, 2] > row[height // 2, width // 2, 2]


def test_marks_are_as_long_as_the_error(drawn):
    # drawn 5 degrees too far to the left: the lines lead 5 degrees to the right
    view = FlatView(-1 / 3, 1 / 3, -0.25, 0.25, math.radians(-5), 0.0, 0.0)
    [row] = drawn(view)
    per_degree = 500 / (1.1 * 2 * math.degrees(math.atan(1 / 3)))
    places = marks(row)
    middle = places[np.abs(places[:, 0] - np.median(places[:, 0])) < 4]
    columns = np.unique(middle[:, 1])
    lines = np.split(columns, np.flatnonzero(np.diff(columns) > 2) + 1)
    # the five lines of the middle row, each with its dot's radius
    lengths = [line[-1] - line[0] for line in lines]
    assert len(lengths) == 5
    assert lengths[2] == pytest.approx(5 * per_degree + 3, abs=3)


def test_rows_differ_where_views_do(drawn, assembly):
    right = screen_views(assembly)["screen"].view
    rows = drawn(right, right._replace(yaw=0.1))
    assert np.abs(rows[0] - rows[1]).mean() > 1
