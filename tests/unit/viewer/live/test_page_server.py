"""What the page's server answers when many requests, large ones or several tabs come."""

import json
import urllib.error
import urllib.request

import pytest
from websockets.exceptions import ConnectionClosed

from seamsight.scene import PoseError
from seamsight.viewer.live.page import LivePage
from seamsight.viewer.live.page_messages import LARGEST_REQUEST


def test_a_message_too_large_ends_only_its_own_line(talk, talking):
    talk.socket.send("x" * (LARGEST_REQUEST + 1))
    with pytest.raises(ConnectionClosed):
        talk.socket.recv(timeout=20)
    with talking() as other:
        assert other.pair()[0]["kind"] == "pair"


MASK = bytes(4)
FRAMES = {  # RFC 6455, 5.2: final, kind; masked, length; mask; content
    "no UTF-8": b"\x81\x83" + MASK + b"\xff\xfe\xfa",
    "a surrogate": b"\x81\x83" + MASK + b"\xed\xa0\x80",
    "2^62 bytes": b"\x81\xff" + (2**62).to_bytes(8, "big") + MASK,
    "no mask": b"\x81\x02{}",
    "no such kind": b"\x87\x81" + MASK + b"x",
    "a close of no UTF-8": b"\x88\x84" + MASK + b"\x03\xe8\xff\xff",
    "a rest of nothing": b"\x80\x81" + MASK + b"x",
}


@pytest.mark.parametrize("frame", FRAMES.values(), ids=FRAMES.keys())
def test_what_is_no_message_ends_its_own_line_without_a_word(talk, talking, frame, caplog):
    talk.socket.socket.sendall(frame)
    with pytest.raises(ConnectionClosed):
        talk.socket.recv(timeout=20)
    with talking() as other:
        assert other.pair()[0]["kind"] == "pair"
    assert caplog.records == []


def test_only_the_newest_of_many_requests_must_be_answered(talk):
    for number in range(200):
        talk.socket.send(json.dumps({"want": "pair", "number": number, "state": {"x": number}}))
    answered: list[int] = []
    while not answered or answered[-1] != 199:
        answered.append(talk.hear()[0]["number"])
    assert answered == sorted(answered) and len(answered) < 100


def test_a_sheet_that_cannot_be_made_is_told(served, monkeypatch):
    async def fails(_):
        msg = "an eye is inside a part"
        raise PoseError(msg)

    monkeypatch.setattr(LivePage, "sheet", fails)
    with pytest.raises(urllib.error.HTTPError) as told:
        urllib.request.urlopen(f"http://127.0.0.1:{served[0]}/sheet.html", timeout=10)
    with told.value as answer:
        assert (answer.code, answer.read()) == (500, b"an eye is inside a part")


def test_tabs_get_their_own_answers(talking):
    with talking() as first, talking() as second, talking() as third:
        talks = (first, second, third)
        for number, talk in enumerate(talks):
            talk.socket.send(
                json.dumps({"want": "pair", "number": number, "state": {"x": 50 * number}})
            )
        pairs = [talk.hear() for talk in talks]
        assert [facts["number"] for facts, _ in pairs] == [0, 1, 2]
        assert len({pictures[0] for _, pictures in pairs}) == 3
        first.socket.close()
        assert second.pair()[0]["kind"] == "pair"
