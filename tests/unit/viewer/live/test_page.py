"""The page's server: whom it answers, what it makes of any message, and that it follows the rig file."""

import contextlib
import io
import json
import socket
import threading
import urllib.error
import urllib.request

import numpy as np
import pytest
from PIL import Image
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from seamsight.scene import read_rig
from seamsight.viewer.casting import trace, world
from seamsight.viewer.live.page import LARGEST_MESSAGE, LivePage, listen, server_of
from seamsight.viewer.live.preview import HEAD_AXES, HEIGHT, WIDTH, FileWatch, Look, Preview

RIG = """\
format = 1
name = "little"
pilot = { eye_point = [0, 0, 0] }
head = [{ name = "leaning", offset = [-40, 10, 0], turn = 10 }]
board = [{ name = "shelf", size = [200, 200, 40], centre = [0, 0, 200] }]

[[screen]]
name = "screen"
width = 470
height = 300
pixels = [168, 105]
shows = "card"
centre = [0, 750, 0]

[[lens]]
screen = "screen"
focal_length = 450
distance = 150
width = 517
height = 330
"""


class Talk:
    """One page's side of the talk."""

    def __init__(self, socket):
        self.socket = socket
        self.introduction = self.hear()[0]

    def hear(self):
        """Return the facts and the pictures of the next message."""
        message = self.socket.recv(timeout=20)
        length = int.from_bytes(message[:4], "big")
        facts, at, pictures = json.loads(message[4 : 4 + length]), 4 + length, []
        for size in facts["sizes"]:
            pictures.append(message[at : at + size])
            at += size
        assert at == len(message)
        return facts, pictures

    def ask(self, want="pair", number=1, look=(), **more):
        self.socket.send(json.dumps({"want": want, "number": number, "look": dict(look)} | more))
        return self.hear()

    def pair(self, **look):
        """Return both pictures of a look, and how they came."""
        facts, pictures = self.ask(look=look)
        images = [Image.open(io.BytesIO(picture)) for picture in pictures]
        return facts, [np.asarray(image) for image in images]


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """Serve a little rig; give the server's port and the rig's file."""
    file = tmp_path_factory.mktemp("page") / "rig.toml"
    file.write_text(RIG, "utf-8")
    trace.warm_up()
    world.warm_up()
    with listen(0) as listening:
        port = listening.getsockname()[1]
        studio = LivePage(
            FileWatch(file),
            Preview(read_rig(file)),
            Look(x=5.0),
            lambda preview, look: preview.rig.name.encode(),
        )
        server = server_of(studio, port)
        running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        running.start()
        yield port, file
        server.should_exit = True
        running.join(20)
        assert not running.is_alive()


@pytest.fixture
def talk(served):
    with talking(served[0]) as talk:
        yield talk


@contextlib.contextmanager
def talking(port, **headers):
    with connect(
        f"ws://127.0.0.1:{port}/live", **{"origin": f"http://127.0.0.1:{port}"} | headers
    ) as socket:
        yield Talk(socket)


def status_of(port, path="/", **headers):
    asked = urllib.request.Request(f"http://127.0.0.1:{port}{path}", headers=headers)
    try:
        with urllib.request.urlopen(asked, timeout=10) as answer:
            return answer.status
    except urllib.error.HTTPError as error:
        error.close()
        return error.code


@pytest.mark.parametrize("path", ["/", "/page.css", "/page.js"])
def test_the_page_and_its_files_come_with_a_policy_that_keeps_everything_here(served, path):
    with urllib.request.urlopen(f"http://127.0.0.1:{served[0]}{path}", timeout=10) as answer:
        policy = answer.headers["content-security-policy"]
        assert answer.status == 200 and answer.read()
    assert policy.startswith("default-src 'none';") and "unsafe" not in policy and "*" not in policy
    assert "http" not in policy and f"ws://127.0.0.1:{served[0]}" in policy


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "127.0.0.1", "127.0.0.1:1", "127.0.0.1.elsewhere.example:{port}"]
)
def test_another_host_is_refused(served, host):
    assert status_of(served[0], Host=host.format(port=served[0])) == 403


def test_the_page_answers_to_both_names_of_this_machine_only(served):
    assert status_of(served[0], Host=f"localhost:{served[0]}") == 200
    assert status_of(served[0], Origin="http://elsewhere.example") == 403
    assert status_of(served[0], "/../page.py") == 404


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", "http://127.0.0.1:1", None])
def test_another_origin_cannot_open_the_live_line(served, origin):
    with pytest.raises(InvalidStatus) as refused, talking(served[0], origin=origin):
        pass
    assert refused.value.response.status_code == 403


def test_a_rebound_name_cannot_open_the_live_line(served):
    name = f"elsewhere.example:{served[0]}"
    line = socket.create_connection(("127.0.0.1", served[0]))
    with (
        pytest.raises(InvalidStatus) as refused,
        connect(f"ws://{name}/live", sock=line, origin=f"http://{name}"),
    ):
        pass
    assert refused.value.response.status_code == 403


def test_the_introduction_tells_the_rig(talk):
    facts = talk.introduction
    assert facts["name"] == "little" and facts["lenses"] and facts["problems"] == []
    assert [head["name"] for head in facts["heads"]] == ["design", "leaning"]
    assert [reach["key"] for reach in facts["reaches"]] == [reach.key for reach in HEAD_AXES]
    assert facts["start"]["x"] == 5.0


