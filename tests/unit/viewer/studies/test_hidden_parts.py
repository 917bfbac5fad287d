"""Which parts are seen, from where, and how far they must move: by similar triangles."""

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer.studies.head_region import HeadRegion
from seamsight.viewer.studies.hidden_parts import judged, part_facts
from seamsight.viewer.studies.hidden_room import Search

HEAD = Head(name="design")
STEP = 10.0


def facts_of(assembly, reach=(20, 0, 20), step=STEP):
    search = Search(assembly, HeadRegion((HEAD,), reach, 0.0), step)
    list(search.run())
    return {fact.part.name: fact for fact in part_facts(assembly, search.room())}


@pytest.fixture(scope="module")
def shelf(rig_of):
    boards = [
        {"name": "front", "size": [400, 10, 400], "centre": [0, 400, 0]},
        {"name": "behind", "size": [40, 40, 40], "centre": [0, 600, 0]},
        {"name": "above", "size": [40, 40, 40], "centre": [0, 600, 300]},
        {"name": "edge", "size": [40, 40, 40], "centre": [0, 600, 280], "roll": 45},
        {"name": "far", "size": [40, 40, 40], "centre": [0, 600, 700]},
    ]
    return facts_of(build(rig_of(board=boards)))


def test_parts_that_others_hide_are_not_seen(shelf):
    assert not shelf["behind"].seen
    assert shelf["behind"].as_json()["head"] is None
    assert {name for name, fact in shelf.items() if fact.seen} == {"front", "above", "edge", "far"}


def test_a_board_s_front_is_half_of_it(shelf):
    # 400 x 400 of twice that and its sides, 10 wide, which look away
    assert shelf["front"].share == pytest.approx(160_000 / 336_000, abs=0.06)
    assert (shelf["front"].sight.head, shelf["front"].sight.through) == (HEAD, "")


def test_a_part_s_own_shadow_hides_nothing_of_it(shelf):
    # nothing else hides the front board, however it moves
    assert shelf["front"].move is None


def test_a_part_moves_into_the_others_umbra(shelf):
    """Its far edge's shadow at a depth s is at h + s/d (h - b), eyes 20 up and down."""
    move = shelf["above"].move
    assert (move.way, move.own) == ("down", False)
    top = 200 + (580 - 400) / 400 * (200 - 20)  # at its near face, which counts most
    exact = 320 - top
    assert exact <= move.mm <= exact + 2 * np.sqrt(3) * STEP + 5


def test_a_turned_part_may_move_along_its_own_axes(shelf):
    assert shelf["edge"].move.mm > 0
    assert shelf["far"].move is None  # it would have to go 400 mm


def test_through_a_lens_the_bezel_is_seen(rig_of, screen_at):
    """The lens ends at 150: at 150 behind, x0 = 0 sees to a + s (a/e - a/f) = 137.5."""
    lens = {"screen": "screen", "focal_length": 450, "distance": 150}
    lens |= {"width": 300, "height": 300, "frame": {"width": 100, "depth": 2}}
    places = {"centre": [0, 750, 0], "bezel": 40, "lip": 0}
    large = screen_at(width=320, height=320, **places)
    small = screen_at(width=240, height=240, **places)
    found = {}
    for name, screen in (("large", large), ("small", small)):
        found[name] = facts_of(build(rig_of(screen=[screen], lens=[lens])), (0, 0, 0), 30)
    assert not found["large"]["screen bezel"].seen  # it begins at 160; an eye at 31.5 sees to 145.4
    sight = found["small"]["screen bezel"].sight
    assert (sight.head, sight.through) == (HEAD, "screen lens")


def test_images_lenses_and_lamps_are_not_judged(rig_of, screen_at):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 300, "height": 300}
    lamp = {"name": "lamp", "centre": [0, 0, 900], "pitch": 90, "size": [200, 200], "lumens": 900}
    assembly = build(rig_of(screen=[screen_at(bezel=10)], lens=[lens], lamp=[lamp]))
    roles = {assembly.parts[number].role for number in judged(assembly)}
    assert roles == {"bezel", "housing"}


def test_parts_are_judged_beside_a_lamp(rig_of):
    board = {"name": "board", "size": [100, 10, 100], "centre": [0, 400, 0]}
    lamp = {"name": "lamp", "centre": [0, 400, 200], "size": [50, 50], "luminance": 900}
    facts = facts_of(build(rig_of(board=[board], lamp=[lamp])), step=20.0)
    assert list(facts) == ["board"] and facts["board"].seen
