"""What boards, plates, meshes and hoods are when little is said of them, and what they refuse."""

import pytest
from pydantic import ValidationError

from seamsight.scene.solids import Board, Hood, Mesh, Plate

PLACE = {"name": "a", "centre": [0, 500, 0]}


def test_what_is_left_out():
    board = Board.model_validate(PLACE | {"size": ["2 in", 3, 4]})
    assert board.size == (50.8, 3, 4)
    assert (board.material, board.on, board.mirror, board.yaw) == ("plywood", None, None, 0)
    assert Plate.model_validate(PLACE | {"size": [3, 4], "thickness": 1}).material == "aluminium"
    assert Hood.model_validate({"depth": 30}).sides == ("top", "left", "right")


@pytest.mark.parametrize(
    ("hole", "told"),
    [
        ({"shape": "circle", "at": [60, 0], "diameter": 20}, "outside the plate"),
        ({"shape": "rect", "at": [0, 0], "size": [20, 8], "radius": 5}, "at most half"),
        ({"shape": "oval", "at": [0, 0]}, "circle"),
    ],
)
def test_holes_that_cannot_be_drilled(hole, told):
    plate = PLACE | {"size": [100, 80], "thickness": 4, "holes": [hole]}
    with pytest.raises(ValidationError, match=told):
        Plate.model_validate(plate)


def test_a_mesh_mirrored_twice_is_as_it_was():
    mesh = Mesh.model_validate(PLACE | {"file": "a.stl"})
    assert not mesh.is_mirrored
    assert mesh.mirrored().is_mirrored
    assert not mesh.mirrored().mirrored().is_mirrored
