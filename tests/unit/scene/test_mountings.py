"""Mounting patterns: every one has its row, and holes where its name says."""

from typing import get_args

import pytest

from seamsight.scene.mountings import PATTERNS, Mounting


def test_every_pattern_has_a_row():
    assert set(PATTERNS) == set(get_args(Mounting))


@pytest.mark.parametrize("name", get_args(Mounting))
def test_holes_are_where_the_name_says(name):
    across, up = map(float, name.split("x"))
    (left, bottom), _, (right, top), _ = PATTERNS[name].holes
    assert (right - left, top - bottom) == (across, up)
    assert PATTERNS[name].clearance_hole > PATTERNS[name].screw


def test_limits_as_articles_quote_them():
    # VESA FDMI: MIS-B 2 kg, MIS-D 14 kg, MIS-E 50 lb
    assert [PATTERNS[name].limit for name in ("50x20", "100x100")] == [2, 14]
    assert PATTERNS["200x100"].limit == pytest.approx(50 * 0.45359, abs=0.05)
