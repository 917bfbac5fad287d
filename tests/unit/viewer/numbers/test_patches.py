"""A rectangle parted by what a function tells, held to areas in closed form."""

import numpy as np
import pytest

from seamsight.viewer.numbers.patches import patches_of

LOW, HIGH, HALF = np.array([-3.0, -2]), np.array([3.0, 2]), np.array([2.5, 1.5])


def patches(tell):
    return tuple(patches_of(lambda at: tell(*at.T).astype(np.int8), LOW, HIGH, HALF).values())


def test_one_answer_everywhere_needs_few_looks():
    looks = []

    def tell(x, z):
        looks.append(len(x))
        return np.ones(len(x))

    (whole,) = patches(tell)
    assert whole.area() == 24
    assert sum(looks) < 600
    assert patches(lambda x, z: 0 * x) == ()
    (whole,) = patches(lambda x, z: 0 * x - 1)
    assert whole.area() == 24


@pytest.mark.parametrize("radius", [0.5, 1.7])
def test_a_disc_is_told_from_what_is_around_it(radius):
    inside, outside = patches(lambda x, z: np.where(np.hypot(x - 0.1, z) < radius, 1, -1))
    # chords of cells of 1/16 cut off some of the disc
    assert inside.area() == pytest.approx(np.pi * radius**2, rel=3e-3)
    assert outside.area() == pytest.approx(24 - np.pi * radius**2, rel=1e-3)
    assert (inside ^ outside).area() == pytest.approx(0, abs=1e-6)


def test_where_there_is_nothing_to_tell_no_patch_is():
    (corner,) = patches(lambda x, z: np.where(x + z < 3.5, 1, 0))
    assert corner.area() == pytest.approx(24 - 1.5**2 / 2, rel=1e-6)


def test_a_saddle_is_parted_along_its_lines():
    one, other = patches(lambda x, z: np.where((x - 0.013) * (z + 0.021) > 0, 1, -1))
    assert one.area() == pytest.approx(2.987 * 2.021 + 3.013 * 1.979, rel=1e-3)
    assert one.area() + other.area() == pytest.approx(24, rel=1e-3)
