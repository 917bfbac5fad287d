"""Margins and broken lines in builds: against what is measured in a rig that is so."""

import dataclasses

import numpy as np
import pytest

from seamsight.scene import Assembly, build
from seamsight.scene.frames import inverse, move
from seamsight.scene.parts import screen_parts
from seamsight.scene.rig import Head
from seamsight.scene.tolerance import Tolerance
from seamsight.viewer import eyes_of
from seamsight.viewer.casting.trace import trace
from seamsight.viewer.numbers.margins import SIDES, margin
from seamsight.viewer.studies.tolerance_errors import GROUPS, Errors, limits_of
from seamsight.viewer.studies.tolerance_sights import (
    built_lens,
    directions,
    margins,
    steps,
)

RNG = np.random.default_rng(3)
ASKEW = limits_of(Tolerance(position=3.0, angle=1.0, focal_length=5.0, lens_size=2.0))
MODELS = [{}, {"model": "grooved"}]


@pytest.fixture(scope="module")
def wall(rig_of, screen_at):
    """Return a function to two screens side by side, with lenses that touch."""

    def make(**lens):
        keys = {"focal_length": 450, "distance": 150, "width": 400, "height": 300} | lens
        names = {"left": -200, "right": 200}
        screens = [
            screen_at(name, centre=[x, 750, 0], width=300, height=220, shows="world")
            for name, x in names.items()
        ]
        return build(rig_of(screen=screens, lens=[keys | {"screen": name} for name in names]))

    return make


@pytest.fixture(scope="module")
def eyes(wall):
    return eyes_of(wall().rig, Head(name="here", offset=(5, 3, -8)))


def _builds(assembly, limits=None, count=4):
    errors = Errors(assembly, assembly.screens, [])
    drawn = RNG.uniform(-1, 1, (count, len(errors.groups)))
    return errors.builds(drawn, np.zeros(len(GROUPS)) if limits is None else limits)


@pytest.mark.parametrize("lens", MODELS)
def test_margins_as_designed_are_those_that_check_tells(wall, eyes, lens):
    assembly = wall(**lens)
    for screen in assembly.screens:
        found = margins(screen, eyes.rows, _builds(assembly))
        told = np.array([margin(screen, eyes.rows, side) for side in SIDES])
        assert found == pytest.approx(np.tile(told, (4, 1, 1)), abs=0.02)


@pytest.mark.parametrize("lip", [0, 6])
def test_margins_past_a_bezel_are_those_that_check_tells(rig_of, screen_at, eyes, lip):
    bezel = {"left": 10, "right": 10, "top": 5, "bottom": 0}
    assembly = build(rig_of(screen=[screen_at(shows="world", bezel=bezel, lip=lip)]))
    [screen] = assembly.screens
    found = margins(screen, eyes.rows, _builds(assembly))
    told = np.array([margin(screen, eyes.rows, side) for side in SIDES])
    assert found == pytest.approx(np.tile(told, (4, 1, 1)), abs=1e-9)


def _in_build(screen, builds, row):
    """Return a screen with its lens as they stand in one build."""
    return dataclasses.replace(
        screen,
        rig_from_screen=builds.screens[screen.name][row],
        lens=built_lens(screen, builds, row),
    )


@pytest.mark.parametrize("lens", MODELS)
def test_a_ray_sent_to_a_place_of_an_image_ends_there(wall, eyes, lens):
    assembly = wall(**lens)
    builds = _builds(assembly, ASKEW)
    screen = assembly.screens[1]
    place = np.array([-100.0, 60.0])
    ways = directions(screen, eyes.left, place, builds)
    for row, way in enumerate(ways):
        there = _in_build(screen, builds, row)
        cast = Assembly(assembly.rig, (there,), tuple(screen_parts(there)))
        end = trace(cast, eyes.left[None], way[None]).points[0]
        found = move(inverse(there.rig_from_screen), end)
        assert found[[0, 2]] == pytest.approx(place, abs=0.05)


