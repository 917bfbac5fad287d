"""What may change: ranges and lists in words, held against a key's limits."""

import math

import pytest

from seamsight.scene import ChoiceError
from seamsight.scene.freedom import free_value, free_values, value_now, written_changes

LENS = {"focal_length": 450, "magnification": 1.5, "width": 517, "height": 330}
SCREEN = {"width": 474, "height": 296, "pixels": [1680, 1050]}
BANK = {"name": "row", "count": 2, "radius": 600, "screen": SCREEN, "lens": LENS}
DATA = {"format": 1, "name": "rig", "pilot": {"eye_point": [0, 0, 0]}, "bank": [BANK]}


def test_a_range_has_units_and_is_rounded_to_what_can_be_cut():
    free = free_value(DATA, "row.radius", "22 in .. 28 in")
    assert (free.low, free.high) == pytest.approx((558.8, 711.2))
    assert free.unit == "mm" and free.digits == 2
    assert free.value(600.12345) == 600.12
    assert free.value(100) == free.low and free.value(1e6) == free.high


def test_a_list_is_chosen_from_by_place():
    free = free_value(DATA, "row.lens.focal_length", "450, 350,40 cm, 350")
    assert free.choices == (350, 400, 450) and free.ends() == (0, 2)
    assert [free.value(number) for number in (-0.4, 0.6, 2.4)] == [350, 400, 450]
    assert free.number(400) == 1 and free.number(410) is None


@pytest.mark.parametrize(
    ("path", "words", "says"),
    [
        ("row.radius", "700..600", "from the lower number to the higher"),
        ("row.radius", "600..600", "from the lower number to the higher"),
        ("row.radius", "-5..600", "must be from 0.01 to 100000 (got -5)"),
        ("row.radius", "wide", "write a range as 100..200"),
        ("row.radius", "1..", "write a range as 100..200"),
        ("row.radius", "nan..5", "write a range as 100..200"),
        ("row.radiu", "1..2", 'there is no key "radiu" (did you mean "radius"?)'),
        ("rows.radius", "1..2", 'there is nothing called "rows"'),
        ("row.count", "1..2", "is no length, angle or other number"),
        ("row.screen.shows", "1..2", "is no length, angle or other number"),
    ],
)
def test_wrong_words_are_refused(path, words, says):
    with pytest.raises(ChoiceError) as error:
        free_value(DATA, path, words)
    assert says in str(error.value)


def test_a_lens_is_free_in_one_way_only():
    with pytest.raises(ChoiceError, match="make only one of them free"):
        free_values(DATA, {"row.lens.distance": "1..2", "row.lens.magnification": "1.1..1.2"})


def test_what_a_value_is_now_is_told_if_it_is_not_written():
    assert value_now(DATA, "row.lens.distance") == pytest.approx(150)  # f (1 - 1 / M)
    assert value_now(DATA, "row.toe") == pytest.approx(2 * math.degrees(math.atan(258.5 / 600)))
    lens = {key: value for key, value in LENS.items() if key != "magnification"}
    by_distance = DATA | {"bank": [BANK | {"lens": lens | {"distance": 150}}]}
    assert value_now(by_distance, "row.lens.magnification") == pytest.approx(1.5)


def test_a_distance_is_written_as_the_magnification_that_the_file_has():
    # M of f and d is f over f - d
    changes = {"row.lens.distance": 200.0, "row.lens.focal_length": 500.0}
    assert written_changes(DATA, changes) == {
        "row.lens.magnification": pytest.approx(500 / 300),
        "row.lens.focal_length": 500,
    }
    with pytest.raises(ChoiceError, match="is not written in the rig file: add it there"):
        written_changes(DATA, {"row.gap": 3.0})
