"""Values of each unit in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamsight.viewer.numbers.units import (
    ARCMIN,
    DEGREES,
    DIOPTRES,
    MM,
    PERCENT,
    TIMES,
    YES_OR_NO,
    in_words,
    number_words,
)


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (98.26, PERCENT, "98.3 %"),
        (-0.724, DEGREES, "−0.72°"),
        (-0.004, DEGREES, "0.00°"),
        (1.5, ARCMIN, "1.50′"),
        (12.04, MM, "12.0 mm"),
        (1.25, DIOPTRES, "1.25 D"),
        (1.5, TIMES, "1.50 ×"),
        (1.0, YES_OR_NO, "yes"),
        (0.0, YES_OR_NO, "no"),
        (None, YES_OR_NO, "–"),
        (None, MM, "–"),
    ],
)
def test_a_value_in_words(value, unit, words):
    assert in_words(value, unit) == words


@given(st.floats(-2000, 2000), st.integers(0, 3))
def test_a_number_in_words_is_the_number_and_never_minus_zero(value, digits):
    words = number_words(value, digits)
    assert float(words.replace("−", "-")) == round(value, digits)
    assert ("−" in words) == (round(value, digits) < 0)
    assert number_words(value, digits, signed=True).lstrip("+") == words


def test_what_counts_as_a_difference_shows():
    for unit in (PERCENT, DEGREES, MM, DIOPTRES, ARCMIN, TIMES):
        assert 10**-unit.digits <= 2 * unit.within + 1e-9
