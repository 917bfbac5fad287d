"""Which messages the page's server takes for requests."""

import json

import pytest

GOOD = {"want": "pair", "number": 1, "state": {}}
BIG = {f"path {number}": 1.0 for number in range(100)}
GARBAGE = [
    json.dumps(GOOD | {"changes": {"a": float("nan")}}),
    json.dumps(GOOD | {"changes": {"a": float("inf")}}),
    json.dumps(GOOD | {"changes": {"a": 1e300}}),
    json.dumps(GOOD | {"changes": {"a": "12 mm"}}),
    json.dumps(GOOD | {"changes": {"a": True}}),
    json.dumps(GOOD | {"changes": {"a": None}}),
    json.dumps(GOOD | {"changes": {"": 1}}),
    json.dumps(GOOD | {"changes": {"x" * 400: 1}}),
    json.dumps(GOOD | {"changes": ["a"]}),
    json.dumps(GOOD | {"changes": BIG}),
    json.dumps(GOOD | {"version": 1}),
    json.dumps(GOOD | {"version": "x" * 100}),
    json.dumps(GOOD | {"name": ["a"]}),
    json.dumps(GOOD | {"name": "x" * 300}),
    json.dumps(GOOD | {"path": "/etc/passwd"}),
    json.dumps(GOOD | {"want": "shapes", "has": "0123456789abcdef"}),
    json.dumps(GOOD | {"want": "shapes", "has": [1]}),
    json.dumps(GOOD | {"want": "shapes", "has": ["x" * 17]}),
    json.dumps(GOOD | {"want": "shapes", "has": ["x"] * 2001}),
    "",
    "{",
    "[]",
    "null",
    b"\x00\xff",
    "[" * 2000,
    json.dumps(GOOD | {"want": "file"}),
    json.dumps(GOOD | {"number": -1}),
    json.dumps(GOOD | {"more": 1}),
    json.dumps(GOOD | {"state": {"x": "far"}}),
    json.dumps(GOOD | {"state": {"x": float("nan")}}),
    json.dumps(GOOD | {"state": {"z": 1e300}}),
    json.dumps(GOOD | {"state": {"turn": 1e6}}),
    json.dumps(GOOD | {"state": {"more": 1}}),
    *(
        json.dumps(GOOD | {"want": "sharp", "width": width})
        for width in (0, -640, 319, 1921, 1e9, 640.5, "640", True, None, [640, 360])
    ),
    json.dumps(GOOD | {"orbit": {"distance": 0}}),
    json.dumps(GOOD | {"orbit": {"elevation": float("nan")}}),
    json.dumps(GOOD | {"orbit": {"more": 1}}),
]


@pytest.mark.parametrize("garbage", GARBAGE, ids=range(len(GARBAGE)))
def test_garbage_is_refused_and_the_line_goes_on(talk, garbage):
    talk.socket.send(garbage)
    facts, _ = talk.hear()
    assert facts["kind"] == "refused" and facts["problem"]
    assert talk.pair()[0]["kind"] == "pair"
