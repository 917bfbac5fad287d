"""What the page answers to each kind of request, and that it follows the rig file."""

import io
import time

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import read_rig
from seamsight.viewer.live.head_room import SEEN, Found, Room, RoomFinder
from seamsight.viewer.live.preview import HEIGHT, WIDTH, Preview, key_lines
from seamsight.viewer.live.state import HEAD_AXES, LiveState


def test_the_introduction_tells_the_rig(talk):
    facts = talk.introduction
    assert facts["name"] == "little" and facts["lenses"] and facts["problems"] == []
    assert [head["name"] for head in facts["heads"]] == ["design", "leaning"]
    assert [axis["name"] for axis in facts["head_axes"]] == [axis.name for axis in HEAD_AXES]
    assert facts["start"]["x"] == 5.0
    assert facts["orbit"].keys() == facts["orbit_limits"].keys()


def test_a_pair_at_rest_is_exactly_what_both_eyes_see(talk, served):
    facts, (left, right) = talk.pair(x=20, turn=5)
    wanted = Preview(read_rig(served[1])).pictures(LiveState(x=20, turn=5))
    assert facts["number"] == 1 and not facts["moving"]
    assert left.shape == (HEIGHT, WIDTH, 3)
    assert (left == wanted[0]).all() and (right == wanted[1]).all()


def test_a_sharp_pair_has_the_pixels_that_were_asked_for(talk, served):
    facts, pictures = talk.ask("sharp", 3, {"x": 20}, width=800)
    assert facts["kind"] == "sharp" and facts["number"] == 3 and not facts["late"]
    wanted = Preview(read_rig(served[1])).pictures(LiveState(x=20), width=800)
    for picture, want in zip(pictures, wanted, strict=True):
        assert (np.asarray(Image.open(io.BytesIO(picture))) == want).all()


def test_a_sharp_pair_gives_way_to_a_quick_one(talk):
    talk.send("sharp", width=1920)
    talk.send("pair", moving=True)
    answers = [talk.hear()[0] for _ in range(2)]
    assert [facts["kind"] for facts in answers] == ["sharp", "pair"]
    assert answers[0]["late"] and answers[0]["sizes"] == []


def test_shapes_are_sent_as_far_as_the_page_lacks_them(talk):
    whole, binary = talk.ask("shapes")
    assert len(whole["shapes"]["keys"]) == len(whole["shapes"]["parts"]) and len(binary) == 3
    images = [image["picture"] for image in whole["shapes"]["images"]]
    has = whole["shapes"]["keys"] + images
    facts, binary = talk.ask("shapes", has=has, changes=FARTHER, moving=True)
    assert facts["moving"] and not facts["shapes"]["draft"]
    names = {part["name"] for part in facts["shapes"]["parts"]}
    assert "screen" in names and "shelf" not in names and len(binary) == 2
    assert facts["projection"] != whole["projection"]

    facts, binary = talk.ask("shapes", has=["no such key"], changes={"screen lens.distance": 500})
    assert "must be closer to the screen" in facts["lines"][0] and binary == []


def test_a_moving_pair_is_nearly_that(talk):
    _, full = talk.ask(state={"x": 20})
    facts, quick = talk.ask(state={"x": 20}, moving=True)
    assert facts["moving"]
    for one, other in zip(full, quick, strict=True):
        first, second = (
            np.asarray(Image.open(io.BytesIO(picture))).astype(int) for picture in (one, other)
        )
        assert np.abs(first - second).mean() < 5  # JPEG, hatching included


@pytest.mark.parametrize("state", [{"lenses": False}, {"overlap": True}, {"x": 60}, {"turn": 30}])
def test_what_is_looked_at_changes_the_pictures(talk, state):
    before, after = talk.pair()[1], talk.pair(**state)[1]
    assert (before[0] != after[0]).any()


def test_an_eye_inside_a_part_is_told_and_the_line_goes_on(talk):
    facts, pictures = talk.ask(state={"z": 200})
    assert 'would be inside "shelf"' in facts["problem"] and pictures == []
    assert 'would be inside "shelf"' in talk.ask("numbers", state={"z": 200})[0]["problem"]
    assert "problem" not in talk.pair()[0]


def test_numbers_and_what_is_saved(talk):
    facts, _ = talk.ask("numbers", 7)
    assert facts["number"] == 7 and facts["lines"][0].startswith("screen: ")
    facts, saved = talk.ask("save")
    assert facts["name"] == "rig_eyes.png"
    assert Image.open(io.BytesIO(saved[0])).info["Title"] == "little"


def test_the_3d_view_follows_its_orbit(talk):
    answers = [talk.ask("stage", orbit={"azimuth": azimuth}) for azimuth in (-48, -48, 30)]
    if "need OpenGL" in answers[0][0].get("problem", ""):
        pytest.skip(answers[0][0]["problem"])
    first, again, other = (pictures[0] for _, pictures in answers)
    assert first == again != other
    assert Image.open(io.BytesIO(first)).size == (640, 480)


