"""Drawings as data: arcs, places, bounds."""

import math

import pytest

from seamsight.scene.outlines import Circle, Rectangle
from seamsight.viewer.workshop.sketch import Label, Sketch, arc_of


def test_the_quarter_at_a_corner_is_about_its_middle():
    sketch = Sketch()
    sketch.add_outline(Rectangle((10, 20), (100, 60), 8))
    [path] = sketch.paths
    ends = zip(path.points, [*path.points[1:], path.points[0]], path.bulges, strict=True)
    arcs = [arc_of(start, end, bulge) for start, end, bulge in ends if bulge]
    middles = {(x, y) for x in (-32, 52) for y in (-2, 42)}
    assert {(round(x, 6), round(y, 6)) for (x, y), _ in arcs} == middles
    assert [radius for _, radius in arcs] == pytest.approx([8] * 4)


def test_half_a_circle():
    # bulge 1 is a half circle (DXF reference, group code 42)
    middle, radius = arc_of((0, 0), (4, 0), 1.0)
    assert middle == pytest.approx((2, 0))
    assert radius == pytest.approx(2)


def test_a_rounded_square_without_straight_sides_is_four_arcs():
    sketch = Sketch()
    sketch.add_outline(Rectangle((0, 0), (20, 20), 10))
    assert len(sketch.paths[0].points) == 4


def test_placed_turns_left_and_moves():
    sketch = Sketch(labels=[Label((1, 2), "x", 3)])
    sketch.add_outline(Circle((10, 0), 2))
    moved = sketch.placed((100, 50), turned=True)
    assert moved.rounds[0].centre == pytest.approx((100, 60))
    assert (moved.labels[0].at, moved.labels[0].turn) == ((98, 51), 90)


def test_bounds():
    sketch = Sketch()
    sketch.add_cross((0, 0), 5)
    sketch.add_outline(Circle((10, 0), 2))
    (left, bottom), (right, top) = sketch.bounds
    assert (left, bottom, right, top) == (-5, -5, 12, 5)
    assert math.isfinite(left)
