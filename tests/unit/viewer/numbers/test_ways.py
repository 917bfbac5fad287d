"""Ways through thin lenses, held to rays that the compiled kernel traces."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.frames import move
from seamsight.viewer.casting.trace import trace
from seamsight.viewer.numbers.ways import Rectangle, aperture_of, image_of, legs_to, lenses_towards

EYE = np.array([-31.5, 0.0, 12.0])


@pytest.fixture
def two_lenses(rig_of, screen_at):
    """Return a rig with a screen behind two lenses, the nearer one turned and of another screen."""
    aside = screen_at("aside", centre=[900, 300, 0], width=10, height=10)
    optic = {"distance": 150, "width": 900, "height": 900}
    rig = rig_of(
        screen=[screen_at(yaw=8, pitch=-5), aside],
        lens=[
            {"screen": "screen", "focal_length": 450, **optic},
            {"screen": "aside", "focal_length": 700, **optic, "offset": [-850, 0]},
        ],
    )
    return build(rig)


def legs_through(lenses, screen):
    """Return the legs of a way through screens' lenses, which there must be."""
    legs = legs_to(EYE, [of.lens for of in lenses], screen.rig_from_screen)
    assert legs
    return legs


def ends_of(assembly, legs, first, steps=7):
    """Return ends on the first screen of rays into a lens: as traced, and as the legs have them."""
    share = np.linspace(-0.1, 0.1, steps)
    places = np.stack(np.meshgrid(share, share), axis=2).reshape(-1, 2) * 900
    points = move(first, np.insert(places, 1, 0.0, axis=1))
    ways = points - EYE
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    ends = trace(assembly, np.broadcast_to(EYE, ways.shape), ways)
    screen = assembly.screens[0]
    there = move(np.linalg.inv(screen.rig_from_screen), ends.points)[:, [0, 2]]
    reached = ends.parts == assembly.part_id(screen.name)
    assert reached.sum() > 10
    half_way = EYE + ways * np.linalg.norm(points - EYE, axis=1)[:, None] / 2
    return there[reached], legs[0].project(half_way)[reached]


def test_rays_through_one_lens_end_where_they_are_traced_to(rig_of, screen_at):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 900, "height": 900}
    assembly = build(rig_of(screen=[screen_at(yaw=8, pitch=-5)], lens=[lens | {"offset": [9, -4]}]))
    screen = assembly.screens[0]
    legs = legs_through([screen], screen)
    traced, projected = ends_of(assembly, legs, screen.lens.rig_from_lens)
    np.testing.assert_allclose(projected, traced, atol=1e-6)


def test_rays_through_two_lenses_end_where_they_are_traced_to(two_lenses):
    screen, aside = two_lenses.screens
    legs = legs_through([aside, screen], screen)
    assert len(legs) == 3
    traced, projected = ends_of(two_lenses, legs, aside.lens.rig_from_lens)
    np.testing.assert_allclose(projected, traced, atol=1e-6)


def test_every_leg_puts_a_ray_on_one_place(two_lenses):
    screen, aside = two_lenses.screens
    legs = legs_through([aside, screen], screen)
    places = np.array([(0.0, 0.0), (50, -30), (-120, 80)])
    for leg in legs:
        starts, ways = leg.rays_to(places)
        np.testing.assert_allclose(np.linalg.norm(ways, axis=1), 1)
        for far in (1, 20):
            np.testing.assert_allclose(leg.project(starts + far * ways), places, atol=1e-7)
        # what lies on such a ray lies within the leg, between the planes where it starts and ends
        between = np.column_stack([starts + 5 * ways, np.ones(3)])
        assert (between @ leg.inside.T > 0).all()
        assert (np.column_stack([starts - ways, np.ones(3)]) @ leg.inside[0] < 0).all()


def test_an_endless_leg_has_no_end(two_lenses):
    (leg,) = legs_through([], two_lenses.screens[0])
    far = np.array([0, 5000.0, 0, 1])
    assert (leg.inside @ far < 0).any()
    assert not (leg.endless().inside @ far < 0).any()
    assert leg.depth @ far > 4000


def test_no_way_leads_from_a_plane_to_itself(two_lenses):
    screen = two_lenses.screens[0]
    beside = move(screen.rig_from_screen, np.array([700.0, 0, 0]))
    assert legs_to(beside, [], screen.rig_from_screen) is None


def test_a_leg_about_a_rectangle_leaves_out_what_is_beside(two_lenses):
    (leg,) = legs_through([], two_lenses.screens[0])
    narrow = leg.about(np.array([-10.0, -10]), np.array([10.0, 10]))
    starts, ways = narrow.rays_to(np.array([(0.0, 0), (30, 0)]))
    inside, beside = starts + 300 * ways
    assert (narrow.sides @ np.append(inside, 1) > 0).all()
    assert (narrow.sides @ np.append(beside, 1) < 0).any()
    assert len(narrow.inside) == len(leg.inside) + 4


def test_lenses_that_may_show_an_image_are_found(two_lenses, rig_of, screen_at):
    screen = two_lenses.screens[0]
    found = lenses_towards(two_lenses.screens, EYE, image_of(screen))
    assert {one.name for one in found} == {"screen", "aside"}
    assert aperture_of(screen.lens).size.tolist() == [900, 900]
    behind = Rectangle(image_of(screen).rig_from_plane @ np.diag([-1.0, -1, 1, 1]), np.ones(2))
    assert lenses_towards(two_lenses.screens, EYE, behind) == []
    bare = build(rig_of(screen=[screen_at()]))
    assert lenses_towards(bare.screens, EYE, image_of(bare.screens[0])) == []
