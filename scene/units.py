"""Lengths, angles, names and colours as a rig file writes them.

Inside the program every length is in millimetres; a rig file may say `"22 in"` or `"2 ft 4 in"`.
Angles stay degrees in the rig's own tables and become radians where things are placed.
"""

import re
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema

MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
# mm; beyond 100 m a rig is a typing error, and single precision in the caster too coarse
FARTHEST = 100_000.0
MOST_DEGREES = 360  # of an angle, either way
# mm; nothing thinner can be built, and degenerate shapes begin below it
SMALLEST = 0.01

# possessive, and begun at the start of a number only: else long ones take forever
_NUMBER = r"(?:\d++\.?+\d*+|\.\d++)(?:e[-+]?\d++)?"
_FRACTION = r"(?:\d++[ -])?+\d++/\d++"
_UNIT = r"mm|cm|m|inch|in|ft|\""
_MEASURE = rf"({_FRACTION}|{_NUMBER})[ \t]*({_UNIT})"
# 2 ft 4 in: each with a unit, none with a sign of its own
MEASURES = re.compile(rf"(?<![\w.]){_MEASURE}(?:[ \t]+{_MEASURE})*(?![\w\"])", re.IGNORECASE)
_PLAIN = re.compile(rf"({_FRACTION}|{_NUMBER})")
_DECIMAL_COMMA = re.compile(r"\d,\d")
_DEGREES = re.compile(rf"\s*([-+]?{_NUMBER})\s*(?:deg|degrees|°)\s*", re.IGNORECASE)


def millimetres(value: Any) -> Any:
    """Return a rig file's length in mm.

    Parameters
    ----------
    value : int, float or str
        A plain number is mm already; a string carries a unit, as in ``"22 in"``.

    Raises
    ------
    ValueError
        When it is neither.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        return value
    length = _read_length(value) if isinstance(value, str) else None
    if length is None:
        hint = ""
        if isinstance(value, str) and _DECIMAL_COMMA.search(value):
            hint = " (a decimal point, not a comma)"
        msg = f'is not a length: write 610, "61 cm", "24 in", "23 1/2 in" or "2 ft 4 in"{hint}'
        raise ValueError(msg)
    return length


def degrees(value: Any) -> Any:
    """Return a rig file's angle in degrees: a plain number, or text such as `"24.6 deg"`.

    Raises
    ------
    ValueError
        When text is no angle.
    """
    if not isinstance(value, str):
        return value
    found = _DEGREES.fullmatch(value)
    if found is None:
        hint = " (a decimal point, not a comma)" if _DECIMAL_COMMA.search(value) else ""
        msg = f'is not an angle: write 24.6 or "24.6 deg"{hint}'
        raise ValueError(msg)
    return float(found[1])


def measured(text: str) -> float:
    """Return a text that `MEASURES` matches, as "2 ft 4 in" or "23 1/2 in", in mm."""
    found = re.finditer(_MEASURE, text, re.IGNORECASE)
    # 24 in is 609.6 mm, not 609.5999999999999
    return round(sum(_number(one[1]) * MM_PER_UNIT[_plain_unit(one[2])] for one in found), 9)


def _read_length(text: str) -> float | None:
    """Return a text as a length in mm, or None."""
    sign = -1.0 if text.strip().startswith("-") else 1.0
    rest = text.strip().lstrip("+-")
    if len(text.strip()) - len(rest) > 1:
        return None
    if MEASURES.fullmatch(rest):
        return sign * measured(rest)
    plain = _PLAIN.fullmatch(rest)
    return sign * _number(plain[1]) if plain else None


def _number(text: str) -> float:
    """Return "23.5", "1/2" or "23 1/2" as a number."""
    if "/" not in text:
        return float(text)
    whole, _, part = text.replace("-", " ").rpartition(" ")
    above, below = (int(number) for number in part.split("/"))
    if not below:
        msg = f"divides by zero: {text}"
        raise ValueError(msg)
    return float(whole or 0) + above / below


def _plain_unit(unit: str) -> str:
    return "in" if unit.lower() in ("inch", '"') else unit.lower()


def _one_line(text: str) -> str:
    if not text.strip() or not text.isprintable():
        msg = "must be one line of printable text"
        raise ValueError(msg)
    return text


def length_schema(**bounds: float) -> dict[str, Any]:
    """Return the JSON Schema of a length: a number within bounds, or text with a unit."""
    one = r"([0-9]+[ -])?[0-9./]+(e[-+]?[0-9]+)?\s*(mm|cm|m|inch|in|ft|\")?"
    text = {"type": "string", "pattern": rf"^\s*[-+]?{one}(\s+{one})*\s*$"}
    return {"anyOf": [{"type": "number", **bounds}, text]}


Length = Annotated[
    float,
    Field(ge=-FARTHEST, le=FARTHEST, allow_inf_nan=False),
    BeforeValidator(millimetres),
    WithJsonSchema(length_schema(minimum=-FARTHEST, maximum=FARTHEST)),
]
"""A place or an offset, mm, of either sign."""

Depth = Annotated[
    float,
    Field(ge=0, le=FARTHEST, allow_inf_nan=False),
    BeforeValidator(millimetres),
    WithJsonSchema(length_schema(minimum=0, maximum=FARTHEST)),
]
"""A length that may be nothing, mm."""

Size = Annotated[
    float,
    Field(ge=SMALLEST, le=FARTHEST, allow_inf_nan=False),
    BeforeValidator(millimetres),
    WithJsonSchema(length_schema(minimum=SMALLEST, maximum=FARTHEST)),
]
"""A length that must be something, mm."""

FocalLength = Annotated[
    float,
    Field(ge=1, le=1e12, allow_inf_nan=False),
    BeforeValidator(millimetres),
    WithJsonSchema(length_schema(minimum=1, maximum=1e12)),
]
"""mm; the limit is far out so that an all but flat lens can be written."""

Height = Annotated[
    float,
    Field(ge=500, le=1e7, allow_inf_nan=False),
    BeforeValidator(millimetres),
    WithJsonSchema(length_schema(minimum=500, maximum=1e7)),
]
"""Of an eye above the ground outside, mm; 0.5 m to 10 km."""

Distance = Annotated[
    float,
    Field(ge=-1e8, le=1e8, allow_inf_nan=False),
    BeforeValidator(millimetres),
    WithJsonSchema(length_schema(minimum=-1e8, maximum=1e8)),
]
"""To something outside, mm; up to 100 km, negative behind."""

Mass = Annotated[float, Field(strict=True, ge=0.001, le=1000, allow_inf_nan=False)]
"""kg"""

Angle = Annotated[
    float,
    Field(strict=True, ge=-MOST_DEGREES, le=MOST_DEGREES, allow_inf_nan=False),
    BeforeValidator(degrees),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": -MOST_DEGREES, "maximum": MOST_DEGREES},
                {"type": "string", "pattern": r"^\s*[-+]?[0-9.]+ *(deg|degrees|°)\s*$"},
            ]
        }
    ),
]
"""Degrees."""

Name = Annotated[str, Field(strict=True, min_length=1, max_length=80), AfterValidator(_one_line)]
Colour = Annotated[str, Field(strict=True, pattern="^#[0-9a-fA-F]{6}$")]

Vector = tuple[Length, Length, Length]
"""A point or an offset in the rig frame: right, forward, up; mm."""
