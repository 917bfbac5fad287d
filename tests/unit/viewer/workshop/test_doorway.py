"""Through a door in one piece, on its side, without some boards, or not at all."""

import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.doorway import Door, overall_size, passage

DOOR = Door(800, 2000)


def board(name, size, centre):
    return {"name": name, "size": size, "centre": centre}


@pytest.fixture
def passing(rig_of):
    def through(*boards, **tables):
        assembly = build(rig_of(board=boards, **tables))
        return passage(assembly, cut_pieces(assembly), DOOR)

    return through


def test_upright(passing):
    found = passing(board("a", [3000, 800, 2000], [0, 900, 0]))
    assert (found.upright, found.passes, found.too_large) == (True, True, [])


def test_on_its_side(passing):
    found = passing(board("a", [800, 1990, 2300], [0, 2000, 0]))
    assert (found.upright, found.passes) == (False, True)


def test_without_its_roof(passing):
    box = board("box", [700, 900, 2100], [0, 900, 0])
    roof = board("roof", [1400, 1400, 20], [0, 900, 1070])
    assert passing(box, roof).taken_off == ["roof"]


def test_too_large_by_itself(passing):
    found = passing(board("wall", [2100, 2200, 2100], [0, 2000, 0]))
    assert (found.passes, found.taken_off, found.too_large) == (False, [], ["wall"])


def test_size_spans_screens_and_boards(rig_of, screen_at):
    rig = rig_of(screen=[screen_at()], board=[board("a", [10, 10, 10], [0, 905, 0])])
    assembly = build(rig)
    assert overall_size(assembly, cut_pieces(assembly)) == pytest.approx([400, 310, 300])


def test_nothing_passes(passing):
    assert passing().passes