def test_a_pair_at_rest_is_exactly_what_both_eyes_see(talk, served):
    facts, (left, right) = talk.pair(x=20, turn=5)
    wanted = Preview(read_rig(served[1])).pictures(Look(x=20, turn=5))
    assert facts["number"] == 1 and not facts["moving"]
    assert left.shape == (HEIGHT, WIDTH, 3)
    assert (left == wanted[0]).all() and (right == wanted[1]).all()


def test_a_moving_pair_is_nearly_that(talk):
    _, full = talk.ask(look={"x": 20})
    facts, quick = talk.ask(look={"x": 20}, moving=True)
    assert facts["moving"]
    for one, other in zip(full, quick, strict=True):
        one, other = (
            np.asarray(Image.open(io.BytesIO(picture))).astype(int) for picture in (one, other)
        )
        assert np.abs(one - other).mean() < 4


@pytest.mark.parametrize("look", [{"lenses": False}, {"overlap": True}, {"x": 60}, {"turn": 30}])
def test_what_is_looked_at_changes_the_pictures(talk, look):
    before, after = talk.pair()[1], talk.pair(**look)[1]
    assert (before[0] != after[0]).any()


def test_an_eye_inside_a_part_is_told_and_the_line_goes_on(talk):
    facts, pictures = talk.ask(look={"z": 200})
    assert 'lies inside "shelf"' in facts["problem"] and pictures == []
    assert 'lies inside "shelf"' in talk.ask("numbers", look={"z": 200})[0]["problem"]
    assert "problem" not in talk.pair()[0]


def test_numbers_and_what_is_saved(talk):
    facts, _ = talk.ask("numbers", 7)
    assert facts["number"] == 7 and facts["lines"][0].startswith("screen: ")
    facts, saved = talk.ask("save")
    assert facts["name"] == "rig_eyes.png" and saved == [b"little"]


def test_the_3d_view_follows_its_orbit(talk):
    answers = [talk.ask("stage", orbit={"azimuth": azimuth}) for azimuth in (-48, -48, 30)]
    if "needs OpenGL" in answers[0][0].get("problem", ""):
        pytest.skip(answers[0][0]["problem"])
    first, again, other = (pictures[0] for _, pictures in answers)
    assert first == again != other
    assert Image.open(io.BytesIO(first)).size == (640, 480)


GOOD = {"want": "pair", "number": 1, "look": {}}
GARBAGE = [
    "",
    "{",
    "[]",
    "null",
    b"\x00\xff",
    "[" * 2000,
    json.dumps(GOOD | {"want": "file"}),
    json.dumps(GOOD | {"number": -1}),
    json.dumps(GOOD | {"more": 1}),
    json.dumps(GOOD | {"look": {"x": "far"}}),
    json.dumps(GOOD | {"look": {"x": float("nan")}}),
    json.dumps(GOOD | {"look": {"z": 1e300}}),
    json.dumps(GOOD | {"look": {"turn": 1e6}}),
    json.dumps(GOOD | {"orbit": {"distance": 0}}),
]


@pytest.mark.parametrize("garbage", GARBAGE, ids=range(len(GARBAGE)))
def test_garbage_is_refused_and_the_line_goes_on(talk, garbage):
    talk.socket.send(garbage)
    facts, _ = talk.hear()
    assert facts["kind"] == "refused" and facts["problem"]
    assert talk.pair()[0]["kind"] == "pair"


def test_a_message_too_large_ends_only_its_own_line(talk, served):
    talk.socket.send("x" * (LARGEST_MESSAGE + 1))
    with pytest.raises(ConnectionClosed):
        talk.socket.recv(timeout=20)
    with talking(served[0]) as other:
        assert other.pair()[0]["kind"] == "pair"


def test_only_the_newest_of_many_requests_must_be_answered(talk):
    for number in range(200):
        talk.socket.send(json.dumps({"want": "pair", "number": number, "look": {"x": number}}))
    answered = []
    while not answered or answered[-1] != 199:
        answered.append(talk.hear()[0]["number"])
    assert answered == sorted(answered) and len(answered) < 100


def test_tabs_get_their_own_answers(served):
    with talking(served[0]) as first, talking(served[0]) as second, talking(served[0]) as third:
        talks = (first, second, third)
        for number, talk in enumerate(talks):
            talk.socket.send(
                json.dumps({"want": "pair", "number": number, "look": {"x": 50 * number}})
            )
        pairs = [talk.hear() for talk in talks]
        assert [facts["number"] for facts, _ in pairs] == [0, 1, 2]
        assert len({pictures[0] for _, pictures in pairs}) == 3
        first.socket.close()
        assert second.pair()[0]["kind"] == "pair"


def test_a_saved_rig_file_is_read_again_and_a_broken_one_told(talk, served):
    file = served[1]
    before = talk.pair()[1]
    file.write_text(
        RIG.replace("centre = [0, 750, 0]", "centre = [0, 900, 0]").replace("little", "moved"),
        "utf-8",
    )
    assert talk.hear()[0]["name"] == "moved"
    moved = talk.pair()[1]
    assert (before[0] != moved[0]).any()

    file.write_text(RIG.replace("width = 470", "width = -470"), "utf-8")
    facts, _ = talk.hear()
    assert facts["name"] == "moved" and "width" in facts["problems"][0]
    assert (talk.pair()[1][0] == moved[0]).all()

    file.unlink()
    assert talk.hear()[0]["problems"]
    file.write_text(RIG, "utf-8")
    facts, _ = talk.hear()
    assert facts["problems"] == [] and facts["name"] == "little"
