"""A seam close up: marks stand where the dark strip is, and wrong seams are told."""

import math

import numpy as np
import pytest

from seamsight.scene import ChoiceError, Head, PoseError, build
from seamsight.viewer import eyes_of
from seamsight.viewer.pictures.seam import LEAST_FIELD, PANEL, seam_picture
from seamsight.viewer.sheet import letter_of

DARK_STRIP = (255, 70, 160)


@pytest.fixture
def apart(rig_of, screen_at):
    """Two bare screens beside each other, 600 mm ahead, their images 20 mm apart."""
    screens = [screen_at(name, centre=[x, 600, 0]) for name, x in (("a", -210), ("b", 210))]
    rig = rig_of(screen=screens)
    return build(rig), eyes_of(rig, Head(name="here"))


def panel_between_the_eyes(assembly, eyes):
    """Return the third picture of a seam's sheet (h, w, 3), without its scale."""
    sheet = np.asarray(seam_picture(assembly, "a", "b", eyes, "caption"))
    wide, high = PANEL
    letter = letter_of(wide)
    left = 2 * (wide + round(3.6 * letter) + 2 * letter) + round(3.6 * letter)
    top = round(2.0 * letter)
    return sheet[top : top + high, left : left + wide]


def test_bars_stand_at_both_ends_of_the_dark_strip(apart):
    wide, high = PANEL
    panel = panel_between_the_eyes(*apart)
    # from 10 mm left to 10 mm right at 600 mm, and the picture's field is the least one
    step = 2 * math.tan(math.radians(LEAST_FIELD / 2)) / wide
    ends = [(wide - 1) / 2 + x / 600 / step for x in (-10, 10)]
    row = high // 2 - 30  # through the bars, above the line between them
    marked = np.flatnonzero((panel[row] == DARK_STRIP).all(axis=1))
    assert marked.min() == pytest.approx(ends[0], abs=2)  # a bar is two wide
    assert marked.max() == pytest.approx(ends[1], abs=2)  # a bar is two wide
    assert len(marked) <= 6


def test_strips_that_one_eye_loses_are_hatched_in_no_eye_s_colour(rig_of, screen_at):
    # past a bezel's edge 10 mm aside and 60 mm in front of the image, an eye 31.5 mm to the other
    # side sees no more than what is 41.5 * 600 / 540 - 31.5 = 14.61 mm aside
    bezel = {"bezel": 10, "lip": 60}
    screens = [screen_at(name, centre=[x, 600, 0]) | bezel for name, x in (("a", -210), ("b", 210))]
    rig = rig_of(screen=screens, pilot={"eye_point": [0, 0, 0], "pupil_distance": 63})
    panel = panel_between_the_eyes(build(rig), eyes_of(rig, Head(name="here")))

    above = panel[5:45]  # above the dark strip's measure and the labels
    hatched = np.flatnonzero((above == 255).all(axis=2).any(axis=0))
    step = 2 * math.tan(math.radians(LEAST_FIELD / 2)) / PANEL[0]
    middle = (PANEL[0] - 1) / 2
    edges = [middle + x / 600 / step for x in (-14.61, -10, 10, 14.61)]
    left, right = hatched[hatched < middle], hatched[hatched > middle]
    assert [left.min(), left.max(), right.min(), right.max()] == pytest.approx(edges, abs=1.5)
    colour = above[:, hatched].max(axis=2) - above[:, hatched].min(axis=2)
    assert (colour < 40).all()


def test_an_unknown_screen_is_told_with_those_there_are(apart):
    with pytest.raises(ChoiceError, match=r'no screen "c" .*"a", "b"'):
        seam_picture(apart[0], "a", "c", apart[1], "caption")


def test_an_eye_behind_a_screen_sees_no_seam(apart):
    assembly, _ = apart
    behind = eyes_of(assembly.rig, Head(name="behind", offset=(0, 700, 0)))
    with pytest.raises(PoseError, match='not in front of screen "a"'):
        seam_picture(assembly, "a", "b", behind, "caption")
