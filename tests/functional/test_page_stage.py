"""The rig in 3D, which the page's browser draws: its geometry, and the hands on it."""

import io
import math

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import build, read_rig
from seamsight.viewer import eyes_of, head_named
from seamsight.viewer.live.drawn_rig import screen_facts
from seamsight.viewer.live.stage_shapes import ball_around, sight
from seamsight.viewer.live.state import Orbit

VIEW_ANGLE = 30.0  # degrees from top to bottom, as in stage.py
NO_WEBGL = """for (const kind of [HTMLCanvasElement, globalThis.OffscreenCanvas ?? class {}]) {
  const get = kind.prototype.getContext;
  kind.prototype.getContext = function (name, ...more) {
    return name.startsWith("webgl") ? null : get.call(this, name, ...more);
  };
}"""
LOST = """() => { const canvas = document.getElementById("stage");
  window.graphics = canvas.getContext("webgl2").getExtension("WEBGL_lose_context");
  window.graphics.loseContext(); }"""
SIGHTS = """async ([rig, eye, lenses]) => {
  const { sights } = await import("/stage_view.js");
  return sights(rig, eye, lenses);
}"""


@pytest.fixture(scope="module")
def rig(tmp_path_factory, little_rig_text):
    path = tmp_path_factory.mktemp("stage") / "rig.toml"
    path.write_text(little_rig_text.replace('"card"', '"world"'), "utf-8")
    return path


@pytest.fixture(scope="module")
def address(serving, rig):
    with serving(rig) as (_, address):
        yield address


@pytest.fixture(scope="module")
def opened(browser, address):
    """Return a function that opens the page, with a script before its own, and waits for the rig.

    Hold the page to a console without errors and to asking for nothing elsewhere.
    """
    contexts, wrong, asked = [], [], []

    def open_page(script=""):
        size = {"width": 1280, "height": 900}
        contexts.append(browser.new_context(viewport=size, has_touch=True))
        page = contexts[-1].new_page()
        page.add_init_script(script)
        page.on("console", lambda message: wrong.append(message.text))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("request", lambda request: asked.append(request.url))
        page.goto(address)
        page.wait_for_selector("#numbers[aria-busy=false]")
        page.locator("#stage").scroll_into_view_if_needed()
        still(page)
        return page

    yield open_page
    for context in contexts:
        context.close()
    # software drivers complain of being read
    assert [text for text in wrong if "GPU stall" not in text and "CONTEXT_LOST" not in text] == []
    assert [url for url in asked if not url.startswith((address, "data:", "blob:"))] == []


@pytest.fixture(scope="module")
def one_page(opened):
    return opened()


@pytest.fixture
def page(one_page):
    """Give the page that most tests share, as it was at first, its head and its 3D view too."""
    one_page.keyboard.press("r")
    return one_page


def still(page):
    """Wait until nothing more is drawn in 3D; return what is there."""
    page.wait_for_selector("#stage[data-drawn]")
    before = None
    while before != (before := page.get_attribute("#stage", "data-drawn")):
        page.wait_for_timeout(450)
    page.mouse.move(0, 0)
    with Image.open(io.BytesIO(page.locator("#stage").screenshot())) as picture:
        return np.asarray(picture.convert("RGB")).astype(int)


def alike(one, other):
    """Tell whether two pictures are the same but for roundings, and the focus about them."""
    return np.abs(one - other)[3:-3, 3:-3].mean() < 0.1


def place(page):
    """Return where the sliders say that the head is, mm."""
    return np.array([float(page.input_value(f"#type_{axis}")) for axis in "xyz"])


class Camera:
    """The camera of the page's first orbit: where it is, and the plane it looks at."""

    def __init__(self, rig, canvas):
        assembly = build(read_rig(rig))
        orbit = Orbit()
        turn, rise = math.radians(orbit.azimuth), math.radians(orbit.elevation)
        outward = np.array(
            [math.sin(turn) * math.cos(rise), -math.cos(turn) * math.cos(rise), math.sin(rise)]
        )
        self.right = np.array([math.cos(turn), math.sin(turn), 0.0])
        self.up = np.cross(outward, self.right)
        middle, radius = ball_around(assembly)
        self.eye = middle + outward * radius / math.sin(math.radians(VIEW_ANGLE / 2))
        self.forward = -outward
        self.canvas = canvas

    def pixels_per_mm(self, point):
        """Return how many pixels of the page 1 mm takes, in the plane of a point."""
        reach = (point - self.eye) @ self.forward * math.tan(math.radians(VIEW_ANGLE / 2))
        return self.canvas["height"] / 2 / reach

    def seen_at(self, point):
        """Return where on the page a point is seen."""
        scale = self.pixels_per_mm(point)
        right, up = (point - self.eye) @ self.right * scale, (point - self.eye) @ self.up * scale
        box = self.canvas
        return box["x"] + box["width"] / 2 + right, box["y"] + box["height"] / 2 - up


@pytest.fixture
def camera(rig):
    return lambda page: Camera(rig, page.locator("#stage").bounding_box())


