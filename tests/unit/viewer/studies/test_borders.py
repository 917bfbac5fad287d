"""Black borders that serve several heads, held to the thin lens law and to both eyes' areas."""

import math

import pytest

from seamsight.scene import Head, build
from seamsight.viewer.studies.borders import borders

DESIGN, LEFT, HIGH = (
    Head(name="design"),
    Head(name="left", offset=(-60, 0, 0)),
    Head(name="high", offset=(0, 0, 50)),
)
BEFORE, BEHIND, F = 600.0, 150.0, 450.0
WIDTH, HEIGHT = 520.0, 330.0  # of the lens


@pytest.fixture
def placed(rig_of):
    screen = {"width": 480, "height": 300, "pixels": [1600, 1000]}
    lens = {"focal_length": F, "distance": BEHIND, "width": WIDTH, "height": HEIGHT}
    bank = {"name": "row", "count": 1, "radius": BEFORE, "screen": screen, "lens": lens}
    return build(rig_of(bank=[bank]))


def needed(half, place, size, pixels):
    """Return the pixels that an eye loses beyond an edge: a + d ((a - x) / e - a / f) - w / 2."""
    past = half + BEHIND * ((half - place) / BEFORE - half / F) - size / 2
    return math.ceil(max(0.0, -past) * pixels / size)


def test_one_head_by_the_law(placed):
    border = borders(placed, [DESIGN])["row.1"]
    side = needed(WIDTH / 2, 31.5, 480, 1600)
    assert border.px == {"left": side, "right": side, "bottom": 0, "top": 0}
    assert side > 0
    assert border.head == {"left": "design", "right": "design", "bottom": None, "top": None}
    assert border.unserved == ()


def test_each_side_serves_the_head_that_asks_for_the_most(placed):
    border = borders(placed, [DESIGN, LEFT, HIGH])["row.1"]
    assert border.head == {"left": "left", "right": "design", "bottom": None, "top": "high"}
    # each side as wide as the worst eye of any head needs it
    eyes = [x + offset for x in (-31.5, 31.5) for offset in (0, -60)]
    assert border.px["left"] == max(needed(WIDTH / 2, -x, 480, 1600) for x in eyes)
    assert border.px["right"] == max(needed(WIDTH / 2, x, 480, 1600) for x in eyes)
    assert border.px["top"] == max(needed(HEIGHT / 2, z, 300, 1000) for z in (0, 50))


def test_what_it_costs_in_field(placed):
    none = borders(placed, [Head(name="far", offset=(0, 400, 0))])["row.1"]
    assert none.px == dict.fromkeys(("left", "right", "bottom", "top"), 0)
    assert none.left == none.field
    border = borders(placed, [DESIGN])["row.1"]
    # half the rest, 3.333 mm a pixel, seen through the lens from the point between the eyes
    half = 240 - border.px["right"] * 480 / 1600
    slope = half * F / (F - BEHIND) / (BEFORE + BEHIND * F / (F - BEHIND))
    assert border.left["h"] == pytest.approx(2 * math.degrees(math.atan(slope)), abs=1e-6)
    assert border.left["v"] == border.field["v"]


def test_a_head_behind_a_screen_is_told(placed):
    border = borders(placed, [DESIGN, Head(name="behind", offset=(0, 900, 0))])["row.1"]
    assert border.unserved == ("behind",)


def test_panel_screens_have_no_border(rig_of, screen_at):
    assert borders(build(rig_of(screen=[screen_at()])), [DESIGN]) == {}
