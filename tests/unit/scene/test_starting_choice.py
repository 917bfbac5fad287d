"""What measures that do not suit each other are told, and that what is offered would work."""

import dataclasses

import pytest

from seamsight.scene import ChoiceError
from seamsight.scene.starting import Measures
from seamsight.scene.starting_choice import choose

INCH = 25.4
WIDE = Measures(3, 27 * INCH, (16, 9), (1920, 1080), 10, 1200, (650, 365), 500)


def with_(**changes):
    return dataclasses.replace(WIDE, **changes)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"lens": (300, 200), "focal_length": 300}, "is too small for an image of 598 x 336 mm"),
        ({"focal_length": 200}, "focal length of 200 mm is too short"),
        ({"diagonal": 60 * INCH}, "is too small for an image of 1328 x 747 mm"),
        ({"lens": (650, 600)}, "fills the lens at no distance"),
        ({"lens": (560, 320), "bezel": 190}, "too wide to stand side by side"),
        ({"eye_height": 300}, "would have to be 398 mm up"),
        ({"pixels": (1920, 1200)}, "1920x1080 would fit, or an aspect of 8:5"),
    ],
)
def test_what_does_not_suit_is_told(changes, said):
    with pytest.raises(ChoiceError, match=said):
        choose(with_(**changes))


@pytest.mark.parametrize(
    ("changes", "offered"),
    [
        ({"focal_length": 200}, {"focal_length": 380.0}),
        ({"diagonal": 43 * INCH}, {"focal_length": 720.0}),
        ({"diagonal": 43 * INCH}, {"diagonal": 33 * INCH}),
        ({"lens": (500, 400)}, {"lens": (576.0, 324.0)}),
    ],
)
def test_what_is_offered_instead_would_work(changes, offered):
    with pytest.raises(ChoiceError) as told:
        choose(with_(**changes))
    [(key, value)] = offered.items()
    words = {
        "focal_length": lambda: f"a focal length of {value:.0f} mm",
        "diagonal": lambda: f"screens of {value / INCH:.0f} in",
        "lens": lambda: f"a lens of {value[0]:.0f} x {value[1]:.0f} mm",
    }
    assert words[key]() in str(told.value)
    choose(with_(**changes | offered))
