"""Outputs feed screens that are there, each once."""

import pytest

from seamsight.scene import read_rig


def output(name, screen):
    return f'[[output]]\nname = "{name}"\nlink = "HDMI 1.4"\nscreens = ["{screen}"]\n'


@pytest.mark.parametrize(
    ("first", "second", "line", "said"),
    [
        (("a", "center"), None, 15, 'there is no screen "center" (did you mean "centre"?)'),
        (("a", "wall.3"), None, 15, 'no screen "wall.3" (did you mean "wall.'),
        (("a", "wall"), None, 15, 'there is no screen "wall"'),
        (("a", "centre"), ("b", "centre"), 19, 'screen "centre" is fed by output "a" already'),
        (("a", "centre"), ("a", "wall.1"), 17, 'the name "a" is used twice'),
    ],
)
def test_refused(problems_of, rig_text, first, second, line, said):
    text = rig_text("screen") + output(*first) + (output(*second) if second else "")
    told = problems_of(text + rig_text("bank"))
    assert len(told) == 1
    assert told[0].startswith(f"rig.toml:{line}: output ")
    assert said in told[0]


def test_a_splitter_feeds_each_screen_once(problems_of, rig_text):
    text = rig_text("screen output", ('["centre"]', '["centre", "centre"]'))
    told = problems_of(f'{text}splitter = {{ outputs = 2, link = "VGA" }}\n')
    assert [one for one in told if 'fed by output "socket" already' in one] == told


def test_mirror_images_and_units_can_be_fed(write_rig, rig_text):
    screen = rig_text("screen", 'mirror = "other"')
    text = screen + output("a", "other") + output("b", "wall.2") + rig_text("bank")
    assert len(read_rig(write_rig(text)).output) == 2


@pytest.mark.parametrize("wrong", ["output = 3", "[[output]]\nscreens = 3", "[[output]]\nname = 3"])
def test_other_things_in_its_place_are_refused(problems_of, rig_text, wrong):
    assert problems_of(f"{wrong}\n" if wrong[0] == "[" else "", header=f"{wrong}\n")
