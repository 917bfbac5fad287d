"""A screen behind a lens, from the rig file to the numbers, against textbooks."""

import math

import pytest

from seamsight.scene import build, read_rig
from seamsight.viewer import eyes_of, head_named, measure

# OpenStax, University Physics vol. 3, Example 2.4 (b); College Physics 2e, Example 25.7 and the
# problem after it: a lens of f = 10.0 cm and an object nearer than f. Columns: object cm, image cm
# behind the lens, magnification, as printed; the problem prints magnifications only, its image
# distances are 1 / (1 / f - 1 / object).
TEXTBOOK = [(5.00, 10.0, 2.00), (7.50, 30.0, 4.00), (8.50, 56.667, 6.67), (9.50, 190.0, 20.0)]


@pytest.fixture
def magnifier(write_rig):
    """Return a function that measures a 3 cm object under the textbooks' lens, 20 cm away."""

    def numbers(object_distance):
        file = write_rig(f"""
            [[screen]]
            name = "object"
            width = "4 cm"
            height = "3 cm"
            pixels = [400, 300]
            centre = [0, "{20 + object_distance} cm", 0]
            [[lens]]
            screen = "object"
            focal_length = "10 cm"
            distance = "{object_distance} cm"
            width = "20 cm"
            height = "20 cm"
            """)
        rig = read_rig(file)
        return measure(build(rig), eyes_of(rig, head_named(rig, "design"))).screens["object"]

    return numbers


@pytest.mark.parametrize(("object_distance", "image", "magnification"), TEXTBOOK)
def test_magnification_is_the_textbook_s(magnifier, object_distance, image, magnification):
    assert magnifier(object_distance).magnification == pytest.approx(magnification, abs=0.005)


@pytest.mark.parametrize(("object_distance", "image", "magnification"), TEXTBOOK)
def test_image_stands_where_the_textbook_says(magnifier, object_distance, image, magnification):
    assert magnifier(object_distance).image_distance == pytest.approx(200 + 10 * image, abs=0.005)


def test_object_of_3_cm_looks_6_cm_high(magnifier):
    # University Physics 3, Example 2.4 (b): an object of 3.0 cm has an image of 6.0 cm, 10 cm
    # behind the lens
    assert magnifier(5.0).span["v"] == pytest.approx(
        2 * math.degrees(math.atan(3.0 / (20 + 10))), rel=1e-9
    )


def test_image_dioptres_are_the_inverse_of_its_distance(magnifier):
    assert magnifier(5.0).image_dioptres == pytest.approx(1 / 0.30, rel=1e-12)
