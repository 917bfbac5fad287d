import numpy as np
import pytest
from PIL import Image

from seamsight.scene.content import (
    MOST_PIXELS,
    coarseness,
    native_picture,
    shown_pixels,
    test_card,
)
from seamsight.scene.layout import place

vars(test_card)["__test__"] = False  # pytest would take it for a test
BORDER = (255, 190, 92)


@pytest.fixture
def shown(rig_of, screen_at, tmp_path):
    """Return a function that gives what a screen of 80 x 60 pixels shows, a picture beside it."""

    def native(shows, picture=None):
        if picture is not None:
            Image.fromarray(picture).save(tmp_path / "view.png")
        rig = rig_of(screen=[screen_at(pixels=[80, 60], shows=shows)]).read_from(
            tmp_path / "rig.toml"
        )
        return native_picture(place(rig)[0], rig)

    return native


def noise(height, width):
    return np.random.default_rng(9).integers(0, 256, (height, width, 3), np.uint8)


@pytest.mark.parametrize(("width", "height"), [(1680, 1050), (800, 480), (64, 48), (1, 1)])
def test_card_s_outermost_pixels_are_its_border(width, height):
    card = test_card("any", width, height)
    assert (card.shape, card.dtype) == ((height, width, 3), np.uint8)
    for edge in (card[0], card[-1], card[:, 0], card[:, -1]):
        np.testing.assert_array_equal(edge, np.broadcast_to(BORDER, edge.shape))


def test_card_s_grid_is_every_hundred_pixels():
    card = test_card("any", 1680, 1050)
    row = card[75].astype(int)  # clear of names and circles
    lines = np.flatnonzero((np.abs(row - (96, 108, 118)) < 3).all(axis=1))
    assert set(range(100, 1680, 100)) - set(lines) <= {800, 900}
    assert len(lines) < 100


def test_card_tells_its_screen():
    assert (test_card("one", 400, 300) != test_card("two", 400, 300)).any()


def test_black(shown):
    assert shown("black").max() == 0


def test_picture_of_the_screen_s_own_pixels_is_shown_as_it_is(shown):
    picture = noise(60, 80)
    np.testing.assert_array_equal(shown("view.png", picture), picture)


def test_picture_of_another_shape_keeps_its_own(shown):
    found = shown("view.png", np.full((60, 20, 3), 255, np.uint8))
    lit = np.flatnonzero(found.max(axis=(0, 2)) > 128)
    assert (lit.min(), lit.max()) == (30, 49)


@pytest.mark.parametrize("parts", [1, 2, 3, 5])
def test_parts_of_a_wide_picture_join_to_the_whole(shown, parts):
    picture = noise(60, 80 * parts)
    pieces = [
        shown({"wide": "view.png", "part": number + 1, "of": parts}, picture)
        for number in range(parts)
    ]
    np.testing.assert_array_equal(np.concatenate(pieces, axis=1), picture)


def test_parts_of_a_wide_picture_meet_between_pixels(shown):
    # a ramp of 100 columns over three screens: the middles of all 240 pixels climb evenly
    ramp = np.repeat(np.linspace(0, 250, 100).astype(np.uint8)[None, :, None], 60, axis=0).repeat(
        3, axis=2
    )
    pieces = [shown({"wide": "view.png", "part": number, "of": 3}, ramp) for number in (1, 2, 3)]
    row = np.concatenate(pieces, axis=1)[30, :, 0].astype(int)
    assert np.abs(np.diff(row, 2)).max() <= 3
    assert (np.diff(row) >= 0).all()


@pytest.mark.parametrize(
    ("pixels", "coarse"),
    [([], 1), ([(3840, 2160)] * 6, 1), ([(3840, 2160)] * 7, 2), ([(16384, 16384)], 3)],
)
def test_screens_of_many_pixels_are_shown_coarser(rig_of, screen_at, pixels, coarse):
    screens = [
        screen_at(str(number), pixels=each, centre=[0, 600 + 50 * number, 0])
        for number, each in enumerate(pixels)
    ]
    placed = place(rig_of(screen=screens))
    assert coarseness(placed) == coarse
    shown = sum(across * down for across, down in (shown_pixels(one, coarse) for one in placed))
    assert shown <= MOST_PIXELS


def test_a_coarser_card_still_counts_the_screens_own_pixels():
    fine, coarse = test_card("a", 800, 600, 1), test_card("a", 800, 600, 3)
    differs = (fine != coarse).any(axis=2)
    # the figures along the middle lines, and nothing else
    assert 0 < differs.sum() < 0.01 * differs.size
    assert not differs[:200, :380].any()
