"""The head room found in the background: right where it ends, coarse first, and out of the way."""

import itertools
import time

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.live import head_room as module
from seamsight.viewer.live.head_room import (
    SEEN,
    Found,
    Room,
    RoomFinder,
    middle_of,
    room_words,
    rooms,
    shares_at,
)
from seamsight.viewer.live.preview import Preview
from seamsight.viewer.live.state import LiveState
from seamsight.viewer.studies.head_box import Asked, head_box


@pytest.fixture
def rig(rig_of, screen_at):
    # a board on each side, past whose edges a screen is seen whole from some width
    boards = [
        {"name": side, "size": [400, 4, 900], "centre": [x, 300, 0]}
        for side, x in (("left board", -350), ("right board", 350))
    ]
    return rig_of(screen=[screen_at(shows="world")], board=boards)


@pytest.fixture(autouse=True)
def few(monkeypatch):
    """Look at few head positions, so that it takes no time."""
    monkeypatch.setattr(module, "REACH", (100.0, 100.0, 50.0))
    monkeypatch.setattr(module, "STEP", 25.0)
    monkeypatch.setattr(module, "STRIDES", (4, 2, 1))
    monkeypatch.setattr(module, "PAUSE", 0.2)


def found_by(finder, preview, state):
    until = time.monotonic() + 60
    while not (found := finder.found(preview, state)).ended:
        assert time.monotonic() < until
        time.sleep(0.01)
    return found


def test_coarse_comes_first_in_small_steps_and_finer_ones_agree(rig):
    steps = list(rooms(build(rig), LiveState()))
    found = [step for step in steps if step]
    assert [room.step for room in found] == [100, 50, 25]
    assert [room.shares.shape for room in found] == [(3, 3, 2), (5, 5, 3), (9, 9, 5)]
    assert steps.index(found[0]) <= 6
    for coarse, fine in itertools.pairwise(found):
        assert (coarse.shares[:, :, 0] == fine.shares[::2, ::2, 0]).all()
    assert found[-1].corner.tolist() == [-100, -100, -50]


def test_only_what_is_near_the_edge_is_refined(rig, monkeypatch):
    asked = []
    least = module._least

    def noted(assembly, state, places):
        asked.extend(places.tolist())
        return least(assembly, state, places)

    monkeypatch.setattr(module, "_least", noted)
    *_, room = filter(None, rooms(build(rig), LiveState()))
    assert len(asked) == len({tuple(place) for place in asked})
    assert len(asked) < 0.8 * room.shares.size
    exact = least(build(rig), LiveState(), np.array(asked))
    places = np.rint((np.array(asked) - room.corner) / room.step).astype(int)
    assert room.shares[tuple(places.T)].tolist() == exact.tolist()
    assert np.isfinite(room.shares).all()


def test_it_ends_where_the_head_box_does(rig):
    assembly = build(rig)
    *_, room = filter(None, rooms(assembly, LiveState()))
    travel = head_box(assembly, LiveState().head, Asked(SEEN)).travel
    for way, sign in (("left", -1), ("right", 1)):
        far = travel[way].far
        assert 10 < far < 95
        points = np.array([[sign * (far + by), 0, 0] for by in (-8.0, 8.0)])
        inside, outside = shares_at(room, points) >= SEEN
        assert inside and not outside


def test_it_is_about_the_design_eye_point_or_near_a_head_beyond(rig):
    assert middle_of(LiveState(x=90, z=-40)) == (0, 0, 0)
    assert middle_of(LiveState(x=330, z=-40)) == (300, 0, 0)
    *_, room = filter(None, rooms(build(rig), LiveState(x=330)))
    assert room.corner.tolist() == [200, -100, -50]


def test_no_outside_view_has_no_room(rig_of, screen_at):
    finder = RoomFinder()
    preview = Preview(rig_of(screen=[screen_at()]))
    found = found_by(finder, preview, LiveState())
    assert found.room is None
    assert "no screen of the outside view" in room_words(found, np.zeros(3))
    finder.close()


def test_a_finder_keeps_what_it_found_and_leaves_out_lenses(rig_of, screen_at):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 420, "height": 320}
    preview = Preview(rig_of(screen=[screen_at(shows="world")], lens=[lens]))
    finder = RoomFinder()
    with_lenses = found_by(finder, preview, LiveState())
    without = found_by(finder, preview, LiveState(lenses=False))
    assert (with_lenses.room.shares != without.room.shares).any()
    # moving the head within it, or what the pictures show, asks nothing new
    assert finder.found(preview, LiveState(x=20, overlap=True)) == with_lenses
    assert not finder.found(preview, LiveState(turn=20)).ended
    finder.close()


def test_it_waits_while_pictures_go_first_and_ends_when_closed(rig):
    finder = RoomFinder()
    finder.pause()
    preview = Preview(rig)
    assert finder.found(preview, LiveState()) == Found(None, ended=False)
    time.sleep(0.1)
    assert finder.found(preview, LiveState()).room is None
    found_by(finder, preview, LiveState())
    finder.pause()
    finder.found(preview, LiveState(turn=9))
    finder.close()
    time.sleep(0.05)
    assert not finder.found(preview, LiveState(turn=8)).ended


def test_shares_are_linear_between_the_grids_points_and_words_say_how_far():
    # 1 in the middle, less by 0.001 a mm: the room is a diamond of 20 mm
    axes = np.meshgrid(*[np.arange(-100.0, 101, 20)] * 3, indexing="ij")
    room = Room(1 - 0.001 * sum(np.abs(axis) for axis in axes), np.full(3, -100.0), 20.0)
    places = np.array([(10.0, 0, 0), (-30, 7, 9), (100, 100, 100), (101, 0, 0)])
    assert shares_at(room, places) == pytest.approx([0.99, 0.954, 0.7, 0], abs=1e-12)

    done = Found(room, ended=True)
    words = room_words(done, np.array([5.5, 0, 0]))
    assert "left 25 mm, right 14 mm, forward 14 mm, back 14 mm, up 14 mm, down 14 mm" in words
    assert "outside it" in room_words(done, np.array([50.0, 0, 0]))
    assert "(being refined)" in room_words(Found(room, ended=False), np.zeros(3))
    assert "looked for" in room_words(Found(None, ended=False), np.zeros(3))
    all_of_it = Found(Room(room.shares + 0.3, room.corner, 20.0), ended=True)
    assert "left more than 105 mm, right more than 94 mm" in room_words(
        all_of_it, np.array([5.5, 0, 0])
    )
    low = Found(Room(room.shares - 0.1, room.corner, 20.0), ended=True)
    assert "none" in room_words(low, np.zeros(3))
