"""What a page and its server tell each other over a WebSocket.

The page asks with one JSON message, a `Request`. It gets one binary message, made by `packed`: four
bytes, the length of a JSON object; that object; and the pictures whose `sizes` the object names.
"""

import json
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from seamsight.viewer.live.drawn_parts import KEY_BYTES
from seamsight.viewer.live.preview import WIDEST, WIDTH
from seamsight.viewer.live.state import LiveState, Orbit

LARGEST_REQUEST = 65_536  # bytes; one takes some 300, and 100 more with each changed number
MOST_CHANGES = 24  # numbers of the rig file, each with a slider
MOST_KEYS = 2000  # of parts and pictures; `page_shapes.js` knows it too
LARGEST_NUMBER = 1e13  # beyond every key's limit

Want = Literal["pair", "sharp", "stage", "numbers", "save", "write", "save_as", "shapes", "room"]


def _with_head(state: LiveState) -> LiveState:
    """Refuse a state whose head is out of bounds: making the head checks them."""
    _ = state.head
    return state


def _whole(value: float) -> float:
    """Return a whole number as such, to be written without a point."""
    return int(value) if value.is_integer() else value


PathInWords = Annotated[str, Field(min_length=1, max_length=300)]
Key = Annotated[str, Field(max_length=2 * KEY_BYTES)]
ChangedNumber = Annotated[
    float,
    Field(ge=-LARGEST_NUMBER, le=LARGEST_NUMBER, allow_inf_nan=False, strict=True),
    AfterValidator(_whole),
]


class Request(BaseModel):
    """What a page asks for: what it wants, a number that comes back with it, the state to show.

    Pictures have `width` pixels across. `changes` count instead of the rig file's numbers.
    `version` is that of the file to write to, `name` that of a new one. `has` are the keys of the
    parts and pictures that the page has; see `drawn_parts`. `surface` is the name of the head
    room's that it has.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    want: Want
    number: int = Field(ge=0, le=2**53)
    state: Annotated[LiveState, AfterValidator(_with_head)]
    moving: bool = False
    width: int = Field(WIDTH, ge=WIDTH // 2, le=WIDEST, strict=True)
    orbit: Orbit = Orbit()
    changes: dict[PathInWords, ChangedNumber] = Field({}, max_length=MOST_CHANGES)
    version: str = Field("", max_length=64)
    name: str = Field("", max_length=200)
    has: list[Key] = Field([], max_length=MOST_KEYS)
    surface: str = Field("", max_length=64)


def packed(facts: dict[str, Any], pictures: list[bytes] | None = None) -> bytes:
    """Return a message to the page: length of the facts, the facts as JSON, the pictures."""
    pictures = pictures or []
    text = json.dumps(facts | {"sizes": [len(picture) for picture in pictures]}).encode()
    return b"".join([len(text).to_bytes(4, "big"), text, *pictures])


def refusal(error: ValidationError) -> bytes:
    """Return the message that tells the page what is wrong with its request."""
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    where = ".".join(map(str, first["loc"]))
    problem = f"The request was not understood: {where} {first['msg']}"
    return packed({"kind": "refused", "problem": problem})
