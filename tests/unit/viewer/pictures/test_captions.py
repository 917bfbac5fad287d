"""Words around a picture: heads, captions, and the command that its file carries."""

import shlex
from pathlib import Path

import pytest

from seamsight.scene import Head
from seamsight.viewer.pictures.captions import caption, command_line, facts_of, head_words


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({}, "here: at the design eye point, facing straight ahead"),
        ({"offset": (-40, 12.5, 0)}, "here: 40 mm left, 12.5 mm forward"),
        ({"offset": (0, -1, 3), "nod": -2.5}, "here: 1 mm back, 3 mm up, nod down 2.5°"),
        ({"turn": 10, "tilt": 1}, "here: turn right 10°, tilt right 1°"),
    ],
)
def test_a_head_in_words(keys, words):
    assert head_words(Head(name="here", **keys)) == words


def test_a_caption_says_what_whose_and_without_what(rig_of):
    rig, head = rig_of(), Head(name="here", turn=5)
    assert caption(rig, head) == "rig · here: turn right 5°"
    assert caption(rig, head, "left") == "rig · left eye · here: turn right 5°"
    assert (
        caption(rig, head, "seam", lenses=False)
        == "rig · seam · here: turn right 5° · lenses left out"
    )


def test_a_command_is_what_one_would_type(rig_of):
    rig = rig_of().read_from(Path("my rig.toml"))
    options: dict = {"head": "it's me", "with": ["a.toml", "b.toml"], "facing": True, "json": False}
    line = command_line("seam", rig, Path("out.png"), options)
    given = ["--head=it's me", "--with=a.toml", "--with=b.toml", "--facing"]
    assert shlex.split(line) == ["seamsight", "seam", "my rig.toml", "out.png", *given]
    assert facts_of(rig, Head(name="here"), line)["Command"] == line
    assert "Command" not in facts_of(rig, Head(name="here"))
