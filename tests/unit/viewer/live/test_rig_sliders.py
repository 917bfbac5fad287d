"""From where to where sliders for a rig file's numbers go."""

import tomllib

import pytest

from seamsight.scene.adjustable import Adjustable, adjustables
from seamsight.viewer.live.rig_sliders import slider_ends, slider_facts


def ends(value, unit="mm", low=0.01, high=1e5):
    found = slider_ends(Adjustable("a", value, unit, low, high, ""))
    return found.first, found.last, found.step


@pytest.mark.parametrize(
    ("number", "wanted"),
    [
        ((600,), (300, 900, 1)),
        ((150,), (75, 225, 0.1)),
        ((1.5, "", 1.0000001, 1000), (1.001, 2.25, 0.001)),
        ((1150, "mm", -1e5), (862.5, 1437.5, 0.5)),
        ((0, "mm", -1e5), (-100, 100, 0.1)),
        ((0, "mm", 0), (0, 0.5, 0.001)),
        ((-46.6, "°", -360, 360), (-91.6, -1.6, 0.1)),
        ((40, "°", 0, 180), (0, 85, 0.1)),
        ((350, "°", -360, 360), (305, 360, 0.1)),
        ((250, "cd/m²", 1), (125, 375, 0.1)),
    ],
)
def test_ends_and_steps(number, wanted):
    assert ends(*number) == wanted


def test_every_number_of_the_samples_lies_between_its_slider_s_ends(sample):
    for number in adjustables(tomllib.loads(sample.read_text("utf-8"))).values():
        facts = slider_facts(number)
        assert number.low <= facts["first"] < facts["last"] <= number.high
        step = facts["step"]
        assert facts["first"] - step <= number.value <= facts["last"] + step
        assert facts["first"] / step == pytest.approx(round(facts["first"] / step))
        assert facts["path"] == number.path and facts["meaning"]
