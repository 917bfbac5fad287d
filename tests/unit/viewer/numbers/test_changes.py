"""Numbers side by side: which way is better, what is the same, what old or torn numbers do."""

import copy
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamsight.scene import build
from seamsight.scene.rig import Head
from seamsight.viewer import eyes_of, measure
from seamsight.viewer.numbers.changes import ALL, side_by_side, value_words


def screen_numbers(**changed):
    whole = {
        "magnification": 1.5,
        "image_distance": 800.0,
        "image_dioptres": 1.25,
        "span": {"h": 42.0, "v": 32.0},
        "visible": {"both": {"h": 40.0, "v": 30.0}},
        "arcmin_per_px": {"h": 1.5, "v": 1.5},
        "seen": {"left": 0.9, "right": 0.9, "both": 0.85, "either": 0.95},
        "margin": {
            side: {"left": -2.0, "right": -1.0, "mid": -1.0}
            for side in ("left", "right", "bottom", "top")
        },
        "gap_needed": dict.fromkeys(("left", "right", "bottom", "top"), 1.0),
    }
    return whole | changed


def seam_numbers(dark=0.5, **changed):
    whole = {
        "between": ["a", "b"],
        "sides": ["right", "left"],
        "in_scene": True,
        "dark": {"left": dark, "right": dark, "mid": dark},
    }
    return whole | {"both_whole": False, "gap_present": 1.0, "gap_needed": 4.0} | changed


def numbers_with(screen=None, seam=None, hidden_by=None, off=10.0):
    return {
        "screens": {"a": screen_numbers(**(screen or {}))},
        "seams": [seam or seam_numbers()],
        "hidden_by": {"a": {"post": 0.1} if hidden_by is None else hidden_by},
        "marks": {"hub": {"off": off, "good": True}},
    }


def row_of(what, first, second, where=None):
    rows = [
        row
        for row in side_by_side([first, second])
        if row.what == what and (row.where == where if where else row.where != ALL)
    ]
    assert len(rows) == 1
    return rows[0]


@pytest.mark.parametrize(
    ("what", "change", "verdict"),
    [
        ("seen by both eyes", {"screen": {"seen": {"both": 0.9}}}, "better"),
        ("seen by both eyes", {"screen": {"seen": {"both": 0.8}}}, "worse"),
        ("seen by left eye", {"screen": {"seen": {"left": 0.95}}}, "better"),
        ("visible field, width", {"screen": {"visible": {"both": {"h": 45.0}}}}, "better"),
        ("visible field, height", {"screen": {"visible": {"both": {"v": 25.0}}}}, "worse"),
        ("pixel size", {"screen": {"arcmin_per_px": {"h": 1.0}}}, "better"),
        ("magnification", {"screen": {"magnification": 2.0}}, "other"),
        ("viewing distance", {"screen": {"image_dioptres": 1.0}}, "other"),
        ("focus", {"screen": {"image_dioptres": 1.0}}, "better"),
        (
            "lost at the left, left + right eye",
            {"screen": {"margin": {"left": {"left": 1.0, "right": 0.5}}}},
            "better",
        ),
        ("margin too small by, worst side", {"screen": {"gap_needed": {"top": 3.0}}}, "worse"),
        ("dark strip, between the eyes", {"seam": seam_numbers(-0.2)}, "better"),
        ("dark strip, left eye", {"seam": seam_numbers(-0.9)}, "worse"),
        ("dark strip, right eye", {"seam": seam_numbers(-0.5)}, "other"),
        ("no strip lost to either eye", {"seam": seam_numbers(both_whole=True)}, "better"),
        (
            "margin too small by, both sides",
            {"screen": {"margin": {"right": {"mid": 0.5}}}},
            "better",
        ),
        ("hidden by post", {"hidden_by": {"post": 0.2}}, "worse"),
        ("hidden by post", {"hidden_by": {}}, "better"),
        ("hidden by beam", {"hidden_by": {"post": 0.1, "beam": 0.01}}, "worse"),
        ("hub, off by", {"off": 12.0}, "worse"),
    ],
)
def test_which_way_is_better(what, change, verdict):
    row = row_of(what, numbers_with(), numbers_with(**change))
    assert row.verdicts == ("", verdict)
    assert row.differs


