"""Where things stand in builds that are off."""

import itertools

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.frames import move, rotation
from seamsight.scene.tolerance import Tolerance
from seamsight.viewer.studies.tolerance_errors import GROUPS, Errors, limits_of, moves

RNG = np.random.default_rng(5)
LENS = {"focal_length": 450, "magnification": 1.5, "width": 517, "height": 330}
NAMES = [group.name for group in GROUPS]


@pytest.fixture(scope="module")
def row(rig_of):
    """Return an assembly of a row of four lenses with carcasses."""
    screen = {"diagonal": "22 in", "aspect": "16:10", "pixels": [1680, 1050], "bezel": 16}
    bank = {"name": "row", "count": 4, "radius": 600, "screen": screen, "lens": LENS}
    return build(rig_of(bank=[bank | {"carcass": {}}]))


@pytest.fixture(scope="module")
def errors(row):
    boards = [part for part in row.parts if "carcass" in part.name]
    return Errors(row, row.screens, boards)


def _only(group, limit):
    limits = np.zeros(len(GROUPS))
    limits[NAMES.index(group)] = limit
    return limits


def test_the_rig_s_limits_go_to_each_group():
    limits = limits_of(Tolerance(position=1.5, angle=0.5, focal_length=4.0, board_position=3.0))
    assert limits.tolist() == [1.5, 0.5, 1.5, 0.5, 4.0, 1.0, 0.25, 3.0, 0.5]


def test_turns_are_those_of_parts():
    off = RNG.normal(size=(20, 6))
    for error, moved in zip(off, moves(off), strict=True):
        assert moved[:3, :3] == pytest.approx(rotation(*error[3:]))
        assert moved[:3, 3].tolist() == error[:3].tolist()
        assert moved[3].tolist() == [0, 0, 0, 1]


def test_without_tolerances_all_stands_as_designed(row, errors):
    drawn = RNG.uniform(-1, 1, (5, len(errors.groups)))
    builds = errors.builds(drawn, np.zeros(len(GROUPS)))
    for screen in row.screens:
        assert builds.screens[screen.name] == pytest.approx(
            np.tile(screen.rig_from_screen, (5, 1, 1)), abs=1e-9
        )
        assert builds.lenses[screen.name] == pytest.approx(
            np.tile(screen.lens.rig_from_lens, (5, 1, 1)), abs=1e-9
        )
        assert builds.focal_lengths[screen.name].tolist() == [450.0] * 5
    assert len(builds.boards) == 16


def test_positions_stay_within_their_limits_and_are_each_their_own(row, errors):
    drawn = RNG.uniform(-1, 1, (400, len(errors.groups)))
    builds = errors.builds(drawn, _only("screen positions", 2.0))
    off = [
        builds.screens[screen.name][:, :3, 3] - screen.rig_from_screen[:3, 3]
        for screen in row.screens
    ]
    own = [
        each @ screen.rig_from_screen[:3, :3] for each, screen in zip(off, row.screens, strict=True)
    ]
    together = np.concatenate(own, axis=1)
    assert 1.9 < np.abs(together).max() <= 2.0
    # a rectangular distribution's standard deviation is its half-width over sqrt 3 (GUM 4.3.7)
    assert together.std(axis=0) == pytest.approx([2 / np.sqrt(3)] * 12, rel=0.1)
    assert np.abs(np.corrcoef(together.T) - np.eye(12)).max() < 0.25


def test_lenses_of_one_lot_are_off_alike(errors):
    drawn = RNG.uniform(-1, 1, (50, len(errors.groups)))
    builds = errors.builds(drawn, _only("focal length", 5.0))
    lengths = np.array(list(builds.focal_lengths.values()))
    assert (lengths == lengths[0]).all()
    assert np.abs(lengths - 450).max() <= 22.5
    assert np.ptp(lengths) > 30


def test_a_joint_turns_what_is_beyond_it_about_the_edge_where_two_lenses_meet(row, errors):
    drawn = RNG.uniform(-1, 1, (3, len(errors.groups)))
    builds = errors.builds(drawn, _only("toe", 2.0))
    rim = LENS["width"] / 2
    for left, right in itertools.pairwise(row.screens):
        edges = [
            np.array([move(pose, np.array([side, 0, 0])) for pose in builds.lenses[unit.name]])
            for unit, side in ((left, rim), (right, -rim))
        ]
        # edges that touch as designed still touch
        assert edges[0] == pytest.approx(edges[1], abs=1e-6)
        axes = [builds.lenses[unit.name][:, :3, 1] for unit in (left, right)]
        between = np.degrees(np.arccos(np.sum(axes[0] * axes[1], axis=1)))
        designed = np.degrees(2 * np.arctan(rim / 600))
        assert 0 < np.abs(between - designed).max() <= 2.0

    # the middle stays, and a unit's boards go with it
    assert builds.lenses["row.2"] == pytest.approx(
        np.tile(row.screens[1].lens.rig_from_lens, (3, 1, 1))
    )
    board = row.parts[row.part_id("row.4 carcass top")]
    designed = np.linalg.inv(row.screens[3].lens.rig_from_lens) @ board.rig_from_part
    found = np.linalg.inv(builds.lenses["row.4"]) @ builds.boards[board.name]
    assert found == pytest.approx(np.tile(designed, (3, 1, 1)), abs=1e-9)
