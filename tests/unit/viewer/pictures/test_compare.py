"""Things held against the first: one frame for all, what is marked as changed, and which rows a sheet shows."""

import io
import math

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import ChoiceError, Head, build
from seamsight.viewer import eyes_of, see
from seamsight.viewer.numbers.changes import ALL, Row
from seamsight.viewer.numbers.quantities import FOCUS, HIDDEN, SEEN_BOTH
from seamsight.viewer.pictures.compare import (
    Seen,
    changed,
    compare,
    rows_to_show,
    share_words,
)
from seamsight.viewer.pictures.comparison_sheet import marked_picture
from seamsight.viewer.pictures.framing import framed_on_all, framed_on_screens
from seamsight.viewer.projection import Projection

BOARD = {"name": "board", "size": [100, 10, 60], "centre": [50, 405, 0]}


def item(rig, caption="rig", **head):
    return Seen(caption, build(rig), eyes_of(rig, Head(name="here", **head)))


@pytest.fixture
def bare(rig_of, screen_at):
    return rig_of(screen=[screen_at()])


@pytest.fixture
def with_board(rig_of, screen_at):
    return rig_of(screen=[screen_at()], board=[BOARD])


@pytest.fixture
def views():
    def views(*rigs, samples=1):
        shown = Projection("equirectangular", 400, 300, 60.0, samples=samples)
        return [see(build(rig), np.zeros(3), shown) for rig in rigs]

    return views


def test_what_a_board_hides_is_what_changed(bare, with_board, views):
    mask, meaning = changed(*views(bare, with_board))
    # trigonometry: its face stands 400 mm ahead, from 0 to 100 mm right, 30 mm up and down; 0.15 degrees a pixel
    columns, rows = np.flatnonzero(mask.any(axis=0)), np.flatnonzero(mask.any(axis=1))
    per_pixel = 60 / 400
    assert columns[0] == 200
    assert columns[-1] + 1 == pytest.approx(
        200 + math.degrees(math.atan2(100, 400)) / per_pixel, abs=1
    )
    high = math.degrees(math.atan2(30, 400)) / per_pixel
    assert (rows[0], rows[-1] + 1) == pytest.approx((150 - high, 150 + high), abs=1)
    assert meaning == "another part"


def test_parts_are_told_apart_by_name_and_not_by_their_place_in_the_rig(rig_of, screen_at, views):
    other = {"name": "second", "size": [80, 10, 60], "centre": [-60, 400, 0]}
    mask, _ = changed(
        *views(
            *(
                rig_of(screen=[screen_at()], board=order)
                for order in ([BOARD, other], [other, BOARD])
            )
        )
    )
    assert not mask.any()


def test_colours_count_only_where_the_parts_are_the_same(rig_of, screen_at, views):
    white = rig_of(screen=[screen_at(shows="card")])
    mask, meaning = changed(*views(rig_of(screen=[screen_at()]), white))
    assert meaning == "another colour"
    assert 0.05 < mask.mean() < 0.6
    mask, meaning = changed(
        *views(
            rig_of(screen=[screen_at()]), rig_of(screen=[screen_at(shows="card")], board=[BOARD])
        )
    )
    assert meaning == "another part"
    assert mask.mean() == pytest.approx(
        math.degrees(math.atan2(100, 400)) * 2 * math.degrees(math.atan2(30, 400)) / (60 * 45),
        rel=0.1,
    )


def test_nothing_changes_against_itself(with_board, views):
    mask, _ = changed(*views(with_board, with_board))
    assert not mask.any()
    assert share_words(mask) == "0.0 %"


def test_marks_leave_the_picture_visible():
    picture = Image.fromarray(np.random.default_rng(1).integers(0, 256, (120, 160, 3), np.uint8))
    mask = np.zeros((120, 160), bool)
    mask[30:90, 40:120] = True
    marked, before = np.asarray(marked_picture(picture, mask)), np.asarray(picture)
    touched = (marked != before).any(axis=2)
    assert 0.05 < touched[mask].mean() < 0.1
    grown = np.zeros_like(mask)
    grown[28:92, 38:122] = True
    assert touched[grown & ~mask].all() and not touched[~grown].any()