def drag(page, start, step):
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + step[0], start[1] + step[1], steps=4)
    page.mouse.up()


def test_the_head_is_dragged_in_the_plane_that_faces_the_viewer(page, camera, rig):
    before = page.get_attribute("#left", "aria-label")
    seen = camera(page)
    eye_point = np.array(read_rig(rig).pilot.eye_point)
    # from 20 pixels beside the head's middle, which is behind the eyes: within a finger's breadth
    x, y = seen.seen_at(eye_point - (0, 84, 8))
    start = (x + 20, y)
    drag(page, start, (36, -24))
    page.wait_for_selector("#eyes[aria-busy=false]")
    wanted = (36 * seen.right + 24 * seen.up) / seen.pixels_per_mm(eye_point)
    assert np.abs(place(page) - wanted).max() < 1.5
    assert np.abs(wanted).max() > 50
    assert page.get_attribute("#left", "aria-label") != before

    # it cannot be dragged beyond the sliders' ends
    start = seen.seen_at(eye_point + place(page) - (0, 84, 8))
    drag(page, start, (0, -400))
    assert place(page)[2] == 300


def test_mouse_finger_and_keys_orbit_alike(page):
    first = still(page)
    page.focus("#stage")
    for key in ("ArrowLeft", "ArrowLeft", "ArrowUp"):
        page.keyboard.press(key)
    turned = still(page)
    assert not alike(turned, first)
    page.get_by_role("button", name="Reset 3D view").click()
    assert alike(still(page), first)

    # 0.4 degrees for each pixel
    box = page.locator("#stage").bounding_box()
    start = (box["x"] + 30, box["y"] + 40)
    drag(page, start, (50, 25))
    assert alike(still(page), turned)
    page.keyboard.press("Home")
    touch = page.context.new_cdp_session(page)
    for kind, *ends in (
        ("touchStart", start),
        ("touchMove", (start[0] + 50, start[1] + 25)),
        ("touchEnd",),
    ):
        points = [{"x": x, "y": y} for x, y in ends]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    assert alike(still(page), turned)
    assert place(page).tolist() == [0, 0, 0]


def test_the_wheel_and_two_fingers_zoom(page):
    first = still(page)
    box = page.locator("#stage").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    # as far as two presses of plus: 1.2 each
    page.mouse.wheel(0, -2 * math.log(1.2) / 0.0015)
    zoomed = still(page)
    page.get_by_role("button", name="Reset 3D view").click()
    assert alike(still(page), first)
    assert not alike(zoomed, first)
    touch = page.context.new_cdp_session(page)
    for kind, *halves in (("touchStart", 50), ("touchMove", 72), ("touchEnd",)):
        points = [{"x": x + way * one, "y": y, "id": way + 1} for one in halves for way in (-1, 1)]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    assert not alike(still(page), first)
    assert place(page).tolist() == [0, 0, 0]


def test_lines_of_sight_are_those_of_the_program(page, sample_rigs):
    # grooves differ a little from the ideal lens that the page draws
    for sample, apart in (("harbour_floatplane", 1e-6), ("two_seats", 1e-6), ("desk_lens", 8.0)):
        rig = read_rig(sample_rigs / f"{sample}.toml")
        assembly = build(rig)
        facts = screen_facts(assembly)
        for name in rig.heads():
            eye = eyes_of(rig, head_named(rig, name)).left
            for lenses in (True, False):
                drawn = page.evaluate(SIGHTS, [facts, eye.tolist(), lenses])
                for screen, way in zip(assembly.screens, drawn, strict=True):
                    wanted = sight(screen, eye, lenses=lenses)
                    assert np.shape(way) == wanted.shape
                    assert np.abs(way - wanted).max() <= apart


def test_without_webgl_the_server_draws(opened):
    page = opened(NO_WEBGL)
    assert page.is_hidden("#head_hint")
    if "OpenGL" in page.inner_text("#stage_problem"):
        pytest.skip(page.inner_text("#stage_problem"))
    first = still(page)
    page.focus("#stage")
    for key, is_first in (("ArrowLeft", False), ("Home", True)):
        before = page.get_attribute("#stage", "data-drawn")
        page.keyboard.press(key)
        page.wait_for_selector(f"#stage:not([data-drawn='{before}'])")
        assert alike(still(page), first) == is_first


def test_what_the_graphics_lose_comes_back(page):
    assert page.is_visible("#head_hint")
    first = still(page)
    page.evaluate(LOST)
    page.wait_for_selector("#stage_problem:not(:empty)")
    page.evaluate("() => window.graphics.restoreContext()")
    page.wait_for_selector("#stage_problem:empty", state="attached")
    assert alike(still(page), first)


def test_the_head_room_is_drawn_where_it_is_found(page):
    without = still(page)
    page.check("#room")
    page.wait_for_selector("#room_state:has-text('head room from here')")
    assert not alike(still(page), without)
    page.uncheck("#room")
    assert alike(still(page), without)
