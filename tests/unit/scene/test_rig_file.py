"""Reading a rig file: what is taken, and what is refused of a file as a whole."""

import re

import pytest

from seamsight.scene import RigError, build, read_rig
from seamsight.scene.rig_file import read_source, rig_of, source_of


@pytest.mark.parametrize("start", ["", "\ufeff"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_byte_order_mark_and_windows_newlines(write_rig, rig_text, start, newline):
    text = start + 'format = 1\nname = "Möwe"\n[pilot]\neye_point = [0, 0, 0]\n' + rig_text("board")
    assert read_rig(write_rig(text.replace("\n", newline).encode())).name == "Möwe"


def test_files_beside_the_rig(write_rig, rig_text, tetrahedron, picture):
    wide = rig_text("bank", ("}", ', shows = { wide = "view.png", part = 1, of = 3 } }'))
    text = rig_text("mesh") + rig_text("screen", 'shows = "view.png"') + wide
    rig = read_rig(write_rig(text, wheel__stl=tetrahedron, view__png=picture))
    assert len(build(rig).screens) == 3


@pytest.mark.parametrize("content", [b"", b"\n", b"# nothing\n", b"\xef\xbb\xbf"])
def test_empty_file(problems_of, content):
    assert problems_of(content) == [
        f"rig.toml:1: {key} is missing" for key in ("format", "name", "pilot")
    ]


@pytest.mark.parametrize(
    "content", [b'format = 1\nname = "\xe4"\n', b"a = 1\n\x80\x81", b"x = 1\n\xff\xfe\x00\x00"]
)
def test_not_utf8(problems_of, content):
    assert problems_of(content) == ["rig.toml:2: is not UTF-8 text"]


@pytest.mark.parametrize("content", [b"\x00" * 100, bytes(range(128)), b"\x7fELF\x01\x00"])
def test_binary(problems_of, content):
    assert re.fullmatch(r"rig.toml:\d+: is not valid TOML: .*", problems_of(content)[0])


def test_missing_file(tmp_path):
    with pytest.raises(RigError, match=r"no\.toml: no such file"):
        read_rig(tmp_path / "no.toml")


def test_folder(tmp_path):
    with pytest.raises(RigError, match="is a folder, not a rig file"):
        read_rig(tmp_path)


def test_too_large_a_file(problems_of):
    assert problems_of(b"# " + b"x" * 2**20) == [
        "rig.toml: is too large for a rig file: at most 1 MB"
    ]


@pytest.mark.parametrize("key", ["{}", "[{}]", "a = {{ {} = 1 }}", '"b c" . {}'])
def test_very_long_keys_are_refused_at_once(problems_of, key):
    # tomllib takes hours for 200,000 parts
    long = key.format(".".join(["a"] * 200_000))
    assert problems_of(f"\n{long} = 1\n", header="") == [
        "rig.toml:2: has a key of more than 16 parts"
    ]


def test_what_tomllib_says_stays_one_short_line(problems_of):
    name = "k" * 5000 + "\\u001b"
    [line] = problems_of(f'[["{name}"]]\n["{name}"]\n', header="")
    assert line.startswith("rig.toml:2: is not valid TOML: Cannot ") and len(line) < 300


def test_very_many_problems_are_counted(problems_of):
    lines = problems_of("".join(f"k{number} = 1\n" for number in range(5000)))
    assert len(lines) == 51
    assert lines[0] == 'rig.toml:5: pilot: unknown key "k0"'
    assert lines[-1] == "rig.toml: and 4950 more"


def test_very_many_wrong_tables_are_not_held_to_each_other(problems_of):
    name = "abcdefghijklmnopqrstuvwxyz" * 2
    lenses = "".join(f'[[lens]]\nscreen = "{name}{number}"\n' for number in range(4000))
    screens = "".join(f'[[screen]]\nname = "b{name}{number}"\n' for number in range(4000))
    assert len(problems_of(lenses + screens)) == 51


@pytest.mark.parametrize(
    "text", [b"a = " + b"[" * 9999, b"a = " + b"[" * 9999 + b"]" * 9999, b"a = " + b"9" * 9999]
)
def test_nested_or_long_beyond_reason(problems_of, text):
    assert "is not valid TOML" in problems_of(text)[0]


NO_TOML = {
    "words": ("", "this is not TOML", 5),
    "key twice": ("board", "yaw = 1\nyaw = 2", 10),
    "text without an end": ("board", 'material = "ply', 9),
}


@pytest.mark.parametrize(("tables", "change", "line"), NO_TOML.values(), ids=NO_TOML.keys())
def test_what_is_no_toml(assert_told, tables, change, line):
    assert_told(tables, change, line, "is not valid TOML")


def test_a_source_gives_the_rigs_that_its_file_gives(sample):
    source = read_source(sample)
    assert source.content == sample.read_bytes()
    changes = {"pilot.pupil_distance": 70}
    for change in (changes, {}, changes):
        assert rig_of(source, change) == read_rig(sample, change)
        assert rig_of(source, change).changes == change
    assert source == read_source(sample)  # whatever was made of it
    assert source_of(str(sample), source.content) == source


@pytest.mark.parametrize(
    ("written", "hint"),
    [
        ('x = 27"', '(write it in quotes: "27 in")'),
        ("x = 16/9", '(write it in quotes: "16:9")'),
        ("x = 2 ft 4 in   # wide", '(write it in quotes: "2 ft 4 in")'),
        ("x = 24.6 deg", '(write it in quotes: "24.6 deg")'),
        ("x = [22 in, 3, 4]", '(write it in quotes: "22 in")'),
        ("x = { a = 3, b = 23 1/2 in }", '(write it in quotes: "23 1/2 in")'),
        ("x = lens_width / 2", '(write it in quotes: "= lens_width / 2")'),
        ("x = world", '(write it in quotes: "world")'),
        ("x = 1,5", "(write a decimal point, not a comma)"),
        ("x = [1, 2", ""),
        ("x = = 3", ""),
    ],
)
def test_what_should_have_been_in_quotes(problems_of, written, hint):
    [told] = problems_of(f"{written}\n")
    assert told.endswith(hint)
    assert ("(write" in told) == bool(hint)