def test_the_values_are_in_the_row_s_unit():
    one, other = (
        numbers_with(),
        numbers_with(seam=seam_numbers(both_whole=True, gap_present=9.0), off=3.0),
    )
    rows = [row for row in side_by_side([one, other]) if row.where != ALL]
    words = {row.what: (value_words(row, 0), value_words(row, 1)) for row in rows}
    assert words["seen by both eyes"] == ("85.0 %", "85.0 %")
    assert words["visible field, width"] == ("40.00°", "40.00°")
    assert words["pixel size"] == ("1.50′", "1.50′")
    assert words["lost at the top, left + right eye"] == ("3.0 mm", "3.0 mm")
    assert words["margin too small by, worst side"] == ("2.0 mm", "2.0 mm")
    assert words["margin too small by, both sides"] == ("2.0 mm", "2.0 mm")
    assert words["no strip lost to either eye"] == ("no", "yes")
    assert words["hub, off by"] == ("10.0 mm", "3.0 mm")
    assert words["focus"] == ("1.25 D", "1.25 D")


def test_a_repeated_strip_is_negative_with_a_minus_and_nothing_is_minus_zero():
    row = row_of(
        "dark strip, between the eyes",
        numbers_with(seam=seam_numbers(-0.72)),
        numbers_with(seam=seam_numbers(-1e-7)),
    )
    assert (value_words(row, 0), value_words(row, 1)) == ("−0.72°", "0.00°")


@given(
    st.sampled_from(["seen by both eyes", "visible field, width", "pixel size", "hub, off by"]),
    st.floats(-3, 3),
)
def test_the_same_ends_at_the_unit_s_tolerance(what, share):
    def changed(by):
        return {
            "seen by both eyes": {"screen": {"seen": {"both": 0.5 + by / 100}}},
            "visible field, width": {"screen": {"visible": {"both": {"h": 40 + by}}}},
            "pixel size": {"screen": {"arcmin_per_px": {"h": 1.5 + by}}},
            "hub, off by": {"off": 10 + by},
        }[what]

    within = row_of(what, numbers_with(), numbers_with()).quantity.unit.within
    row = row_of(what, numbers_with(**changed(0.0)), numbers_with(**changed(share * within)))
    if abs(abs(share) - 1) > 1e-6:
        assert (row.verdicts[1] == "same") == (abs(share) < 1)


def test_a_screen_that_is_not_in_every_set_is_neither_better_nor_worse():
    other = numbers_with()
    other["screens"]["b"] = other["screens"].pop("a")
    row = row_of("seen by both eyes", numbers_with(), other, where="a")
    assert (row.values, row.verdicts, value_words(row, 1)) == ((85.0, None), ("", "other"), "–")
    assert row_of("hidden by post", numbers_with(), other, where="a").values[1] is None


def test_rigs_whose_screens_have_other_names_compare_as_wholes():
    one, other = numbers_with(), numbers_with(seam=seam_numbers(between=["c", "d"], dark=-0.9))
    one["screens"]["b"] = screen_numbers()
    other["screens"] = {
        "c": screen_numbers(seen={"both": 0.9}, arcmin_per_px={"h": 1.2}, image_dioptres=1.0),
        "d": screen_numbers(
            seen={"both": 1.0}, arcmin_per_px={"h": 2.0}, visible={"both": {"h": 40.0}}
        ),
    }
    whole = {row.what: row for row in side_by_side([one, other]) if row.where == ALL}
    assert {what: (row.values[1], row.verdicts[1]) for what, row in whole.items()} == {
        "seen by both eyes, mean": (pytest.approx(95.0), "better"),
        "visible field, widths added up": (80.0, "same"),
        "pixel size, largest": (2.0, "worse"),
        "focus, nearest": (1.25, "same"),
        "dark strip, widest": (-0.9, "worse"),
        "margin too small by, worst side": (2.0, "same"),
    }


def test_what_prints_alike_is_the_same():
    # 84.36 and 84.44 % both print as 84.4 %, and are farther apart than what counts as the same
    one, other = (numbers_with(screen={"seen": {"both": share}}) for share in (0.8436, 0.8444))
    row = row_of("seen by both eyes", one, other)
    assert value_words(row, 0) == value_words(row, 1)
    assert row.verdicts == ("", "same")


def test_a_seam_is_the_same_seam_whichever_screen_comes_first():
    row = row_of(
        "dark strip, between the eyes",
        numbers_with(),
        numbers_with(seam=seam_numbers(between=["b", "a"])),
    )
    assert (row.where, row.values) == ("seam a and b", (0.5, 0.5))


def test_seams_that_no_scene_crosses_are_left_out():
    rows = side_by_side([numbers_with(seam=seam_numbers(in_scene=False))])
    assert not any(row.where.startswith("seam") for row in rows)


def test_rows_of_a_place_stand_together_and_the_first_has_no_verdict():
    three = [numbers_with(), numbers_with(hidden_by={"beam": 0.2}), numbers_with()]
    rows = side_by_side(three)
    places = [row.where for row in rows]
    assert places == sorted(places, key=places.index)
    assert all(len(row.values) == len(row.verdicts) == 3 and row.verdicts[0] == "" for row in rows)


