"""Where outputs and screens are on the desktop."""

import dataclasses
import itertools

import pytest

from seamsight.viewer.setup.desktop import Rectangle, around, desktop_of


def numbers(place):
    return dataclasses.astuple(place)


@pytest.fixture
def desktop(rig_with, placed):
    return lambda *outputs: desktop_of(*placed(rig_with(*outputs)))


def test_a_splitter_s_screens_are_equal_parts_from_the_left(desktop, wide):
    found = desktop(wide)
    assert numbers(found.outputs["wide"]) == (0, 0, 5040, 1050)
    assert [numbers(place) for place in found.screens.values()] == [
        (0, 0, 1680, 1050),
        (1680, 0, 1680, 1050),
        (3360, 0, 1680, 1050),
    ]


def test_outputs_without_a_place_stand_to_the_right_of_those_before(desktop, output_of):
    found = desktop(
        output_of("a", "map", desktop=[100, 50]), output_of("b", "row.1"), output_of("c", "row.2")
    )
    assert numbers(found.outputs["b"])[:2] == (1380, 50)
    assert numbers(found.outputs["c"])[:2] == (3060, 50)
    assert numbers(found.whole) == (100, 50, 1280 + 2 * 1680, 1050)


@pytest.mark.parametrize("keys", [{}, {"pixels": [1920, 1080]}])
def test_a_screen_mounted_upright_is_upright_on_the_desktop(desktop, output_of, keys):
    assert numbers(desktop(output_of("a", "up", **keys)).screens["up"]) == (0, 0, 1080, 1920)


def test_two_rows_go_from_the_left_and_from_the_top(desktop, output_of):
    splitter = {"outputs": 4, "link": "HDMI 1.4", "rows": 2}
    found = desktop(output_of("a", "row.1", "row.2", splitter=splitter))
    assert numbers(found.screens["row.1"]) == (0, 0, 1680, 1050)
    assert numbers(found.screens["row.2"]) == (0, 1050, 1680, 1050)


def test_parts_of_an_odd_width_leave_no_pixel_out(desktop, wide):
    parts = [*desktop(wide | {"pixels": [5039, 1050]}).screens.values()]
    assert sum(part.width for part in parts) == 5039
    assert all(one.right == other.x for one, other in itertools.pairwise(parts))


@pytest.mark.parametrize(
    ("other", "overlaps", "touches"),
    [
        ((10, 0, 10, 10), False, True),
        ((9, 0, 10, 10), True, True),
        ((11, 0, 10, 10), False, False),
        ((10, 10, 10, 10), False, False),  # a corner is no edge
        ((0, -5, 10, 5), False, True),
    ],
)
def test_neighbours(other, overlaps, touches):
    one, second = Rectangle(0, 0, 10, 10), Rectangle(*other)
    assert (one.overlaps(second), one.touches(second)) == (overlaps, touches)
    assert (second.overlaps(one), second.touches(one)) == (overlaps, touches)
    assert around([one, second]).right == max(10, second.right)
