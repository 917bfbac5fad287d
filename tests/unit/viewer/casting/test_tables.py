"""What the kernel is told: screens' pictures averaged down as far as rays stand apart."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer import Projection
from seamsight.viewer.casting.tables import averaged, bare_tables, shrink_factors, with_pictures


def test_the_mean_is_of_light_not_of_codes():
    # IEC 61966-2-1: half of full light has the code 188
    board = np.zeros((4, 6, 3), np.uint8)
    board[::2, ::2] = board[1::2, 1::2] = 255
    assert (averaged(board, 2) == 188).all()


def test_a_rest_at_right_and_bottom_is_cut():
    picture = np.random.default_rng(1).integers(0, 256, (7, 11, 3), np.uint8)
    assert averaged(picture, 3).shape == (2, 3, 3)
    np.testing.assert_array_equal(averaged(picture, 3), averaged(picture[:6, :9], 3))


def test_nothing_is_averaged_away():
    picture = np.full((4, 9, 3), 77, np.uint8)
    np.testing.assert_array_equal(averaged(picture, 32), np.full((1, 2, 3), 77))


@pytest.mark.parametrize(("away", "factor"), [(600, 2), (1250, 5), (100, 1), (60_000, 32)])
def test_factors_are_whole_pixels_in_a_ray_s_spacing(rig_of, screen_at, away, factor):
    # pixels of 0.5 mm seen from 600 mm are 0.04775 degrees apart, from 1250 mm 0.02292
    assembly = build(rig_of(screen=[screen_at(centre=[0, away, 0])]))
    projection = Projection("equirectangular", 1000, 500, 120)
    assert shrink_factors(assembly.screens, np.zeros(3), projection) == (factor,)


def test_each_image_finds_its_own_pixels(rig_of, screen_at):
    assembly = build(rig_of(screen=[screen_at("a"), screen_at("b", centre=[500, 600, 0])]))
    bare = bare_tables(assembly)
    images = [assembly.part_id(name) for name in "ab"]
    pictures = [np.full((2, 3, 3), 10, np.uint8), np.full((4, 5, 3), 20, np.uint8)]
    filled = with_pictures(bare, images, pictures)
    for image, picture in zip(images, pictures, strict=True):
        first, columns, rows = filled.texture[image]
        found = filled.texels[first : first + 3 * columns * rows].reshape(rows, columns, 3)
        np.testing.assert_array_equal(found, picture)
    assert bare.texels.tolist() == [0, 0, 0]
    assert (bare.texture == [0, 1, 1]).all()


def test_rows_are_averaged_a_few_at_a_time_and_come_out_the_same():
    picture = np.random.default_rng(2).integers(0, 256, (3 * 150, 12, 3), np.uint8)
    whole = averaged(picture, 3)
    for row in (0, 63, 64, 149):
        np.testing.assert_array_equal(averaged(picture[3 * row : 3 * row + 3], 3)[0], whole[row])
