"""Boards that follow from the measures of lenses and screens, held to their closed forms."""

import itertools
import math

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.carcass import board_names, boards_of, sheets_of
from seamsight.scene.frames import move
from seamsight.scene.shapes import volume, winding_numbers

SCREEN = {"width": 480, "height": 300, "pixels": [800, 600], "bezel": 10, "body": 40}
LENS = {"focal_length": 450, "distance": 150, "width": 520, "height": 340}


@pytest.fixture
def bank_of(rig_of):
    def make(count=3, lens=LENS, radius=600, **keys):
        bank = {"name": "row", "count": count, "radius": radius, "screen": SCREEN}
        return rig_of(bank=[bank | ({"lens": lens} if lens else {}) | keys])

    return make


def named(rig):
    return {board.name: board for board in boards_of(rig)}


def reach(board):
    """Return the box of a board, in the unit's directions, about its own middle."""
    return [*np.ptp(board.outline, axis=0), board.height]


def test_without_a_carcass_or_hood_there_are_no_boards(bank_of):
    assert boards_of(bank_of()) == []


def test_a_single_unit_has_plain_boards(bank_of):
    boards = named(bank_of(1, carcass={"thickness": 12}))
    assert list(boards) == [f"row.1 carcass {side}" for side in ("top", "bottom", "left", "right")]
    # from the lens plane to the housing's back: 150 + 40; sides reach over top and bottom
    assert reach(boards["row.1 carcass top"]) == pytest.approx([520, 190, 12])
    assert reach(boards["row.1 carcass left"]) == pytest.approx([12, 190, 340 + 24])
    middles = {name: board.rig_from_board[:3, 3] for name, board in boards.items()}
    assert middles["row.1 carcass top"] == pytest.approx([0, 600 + 95, 170 + 6])
    assert middles["row.1 carcass right"] == pytest.approx([260 + 6, 600 + 95, 0])


def test_boards_keep_clear_of_a_housing_larger_than_the_lens(bank_of):
    small = LENS | {"width": 400, "height": 250}
    boards = named(bank_of(1, lens=small, carcass={"thickness": 12, "gap": 3}))
    left = boards["row.1 carcass left"].rig_from_board[0, 3] + 6
    top = boards["row.1 carcass top"].rig_from_board[2, 3] - 6
    assert left == pytest.approx(-(240 + 10 + 3))
    assert top == pytest.approx(150 + 10 + 3)


def test_a_lens_frame_comes_before_the_boards(bank_of):
    framed = LENS | {"frame": {"width": 8, "depth": 12}}
    boards = named(bank_of(1, lens=framed, carcass={"thickness": 12, "depth": 100}))
    board = boards["row.1 carcass top"]
    assert reach(board) == pytest.approx([536, 88, 12])
    assert board.rig_from_board[1, 3] == pytest.approx(600 + 12 + 44)


def test_neighbours_side_boards_are_bevelled_to_half_the_toe(bank_of):
    boards = named(bank_of(3, carcass={"thickness": 12, "gap": 0}))
    half_toe = math.atan(260 / 600)
    outline = boards["row.2 carcass right"].outline
    # a feather edge where the lenses meet, 12 mm thick from 12 / tan(half the toe) on
    lengths = {tuple(point) for point in (outline - outline.min(axis=0)).round(6).tolist()}
    assert lengths == {(0, 0), (0, 190), (12, 190), (12, round(12 / math.tan(half_toe), 6))}
    # at the bank's end it is square
    assert len(boards["row.3 carcass right"].outline) == 4
    assert len(np.unique(boards["row.3 carcass right"].outline.round(6), axis=0)) == 4


@pytest.mark.parametrize("keys", [{}, {"gap": 9}, {"pitch": 12}, {"aim": [20, 10]}])
@pytest.mark.parametrize("offset", [[0, 0], [12, 5]])
def test_boards_of_neighbours_do_not_cut_into_each_other(bank_of, keys, offset):
    lens = LENS | {"offset": offset}
    hood = {"depth": 150, "sides": ["top", "bottom", "left", "right"]}
    rig = bank_of(3, lens=lens, carcass={"thickness": 18}, hood=hood, **keys)
    parts = {part.name: part for part in build(rig).parts if part.role in ("frame", "hood")}
    rng = np.random.default_rng(5)
    for one, other in itertools.permutations(parts.values(), 2):
        corners = one.triangles.reshape(-1, 3)
        middle = corners.mean(axis=0)
        inside = middle + (corners - middle) * 0.999
        inside = np.concatenate(
            [inside, middle + (corners - middle) * rng.random((len(corners), 1))]
        )
        assert np.abs(winding_numbers(other.triangles, inside)).max() < 0.5, (one.name, other.name)