def test_a_saved_rig_file_is_read_again_and_a_broken_one_told(talk, served):
    file = served[1]
    text = file.read_text("utf-8")
    before = talk.pair()[1]
    farther = text.replace("centre = [0, 750, 0]", "centre = [0, 900, 0]")
    file.write_text(farther.replace("little", "moved"), "utf-8")
    assert talk.hear()[0]["name"] == "moved"
    moved = talk.pair()[1]
    assert (before[0] != moved[0]).any()

    file.write_text(text.replace("width = 470", "width = -470"), "utf-8")
    facts, _ = talk.hear()
    assert facts["name"] == "moved" and "width" in facts["problems"][0]
    assert (talk.pair()[1][0] == moved[0]).all()

    file.unlink()
    assert talk.hear()[0]["problems"]
    file.write_text(text, "utf-8")
    facts, _ = talk.hear()
    assert facts["problems"] == [] and facts["name"] == "little"


FARTHER = {"screen.centre.2": 900}


def test_changed_numbers_are_drawn_measured_and_saved(talk, served):
    state = LiveState(x=20)
    wanted = Preview(read_rig(served[1], FARTHER))
    _, pictures = talk.ask(state={"x": 20}, changes=FARTHER)
    for picture, want in zip(pictures, wanted.pictures(state), strict=True):
        assert (np.asarray(Image.open(io.BytesIO(picture))) == want).all()
    facts, _ = talk.ask("numbers", state={"x": 20}, changes=FARTHER)
    assert facts["lines"] == key_lines(wanted.numbers(state))
    _, saved = talk.ask("save", changes=FARTHER)
    assert "--set=screen.centre.2=900" in Image.open(io.BytesIO(saved[0])).info["Command"]


def test_a_number_that_makes_the_rig_wrong_is_told_with_its_line(talk):
    facts, pictures = talk.ask(changes={"screen lens.distance": 500})
    assert "must be closer to the screen" in facts["lines"][0] and "rig.toml:" in facts["lines"][0]
    assert pictures == [] and talk.pair()[0]["kind"] == "pair"


def test_writing_reaches_every_tab_and_is_undone_by_writing_again(talk, talking, served):
    file = served[1]
    before = file.read_bytes()
    version = talk.introduction["version"]
    with talking() as other:
        told = [one.ask("write", changes=FARTHER, version=version)[0] for one in (talk,)]
        told.append(talk.hear()[0])
        assert sorted(facts["kind"] for facts in told) == ["rig", "write"]
        assert file.read_bytes() == before.replace(b"750", b"900")
        assert other.hear()[0]["version"] == told[0].get("version", told[1].get("version"))

        # what another tab began before is refused
        facts, _ = other.ask("write", changes={"screen.centre.2": 800}, version=version)
        while facts["kind"] != "write":
            facts, _ = other.hear()
        assert "changed by another program" in facts["problem"]
        assert file.read_bytes() == before.replace(b"750", b"900")
    file.write_bytes(before)
    while talk.hear()[0].get("version") != version:
        pass


def test_a_new_name_cannot_lead_out_of_the_folder(talk, served):
    for name in ("../out", "/tmp/out.toml", "a\\b", "..", "a\0b", ""):
        assert "plain name" in talk.ask("save_as", name=name)[0]["problem"]
    assert [path.name for path in served[1].parent.iterdir()] == ["rig.toml"]
    assert not (served[1].parent.parent / "out.toml").exists()
    assert talk.ask("save_as", name="new", changes=FARTHER)[0]["name"] == "new.toml"
    assert "exists" in talk.ask("save_as", name="new")[0]["problem"]
    (served[1].parent / "new.toml").unlink()


def test_the_head_room_is_told_until_it_is_found(talk):
    assert "room" not in talk.ask("stage")[0]
    for _ in range(500):
        facts, pictures = talk.ask("stage", state={"room": True})
        assert len(pictures) == 1
        if not facts["refining"]:
            break
        assert "being" in facts["room"] or "outside it" in facts["room"]
        time.sleep(0.1)
    assert facts["room"].startswith("head room")
    assert not facts["refining"]


def test_the_head_rooms_surface_is_sent_unless_the_page_has_it(talk, monkeypatch):
    assert talk.ask("room", state={"room": True})[1] == []  # this rig has none
    shares = np.zeros((5, 5, 5))
    shares[1:4, 1:4, 1:4] = 1.0
    room = Room(shares, np.full(3, -100.0), 50.0)
    monkeypatch.setattr(RoomFinder, "found", lambda *_: Found(room, ended=True))
    facts, (corners, faces) = talk.ask("room", state={"room": True})
    assert facts["room"].startswith("head room from here") and not facts["refining"]
    places = np.frombuffer(corners, "<f4").reshape(-1, 3)
    assert np.abs(places).max() == pytest.approx(50 + 50 * (1 - SEEN), abs=0.1)
    assert len(faces) % 12 == 0 < len(faces)
    again, binary = talk.ask("room", state={"room": True}, surface=facts["surface"])
    assert again["surface"] == facts["surface"] and binary == []
