"""Dimension lines: beside what they measure, read from below or from the right."""

import pytest

from seamsight.viewer.workshop.dimensions import add_dimension
from seamsight.viewer.workshop.sketch import Sketch


@pytest.mark.parametrize(
    ("ends", "turn"),
    [
        (((0, 0), (100, 0)), 0),
        (((100, 0), (0, 0)), 0),
        (((0, 0), (0, 50)), 90),
        (((0, 50), (0, 0)), 90),
    ],
)
def test_words_are_never_upside_down(ends, turn):
    sketch = Sketch()
    add_dimension(sketch, ends, "100", 3)
    [label] = sketch.labels
    assert label.turn == pytest.approx(turn)
    # above a level line, left of an upright one
    x, y = label.at
    assert (y > 0) if turn == 0 else (x < 0)


def test_a_line_aside_has_extension_lines_from_what_is_measured():
    sketch = Sketch()
    add_dimension(sketch, ((0, 0), (100, 0)), "100", 2, aside=20)
    lines = [path.points for path in sketch.paths]
    assert lines[0] == ((0, 20), (100, 20))
    assert ((0, 0), (0, 21)) in lines
    assert ((100, 0), (100, 21)) in lines