@pytest.mark.parametrize("lens", MODELS)
def test_the_last_place_that_is_seen_is_seen_at_the_aperture_s_edge(wall, eyes, lens):
    assembly = wall(**lens)
    builds = _builds(assembly, ASKEW)
    screen = assembly.screens[1]
    found = margins(screen, eyes.rows[:1], builds)[:, :, 0]
    half = np.array([200.0, 150.0]) + builds.grown[screen.name] / 2
    for number, (axis, sign) in enumerate(SIDES.values()):
        for row in range(len(found)):
            place = np.zeros(2)
            place[axis] = sign * (screen.size[axis] / 2 + found[row, number])
            way = directions(screen, eyes.left, place, builds)[row]
            back = inverse(builds.lenses[screen.name][row])
            start, going = move(back, eyes.left), back[:3, :3] @ way
            crossed = (start - going * start[1] / going[1])[2 * axis]
            # the ray followed ends a little off the middle row of an image that stands askew
            assert sign * crossed == pytest.approx(half[row, axis], abs=0.4)


def test_lines_do_not_break_as_designed(wall):
    assembly = wall()
    design = eyes_of(assembly.rig, Head(name="design"))
    found = steps(assembly, _pair(assembly), design, _builds(assembly))
    assert found == pytest.approx(np.zeros(4), abs=1e-6)


def test_a_line_breaks_by_the_closed_form_of_two_thin_lenses(wall):
    # A screen z_s and its lens z_l too high, eye at height 0, e before the lens: what is drawn for
    # q is seen through the lens at p (1 + d/e - d/f) = z_s + q - z_l (1 + d/e), z_l + p high
    assembly = wall()
    design = eyes_of(assembly.rig, Head(name="design"))
    errors = Errors(assembly, assembly.screens, [])
    limits = limits_of(Tolerance(position=2.0, angle=0.0, focal_length=0.0))
    drawn = RNG.uniform(-1, 1, (50, len(errors.groups)))
    builds = errors.builds(drawn, limits)
    found = steps(assembly, _pair(assembly), design, builds)

    heights = []
    for name in ("left", "right"):
        screen_off = builds.screens[name][:, :3, 3] - assembly.screen(name).rig_from_screen[:3, 3]
        lens_off = builds.lenses[name][:, :3, 3] - assembly.screen(name).lens.rig_from_lens[:3, 3]
        before = 600 + lens_off[:, 1]
        depth = 150 + screen_off[:, 1] - lens_off[:, 1]
        share = 1 + depth / before - depth / 450
        through = (screen_off[:, 2] - lens_off[:, 2] * (1 + depth / before)) / share
        aside = _aside(name, screen_off[:, 0], lens_off[:, 0], before, depth)
        up = lens_off[:, 2] + through
        heights.append(up / np.sqrt(before**2 + aside**2 + up**2))
    expected = (heights[1] - heights[0]) * 180 * 60 / np.pi
    assert found == pytest.approx(expected, abs=0.01)
    assert np.ptp(found) > 5


def _pair(assembly):
    left, right = assembly.screens
    return left, right


def _aside(name, screen_off, lens_off, before, depth):
    """Return how far right of the eye a ray to the middle of the seam crosses a lens."""
    # as designed the seam's middle is straight ahead: the image point that is seen there
    sign = 1 if name == "left" else -1
    shown = sign * 200 * (1 + 150 / 600 - 150 / 450) - sign * 200 * 150 / 600
    share = 1 + depth / before - depth / 450
    middle = -sign * 200 + lens_off
    return middle + (shown + screen_off - lens_off - middle * depth / before) / share


def test_nothing_runs_on_across_a_seam_to_another_picture(rig_of, screen_at):
    screens = [
        screen_at("left", centre=[-210, 700, 0], shows="world"),
        screen_at("right", centre=[210, 700, 0], shows="card"),
    ]
    assembly = build(rig_of(screen=screens))
    design = eyes_of(assembly.rig, Head(name="design"))
    assert steps(assembly, _pair(assembly), design, _builds(assembly)) is None
