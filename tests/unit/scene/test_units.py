import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from seamsight.scene.units import (
    MM_PER_UNIT,
    Angle,
    Colour,
    Depth,
    FocalLength,
    Length,
    Name,
    Size,
    degrees,
    millimetres,
)


def accepts(kind, value):
    try:
        TypeAdapter(kind).validate_python(value)
    except ValidationError:
        return False
    return True


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        (610, 610),
        (0.5, 0.5),
        ("610", 610),
        ("610 mm", 610),
        ("61 cm", 610),
        ("0.61 m", 610),
        (
            "22 in",
            558.8,
        ),  # the inch is 25.4 mm exactly (international yard and pound agreement, 1959)
        ("4 ft", 1219.2),
        ("2 ft 4 in", 711.2),
        ("-2 ft 4 in", -711.2),
        ("23 1/2 in", 596.9),
        ("23-1/2 in", 596.9),
        ("1/2 in", 12.7),
        ('27"', 685.8),
        ("27 inch", 685.8),
        ("24 in", 609.6),
        ("24in", 609.6),
        (" 24 IN ", 609.6),
        ("-3.5cm", -35),
        ("+2 in", 50.8),
        (".5 m", 500),
        ("5. m", 5000),
        ("1e2 mm", 100),
        ("1.5E-1 m", 150),
    ],
)
def test_lengths_as_a_rig_file_writes_them(written, mm):
    assert millimetres(written) == mm


@pytest.mark.parametrize(
    ("written", "angle"), [(24.6, 24.6), ("24.6 deg", 24.6), ("-3 degrees", -3), (" 7° ", 7)]
)
def test_angles_as_a_rig_file_writes_them(written, angle):
    assert degrees(written) == angle


@pytest.mark.parametrize("written", ["24.6", "deg", "2,5 deg", "1e", "3 rad"])
def test_what_is_not_an_angle(written):
    with pytest.raises(ValueError, match="is not an angle"):
        degrees(written)


@pytest.mark.parametrize("read", [millimetres, degrees])
def test_a_decimal_comma_is_told(read):
    with pytest.raises(ValueError, match="a decimal point, not a comma"):
        read("1,5 m")


@given(value=st.floats(-1e4, 1e4), unit=st.sampled_from(sorted(MM_PER_UNIT)))
def test_every_unit(value, unit):
    assert millimetres(f"{value:.6f} {unit}") == pytest.approx(
        float(f"{value:.6f}") * MM_PER_UNIT[unit], abs=1e-8
    )


@pytest.mark.parametrize(
    "written",
    [
        True,
        False,
        None,
        "",
        "mm",
        "2 ft4 in",
        "2 4 in",
        "1/0 in",
        "22 in 3",
        "1,5 m",
        "2'",
        "--2",
        "0x10",
        "nan",
        "inf",
        [1],
        {},
    ],
)
def test_what_is_not_a_length(written):
    with pytest.raises(ValueError, match=r"is not a length|divides by zero"):
        millimetres(written)


@pytest.mark.parametrize("kind", [Length, Depth, Size, FocalLength, Angle])
@pytest.mark.parametrize(
    "value", [math.nan, math.inf, -math.inf, True, None, "nan", "1e999", [], {}]
)
def test_no_number_is_endless_or_true(kind, value):
    assert not accepts(kind, value)


@pytest.mark.parametrize(
    ("kind", "good", "bad"),
    [
        (Length, [-100_000, 0, "100 m"], [-100_000.1, "101 m"]),
        (Depth, [0, 100_000], [-0.001]),
        (Size, [0.01, "100 m"], [0, 0.009, -5]),
        (FocalLength, [1, 1e12], [0.99, -450]),
        (Angle, [-360, 0, 360], [361, "90"]),
        (Colour, ["#33AAff"], ["#345", "red", "#3344556", "334455", 0x334455]),
        (Name, ["é", "a b", "x" * 80], ["", " ", "x" * 81, "a\nb", "a\tb", "\x1b[31m", 5]),
    ],
)
def test_limits(kind, good, bad):
    assert [value for value in good if not accepts(kind, value)] == []
    assert [value for value in bad if accepts(kind, value)] == []
