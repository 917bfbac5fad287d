"""What shows between images in builds: against the dark strip of a rig that is so."""

import dataclasses

import numpy as np
import pytest

from seamsight.scene import Assembly, build
from seamsight.scene.parts import screen_parts, solid_parts
from seamsight.scene.rig import Head
from seamsight.scene.tolerance import Tolerance
from seamsight.viewer import eyes_of
from seamsight.viewer.numbers.strips import Gaze, dark_strips
from seamsight.viewer.studies.tolerance_errors import GROUPS, Errors, limits_of
from seamsight.viewer.studies.tolerance_sights import built_lens
from seamsight.viewer.studies.tolerance_strips import RAYS, Strips

LENS = {"focal_length": 450, "magnification": 1.5, "width": 517, "height": 330}
SCREEN = {"diagonal": "22 in", "aspect": "16:10", "pixels": [1680, 1050], "bezel": 16}
POST = {"name": "post", "size": [60, 8, 300], "centre": [0, 500, 0]}


@pytest.fixture(scope="module")
def rows(rig_of):
    """Return a function to an assembly of two units in a row, with or without lenses."""

    def make(post=False, **lens):
        bank = {"name": "row", "count": 2, "radius": 600, "screen": SCREEN}
        bank |= {"lens": LENS | lens} if lens else {}
        far = {"name": "far", "size": [500, 20, 500], "centre": [0, -900, 0]}
        return build(rig_of(bank=[bank], board=[POST, far] if post else [far]))

    return make


def _bench(assembly):
    eyes = eyes_of(assembly.rig, Head(name="design"))
    strips = Strips(assembly, eyes, [assembly.screens])
    return eyes, strips, Errors(assembly, assembly.screens, strips.boards)


@pytest.mark.parametrize("lens", [{}, {"grooves": "pilot"}, {"model": "grooved"}])
def test_strips_are_as_wide_as_those_of_rigs_that_are_so(rows, lens):
    assembly = rows(**lens)
    eyes, strips, errors = _bench(assembly)
    drawn = np.random.default_rng(1).uniform(-1, 1, (40, len(errors.groups)))
    limits = limits_of(Tolerance(position=3.0, angle=0.5, lens_size=0.0, toe=0.5))
    builds = errors.builds(drawn, limits)
    found = strips.widths(builds, len(drawn))
    for row in (0, 31, 32, 39):  # of two scenes
        units = tuple(_unit(screen, builds, row) for screen in assembly.screens)
        parts = [part for unit in units for part in screen_parts(unit)]
        there = Assembly(assembly.rig, units, (*parts, *solid_parts(assembly.rig)))
        left, right = units
        gazes = [Gaze(left, right, eye) for eye in (eyes.left, eyes.right)]
        told = dark_strips(there, gazes)
        expected = [max(0.0, np.degrees(strip.angle)) for strip in told]
        spacing = strips.fans[0].spacing
        # it looks along the line through the images' middles as designed
        assert found[row] == pytest.approx(expected, abs=2 * spacing)
    assert np.ptp(found) > 0.3


def _unit(screen, builds, row):
    lens = built_lens(screen, builds, row) if screen.lens else None
    return dataclasses.replace(screen, rig_from_screen=builds.screens[screen.name][row], lens=lens)


def test_only_what_is_near_the_seam_is_looked_at_and_moves(rows):
    _, strips, _ = _bench(rows(post=True))
    assert [board.name for board in strips.boards] == ["post"]
    assert len(strips.fans) == 2
    assert strips.fans[0].directions.shape == (RAYS, 3)


def test_a_post_in_front_of_a_seam_moves_with_its_own_tolerance(rows):
    assembly = rows(post=True)
    _, strips, errors = _bench(assembly)
    limits = np.zeros(len(GROUPS))
    limits[[group.name for group in GROUPS].index("board positions")] = 20.0
    drawn = np.random.default_rng(2).uniform(-1, 1, (20, len(errors.groups)))
    moved = strips.widths(errors.builds(drawn, limits), 20)
    still = strips.widths(errors.builds(drawn, np.zeros(len(GROUPS))), 20)
    assert np.ptp(still, axis=0).max() == 0
    assert np.ptp(moved, axis=0).min() > 0.1
    assert strips.most_shown(errors.builds(drawn, limits), 20) == ["post", "post"]


def test_what_shows_is_named(rows, rig_of):
    _, strips, errors = _bench(rows())
    exact = errors.builds(np.zeros((2, len(errors.groups))), np.zeros(len(GROUPS)))
    assert set(strips.most_shown(exact, 2)) <= {"row.1 bezel", "row.2 bezel"}
    # nothing is there between screens without bezels
    table = {"name": "row", "count": 2, "radius": 600, "screen": SCREEN | {"bezel": 0}, "gap": 20}
    _, gap, errors = _bench(build(rig_of(bank=[table])))
    exact = errors.builds(np.zeros((2, len(errors.groups))), np.zeros(len(GROUPS)))
    assert gap.most_shown(exact, 2) == [None, None]


def test_wider_lenses_leave_less_of_a_gap(rig_of, screen_at):
    screens = [
        screen_at(name, centre=[x, 750, 0], width=300, height=220, shows="world")
        for name, x in (("left", -210), ("right", 210))
    ]
    keys = {"focal_length": 450, "distance": 150, "width": 400, "height": 300}
    assembly = build(
        rig_of(screen=screens, lens=[keys | {"screen": one["name"]} for one in screens])
    )
    _, strips, errors = _bench(assembly)
    limits = np.zeros(len(GROUPS))
    limits[[group.name for group in GROUPS].index("lens size")] = 10.0
    largest = strips.widths(errors.builds(np.ones((1, len(errors.groups))), limits), 1)
    smallest = strips.widths(errors.builds(-np.ones((1, len(errors.groups))), limits), 1)
    # each edge is 5 mm farther out or in, 600 mm away
    assert smallest - largest == pytest.approx(np.degrees(20 / 600), abs=0.15)
