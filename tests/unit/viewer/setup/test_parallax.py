"""What no view setting mends, by hand."""

import math

import pytest

from seamsight.scene import build
from seamsight.viewer.setup.parallax import parallax


def test_a_bare_screen(rig_of, screen_at):
    near, far = (screen_at(f"{away}", shows="world", centre=[0, away, 0]) for away in (700, 900))
    found = parallax(build(rig_of(screen=[far, near]))).as_json()
    assert found["distance"] == pytest.approx(700)
    # half the default distance between the pupils, 63 mm, and 100 mm to the side
    assert found["each_eye"] == pytest.approx(math.degrees(math.atan(31.5 / 700)))
    assert found["head_100_mm"] == pytest.approx(math.degrees(math.atan(100 / 700)))


def test_through_a_lens_it_is_the_virtual_image(rig_of, screen_at):
    # screen 750 away, lens 600: M = 450 / (450 - 150) = 1.5, the image 600 + 1.5 x 150 away
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 500, "height": 300}
    rig = rig_of(screen=[screen_at(shows="world", centre=[0, 750, 0])], lens=[lens])
    assert parallax(build(rig)).distance == pytest.approx(825)