@pytest.mark.parametrize(
    "places", [([-700, 600, 0], [500, 400, 300]), ([-40, -600, 0], [40, -600, -200])]
)
def test_the_frame_holds_the_screens_of_all(rig_of, screen_at, places):
    items = []
    for place in places:
        yaw = math.degrees(math.atan2(place[0], place[1]))
        items.append(item(rig_of(screen=[screen_at(centre=place, yaw=yaw)])))
    shown = framed_on_all(
        [framed_on_screens(item.assembly, item.eyes, 800, 400, 1) for item in items]
    )
    half = shown.field / 2
    for one in items:
        for x, y, z in one.assembly.triangles[
            one.assembly.part_of_face == one.assembly.part_id("screen")
        ].reshape(-1, 3):
            off = (math.degrees(math.atan2(x, y)) - shown.azimuth + 180) % 360 - 180
            assert abs(off) < half
            assert abs(math.degrees(math.atan2(z, math.hypot(x, y))) - shown.elevation) < half / 2
    assert shown.field < 200


def test_the_frame_of_likes_is_the_usual_one(bare):
    one = item(bare)
    alone = framed_on_screens(one.assembly, one.eyes, 800, 400, 2)
    assert framed_on_all([alone, alone]) == alone


@pytest.mark.parametrize("count", [0, 1, 13])
def test_two_to_twelve_can_be_compared(bare, count):
    with pytest.raises(ChoiceError, match="two to 12"):
        compare([item(bare)] * count, ["mid"], 40, 30)


@pytest.fixture(scope="session")
def comparison(rig_of, screen_at):
    first = rig_of(
        screen=[
            screen_at("<left>", centre=[-210, 600, 0]),
            screen_at("right", centre=[210, 600, 0]),
        ]
    )
    blocked = rig_of(
        screen=[
            screen_at("<left>", centre=[-210, 600, 0]),
            screen_at("right", centre=[210, 600, 0]),
        ],
        board=[BOARD],
    )
    return compare(
        [item(first, "as it is"), item(blocked, "with & board")],
        ["left", "right"],
        300,
        150,
        samples=1,
    )


def test_all_views_have_one_projection_and_each_its_eye(comparison):
    assert len({view.projection for views in comparison.views for view in views}) == 1
    assert [view.eye[0] for view in comparison.views[1]] == [-31.5, 31.5]
    worse = [
        row for row in comparison.rows if row.what == "hidden by board" and row.where == "right"
    ]
    assert worse[0].verdicts == ("", "worse")


def test_a_sheet_has_a_picture_for_each_item_and_eye_and_shows_itself(comparison):
    sheet = comparison.sheet()
    assert sheet.width > 2 * 300 and sheet.height > 2 * 150
    with Image.open(io.BytesIO(comparison._repr_png_())) as shown:
        assert shown.size == sheet.size
    # the mark's colour stands only in the second row of pictures, and in the key
    pink = (np.asarray(sheet) == (255, 70, 160)).all(axis=2)
    assert not pink[:170].any() and pink[200:330, :310].any() and pink[200:330, 330:].any()


@pytest.mark.parametrize(
    ("count", "looks", "across", "down"),
    [(3, ["mid"], 1, 3), (5, ["mid"], 2, 3), (2, ["left", "right"], 2, 2)],
)
def test_many_single_pictures_stand_in_pairs(bare, count, looks, across, down):
    sheet = compare([item(bare)] * count, looks, 700, 350, samples=1).sheet()
    assert across * 700 < sheet.width < across * 700 + 200
    assert down * 350 < sheet.height < down * 350 + 600


def test_the_page_of_a_notebook_has_picture_and_words(comparison):
    text = comparison._repr_html_()
    assert text.startswith('<img src="data:image/png;base64,')
    assert "&lt;left&gt;" in text and "<left>" not in text
    assert " worse</td>" in text


def rows_with(count, where="screen", values=(1.0, 2.0), verdict="worse"):
    return [
        Row(where, f"hidden by {number}", HIDDEN, values, ("", verdict)) for number in range(count)
    ]


def test_a_table_is_cut_and_says_so():
    same = rows_with(3, values=(1.0, 1.0), verdict="same")
    partial = rows_with(4, values=(1.0, None), verdict="other")
    main = [Row("last", "seen by both eyes", SEEN_BOTH, (5.0, 5.0), ("", "same"))]
    whole = [Row(ALL, "focus, nearest", FOCUS, (1.0, 1.0), ("", "same"))]
    shown, left_out = rows_to_show([*whole, *rows_with(20), *same, *partial, *main], 10)
    assert len(shown) == 10 and shown[0] is whole[0] and shown[-1] is main[0]
    assert (
        left_out
        == "Rows left out: 12 that differ, 4 of what not all have, 3 that are the same in all."
    )
    assert rows_to_show(rows_with(3), 10) == (rows_with(3), "")
