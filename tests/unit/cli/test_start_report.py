"""What is said of a choice, and why it was made."""

import dataclasses
from pathlib import Path

import pytest

from seamsight.cli.start_report import chosen, next_steps
from seamsight.scene.starting import Measures
from seamsight.scene.starting_choice import choose

WIDE = Measures(3, 685.8, (16, 9), (1920, 1080), 10, 1200, (650, 365), 500)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "Nearer, the magnification would be 1.7 or more."),
        ({"count": 5}, "Nearer, the row would reach more than 220° round you."),
        ({"focal_length": 450}, "600 mm from your eyes and cover 171° across and 34° up."),
        (
            {"lens": (560, 320), "focal_length": 400},
            "neighbouring screens would cut into each other.",
        ),
        ({"lens": (650, 320)}, "It hides 21 mm of the image at the top and bottom edge: the lens"),
        ({"lens": None}, "The bezels leave a dark strip 1.5° wide at each seam"),
        ({"count": 1}, "fills the 650 mm width"),
    ],
)
def test_the_reason_is_told(changes, said):
    measures = dataclasses.replace(WIDE, **changes)
    lines = chosen(measures, choose(measures))
    assert said in "\n".join(lines)
    assert len(lines) <= 8


def test_one_screen_has_no_seam():
    measures = dataclasses.replace(WIDE, count=1)
    assert "neighbour" not in "\n".join(chosen(measures, choose(measures)))


def test_names_with_blanks_are_quoted_in_what_to_run_next():
    lines = next_steps(Path("my rig.toml"), bare=True)
    assert lines[1:] == [
        "  seamsight check 'my rig.toml'",
        "  seamsight picture 'my rig.toml' 'my rig.png'",
    ]