def test_each_board_is_a_closed_solid_of_its_measures(bank_of):
    rig = bank_of(2, carcass={"thickness": 12, "gap": 0})
    parts = {part.name: part for part in build(rig).parts}
    assert volume(parts["row.1 carcass top"].triangles) == pytest.approx(520 * 190 * 12)
    bevelled = parts["row.1 carcass right"]
    corner = 12 * (12 / (260 / 600)) / 2  # the triangle that the bevel takes
    assert volume(bevelled.triangles) == pytest.approx((190 * 12 - corner) * (340 + 24))
    assert bevelled.size == pytest.approx((12, 190, 364))
    assert bevelled.role == "frame"
    assert bevelled.density == 650


def test_hoods_meet_at_the_seams_and_have_sides_at_the_ends(bank_of):
    boards = named(bank_of(3, hood={"depth": 100, "thickness": 5, "material": "foam"}))
    assert sorted(boards) == [
        "row.1 hood left", "row.1 hood top", "row.2 hood top", "row.3 hood right", "row.3 hood top",
    ]  # fmt: skip
    outline = boards["row.2 hood top"].outline
    near = outline[np.isclose(outline[:, 1], -50)]
    # towards the pilot it narrows with the room between the seams: 520 x 500 / 600
    assert np.ptp(near[:, 0]) == pytest.approx(520 * 500 / 600)
    assert boards["row.2 hood top"].material == "foam"
    side = boards["row.1 hood left"]
    assert side.height == pytest.approx(340 + 5)
    point = move(side.rig_from_board, np.zeros(3)) - move(
        boards["row.1 hood top"].rig_from_board, np.zeros(3)
    )
    assert np.linalg.norm(point) > 200


def test_a_hood_of_bare_screens_begins_at_the_bezels(bank_of):
    boards = named(bank_of(1, lens=None, hood={"depth": 60, "sides": ["top"]}))
    board = boards["row.1 hood top"]
    assert reach(board) == pytest.approx([500, 60, 6])
    assert board.rig_from_board[:3, 3] == pytest.approx([0, 570, 163])


def test_a_lens_of_a_single_screen_carries_boards_too(rig_of, screen_at):
    lens = {"screen": "screen", **LENS, "carcass": {}, "hood": {"depth": 50}}
    names = list(named(rig_of(screen=[screen_at(yaw=20)], lens=[lens])))
    assert names == board_names("screen", carcass=True, hood_sides=("top", "left", "right"))


def test_a_numeric_toe_that_leaves_a_gap_keeps_the_boards_whole(bank_of):
    toe = 2 * math.degrees(math.atan(260 / 600)) + 8
    boards = named(bank_of(2, toe=toe, carcass={"thickness": 12, "gap": 0}))
    assert len(np.unique(boards["row.1 carcass right"].outline.round(6), axis=0)) == 4


SLOT = {"depth": 4, "clearance": 0.6, "front": 8}


def test_a_lens_stands_in_slots_above_and_below(bank_of):
    # grooves to the pilot: a third of the 2 mm lens is in front of its plane
    slot = {"slot": SLOT}
    rig = bank_of(count=1, carcass={"thickness": 12} | slot)
    boards = named(rig)
    top, bottom = (boards[f"row.1 carcass {side}"] for side in ("top", "bottom"))
    for board, above in ((top, False), (bottom, True)):
        near = board.outline[:, 1].min()
        sides = near + 8, near + 8 + 2 + 0.6
        assert board.groove[:2] == pytest.approx(sides)
        assert board.groove[2:] == (4, above)
        # the lens plane is behind the wood, half the play and a third of the lens
        plane = move(board.rig_from_board, np.array([0.0, near + 8 + 0.3 + 2 / 3, 0.0]))
        assert plane[1] == pytest.approx(600)
    assert boards["row.1 carcass left"].groove is None

    part = next(part for part in build(rig).parts if part.name == top.name)
    width, away = np.ptp(top.outline, axis=0)
    assert volume(part.triangles) == pytest.approx(width * away * 12 - width * 2.6 * 4)


def test_with_grooves_to_the_screen_all_of_the_lens_is_in_front_of_its_plane(bank_of):
    rig = bank_of(count=1, lens=LENS | {"grooves": "screen"}, carcass={"slot": SLOT})
    board = named(rig)["row.1 carcass top"]
    plane = move(board.rig_from_board, np.array([0.0, board.groove.far - 0.3, 0.0]))
    assert plane[1] == pytest.approx(600)


def test_a_sheet_fills_its_slots_but_for_the_play(bank_of):
    # lens 340 high, the housing with its gap 300 + 20 + 4
    assert sheets_of(bank_of(carcass={"slot": SLOT}))["row.2"] == pytest.approx((520, 347.4))
    assert sheets_of(bank_of(carcass={})) == {}


def test_a_hood_ends_where_a_slotted_carcass_begins(bank_of):
    rig = bank_of(count=1, carcass={"slot": SLOT}, hood={"depth": 50})
    hood, carcass = (named(rig)[f"row.1 {name} top"] for name in ("hood", "carcass"))
    end = move(hood.rig_from_board, np.array([0.0, hood.outline[:, 1].max(), 0.0]))
    begin = move(carcass.rig_from_board, np.array([0.0, carcass.outline[:, 1].min(), 0.0]))
    assert end[1] == pytest.approx(begin[1])
