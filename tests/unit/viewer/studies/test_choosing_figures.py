"""The figures that a search compares are those of the slower studies, where these have them."""

import math

import pytest

from seamsight.scene import build
from seamsight.viewer import eyes_of, head_named, measure
from seamsight.viewer.studies.choosing_figures import FIGURES, GOALS, Views, figures
from seamsight.viewer.studies.head_box import WAYS, Asked, head_room

SCREEN = {"width": 474, "height": 296, "pixels": [1680, 1050], "bezel": 16}
LENS = {"focal_length": 450, "distance": 150, "width": 517, "height": 330}
BANK = {"name": "row", "count": 2, "radius": 600, "screen": SCREEN, "lens": LENS}
VIEWS = Views("design", ("design", "aside"), 0.95, ("bezel", "frame"))
HEAD = {"name": "aside", "offset": [8, 0, 0]}


@pytest.fixture(scope="module")
def row(rig_of):
    return rig_of(bank=[BANK], head=[HEAD])


@pytest.fixture(scope="module")
def found(row):
    return figures(row, VIEWS, frozenset(FIGURES))


def test_every_figure_is_there_and_goals_are_among_them(found):
    assert list(found) == list(FIGURES) and set(GOALS) < set(FIGURES)
    assert found["blur"] is None and found["corner-light"] is None  # lenses are ideal ones
    assert found["magnification"] == pytest.approx(450 / 300)


def test_head_room_is_that_of_the_head_box(row, found):
    assembly = build(row)
    room = head_room(assembly, head_named(row, "design"), Asked(0.95), WAYS)
    assert found["head-room"] == pytest.approx(min(one.far for one in room.values()), abs=0.3)


def test_seen_is_the_worst_of_all_heads(row, found):
    shares = []
    for name in VIEWS.heads:
        numbers = measure(build(row), eyes_of(row, head_named(row, name)))
        screens = numbers.screens.values()
        shares += [screen.seen[eye] for screen in screens for eye in ("left", "right")]
    assert found["seen"] == pytest.approx(min(shares), abs=1e-6)


def test_dark_strip_is_that_of_the_seam(row, found):
    [seam] = measure(build(row), eyes_of(row, head_named(row, "design"))).seams
    dark = max(0.0, seam.dark["left"] or 0.0, seam.dark["right"] or 0.0)
    assert found["dark-strip"] == pytest.approx(dark, abs=1e-6)


def test_field_counts_what_two_images_show_once(rig_of):
    # bare screens, seen whole over 2 atan(w / 2 R) each; two in one place count as one
    angle = math.degrees(2 * math.atan(237 / 600))
    for toe, times in ((90, 2), (0, 1)):
        bank = {"name": "row", "count": 2, "radius": 600, "toe": toe, "screen": SCREEN}
        rig = rig_of(bank=[bank])
        field = figures(rig, Views("design", ("design",)), frozenset(["field"]))["field"]
        assert field == pytest.approx(times * angle)


def test_hidden_parts_that_show_are_told_by_their_strip(rig_of):
    # two bare screens, 16 mm of bezel each, seen from 600 mm
    bare = {key: value for key, value in BANK.items() if key != "lens"}
    keys = frozenset(["hide"])
    shown = figures(rig_of(bank=[bare], head=[HEAD]), VIEWS, keys)["hide"]
    assert shown == pytest.approx(math.degrees(32 / 650), abs=0.7)
    none = Views("design", ("design",), hide=("frame",))
    assert figures(rig_of(bank=[bare]), none, keys)["hide"] == 0


def test_extents_are_those_of_the_screens_parts(rig_of):
    bank = {"name": "row", "count": 1, "radius": 600, "screen": SCREEN | {"body": 45}}
    keys = frozenset(["width", "depth", "height"])
    board = {"name": "board", "size": [3000, 10, 10], "centre": [0, 900, 0]}
    rig = rig_of(bank=[bank], board=[board])
    found = figures(rig, Views("design", ("design",)), keys)
    assert found == pytest.approx({"width": 474 + 32, "depth": 45, "height": 296 + 32})


def test_neighbours_that_run_into_each_other_are_told_by_how_deep(rig_of):
    # 10 degrees apart, 200 mm ahead: each reaches across most of the other
    bank = {"name": "row", "count": 2, "radius": 200, "toe": 10, "screen": SCREEN}
    clash = figures(rig_of(bank=[bank]), Views("design", ("design",)), frozenset(["clash"]))
    assert (clash["clash"] or 0) > 5
