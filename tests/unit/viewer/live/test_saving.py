"""What is kept of a live view."""

import io

import pytest
from PIL import Image

from seamsight.scene import Head
from seamsight.viewer.live.preview import Preview
from seamsight.viewer.live.saving import picture_file, save_picture
from seamsight.viewer.live.state import LiveState, state_at


@pytest.fixture
def preview(rig_of, screen_at):
    leaning = {"name": "leaning", "offset": [-40, 10, 0]}
    return Preview(rig_of(screen=[screen_at()], head=[leaning]))


def test_a_picture_tells_where_the_head_was_and_how_to_make_it_again(preview):
    there = state_at(Head(name="here", offset=(-40, 10, 0)), lenses=False)
    facts = Image.open(io.BytesIO(picture_file(preview, there))).info
    assert facts["Head"].startswith("leaning: ")
    assert "--offset=-40,10,0" in facts["Command"] and "--without-lenses" in facts["Command"]


def test_no_command_makes_the_colours_of_who_sees_what(preview):
    facts = Image.open(io.BytesIO(picture_file(preview, LiveState(overlap=True)))).info
    assert "Command" not in facts


def test_a_saved_picture_takes_the_next_number_that_is_free(preview, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    first = save_picture(preview, LiveState())
    second = save_picture(preview, LiveState(x=10.0))
    assert first.name.endswith("-01.png") and second.name.endswith("-02.png")
    assert first.read_bytes() != second.read_bytes()
