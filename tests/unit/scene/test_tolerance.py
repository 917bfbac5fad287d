"""How exactly a rig is built: limits, defaults, and what a wrong table says."""

import pytest

from seamsight.scene.rig import Rig
from seamsight.scene.tolerance import Tolerance
from seamsight.scene.values import with_changes

BARE = {"format": 1, "name": "rig", "pilot": {"eye_point": [0, 0, 0]}}


def test_a_rig_without_the_table_has_its_defaults():
    assert Rig.model_validate(BARE).tolerance == Tolerance()


def test_boards_are_as_exact_as_the_rest_unless_told():
    assert Tolerance(position=2.0, angle=0.5).of_boards == (2.0, 0.5)
    assert Tolerance(position=2.0, board_position=3.0, board_angle=0.0).of_boards == (3.0, 0.0)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("position = -1", "position must be at least 0 (got -1)"),
        ("position = 101", "position must be at most 100 (got 101)"),
        ('position = "2 furlongs"', "position is not a length"),
        ("angle = 11", "angle must be at most 10 (got 11)"),
        ("angle = -0.1", "angle must be at least 0 (got -0.1)"),
        ("focal_length = 21", "focal_length must be at most 20 (got 21)"),
        ("focal_length = nan", "focal_length"),
        ("lens_size = 51", "lens_size must be at most 50 (got 51)"),
        ("toe = 11", "toe must be at most 10 (got 11)"),
        ("board_position = -1", "board_position must be at least 0 (got -1)"),
        ("board_angle = 11", "board_angle must be at most 10 (got 11)"),
        ("postion = 1", 'unknown key "postion" (did you mean "position"?)'),
    ],
)
def test_wrong_values_are_told_with_their_line(problems_of, line, said):
    [told] = problems_of(f"[tolerance]\n{line}\n")
    assert told.startswith("rig.toml:6: tolerance: ")
    assert said in told


def test_a_value_may_be_set_where_the_file_has_no_table():
    assert with_changes(BARE, {"tolerance.position": 2})["tolerance"] == {"position": 2}
