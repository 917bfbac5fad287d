"""Where lenses and screens go, held against the thin lens's formula and similar triangles."""

import dataclasses
import math

import pytest

from seamsight.scene.starting import (
    Measures,
    at_radius,
    best,
    filling_distance,
    usual_focal_length,
    usual_lens,
    usual_pixels,
)
from seamsight.scene.starting_choice import choose

INCH = 25.4
WIDE = Measures(3, 27 * INCH, (16, 9), (1920, 1080), 10, 1200, (650, 365), 500)


def with_(**changes):
    return dataclasses.replace(WIDE, **changes)


def test_the_sample_s_lenses_are_chosen_for_the_sample_s_screens():
    # sample_rigs/harbour_floatplane.toml: 600 to the lens, 150 on to the screen, magnification 1.5
    screens = Measures(3, 22 * INCH, (16, 10), (1680, 1050), 16, 1150, (517, 323), 450)
    choice = choose(screens)
    assert choice.radius == 600
    assert choice.distance == pytest.approx(150, abs=1)
    assert choice.magnification == pytest.approx(1.5, abs=0.01)
    assert choice.toe == pytest.approx(46.62, abs=0.01)
    assert choice.overfill == pytest.approx(1)


def test_the_image_s_edge_is_seen_at_the_lens_s_edge():
    choice = choose(WIDE)
    image_edge = choice.magnification * WIDE.image[0] / 2 / choice.image_distance
    assert image_edge == pytest.approx(325 / choice.radius)
    # a thin lens: 1/f = 1/d - 1/d', the virtual image at d' = M d
    virtual = choice.magnification * choice.distance
    assert 1 / choice.distance - 1 / virtual == pytest.approx(1 / 500)


@pytest.mark.parametrize(("lens", "lost_way"), [((650, 320), 1), ((600, 365), 0)])
def test_where_the_shapes_differ_the_tighter_way_is_filled_and_the_other_loses(lens, lost_way):
    choice = choose(with_(lens=lens))
    assert choice.kept[lost_way] < 1
    assert choice.kept[1 - lost_way] == 1


def test_magnification_is_low_where_a_little_more_distance_makes_it_so():
    nearer = at_radius(WIDE, 600)
    assert nearer.magnification > 1.9
    assert choose(WIDE).magnification < 1.66


def test_a_long_row_leaves_a_way_in():
    choice = choose(with_(count=8, lens=None))
    assert choice.toe * 8 <= 220
    assert choose(with_(count=24)).toe * 24 <= 220


def test_small_lenses_in_front_of_larger_screens_leave_room_for_these():
    # nearer than the focal length the image looks smaller than the screen
    choice = choose(with_(lens=(560, 320), focal_length=900))
    half_toe = math.radians(choice.toe / 2)
    room = (choice.radius + choice.distance) * math.tan(half_toe)
    assert room >= WIDE.housing[0] / 2
    assert choice.lost < 0.1


def test_one_screen_needs_no_room_beside_it():
    small = with_(count=1, lens=(540, 310), focal_length=450)
    assert best(small)


@pytest.mark.parametrize(
    ("aspect", "pixels"),
    [((16, 9), (1920, 1080)), ((16, 10), (1920, 1200)), ((9, 16), (1080, 1920))],
)
def test_usual_pixels_are_square(aspect, pixels):
    assert usual_pixels(aspect) == pixels


@pytest.mark.parametrize("inches", [12, 22, 27, 43, 65, 100])
@pytest.mark.parametrize("aspect", [(16, 9), (4, 3), (9, 16), (32, 9)])
@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_usual_lenses_work_in_front_of_any_usual_screen(inches, aspect, count):
    screen = with_(count=count, diagonal=inches * INCH, aspect=aspect, pixels=usual_pixels(aspect))
    lens = usual_lens(screen)
    whole = dataclasses.replace(screen, lens=lens, focal_length=usual_focal_length(lens))
    choice = best(whole)
    assert choice
    assert choice.lost < 1e-9
    assert choice.magnification < 1.7


@pytest.mark.parametrize(("focal_length", "filling"), [(350, 1.2), (450, 1.09), (700, 0.9)])
def test_image_fills_a_lens_by_similar_triangles(focal_length, filling):
    distance = filling_distance(focal_length, 600, filling)
    enlarged = focal_length / (focal_length - distance)
    # an image w wide looks M w wide, R + M d away; a lens g w wide is R away
    assert enlarged / (600 + enlarged * distance) == pytest.approx(filling / 600)


def test_every_place_looks_the_same_to_an_eye_in_the_focus():
    assert filling_distance(600, 600, 1.1) is None
    assert (filling_distance(700, 600, 1.1) or 0) < 0
