"""Regions bent by a grooved lens, held to rays sent one by one and to the thin lens law."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.frames import move
from seamsight.scene.polygons import region_about, region_within, rings_of
from seamsight.viewer.casting.sightlines import directions_through, image_points
from seamsight.viewer.casting.trace import trace
from seamsight.viewer.numbers.bending import bend_of, leg_behind, shadows_behind
from seamsight.viewer.numbers.obstacles import obstacles_of
from seamsight.viewer.numbers.ways import image_of

EYE = np.array([20.0, 0.0, -35.0])
WIDTH, HEIGHT, BEFORE, BEHIND = 360.0, 280.0, 450.0, 150.0


@pytest.fixture
def placed(rig_of, screen_at):
    """Return a function to the assembly of a screen, 400 x 300 mm, behind a grooved lens."""

    def make(focal_length=450.0, board=(), **lens):
        optic = {"screen": "screen", "focal_length": focal_length, "distance": BEHIND}
        optic |= {"width": WIDTH, "height": HEIGHT, "model": "grooved", "thickness": 2.0}
        return build(rig_of(screen=[screen_at()], lens=[optic | lens], board=list(board)))

    return make


def bend_in(assembly, eye=EYE):
    screen = assembly.screens[0]
    return bend_of(screen.lens, eye, image_of(screen))


def places_on_lens(count, seed=1):
    return np.random.default_rng(seed).uniform(-0.5, 0.5, (count, 2)) * [WIDTH, HEIGHT]


def area_within(ring_of_places):
    return region_within([ring_of_places]).area()


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_rays_land_where_rays_to_that_place_pass_the_lens(placed, grooves):
    assembly = placed(grooves=grooves)
    screen = assembly.screens[0]
    places = places_on_lens(200)
    shown = bend_in(assembly).landings(places)
    onto = (np.abs(shown) < [200, 150]).all(axis=1)
    assert onto.sum() > 100
    ways = directions_through(screen.lens, EYE, image_points(screen, shown[onto]))
    back = EYE + ways * BEFORE / ways[:, 1:2]
    np.testing.assert_allclose(back[:, [0, 2]], places[onto], atol=1e-6)


def test_all_but_flat_grooves_show_a_region_as_a_pane_would(placed):
    assembly = placed(focal_length=1e9)
    shown, unsure = bend_in(assembly).onto_plane(region_about([60, 40]))
    # straight rays from the eye magnify the aperture by 600 / 450; a pane 2 mm thick shifts them by
    # less than 2 mm (1 - 1 / n) times their slope, so the area by less than that share
    straight = 120 * 80 * ((BEFORE + BEHIND) / BEFORE) ** 2
    assert shown.area() == pytest.approx(straight, rel=2 * 2 * 0.33 / BEFORE)
    assert unsure < 1e-6 * straight


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
@pytest.mark.parametrize("focal_length", [450.0, 260.0])
def test_where_a_region_shows_is_what_its_rays_reach(placed, grooves, focal_length):
    bend = bend_in(placed(focal_length, grooves=grooves))
    angles = np.linspace(0, 2 * np.pi, 200)[:-1]
    disc = np.column_stack([60 + 70 * np.cos(angles), 20 + 70 * np.sin(angles)])
    shown, unsure = bend.onto_plane(region_within([disc]))
    # the same border bent point by point, with 200 points between any two
    fine = np.concatenate(
        [
            np.linspace(start, end, 200, endpoint=False)
            for start, end in zip(disc, np.roll(disc, -1, axis=0), strict=True)
        ]
    )
    landed = bend.landings(fine)
    assert np.isfinite(landed).all()
    assert shown.area() == pytest.approx(area_within(landed), abs=unsure + 0.02)
    assert unsure < 1e-4 * WIDTH * HEIGHT


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_rings_behind_the_lens_come_back_where_they_were(placed, grooves):
    assembly = placed(grooves=grooves)
    bend = bend_in(assembly)
    ring = np.array([(-50.0, -40.0), (90, -40), (90, 70), (-50, 70)])
    (on_lens,), unsure = bend.onto_lens([image_points(assembly.screens[0], ring)])
    shown, _ = bend.onto_plane(region_within([on_lens]))
    assert shown.area() == pytest.approx(140 * 110, rel=1e-5)
    assert (shown ^ region_within([ring])).area() == pytest.approx(140 * 110, rel=1e-5)
    assert unsure < 1


def test_what_total_reflection_lets_not_pass_is_no_patch(placed):
    # stock grooves to the pilot, looked at from near and aside: far facets reflect it all
    lens = placed(150.0, grooves="pilot", conjugates="infinity", width=500, distance=100)
    bend = bend_in(lens, np.array([-300.0, 0, 0]))
    rng = np.random.default_rng(2)
    places = bend.low + rng.random((40000, 2)) * (bend.high - bend.low)
    passed = np.isfinite(bend.landings(places)[:, 0])
    share = sum(patch.area() for patch in bend.patches.values()) / np.prod(bend.high - bend.low)
    assert share == pytest.approx(passed.mean(), abs=0.01)
    assert 0.1 < share < 0.95


def test_from_behind_the_lens_no_way_leads_to_the_image(placed):
    screen = placed().screens[0]
    assert leg_behind(screen.lens, np.array([0.0, 500, 0]), image_of(screen)) is None


@pytest.mark.parametrize("grooves", ["pilot", "screen"])
def test_a_board_behind_the_lens_hides_what_its_rays_would_reach(placed, grooves):
    board = {"name": "slat", "size": [30, 4, 600], "centre": [70, 540, 0]}
    assembly = placed(grooves=grooves, board=[board])
    screen = assembly.screens[0]
    bend = bend_in(assembly)
    leg = leg_behind(screen.lens, EYE, image_of(screen))
    assert leg is not None
    window = np.array([WIDTH, 220]) / 2  # within which all rays go to the image
    shadows = shadows_behind(obstacles_of(assembly), bend, leg, region_about(window))
    assert [assembly.parts[one.part].name for one in shadows] == ["slat"]

    # rays sent through the lens one by one
    places = np.random.default_rng(3).uniform(-window, window, (100000, 2))
    ways = move(screen.lens.rig_from_lens, np.insert(places, 1, 0, axis=1)) - EYE
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    met = trace(assembly, np.broadcast_to(EYE, ways.shape), ways).parts
    share = shadows[0].region.area() / (4 * window.prod())
    assert share == pytest.approx(np.mean(met == assembly.part_id("slat")), abs=2e-3)
    assert len(rings_of(shadows[0].region)) == 1
