"""Lines of keys, against the standard library's own reading of the same text."""

import json
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamsight.scene.toml_lines import DEEPEST, key_lines, long_key_line

bare = st.text("abcXYZ019_-", min_size=1, max_size=4)
texts = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x2FF, exclude_characters="\x7f"), max_size=6
)
words = bare | texts
scalars = (
    st.integers(-99, 99).map(str)
    | st.sampled_from(
        ["true", "1.5", "1979-05-27", "'a # b'", '"""x\n\n y"""', "'''\nq'''", "inf", "07:32:00"]
    )
    | texts.map(lambda text: json.dumps(text, ensure_ascii=False))
)


def key(word):
    bare_word = word and all(letter in "abcXYZ019_-" for letter in word)
    return word if bare_word else json.dumps(word, ensure_ascii=False)


gaps = st.sampled_from(["", " ", "\n", " # note, ] [x]\n", "\n\n  "])
dotted = st.lists(words, min_size=1, max_size=3).map(
    lambda parts: " . ".join(key(part) for part in parts)
)


@st.composite
def arrays(draw, items):
    found = draw(st.lists(items, max_size=3))
    return "[" + "".join(f"{draw(gaps)}{item}{draw(gaps)}," for item in found) + draw(gaps) + "]"


@st.composite
def inline_tables(draw, items):
    return (
        "{ "
        + ", ".join(f"{name} = {draw(items)}" for name in draw(st.lists(dotted, max_size=3)))
        + " }"
    )


values = st.recursive(scalars, lambda items: arrays(items) | inline_tables(items), max_leaves=6)


@st.composite
def documents(draw):
    """A text that may be TOML: keys and tables under a few names, so that they meet again."""
    heads = st.lists(st.sampled_from(["a", "b", '"c d"', "e"]), min_size=1, max_size=3).map(
        ".".join
    )
    header = heads.map("[{}]".format) | heads.map("[[ {} ]]".format)
    pair = st.tuples(dotted, values).map(" = ".join)
    lines = draw(st.lists(header | pair | st.sampled_from(["", "# note", "   "]), max_size=9))
    return "\n".join(line + draw(st.sampled_from(["", "", " # end"])) for line in lines) + "\n"


def paths_of(data, path=()):
    """Yield the path of everything in tomllib's reading but the whole."""
    items = (
        data.items()
        if isinstance(data, dict)
        else enumerate(data)
        if isinstance(data, list)
        else ()
    )
    for name, value in items:
        yield (*path, name)
        yield from paths_of(value, (*path, name))


@settings(max_examples=400)
@given(text=documents())
def test_every_path_has_a_line_of_the_text(text):
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = key_lines(text)
    assert set(lines) == {path for path in paths_of(data) if len(path) <= DEEPEST}
    assert all(1 <= line <= text.count("\n") for line in lines.values())


def test_lines_of_a_rig():
    lines = key_lines(
        'name = "x"\n'  # 1
        "[pilot]\n"
        "eye_point = [\n"  # 3
        "  0,\n"
        "  # up\n"
        "  1 ]\n"  # 6
        "[[screen]]\n"
        "a.b = 1\n"  # 8
        "[[screen]]\n"
        "holes = [ { at = 1 },\n"  # 10
        "  { at = 2 } ]\n"
        "[screen.frame]\n"  # 12
        "width = 3\n"
    )
    assert lines[("name",)] == 1
    assert lines[("pilot",)] == 2
    assert [lines[("pilot", "eye_point", item)] for item in (0, 1)] == [4, 6]
    assert [lines[("screen", row)] for row in (0, 1)] == [7, 9]
    assert lines[("screen", 0, "a", "b")] == 8
    assert [lines[("screen", 1, "holes", row, "at")] for row in (0, 1)] == [10, 11]
    assert lines[("screen", 1, "frame", "width")] == 13


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_newlines(newline):
    assert key_lines(f"{newline}{newline}a = 1{newline}b = 2{newline}") == {("a",): 3, ("b",): 4}


def test_table_given_before_its_parent():
    assert key_lines("[a.b]\nc = 1\n[a]\nd = 2\n")[("a",)] == 3


def test_what_lies_very_deep_has_no_line():
    text = "a = " + "[" * 300 + "1, " * 1000 + "]" * 300 + "\n"
    assert max(map(len, key_lines(text))) == DEEPEST


@pytest.mark.parametrize("part", ["a", "a-b", '"a b"', "'a.b'"])
def test_keys_of_too_many_parts_are_found(part):
    whole = [part] * (DEEPEST + 1)
    for dot in (".", " . ", "\t."):
        assert long_key_line(f"\n\n[{dot.join(whole)}]\n") == 3
        assert long_key_line(f"\n\n[{dot.join(whole[1:])}]\n") is None


@pytest.mark.parametrize("text", ["a" * 10**6, "'" * 10**6, '"a' * 10**5, "a. " * 10 + " " * 10**6])
def test_long_lines_without_such_a_key_take_no_time(text):
    assert long_key_line(text) is None


def test_numbers_and_sentences_are_no_keys():
    assert long_key_line("a = [" + "1.5, " * 99 + "]\n# It is. So it is. " * 99) is None
