"""Places of an image that an eye sees, and the parts that hide the others."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.parts import own_part_name
from seamsight.scene.polygons import joined, region_about
from seamsight.viewer import eyes_of, head_named
from seamsight.viewer.numbers.areas import eye_areas, image_areas, seen_places
from seamsight.viewer.studies.sweep import seen_shares

EYE = np.zeros(3)
IMAGE = 400 * 300.0
LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 240, "height": 200}
POST = {"name": "post", "size": [40, 10, 900], "centre": [0, 305, 0]}
RAIL = {"name": "rail", "size": [900, 10, 30], "centre": [0, 400, 0]}
GROOVED = LENS | {"model": "grooved", "thickness": 2.0}


@pytest.fixture
def placed(rig_of, screen_at):
    def make(**tables):
        return build(rig_of(**({"screen": [screen_at()]} | tables)))

    return make


def areas_in(assembly, eye=EYE, number=0):
    return eye_areas(assembly, assembly.screens[number], np.asarray(eye, float))


def names_of(assembly, hidden):
    return {assembly.parts[part].name: region.area() for part, region in hidden.items()}


def test_a_bare_screen_is_seen_through_no_lens(placed):
    areas = areas_in(placed())
    assert areas.seen.area() == pytest.approx(IMAGE)
    assert areas.through is None
    assert areas.hidden == {}
    assert (areas.unsure, areas.hidden_unsure) == (0, 0)


@pytest.mark.parametrize("lens", [[], [LENS], [GROOVED]], ids=["bare", "thin", "grooved"])
def test_what_is_seen_and_what_is_hidden_make_the_image(placed, lens):
    assembly = placed(board=[POST, RAIL], lens=lens)
    areas = areas_in(assembly, [15, 0, -20])
    hidden = joined(areas.hidden.values())
    doubt = areas.unsure + areas.hidden_unsure + 1e-6 * IMAGE
    assert (areas.seen ^ hidden).area() <= doubt
    assert areas.seen.area() + hidden.area() == pytest.approx(IMAGE, abs=doubt)
    # no place is blamed on two parts
    assert sum(region.area() for region in areas.hidden.values()) == pytest.approx(
        hidden.area(), abs=doubt
    )
    assert (areas.seen - region_about([200, 150])).is_empty()
    assert {"post", "rail"} <= names_of(assembly, areas.hidden).keys()


def test_the_nearer_of_two_parts_is_blamed(placed):
    assembly = placed(board=[POST, RAIL])
    hidden = names_of(assembly, areas_in(assembly).hidden)
    # faces at 300 and 395 mm, on the image twice as large and 600 / 395 times; the rail's own where
    # the post is not
    rail = 30 * 600 / 395
    assert hidden == {
        "post": pytest.approx(80 * 300, rel=1e-9),
        "rail": pytest.approx((400 - 80) * rail, rel=1e-9),
    }


def test_what_shows_past_the_own_lens_is_no_part_of_through(placed):
    assembly = placed(lens=[LENS])
    areas = areas_in(assembly)
    # through: 120 + 150 (120 / 450 - 120 / 450); past: beyond 120 x 600 / 450
    assert areas.through.area() == pytest.approx(240 * 200)
    past = IMAGE - 4 * 160 * min(150, 100 * 600 / 450)
    assert areas.seen.area() == pytest.approx(240 * 200 + past)
    assert names_of(assembly, areas.hidden).keys() == {own_part_name("screen", "lens")}


def test_only_grooved_lenses_leave_doubt(placed):
    assert areas_in(placed(lens=[LENS])).unsure == 0
    grooved = areas_in(placed(lens=[GROOVED]))
    assert 0 < grooved.unsure < 1e-4 * IMAGE


@pytest.mark.parametrize("lens", [[], [LENS], [GROOVED]], ids=["bare", "thin", "grooved"])
def test_from_behind_nothing_is_seen_and_a_part_is_blamed(placed, lens):
    assembly = placed(lens=lens)
    areas = areas_in(assembly, [0, 900, 0])
    assert areas.seen.is_empty()
    assert sum(names_of(assembly, areas.hidden).values()) == pytest.approx(IMAGE)


def test_in_the_images_own_plane_the_housing_hides_all(placed):
    assembly = placed()
    areas = areas_in(assembly, [700, 600, 0])
    assert areas.seen.is_empty()
    assert names_of(assembly, areas.hidden) == {
        own_part_name("screen", "housing"): pytest.approx(IMAGE)
    }


def test_a_place_seen_through_anothers_lens_counts_too(rig_of, screen_at):
    # a lens of a low screen stands higher than it, between the eye and the upper screen
    upper = screen_at("upper", centre=[0, 600, 300])
    lower = screen_at("lower", centre=[0, 600, -20])
    lens = LENS | {"screen": "lower", "height": 300, "offset": [0, 280]}
    assembly = build(rig_of(screen=[upper, lower], lens=[lens]))
    seen = areas_in(assembly, number=0)
    # a thin pane of clear glass hides nothing of what is behind it: but it moves it
    assert seen.through is None
    straight = areas_in(build(rig_of(screen=[upper, lower])), number=0)
    assert 0.3 * IMAGE < seen.seen.area() <= straight.seen.area() + 1e-6
    doors = names_of(assembly, seen.hidden)
    assert doors.keys() <= {own_part_name("lower", "lens"), own_part_name("lower", "housing")}


@pytest.mark.parametrize("lens", [[], [LENS], [GROOVED]], ids=["bare", "thin", "grooved"])
def test_seen_places_alone_are_the_same(placed, lens):
    assembly = placed(board=[POST], lens=lens)
    areas = areas_in(assembly, [20, 0, 0])
    alone = seen_places(assembly, assembly.screens[0], np.array([20.0, 0, 0]))
    assert (alone - areas.seen).area() + (areas.seen - alone).area() == 0


def test_every_screen_has_areas_of_both_eyes(rig_of, screen_at):
    rig = rig_of(screen=[screen_at("a", centre=[-205, 600, 0]), screen_at("b", yaw=30)])
    eyes = eyes_of(rig, head_named(rig, "design"))
    areas = image_areas(build(rig), eyes)
    assert list(areas) == ["a", "b"]
    assert [areas[name].screen.name for name in areas] == ["a", "b"]


@pytest.mark.parametrize("model", ["thin", "grooved"])
@pytest.mark.parametrize("before", [60, 15, 6, 4, -10, -25])
def test_a_frame_around_an_eye_close_to_its_lens_hides_what_rays_miss(
    placed, screen_at, model, before
):
    # the lens stands at 450, its frame from there 20 back: the last two eyes are within and behind
    screen = screen_at(width=500, height=310, centre=[0, 710, 0], shows="world")
    lens = LENS | {"focal_length": 600, "distance": 260, "width": 500, "height": 310}
    framed = lens | {"model": model, "frame": {"width": 15, "depth": 20}}
    assembly = placed(screen=[screen], lens=[framed])
    eyes = np.array([[x, 450.0 - before, z] for x, z in [(60, 10), (120, -60)]])
    found = [areas_in(assembly, eye).seen.area() / (500 * 310) for eye in eyes]
    assert found == pytest.approx(seen_shares(assembly, eyes)[:, 0], abs=2e-3)