@pytest.mark.parametrize(
    "less", [[], [{}], [{"screens": None, "seams": None, "hidden_by": None, "marks": None}]]
)
def test_of_no_numbers_come_no_rows(less):
    assert side_by_side(less) == []


def leaves(tree, path=()):
    if path:
        yield path
    for key, value in (
        tree.items()
        if isinstance(tree, dict)
        else enumerate(tree)
        if isinstance(tree, list)
        else ()
    ):
        yield from leaves(value, (*path, key))


WHOLE = numbers_with()


@given(
    st.sampled_from(sorted(leaves(WHOLE), key=str)),
    st.sampled_from([None, "gone", [], {}, 3, True]),
)
def test_torn_numbers_are_dashes_and_never_an_error(path, instead):
    torn = copy.deepcopy(WHOLE)
    *way, last = path
    at = torn
    for key in way:
        at = at[key]
    at[last] = instead
    for row in side_by_side([WHOLE, torn, {}]):
        assert value_words(row, 2) == "–" and row.verdicts[2] in ("other", "same")
        assert value_words(row, 1)


def test_the_numbers_of_measure_compare_as_they_come_and_as_stored(rig_of, screen_at):
    def numbers(**keys):
        rig = rig_of(screen=[screen_at(**keys), screen_at("other", centre=[430, 600, 0])])
        return measure(build(rig), eyes_of(rig, Head(name="here"))).as_json()

    rows = side_by_side([numbers(), numbers(pixels=[1600, 1200])])
    assert rows == side_by_side(
        [json.loads(json.dumps(one)) for one in (numbers(), numbers(pixels=[1600, 1200]))]
    )
    changed = {(row.where, row.what): row.verdicts[1] for row in rows if row.differs}
    # the other screen, seen aslant, has the finer pixels
    assert changed == {(ALL, "pixel size, largest"): "better", ("screen", "pixel size"): "better"}


def test_what_one_side_of_a_seam_has_to_spare_does_not_help_the_other():
    spare = {
        "margin": {"left": {"left": 40.0, "right": 40.0, "mid": 40.0}},
        "gap_needed": {"left": 1.0},
    }
    both = numbers_with()
    both["screens"]["b"] = screen_numbers(**spare)
    row = row_of("margin too small by, both sides", both, both)
    assert row.values == (2.0, 2.0)


def test_sums_are_not_judged_where_screens_came_or_went_or_cannot_be_seen():
    more = numbers_with()
    more["screens"]["b"] = screen_numbers(seen={"both": 1.0})
    assert row_of("seen by both eyes, mean", numbers_with(), more, ALL).verdicts == ("", "other")
    hidden = copy.deepcopy(more)
    hidden["screens"]["b"]["arcmin_per_px"] = None
    assert row_of("pixel size, largest", more, hidden, ALL).values == (1.5, None)


def test_sums_take_the_outside_screens_alone():
    one = numbers_with(screen={"outside": True})
    one["screens"]["panel"] = screen_numbers(outside=False, seen={"both": 0.1})
    whole = {row.what: row for row in side_by_side([one, one]) if row.where == ALL}
    assert whole["seen by both eyes, mean"].values[0] == pytest.approx(85.0)
    assert whole["visible field, widths added up"].values[0] == 40.0


def test_a_seam_s_widest_lost_strip_is_that_of_either_eye_and_image():
    strips = {"left": [{"width": 0.0}, {"width": 4.0}], "right": [{"width": 7.0}, {"width": 0.0}]}
    seam = seam_numbers(lost={**strips, "mid": [{"width": 9.0}, {"width": 9.0}]})
    row = row_of("lost strip, widest", numbers_with(seam=seam), numbers_with(seam=seam))
    assert row.values == (7.0, 7.0)
    without = row_of("seen by both eyes", numbers_with(), numbers_with())
    assert without.values == (85.0, 85.0)


def test_a_narrower_dark_strip_is_no_gain_where_more_picture_is_lost():
    def seam_with(dark, width):
        strips = {eye: [{"width": width}, {"width": 0.0}] for eye in ("left", "right")}
        return numbers_with(seam=seam_numbers(dark, lost=strips))

    what = "dark strip, left eye"
    assert row_of(what, seam_with(0.7, 2.0), seam_with(0.2, 2.0)).verdicts[1] == "better"
    assert row_of(what, seam_with(0.7, 2.0), seam_with(0.2, 9.0)).verdicts[1] == "other"
    assert row_of(what, seam_with(0.2, 2.0), seam_with(0.7, 9.0)).verdicts[1] == "worse"
