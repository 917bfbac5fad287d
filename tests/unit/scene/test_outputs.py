"""What an output and a splitter may be, and what is refused of them."""

import pytest

from seamsight.scene import read_rig

OUTPUT = {
    "link not known": (('"HDMI 1.4"', '"HDMI 1.5"'), 13, 'did you mean "HDMI 1.'),
    "adapter not known": ('adapter = "coax"', 15, "adapter must be"),
    "no screens": (('["centre"]', "[]"), 14, "screens must have at least 1 item"),
    "two screens without a splitter": (
        ('["centre"]', '["centre", "centre"]'),
        11,
        "feeds one screen unless it has a splitter (got 2 screens)",
    ),
    "refresh": ("refresh = 0", 15, "refresh must be at least 10 (got 0)"),
    "pixels": ("pixels = [0, 5]", 15, "pixels item 1 must be at least 1 (got 0)"),
    "desktop": ("desktop = [0.5, 0]", 15, "desktop item 1 must be a whole number (got 0.5)"),
    "desktop of one number": ("desktop = [5]", 15, "desktop needs two numbers (got 1)"),
    "splitter of nothing": (
        'splitter = { outputs = 0, link = "HDMI 1.4" }',
        15,
        "splitter outputs must be at least 2 (got 0)",
    ),
    "splitter's link not known": (
        'splitter = { outputs = 2, link = "HDMI 1.44" }',
        15,
        'did you mean "HDMI 1.4"?',
    ),
    "splitter's rows": (
        'splitter = { outputs = 4, link = "HDMI 1.4", rows = 2 }',
        11,
        "splitter rows must divide the number of screens, 1 (got 2 rows)",
    ),
    "unknown key": ("refesh = 60", 15, 'unknown key "refesh" (did you mean "refresh"?)'),
}


@pytest.mark.parametrize(("change", "line", "said"), OUTPUT.values(), ids=OUTPUT.keys())
def test_rule_of_an_output(problems_of, rig_text, change, line, said):
    told = problems_of(rig_text("screen output", change))
    own = [one for one in told if one.startswith(f"rig.toml:{line}: output ")]
    assert any(said in one for one in own), told


def test_more_screens_than_the_splitter_has_outputs(problems_of, rig_text):
    three = 'screens = ["wall.1", "wall.2", "centre"]\nsplitter = { outputs = 2, link = "VGA" }'
    [told] = problems_of(rig_text("screen bank output", ('screens = ["centre"]', three)))
    assert "more screens than its splitter has outputs: 2 (got 3 screens)" in told


def test_its_defaults(write_rig, rig_text):
    [output] = read_rig(write_rig(rig_text("screen output"))).output
    assert (output.refresh, output.pixels, output.desktop) == (60, None, None)


def test_set_and_formulas_reach_it(write_rig, rig_text):
    file = write_rig(rig_text("screen output", 'refresh = "= 50 + 25"'))
    assert read_rig(file).output[0].refresh == 75
    changed = read_rig(file, {"socket.refresh": 120, "socket.link": "DVI dual link"}).output[0]
    assert (changed.refresh, changed.link) == (120, "DVI dual link")
