"""A chosen rig is looked at with all its parts: what is in the way, what runs into what."""

import pytest

from seamsight.viewer.studies.choosing_figures import Views
from seamsight.viewer.studies.choosing_proof import proof

SCREEN = {"width": 400, "height": 300, "pixels": [800, 600], "bezel": 10, "body": 40}
BANK = {"name": "row", "count": 1, "radius": 600, "screen": SCREEN}
VIEWS = Views("design", ("design",), 0.98)


def board(name, x, y, width=20):
    return {"name": name, "size": [width, 20, 600], "centre": [x, y, 0]}


def test_a_post_that_ends_the_head_room_is_named(rig_of):
    # seen from 31.5 mm left of the middle, the post's edge, at 150, hides nothing yet
    rig = rig_of(bank=[BANK], board=[board("post", 200, 300)])
    found = proof(rig, rig, VIEWS)
    assert found.in_the_way == {} and found.stopped_by == "post"
    assert 0 < found.head_room < 200
    assert found.runs_into == ()


def test_what_is_in_the_way_to_begin_with_is_told(rig_of):
    rig = rig_of(bank=[BANK], board=[board("post", 0, 300)])
    found = proof(rig, rig, VIEWS)
    assert "post is in the way" in found.in_the_way["design"]
    assert found.head_room == 0


@pytest.mark.parametrize("radius", [600, 650])
def test_only_new_clashes_are_told(rig_of, radius):
    boards = [board("old", 100, 620), board("new", 0, 720)]
    before = rig_of(bank=[BANK | {"radius": 600}], board=boards)
    chosen = rig_of(bank=[BANK | {"radius": radius + 25}], board=boards)
    names = {part for pair in proof(before, chosen, VIEWS).runs_into for part in pair}
    assert ("new" in names) == (radius == 650)
    assert "old" not in names
