"""What the tests of live views share: a plotter; the page's server, a tab's side of the talk."""

import contextlib
import io
import json
import threading

import numpy as np
import pytest
from PIL import Image
from websockets.sync.client import connect

from seamsight.viewer.casting import trace, world
from seamsight.viewer.live.live_rig import LiveRig
from seamsight.viewer.live.page import LivePage
from seamsight.viewer.live.page_server import listen, server_of
from seamsight.viewer.live.plotting import off_screen
from seamsight.viewer.live.preview import FileWatch
from seamsight.viewer.live.state import LiveState

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


@pytest.fixture
def plotter():
    try:
        plotter = off_screen(320, 240)
    except OSError as error:
        pytest.skip(str(error))
    yield plotter
    plotter.close()


@pytest.fixture(scope="module")
def rig(rig_of, screen_at):
    """Return a rig with one screen behind a lens, and one without."""
    lens = {
        "screen": "behind",
        "focal_length": 450.0,
        "distance": 150.0,
        "width": 500,
        "height": 400,
    }
    screens = [screen_at("behind"), screen_at("bare", centre=[500, 600, 0], shows="card")]
    board = {"name": "board", "size": [900, 20, 30], "centre": [0, 500, -300]}
    return rig_of(screen=screens, lens=[lens], board=[board])


class Talk:
    """One tab's side of the talk."""

    def __init__(self, socket):
        self.socket = socket
        self.introduction = self.hear()[0]

    def hear(self):
        """Return the facts and the pictures of the next message."""
        message = self.socket.recv(timeout=20)
        length = int.from_bytes(message[:4], "big")
        facts = json.loads(message[4 : 4 + length])

        # Cut the pictures apart.
        pictures = []
        at = 4 + length
        for size in facts["sizes"]:
            pictures.append(message[at : at + size])
            at += size
        assert at == len(message)
        return facts, pictures

    def send(self, want="pair", number=1, state=(), **more):
        self.socket.send(json.dumps({"want": want, "number": number, "state": dict(state)} | more))

    def ask(self, *words, **more):
        self.send(*words, **more)
        return self.hear()

    def pair(self, **state):
        """Return both pictures of a state, and how they came."""
        facts, pictures = self.ask(state=state)
        images = [Image.open(io.BytesIO(picture)) for picture in pictures]
        return facts, [np.asarray(image) for image in images]


def sheet_of(rig, head):
    """Stand in for the command's sheet."""
    return f"<p>sheet of {rig.name}, {head.name}</p>"


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """Serve a little rig; give the server's port and the rig's file."""
    file = tmp_path_factory.mktemp("page") / "rig.toml"
    file.write_text(RIG, "utf-8")
    trace.warm_up()
    world.warm_up()
    with listen(0) as listening:
        port = listening.getsockname()[1]
        page = LivePage(LiveRig(FileWatch(file)), LiveState(x=5.0), sheet_of)
        server = server_of(page, port)
        running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        running.start()
        yield port, file
        server.should_exit = True
        running.join(20)
        assert not running.is_alive()


@pytest.fixture(scope="module")
def talking(served):
    """Return a function that opens a tab's line, with other headers where given."""
    host = f"127.0.0.1:{served[0]}"

    @contextlib.contextmanager
    def talking(**headers):
        with connect(f"ws://{host}/live", **{"origin": f"http://{host}"} | headers) as socket:
            yield Talk(socket)

    return talking


@pytest.fixture
def talk(talking):
    """Return one tab's side of the talk."""
    with talking() as talk:
        yield talk
