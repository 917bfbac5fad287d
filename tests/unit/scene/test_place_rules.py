"""What is said of things that stand on nothing, or on themselves; and of names used twice."""

import pytest

from seamsight.scene import read_rig
from seamsight.scene.place_rules import MOST_LEVELS

BOARD = '[[board]]\nname = "{}"\nsize = [10, 10, 10]\ncentre = [0, 500, 0]\n'
SCREEN = (
    '[[screen]]\nname = "front"\nwidth = 400\nheight = 300\npixels = [8, 6]\ncentre = [0, 600, 0]\n'
)
LENS = (
    '[[lens]]\nscreen = "front"\nfocal_length = 450\ndistance = 150\nwidth = 500\nheight = 400\n'
    'carcass = { thickness = 12 }\nhood = { depth = 50, sides = ["top"] }\n'
)


def board(name, *keys):
    return BOARD.format(name) + "".join(f"{key}\n" for key in keys)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (board("a", 'on = "b"'), 9, 'nothing called "b" to stand on'),
        (board("shelf") + board("a", 'on = "shelv"'), 13, '(did you mean "shelf"?)'),
        (board("a", 'on = "a"'), 9, '"a" would stand on itself'),
        (board("a", 'on = "b"') + board("b", 'on = "a"'), 9, "go round in a circle"),
        (board("a", 'mirror = "b"', 'on = "b"'), 10, '"a" would stand on itself'),
        (SCREEN + 'on = "front lens"\n' + LENS, 11, '"front" would stand on itself'),
        (SCREEN + board("a", 'on = "front | side"'), 15, 'nothing called "side"'),
        ('[[head]]\nname = "h"\non = "x"\n', 7, 'nothing called "x"'),
        ('[[mark]]\nname = "m"\nat = [0,0,0]\nwant = [0,0,0]\non = "x"\n', 9, 'called "x"'),
        (board("a", 'in = "b"'), 9, 'nothing called "b" to be in'),
        (board("shelf") + board("a", 'in = "shelv"'), 13, '(did you mean "shelf"?)'),
        (board("a", 'in = "pilot"'), 9, 'nothing called "pilot" to be in'),
        (SCREEN + 'in = "front hood"\n' + LENS, 11, '(did you mean "front hood top"?)'),
        (board("a", "into = 3"), 9, 'unknown key "into" (did you mean "in"?)'),
        (board("a", 'let_into = "a"'), 9, 'unknown key "let_into"'),
        (board("a", 'mirror = "a"'), 6, 'the name "a" is used twice'),
        (SCREEN + LENS + board("front carcass top"), 20, "is used twice"),
        (SCREEN + LENS + board("front hood top"), 20, "is used twice"),
    ],
)
def test_what_is_told_with_its_line(problems_of, text, line, words):
    told = [one for one in problems_of(text) if words in one]
    assert told
    assert told[0].startswith(f"rig.toml:{line}: ")


def test_a_thing_may_be_in_any_part_or_row(write_rig):
    bank = (
        '[[bank]]\nname = "w"\ncount = 2\nradius = 600\n'
        "screen = { width = 400, height = 300, pixels = [8, 6] }\n"
    )
    names = ["w", "w.2", "front", "front lens", "front carcass left", "a"]
    boards = [board(f"b{number}", f'in = "{name}"') for number, name in enumerate(names)]
    rig = read_rig(write_rig(bank + SCREEN + LENS + board("a", 'mirror = "c"') + "".join(boards)))
    assert [one.let_into for one in rig.board if one.let_into] == names


def test_the_eye_inside_a_part_is_told_past_things_that_stand_on_nothing(problems_of):
    around = '[[board]]\nname = "box"\nsize = [10, 10, 10]\ncentre = [0, 0, 0]\n'
    told = problems_of(around + board("a", 'on = "nothing"') + board("c", 'on = "a"'))
    assert len(told) == 2
    assert any('inside "box"' in one for one in told)


def chain(count):
    links = [board(f"b{number}", f'on = "b{number + 1}"') for number in range(count)]
    return "".join(links) + board(f"b{count}")


def test_a_chain_has_so_many_links_and_no_more(problems_of, write_rig):
    assert len(read_rig(write_rig(chain(MOST_LEVELS))).board) == MOST_LEVELS + 1
    (told,) = problems_of(chain(MOST_LEVELS + 1))
    assert told == (
        'rig.toml:9: board "b0": "b0" stands on more than 32 things, one upon the other'
    )


def test_a_long_chain_and_a_long_circle_are_told_at_once(problems_of):
    told = problems_of(chain(499))
    assert len(told) == 51 and "b0" in told[0]
    circle = "".join(board(f"b{n}", f'on = "b{(n + 1) % 500}"') for n in range(500))
    assert "go round in a circle" in problems_of(circle)[0]


def test_what_only_leads_to_a_circle_is_not_told(problems_of):
    text = board("a", 'on = "b"') + board("b", 'on = "b"')
    assert ["b" in one for one in problems_of(text)] == [True]
