"""Templates: what is drawn on each, and which boards share one."""

import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.cut_list import cut_rows
from seamsight.viewer.workshop.template import templates, whole_sketch

HOLES = [
    {"shape": "circle", "at": [100, 50], "diameter": 79.5, "name": "altimeter"},
    {"shape": "rect", "at": [-80, 0], "size": [60, 40], "radius": 5},
]
PLATE = {"name": "p", "size": [400, 200], "thickness": 4, "centre": [300, 900, 0], "holes": HOLES}
BOARD = {"name": "b", "size": [400, 200, 18], "centre": [0, 2000, 0]}


@pytest.fixture
def templates_of(rig_of):
    def of(**tables):
        assembly = build(rig_of(**tables))
        return templates(assembly, cut_rows(assembly, cut_pieces(assembly)))

    return of


def test_a_plate_has_its_holes_with_names_sizes_and_middles(templates_of):
    [one] = templates_of(plate=[PLATE])
    assert not one.is_plain
    words = [label.text for label in one.sketch.labels]
    assert words == ["altimeter", "Ø 79.5", "60 × 40, R 5"]
    crosses = [path.points for path in one.sketch.paths if path.layer == "MARKS"]
    assert ((95, 50), (105, 50)) in crosses
    assert one.title == "p: aluminium 400.0 × 200.0 × 4 mm, seen from near side"


def test_a_plain_board_is_plain(templates_of):
    assert templates_of(board=[BOARD])[0].is_plain


def test_mirror_images_are_drawn_themselves_and_equal_ones_once(templates_of):
    again = PLATE | {"name": "q", "centre": [0, 3000, 0]}
    found = templates_of(plate=[PLATE | {"mirror": "m"}, again])
    assert [one.names for one in found] == [["p", "q"], ["m"]]


def test_all_lie_below_each_other(templates_of):
    found = templates_of(plate=[PLATE], board=[BOARD])
    whole = whole_sketch(found)
    edges = [path.points for path in whole.paths if path.layer == "CUT" and len(path.points) == 4]
    first, second = (sorted(y for _, y in points) for points in edges)
    assert first[-1] - first[0] == second[-1] - second[0] == 200
    assert first[0] > second[-1] + 50
