"""What thin apertures leave of many images at once is what their margins leave of each."""

import numpy as np
import pytest

from seamsight.scene.layout import place
from seamsight.viewer.numbers.margins import SIDES, in_front, margin
from seamsight.viewer.numbers.rectangles import Rectangles

SCREEN = {"width": 474, "height": 296, "pixels": [1680, 1050]}
LENS = {"focal_length": 450, "distance": 150, "width": 517, "height": 330}
BANKS = {
    "lenses": {"screen": SCREEN, "lens": LENS, "count": 3},
    "offset lenses": {"screen": SCREEN, "lens": LENS | {"offset": [20, -12]}, "count": 2},
    "lips": {"screen": SCREEN | {"bezel": {"left": 9, "top": 5}, "lip": 14}, "count": 2},
    "bare": {"screen": SCREEN, "count": 2},
}


@pytest.mark.parametrize("bank", BANKS.values(), ids=BANKS)
def test_shares_are_those_of_margins(rig_of, bank):
    rig = rig_of(bank=[{"name": "row", "radius": 600, "pitch": 4, "aim": [5, 3], **bank}])
    screens = place(rig)
    eyes = np.random.default_rng(1).uniform(-350, 350, (200, 3))
    found = Rectangles(screens).shares(eyes)
    assert found.shape == (200, len(screens))
    for number, screen in enumerate(screens):
        ahead = in_front(screen, eyes)
        lost = {side: np.minimum(margin(screen, eyes[ahead], side), 0) for side in SIDES}
        width, height = screen.size
        across = np.maximum(width + lost["left"] + lost["right"], 0) / width
        up = np.maximum(height + lost["bottom"] + lost["top"], 0) / height
        np.testing.assert_allclose(found[ahead, number], across * up, atol=1e-9)
    assert found.min() < 0.99 or bank is BANKS["bare"]


def test_nothing_is_seen_from_behind(rig_of):
    rig = rig_of(bank=[{"name": "row", "radius": 600, "screen": SCREEN, "lens": LENS, "count": 1}])
    eyes = np.array([[0, 590, 0], [0, 610, 0], [0, 2000, 0]], float)
    assert Rectangles(place(rig)).shares(eyes)[:, 0].tolist() == [1, 0, 0]
