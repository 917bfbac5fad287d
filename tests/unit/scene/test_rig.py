"""What the tables of a rig file may hold: their defaults, and a row for each rule of their keys."""

import pytest

from seamsight.scene import Head, read_rig


def test_units_and_defaults(write_rig, rig_text):
    rig = read_rig(write_rig(rig_text("screen", ("width = 400", 'width = "40 cm"'))))
    assert rig.screen[0].size == (400, 300)
    assert (rig.pilot.pupil_distance, rig.pilot.neck) == (63, 100)
    assert (rig.screen[0].body, rig.screen[0].luminance, rig.screen[0].shows) == (40, 250, "world")


def test_design_head_comes_first(write_rig, rig_text):
    assert list(read_rig(write_rig(rig_text("head"))).heads()) == ["design", "left"]


RULES = {
    "negative size": (
        "board",
        ("[100,", "[-100,"),
        7,
        "size item 1 must be at least 0.01 (got -100)",
    ),
    "no size": ("board", ("[100,", "[0,"), 7, "size item 1 must be at least 0.01 (got 0)"),
    "too far": ("board", ("0, 500", "0, 5e8"), 8, "centre item 2 must be at most 100000"),
    "unknown material": (
        "board",
        'material = "steal"',
        9,
        '(got "steal") (did you mean "steel"?)',
    ),
    "unknown role": ("board", 'role = "hud"', 9, 'role must be "hood", "bracket"'),
    "bad colour": (
        "board",
        'colour = "red"',
        9,
        'colour must be a colour such as "#334455" (got "red")',
    ),
    "empty name": ("board", ("shelf", ""), 6, "name must"),
    "name of several lines": (
        "board",
        ("shelf", r"a\nb"),
        6,
        "name must be one line of printable text",
    ),
    "pupil distance": (
        "",
        "pupil_distance = 6300",
        5,
        "pilot: pupil_distance must be at most 200 (got 6300)",
    ),
    "seat above the eyes": (
        "",
        "seat = 2000",
        3,
        "pilot: seat must be below the design eye point, 0 (got 2000)",
    ),
    "bank without units": (
        "bank",
        ("count = 2", "count = 0"),
        7,
        "count must be at least 1 (got 0)",
    ),
    "bank's toe": (
        "bank",
        'toe = "tuch"',
        10,
        'toe must be "touch" (got "tuch") (did you mean "touch"?)',
    ),
    "bank's screen": ("bank", (", pixels = [800, 600]", ""), 9, "screen pixels is missing"),
    "bank's lens": (
        "bank",
        "lens = {focal_length = 9, distance = 9, width = 9, height = 9}",
        10,
        "must be closer to the screen",
    ),
    "bank's slots and frame": (
        "bank",
        "lens = {focal_length = 90, distance = 9, width = 9, height = 9, "
        "frame = {width = 1, depth = 1}}\ncarcass = {slot = {}}",
        5,
        "leave out slot or frame",
    ),
    "notch in nothing": ("board", "notch = 0.3", 5, 'notch needs in = "NAME"'),
    "hole of no shape": (
        "plate",
        "holes = [ { at = [0, 0], diameter = 9 } ]",
        10,
        'hole 1 has no shape: add shape = "circle"',
    ),
    "hole of unknown shape": (
        "plate",
        'holes = [{ shape = "oval" }]',
        10,
        'must be "circle" or "rect"',
    ),
    "hole outside": (
        "plate",
        'holes = [{ shape = "circle", at = [200, 0], diameter = 9 }]',
        5,
        "hole 1 is outside",
    ),
    "hole's corners": (
        "plate",
        'holes = [{ shape = "rect", at = [0, 0], size = [9, 8], radius = 5}]',
        10,
        "half",
    ),
    "mark's tolerance": ("mark", "within = 0", 9, "within must be at least 0.01"),
}


@pytest.mark.parametrize(("tables", "change", "line", "said"), RULES.values(), ids=RULES.keys())
def test_rule(assert_told, tables, change, line, said):
    assert_told(tables, change, line, said)


def test_a_head_moved_on():
    head = Head(name="leaning", offset=(1, 2, 3), turn=10, nod=-5)
    moved = head.moved((10, 20, 30), turn=5, tilt=1)
    assert moved.offset == (11, 22, 33)
    assert (moved.turn, moved.nod, moved.tilt) == (15, -5, 1)
    assert moved.name == "leaning"
    assert head.offset == (1, 2, 3)
