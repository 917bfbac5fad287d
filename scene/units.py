"""Lengths, angles, names and colours as a rig file writes them.

Inside the program every length is in millimetres; a rig file may say `"22 in"`. Angles stay degrees
in the rig's own tables and become radians where things are placed.
"""

import re
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema

MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
# mm; beyond 100 m a rig is a typing error, and single precision in the caster too coarse
FARTHEST = 100_000.0
MOST_DEGREES = 360.0  # of an angle, either way
# mm; nothing thinner can be built, and degenerate shapes begin below it
SMALLEST = 0.01

_QUANTITY = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)\s*([a-z]*)\s*", re.IGNORECASE)


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
    found = _QUANTITY.fullmatch(value) if isinstance(value, str) else None
    factor = MM_PER_UNIT.get(found[2].lower() or "mm") if found else None
    if found is None or factor is None:
        msg = 'is not a length: write 610, "610 mm", "61 cm", "0.61 m", "24 in" or "2 ft"'
        raise ValueError(msg)
    return round(float(found[1]) * factor, 9)  # 24 in is 609.6 mm, not 609.5999999999999


def _one_line(text: str) -> str:
    if not text.strip() or not text.isprintable():
        msg = "must be one line of printable text"
        raise ValueError(msg)
    return text


def length_schema(**bounds: float) -> dict[str, Any]:
    """Return the JSON Schema of a length: a number within bounds, or text with a unit."""
    unit = "|".join(MM_PER_UNIT)
    text = {"type": "string", "pattern": rf"^\s*[-+]?[0-9.]+(e[-+]?[0-9]+)?\s*({unit})?\s*$"}
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

Angle = Annotated[float, Field(strict=True, ge=-MOST_DEGREES, le=MOST_DEGREES, allow_inf_nan=False)]
"""Degrees."""

Name = Annotated[str, Field(strict=True, min_length=1, max_length=80), AfterValidator(_one_line)]
Colour = Annotated[str, Field(strict=True, pattern="^#[0-9a-fA-F]{6}$")]

Vector = tuple[Length, Length, Length]
"""A point or an offset in the rig frame: right, forward, up; mm."""
