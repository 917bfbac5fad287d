"""Rows of the cut list: what is cut alike, and what edges meet."""

import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.cut_list import cut_rows


@pytest.fixture
def rows_of(rig_of):
    def rows(**tables):
        assembly = build(rig_of(**tables))
        return cut_rows(assembly, cut_pieces(assembly))

    return rows


def board(name, size, centre=(0, 900, 0), **keys):
    return {"name": name, "size": size, "centre": centre} | keys


def plate(name, holes, **keys):
    return {
        "name": name,
        "size": [300, 200],
        "thickness": 4,
        "centre": [0, 900, 0],
        "holes": holes,
    } | keys


def test_equal_boards_are_one_row_however_they_lie(rows_of):
    boards = [board("a", [300, 18, 50]), board("b", [18, 50, 300], (0, 2000, 0), yaw=30)]
    [row] = rows_of(board=[*boards, board("c", [300, 18, 50.2], (0, 3000, 0))])[1:]
    assert row.names == ["a", "b"]


def test_another_material_is_another_row(rows_of):
    boards = [board("a", [300, 18, 50]), board("b", [300, 18, 50], material="mdf")]
    assert [row.names for row in rows_of(board=boards)] == [["b"], ["a"]]


def test_a_mirrored_plate_is_the_same_turned_over(rows_of):
    holes = [{"shape": "circle", "at": [100, 50], "diameter": 20}]
    [row] = rows_of(plate=[plate("a", holes, mirror="b", yaw=20, centre=[400, 900, 0])])
    assert row.names == ["a", "b"]


def test_other_holes_are_another_row(rows_of):
    near = [{"shape": "rect", "at": [100, 50], "size": [20, 10]}]
    far = [{"shape": "rect", "at": [100, 50], "size": [10, 20]}]
    assert len(rows_of(plate=[plate("a", near), plate("b", far, centre=[0, 2000, 0])])) == 2


def test_a_post_on_a_sill_meets_it_below(rows_of):
    post = board("post", [40, 40, 300], (0, 900, 150))
    sill = board("sill", [400, 100, 20], (0, 900, -10))
    rows = rows_of(board=[post, sill])
    meets = {row.first.name: row.meets for row in rows}
    assert meets == {"post": {"bottom": ("sill",)}, "sill": {}}


def test_what_is_a_millimetre_away_is_not_met(rows_of):
    post = board("post", [40, 40, 300], (0, 900, 151))
    sill = board("sill", [400, 100, 20], (0, 900, -10))
    assert all(row.meets == {} for row in rows_of(board=[post, sill]))


def test_boards_with_slots_are_alike_only_turned_over(rows_of):
    bank = {
        "name": "row",
        "count": 2,
        "radius": 600,
        "screen": {"width": 400, "height": 300, "pixels": [800, 600]},
        "lens": {"focal_length": 450, "distance": 150, "width": 420, "height": 320},
        "carcass": {"thickness": 12, "slot": {}},
    }
    rows = [set(row.names) for row in rows_of(bank=[bank]) if row.first.groove]
    # each is cut askew at one end, and slotted in one face
    assert {"row.1 carcass top", "row.2 carcass bottom"} in rows
    assert {"row.1 carcass bottom", "row.2 carcass top"} in rows
