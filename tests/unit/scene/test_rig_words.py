"""The words in which a user is told what is wrong with a rig file, and on which line."""

import pytest

from seamsight.scene import RigError, read_rig


def test_message_tells_file_line_table_name_rule_and_value(problems_of, rig_text):
    assert problems_of(rig_text("board", ("100, 100, 20", "100, -100, 20"))) == [
        'rig.toml:7: board "shelf": size item 2 must be at least 0.01 (got -100)'
    ]


def test_file_is_called_as_the_user_wrote_it(write_rig, rig_text, monkeypatch):
    file = write_rig(rig_text("head", "x = 1"))
    monkeypatch.chdir(file.parent)
    with pytest.raises(RigError, match=r'^rig\.toml:7: head "left": unknown key "x"$'):
        read_rig("rig.toml")


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ('"\\u001b[31mred"', r'unknown key "\u001b[31mred"'),
        ('"x\\nrig.toml:1: forged"', r'unknown key "x\nrig.toml:1: forged"'),
        ('"\\u202eabc\\u009b"', r'unknown key "\u202eabc\x9b"'),
        ("k" * 5000, f'unknown key "{"k" * 56}…'),
    ],
)
def test_a_key_is_told_in_one_short_line_that_a_terminal_shows_as_it_is(
    problems_of, rig_text, key, said
):
    assert problems_of(rig_text("board", f"{key} = 1")) == [f'rig.toml:9: board "shelf": {said}']


def test_a_name_is_hinted_at_as_a_terminal_shows_it(problems_of, rig_text):
    screen = rig_text("screen", ('"centre"', '"centre\\u001b"'))
    told = problems_of(screen + rig_text("lens_at_150"))
    assert any(r'(did you mean "centre\u001b"?)' in line for line in told)
    assert not any("\x1b" in line for line in told)


@pytest.mark.parametrize(
    ("before", "tables", "line"),
    [("", "screen", 5), ("\n\n", "screen", 7), ("# note\n", "board screen", 10)],
)
def test_table_without_a_name_is_counted(problems_of, rig_text, before, tables, line):
    text = before + rig_text(tables, ('name = "centre"\n', ""))
    assert problems_of(text) == [f"rig.toml:{line}: screen #1: name is missing"]


def test_all_errors_of_a_file_are_told_in_the_order_of_their_lines(problems_of, rig_text):
    lines = problems_of(
        rig_text("board", ("size", "sise"))
        + rig_text("screen", ("[800, 600]", "[800]"))
        + rig_text("lens_at_150", 'screw = "m4"')
    )
    assert lines == [
        'rig.toml:5: board "shelf": size is missing',
        'rig.toml:7: board "shelf": unknown key "sise" (did you mean "size"?)',
        'rig.toml:13: screen "centre": pixels needs two numbers (got 1)',
        'rig.toml:21: lens "centre": unknown key "screw" (did you mean "screen"?)',
    ]


def test_problem_in_a_list_over_several_lines_has_its_own_line(problems_of, rig_text):
    whole = '{ shape = "circle", at = [0, 0], diameter = 9 }'
    holes = f'holes = [\n  {whole},\n  {{ shape = "circle", at = [0, 0] }} ]'
    assert problems_of(rig_text("plate", holes)) == [
        'rig.toml:12: plate "panel": hole 2 diameter is missing'
    ]


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_lines_count_the_same_with_any_newline(problems_of, rig_text, newline):
    head = rig_text("head", "turn = inf")
    text = f"format = 1\nname = 5\n[pilot]\neye_point = [0, 0, 0]\n{head}".replace("\n", newline)
    assert [line.split(": ")[0] for line in problems_of(text.encode())] == [
        "rig.toml:2",
        "rig.toml:7",
    ]


FILES = {
    "missing format": (b'name = "x"\n[pilot]\neye_point = [0, 0, 0]\n', 1, "format is missing"),
    "format 2": (
        b'format = 2\nname = "x"\n[pilot]\neye_point = [0, 0, 0]\n',
        1,
        "format must be 1 (got 2)",
    ),
    "missing pilot": (b'format = 1\nname = "x"\n', 1, "pilot is missing"),
    "missing eye point": (
        b'format = 1\nname = "x"\n[pilot]\nneck = 3\n',
        3,
        "pilot: eye_point is missing",
    ),
}


@pytest.mark.parametrize(("content", "line", "said"), FILES.values(), ids=FILES.keys())
def test_words_for_a_whole_file(problems_of, content, line, said):
    (told,) = problems_of(content)
    assert told.startswith(f"rig.toml:{line}: ")
    assert said in told


WORDS = {
    "unknown table": ("", "[[bord]]", 5, 'unknown key "bord" (did you mean "board"?)'),
    "unknown key": ("board", "yow = 3", 9, 'unknown key "yow" (did you mean "yaw"?)'),
    "unknown key far from any": ("board", "zzz = 3", 9, 'unknown key "zzz"'),
    "single brackets": (
        "board",
        ("[[board]]", "[board]"),
        5,
        "[board] may occur several times, so write it in double brackets: [[board]]",
    ),
    "text for a number": (
        "board",
        'yaw = "steep"',
        9,
        'yaw is not an angle: write 24.6 or "24.6 deg" (got "steep")',
    ),
    "number for text": ("board", ('"shelf"', "7"), 6, "name must be text in quotes (got 7)"),
    "true for a length": ("screen", "lip = true", 11, "lip is not a length"),
    "nan": ("board", "yaw = nan", 9, "yaw must be a finite number"),
    "inf": ("board", ("0, 500", "0, inf"), 8, "centre item 2 must be"),
    "unit unknown": (
        "board",
        ("[100,", '["100 px",'),
        7,
        "size item 1 is not a length: write 610",
    ),
    "too many items": ("board", ("20]", "20, 30]"), 7, "size must have at most 3 items"),
    "too few items": (
        "board",
        (", 20]", "]"),
        7,
        "size needs three numbers: right, forward, up (got 2)",
    ),
    "not a list": ("board", ("[100, 100, 20]", "100"), 7, "size must be a list (got 100)"),
}


@pytest.mark.parametrize(("tables", "change", "line", "said"), WORDS.values(), ids=WORDS.keys())
def test_words(assert_told, tables, change, line, said):
    assert_told(tables, change, line, said)


def test_a_table_s_own_rule_is_told_beside_its_wrong_keys(problems_of, rig_text):
    lens = rig_text("lens", ("height = 400\n", 'distance = 550\ngroves = "pilot"\n'))
    told = problems_of(rig_text("screen") + lens)
    assert [line.split(": ", 2)[2][:24] for line in told] == [
        "height is missing",
        "must be closer to the sc",
        'unknown key "groves" (di',
    ]
