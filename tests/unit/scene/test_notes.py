"""Where notes are in a rig file: counted by hand."""

from seamsight.scene.notes import Note, with_lines

SOURCE = """\
format = 1
name = "rig"
pilot.eye_point = [0, 0, 0]

[[screen]]
name = "left"
mirror = "right"
width = 400
height = 300
pixels = [800, 600]
centre = [-300, 600, 0]

[[lens]]
screen = "left"
width = 500

[[bank]]
name = "wall"
screen = { width = 400, pixels = [
  1, 2] }
"""


def line_of(*where, source=SOURCE):
    [note] = with_lines([Note("misfit", ("a",), "text", 1.0, where)], source)
    return note.line


def test_keys_are_found_by_names():
    assert line_of("screen", "left", "pixels") == 10
    assert line_of("screen", "right", "pixels") == 10  # its mirror image
    assert line_of("lens", "left", "width") == 15
    assert line_of("lens", "right", "width") == 15
    assert line_of("bank", "wall", "screen", "pixels") == 19
    assert line_of("pilot", "eye_point") == 3


def test_a_key_that_is_not_written_is_its_tables():
    assert line_of("screen", "left", "lip") == 5
    assert line_of("bank", "wall", "screen", "lip") == 19
    assert line_of("bank", "nobody", "screen") == 17
    assert line_of("world", "pitch") is None


def test_a_rig_of_no_file_has_no_lines():
    assert line_of("screen", "left", source=None) is None


def test_json_has_the_line_and_not_the_place():
    note = Note("clash", ("a", "b"), "text", 2.5, ("board", "a"), 7)
    assert note.as_json() == {
        "kind": "clash",
        "names": ("a", "b"),
        "text": "text",
        "amount": 2.5,
        "line": 7,
    }
