"""The sentences that `check` begins with, on small rigs whose truth is drawn on paper."""

import re

import pytest

from seamsight.cli.answer import answer, names_words, note_words
from seamsight.scene import Head, build
from seamsight.scene.notes import Note
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.numbers.measures import measure


@pytest.fixture
def answer_of():
    def told(rig, **head):
        assembly = build(rig)
        numbers = measure(assembly, eyes_of(rig, Head(name="here", **head)))
        return answer(assembly, numbers)

    return told


@pytest.fixture
def pair(rig_of, screen_at):
    """Return a function that gives two bare outside screens, 400 wide, edge to edge at 600."""

    def make(gap=0.0, **tables):
        screens = [
            screen_at(name, shows="world", centre=[side * (200 + gap / 2), 600, 0])
            for name, side in (("a", -1), ("b", 1))
        ]
        return rig_of(screen=screens, **tables)

    return make


@pytest.mark.parametrize(
    ("names", "words"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (["a", "b", "c"], "a, b and c"),
        (["row.1", "row.2", "row.3"], "row.1 to row.3"),
        (["row.1", "row.2"], "row.1 and row.2"),
        (["row.1", "row.3", "row.4"], "row.1, row.3 and row.4"),
        (["radio", "row.2", "row.3", "row.4"], "radio and row.2 to row.4"),
    ],
)
def test_units_that_follow_each_other_are_told_as_a_range(names, words):
    assert names_words(names) == words


def test_where_nothing_is_lost_it_says_so_first(answer_of, pair):
    sentences = answer_of(pair())
    assert sentences[0] == "Both eyes see a and b to the edges."
    assert sentences[1] == "Seen from the point between the eyes the images meet."
    # across, each from 0 to atan(400 / 600) = 33.69 degrees; up, 2 atan(150 / hypot(600, 200))
    assert (
        sentences[2] == "Field of view seen by both eyes: 67.4° wide in all, at least 26.7° high."
    )
    assert sentences[3] == "a and b: 20-inch screens 632 mm away (1.58 dioptres)."
    assert not any("pixels black" in sentence for sentence in sentences)


def test_a_post_before_a_seam_is_told_for_both_eyes(answer_of, pair):
    # 60 wide half way: hides 28.5 and 91.5 mm of each side from one eye and the other
    post = {"name": "post", "size": [60, 0.01, 900], "centre": [0, 300, 0]}
    first, *others = answer_of(pair(board=[post]))
    assert first == (
        "Both eyes lose up to 91.5 mm at the right of a behind post; "
        "both eyes lose up to 91.5 mm at the left of b behind post."
    )
    assert any("post hides" in sentence for sentence in others)
    assert not any("pixels black" in sentence for sentence in others)  # it would not help


def test_strips_at_a_lens_s_edges_are_told_with_the_pixels_to_keep_black(
    rig_of, screen_at, answer_of
):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 340, "height": 330}
    told = " ".join(answer_of(rig_of(screen=[screen_at()], lens=[lens])))
    assert "oth eyes lose up to 40.5 mm at the left of screen" in told
    assert "To lose nothing, keep these pixels black: screen" in told
    assert "real ones add blur" in told


def test_dark_strips_are_told_from_between_the_eyes_and_for_one_eye(answer_of, pair):
    told = answer_of(pair(gap=10.47))[1]
    assert (
        "from the point between the eyes the dark strips between images look up to 1.0° wide"
        in told
    )


def test_a_screen_seen_from_behind_comes_first(answer_of, rig_of, screen_at):
    told = answer_of(rig_of(screen=[screen_at()]), offset=[0, 700, 0])
    assert told[0].startswith("screen: an eye is beside or behind it")


def test_marks_out_of_tolerance_are_named(answer_of, rig_of):
    mark = {"name": "hub", "at": [0, 100, 0], "want": [0, 90, 0], "within": 5}
    assert answer_of(rig_of(mark=[mark])) == [
        "Reference points off by more than their tolerance: hub (10.0 mm)."
    ]


def test_three_notes_are_told_first_and_all_when_asked():
    texts = ["this and that touch", "is it?", "a third", "a fourth", "a fifth"]
    lines = [7, None, None, 9, 9]
    notes = [
        Note("misfit", ("a",), text, None, ("board", "a"), line)
        for text, line in zip(texts, lines, strict=True)
    ]
    first = ["Line 7: this and that touch.", "Is it?", "A third."]
    assert note_words(notes, whole=False) == [*first, "And 2 more: see --all."]
    assert note_words(notes[:3], whole=False) == first
    assert note_words(notes, whole=True) == [*first, "Line 9: a fourth.", "Line 9: a fifth."]


def test_a_wide_view_is_told_with_its_error(rig_of, screen_at, answer_of):
    def told(field, parts=(1, 2)):
        shows = [{"wide": "world", "field": field, "part": part, "of": 2} for part in parts]
        screens = [
            screen_at(name, shows=show, centre=[side * 200, 600, 0])
            for name, show, side in (("a", shows[0], -1), ("b", shows[1], 1))
        ]
        return " ".join(answer_of(rig_of(screen=screens)))

    # 800 mm in one plane at 600: 2 atan(400 / 600) = 67.38 degrees
    assert "wide outside view of 67° is right" in told(67.380135)
    # drawn 1.5 times as far from the middle: at a corner (400, 150) at 600 atan(1.5 t) - atan(t)
    # with t = 427.2 / 600
    assert re.search(r"wide outside view of 90° is up to 11\.4° wrong on [ab]: see", told(90.0))
    assert "not whole: part 1 of 2" in told(90.0, (1, 1))
