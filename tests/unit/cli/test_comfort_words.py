"""What a sheet asks of two eyes, in words: each limit changes the verdict where it stands."""

import pytest

from seamsight.cli.comfort_words import comfort_words
from seamsight.viewer.numbers.comfort import Comfort

EASY = Comfort(
    binocular={"vertical": 3.0, "vergence": 10.0, "converge": 10.0, "diverge": 2.0},
    focus={"centre": 1.2, "tangential": 1.3, "sagittal": 1.25},
    swim=12.3,
    diffraction=0.9,
    moire={"ratio": 1.6, "period": 7.0},
)


def words(pixel=1.5, **changed):
    return " ".join(comfort_words(Comfort(**(vars(EASY) | changed)), pixel))


def turned(vertical=3.0, converge=10.0, diverge=2.0):
    found = {"vertical": vertical, "converge": converge, "diverge": diverge}
    return {"binocular": found | {"vergence": max(converge, diverge)}}


def test_an_easy_sheet_is_told_in_four_sentences():
    found = comfort_words(EASY, 1.5)
    assert len(found) == 4
    assert all(sentence.endswith(".") for sentence in found)
    assert "expect" not in words() and "never" not in words()


@pytest.mark.parametrize(
    ("vertical", "verdict"),
    [
        (8.6, "well within the 15′"),
        (8.7, "near the 15′"),
        (15.0, "near"),
        (15.1, "more than the 15′"),
    ],
)
def test_heights_are_held_against_binoculars(vertical, verdict):
    assert verdict in words(**turned(vertical))


@pytest.mark.parametrize(
    ("converge", "diverge", "told"),
    [
        (44.9, 1.0, "turn in by up to 44.9′ more than for a flat image, within the 45′"),
        (45.1, 1.0, "turn in by up to 45.1′ more than for a flat image, more than the 45′"),
        (1.0, 20.1, "turn out by up to 20.1′ more than for a flat image, more than the 20′"),
        (40.0, 21.0, "turn out by up to 21.0′"),  # farther past its own limit
    ],
)
def test_turning_eyes_are_held_against_binoculars(converge, diverge, told):
    assert told in words(**turned(converge=converge, diverge=diverge))


def test_focus_is_held_against_an_eye_s_depth():
    near = {"centre": 1.2, "tangential": 1.49, "sagittal": 1.3}
    told = "to 1.20 dioptres at its centre and 1.30 to 1.49 in a corner: both look sharp at once"
    assert told in words(focus=near)
    assert "never both look sharp at once" in words(focus=near | {"tangential": 1.51})
    assert "never both look sharp at once" in words(
        focus=near | {"tangential": 1.4, "sagittal": 1.05}
    )
    assert "dioptres" not in words(focus=near | dict.fromkeys(("tangential", "sagittal")))


def test_grooves_that_spread_a_point_beyond_a_pixel_are_told():
    assert "spread" not in words(pixel=0.9)
    assert "spreads a point by 0.9′" in words(pixel=0.8)


def test_bands_are_told_near_a_whole_ratio():
    near = words(moire={"ratio": 2.125, "period": 30.4})
    assert "bands 30′ wide" in near and "makes it 1.6 or 2.4 to 1" in near
    assert "makes it 1.4 to 1" in words(moire={"ratio": 1.1, "period": 20.0})
    assert "endlessly wide" in words(moire={"ratio": 3.0, "period": None})
    assert "bands" not in words(moire={"ratio": 2.36, "period": 9.0})


def test_image_that_both_eyes_do_not_see_says_so():
    assert "no common point" in words(binocular=None, swim=None)
