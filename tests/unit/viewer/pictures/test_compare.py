"""Things held against the first: one frame for all, what is changed, which rows are shown."""

import math

import numpy as np
import pytest

from seamsight.scene import ChoiceError, build
from seamsight.viewer import see
from seamsight.viewer.numbers.changes import ALL, Row
from seamsight.viewer.numbers.quantities import FOCUS, HIDDEN, SEEN_BOTH
from seamsight.viewer.pictures.compare import changed, compare, rows_to_show, share_words
from seamsight.viewer.projection import Projection


@pytest.fixture
def views():
    def views(*rigs, samples=1):
        shown = Projection("equirectangular", 400, 300, 60.0, samples=samples)
        return [see(build(rig), np.zeros(3), shown) for rig in rigs]

    return views


def test_what_a_board_hides_is_what_changed(bare, with_board, views):
    mask, meaning = changed(*views(bare, with_board))
    # trigonometry: its face stands 400 mm ahead, 0 to 100 mm right, 30 mm up and down
    columns = np.flatnonzero(mask.any(axis=0))
    rows = np.flatnonzero(mask.any(axis=1))
    per_pixel = 60 / 400  # degrees
    assert columns[0] == 200
    right = math.degrees(math.atan2(100, 400)) / per_pixel
    assert columns[-1] + 1 == pytest.approx(200 + right, abs=1)
    high = math.degrees(math.atan2(30, 400)) / per_pixel
    assert (rows[0], rows[-1] + 1) == pytest.approx((150 - high, 150 + high), abs=1)
    assert meaning == "a different part"


def test_parts_are_told_apart_by_name_and_not_by_their_place(rig_of, screen_at, board, views):
    other = {"name": "second", "size": [80, 10, 60], "centre": [-60, 400, 0]}
    orders = ([board, other], [other, board])
    mask, _ = changed(*views(*(rig_of(screen=[screen_at()], board=order) for order in orders)))
    assert not mask.any()


def test_colours_count_only_where_the_parts_are_the_same(rig_of, screen_at, bare, board, views):
    white = screen_at(shows="card")
    mask, meaning = changed(*views(bare, rig_of(screen=[white])))
    assert meaning == "a different colour"
    assert 0.05 < mask.mean() < 0.6

    mask, meaning = changed(*views(bare, rig_of(screen=[white], board=[board])))
    assert meaning == "a different part"
    wide = math.degrees(math.atan2(100, 400))
    high = 2 * math.degrees(math.atan2(30, 400))
    assert mask.mean() == pytest.approx(wide * high / (60 * 45), rel=0.1)


def test_from_another_place_only_screens_count_and_what_stands_between_them(rig_of, screen_at):
    wall = {"name": "wall", "size": [3000, 10, 3000], "centre": [0, 900, 0]}
    lamp = {"name": "lamp", "size": [60, 60, 60], "centre": [-150, 300, -180]}
    shown = Projection("equirectangular", 400, 300, 90.0)
    assembly = build(rig_of(screen=[screen_at(bezel=20)], board=[wall, lamp]))
    here, there = (see(assembly, np.array([x, 0.0, 0.0]), shown) for x in (0.0, 40.0))
    mask, _ = changed(here, there)
    names = [*(part.name for part in assembly.parts), "nothing"]
    screens = {name for name in names if name.startswith("screen")}
    pairs = {(names[a], names[b]) for a, b in zip(here.parts[mask], there.parts[mask], strict=True)}
    assert pairs and all(screens & set(pair) for pair in pairs)
    moved = np.array(
        [names[a] != names[b] for a, b in zip(here.parts.flat, there.parts.flat, strict=True)]
    )
    assert mask.sum() < moved.sum()  # the lamp before the wall has moved too


def test_a_part_that_hides_much_is_never_left_out():
    little = rows_with(30)
    much = Row("screen", "hidden by wheel", HIDDEN, (0.0, 12.0), ("", "worse"))
    shown, _ = rows_to_show([*little, much], 5)
    assert much in shown


def test_nothing_changes_against_itself(with_board, views):
    mask, _ = changed(*views(with_board, with_board))
    assert not mask.any()
    assert share_words(mask) == "0.0 %"


@pytest.mark.parametrize("count", [0, 1, 13])
def test_two_to_twelve_can_be_compared(bare, seen_of, count):
    with pytest.raises(ChoiceError, match="two to 12"):
        compare([seen_of(bare)] * count, ["mid"], 40, 30)


def test_all_views_have_one_projection_and_each_its_eye(comparison):
    assert len({view.projection for views in comparison.views for view in views}) == 1
    assert [view.eye[0] for view in comparison.views[1]] == [-31.5, 31.5]
    hidden = [row for row in comparison.rows if row.what == "hidden by board"]
    worse = [row for row in hidden if row.where == "right"]
    assert worse[0].verdicts == ("", "worse")


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
    said = "12 that differ, 4 that not all have, 3 with equal values"
    assert left_out == f"Rows not shown: {said}."
    assert rows_to_show(rows_with(3), 10) == (rows_with(3), "")
