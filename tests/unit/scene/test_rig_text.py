"""A rig file's text after one value was changed: that value and nothing else."""

import copy
import tomllib

import pytest

from seamsight.scene import ChoiceError
from seamsight.scene.rig_text import with_values
from seamsight.scene.values import numbers_of, put

TEXT = """\
format = 1   # the only one
name = "rig = [1]"

[values]
board = "18 mm"        # "= 3" in a comment
half = "= board / 2"

[[bank]]
name = "row"
radius = 600 # from the eye
screen = { diagonal = "22 in", bezel = 16, pixels = [1680,
   1050] } # two lines
gap=0

[[board]]
name = "shelf"
size = [ 1, 0x10, 3.0e1 ] # three
"centre" = [0, "2 ft 4 in", 3]
yaw = "24.6 deg"
[[board]]
name = "other"
size = [1, 2, 3]
"""


@pytest.fixture(params=["\n", "\r\n"], ids=["LF", "CRLF"])
def text(request):
    return TEXT.replace("\n", request.param)


@pytest.mark.parametrize(
    ("words", "value", "before", "after"),
    [
        ("row.radius", 650, "radius = 600 #", "radius = 650 #"),
        ("row.gap", 1.5, "gap=0", "gap=1.5"),
        ("shelf.size.2", 0.1 + 0.2, "0x10", "0.3"),
        ("shelf.centre.2", 25.4, '"2 ft 4 in"', '"1 in"'),
        ("row.screen.diagonal", 685.8, '"22 in"', '"27 in"'),
        ("row.screen.diagonal", "24 in", '"22 in"', '"24 in"'),
        ("shelf.yaw", -3, '"24.6 deg"', '"-3 deg"'),
        ("values.board", 12, '"18 mm"', '"12 mm"'),
        ("values.half", 8, '"= board / 2"', "8"),
        ("values.half", "= board", '"= board / 2"', '"= board"'),
        ("shelf.size", [4, 5, 6], "[ 1, 0x10, 3.0e1 ]", "[4, 5, 6]"),
    ],
)
def test_one_value_changes_and_nothing_else(text, words, value, before, after):
    assert text.count(before) == 1
    expected = text.replace(before, after)
    assert with_values(text.encode(), {words: value}) == expected.encode()
    # a byte order mark stays
    mark = b"\xef\xbb\xbf"
    assert with_values(mark + text.encode(), {words: value}) == mark + expected.encode()


def test_several_values_at_once(text):
    changed = with_values(text.encode(), {"row.radius": 1, "shelf.size.1": 123456, "row.gap": 2})
    assert changed.decode() == text.replace("600 #", "1 #").replace("[ 1,", "[ 123456,").replace(
        "gap=0", "gap=2"
    )


def test_every_number_of_the_samples(sample):
    content = sample.read_bytes()
    data = tomllib.loads(content.decode())
    numbers = numbers_of(data)
    assert len(numbers) > 15
    for words, path in numbers.items():
        changed = with_values(content, {words: "= 123"})
        expected = copy.deepcopy(data)
        put(expected, path, "= 123")
        assert tomllib.loads(changed.decode()) == expected
        # the same number of lines, all but one the same
        here, there = content.splitlines(), changed.splitlines()
        assert len(here) == len(there)
        assert sum(one != other for one, other in zip(here, there, strict=True)) == 1


@pytest.mark.parametrize(
    ("words", "value", "told"),
    [
        ("row.pitch", 3, "is not written in the rig file"),
        ("row.lens.width", 3, "not written"),
        ("nothing.radius", 3, "nothing called"),
        ("row.radius", {"a": 1}, "cannot be written"),
    ],
)
def test_what_cannot_be_changed(text, words, value, told):
    with pytest.raises(ChoiceError, match=told):
        with_values(text.encode(), {words: value})
