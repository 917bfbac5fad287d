"""The page of `walk-in` in a headset, an emulated one, held to the ray caster."""

import base64
import math
from pathlib import Path

import numpy as np
import pytest

from seamsight.scene import build, read_rig
from seamsight.viewer import see
from seamsight.viewer.live.walk_in import walk_in_page
from seamsight.viewer.numbers.cautions import HEADSET
from seamsight.viewer.projection import Projection

SIDE = 480  # pixels of an eye's picture, each way
OUTER, INNER = 1.1, 0.9  # tangents of its field: towards the ear and down, towards the nose and up
WHOLE = 528  # pixels of a picture with tangents of OUTER to all sides
FIELD = 2 * math.degrees(math.atan(OUTER))
PUPILS = 70.0  # mm, of the headset
EYE_POINT = np.array([0, 0, 1150.0])
MOST_DIFFER = 0.005
HERE = Path(__file__).parent
EMULATED = "\n".join(
    [
        (HERE / "iwer" / "iwer.min.js").read_text("utf-8"),
        *(f"const {name} = {globals()[name]};" for name in ("SIDE", "OUTER", "INNER", "PUPILS")),
        (HERE / "emulated_headset.js").read_text("utf-8"),
    ]
)
SITTING = (
    (0.1, 1.2, 0.3),
    (40.0, -10.0, 5.0),
)  # metres; degrees to the right, up, to the right shoulder


@pytest.fixture(scope="module")
def assembly(tmp_path_factory, little_rig_text):
    path = tmp_path_factory.mktemp("headset") / "rig.toml"
    path.write_text(little_rig_text, "utf-8")
    return build(read_rig(path))


@pytest.fixture(scope="module")
def opened(browser, assembly, tmp_path_factory):
    """Return a function that opens the page with a headset; hold it to asking for nothing."""
    file = tmp_path_factory.mktemp("headset") / "page.html"
    file.write_bytes(walk_in_page([assembly]))
    pages, asked, wrong = [], [], []

    def opened(and_then):
        page = browser.new_page(viewport={"width": 600, "height": 450})
        pages.append(page)
        page.on("request", lambda request: asked.append(request.url))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda message: wrong.append(message.text))
        page.add_init_script(f"{EMULATED}\n{and_then}")
        page.goto(file.as_uri())
        page.wait_for_selector("#canvas[data-drawn]")
        return page

    yield opened
    for page in pages:
        page.close()
    assert [text for text in wrong if "GPU stall" not in text] == []
    assert {url.partition(":")[0] for url in asked} <= {"file", "data", "blob"}


@pytest.fixture(scope="module")
def open_page(opened):
    page = opened("asHeadsetsAre();")
    page.evaluate("drawIds()")
    return page


@pytest.fixture
def page(open_page):
    """The page as it is before a headset is entered."""
    open_page.evaluate("([place, turn]) => moveHead(place, turn)", moved(SITTING))
    yield open_page
    if open_page.is_visible("#leave"):
        leave(open_page)
    open_page.check("#lenses")


def enter(page):
    page.click("#enter")
    page.click("#confirm")
    page.wait_for_selector("#leave")
    page.evaluate("drawn(3)")


def leave(page):
    page.click("#leave")
    page.wait_for_selector("#enter")


def turned(turn, nod, tilt):
    """Return the quaternion (x, y, z, w) of a head in WebXR's axes: x right, y up, z backward."""
    quaternion = np.array([0, 0, 0, 1.0])
    for axis, angle in ((1, -turn), (0, nod), (2, -tilt)):
        half = math.radians(angle) / 2
        x, y, z, w = quaternion
        a, b, c = np.eye(3)[axis] * math.sin(half)
        d = math.cos(half)
        quaternion = np.array(
            [
                w * a + x * d + y * c - z * b,
                w * b - x * c + y * d + z * a,
                w * c + x * b - y * a + z * d,
                w * d - x * a - y * b - z * c,
            ]
        )
    return quaternion.tolist()


def moved(start, by=(0, 0, 0), turn=0.0, nod=0.0, tilt=0.0):
    """Return place and quaternion of a head that sat down and has moved since: mm, degrees."""
    place, (heading, *_) = start
    right, forward = (
        np.array([math.cos(angle), 0, math.sin(angle)])
        for angle in (math.radians(heading), math.radians(heading - 90))
    )
    shift = by[0] * right + by[1] * forward + by[2] * np.array([0, 1, 0])
    return [(np.array(place) + shift / 1000).tolist(), turned(heading + turn, nod, tilt)]


def move(page, *args, **keys):
    page.evaluate("([place, turn]) => moveHead(place, turn)", moved(*args, **keys))


def pixels(text, width):
    return np.frombuffer(base64.b64decode(text), np.uint8).reshape(-1, width, 4)[::-1]


def ids(drawn):
    """Return part ids (h, w), -1 where there is none."""
    return drawn[..., 0].astype(int) + 256 * drawn[..., 1].astype(int) - 1


def in_headset(page):
    both = ids(pixels(page.evaluate("inHeadset()"), 2 * SIDE))
    return {"left": both[:, :SIDE], "right": both[:, SIDE:]}


def expected(assembly, eye, by=(0, 0, 0), turn=0.0, nod=0.0, tilt=0.0, lenses=True):
    """Return the part ids that rays meet, for an eye of the headset."""
    projection = Projection("rectilinear", WHOLE, WHOLE, FIELD, turn, nod, tilt)
    aside = {"left": -0.5, "right": 0.5}[eye] * PUPILS * projection.axes[:, 0]
    seen = build(assembly.rig, lenses=lenses)
    names = [part.name for part in assembly.parts]
    number = np.array([names.index(part.name) for part in seen.parts] + [-1])
    found = number[see(seen, EYE_POINT + by + aside, projection).parts]
    spare = WHOLE - SIDE
    return found[spare:, :SIDE] if eye == "left" else found[spare:, spare:]


def assert_sees(page, assembly, **where):
    for eye, found in in_headset(page).items():
        assert (found != expected(assembly, eye, **where)).mean() <= MOST_DIFFER


@pytest.mark.parametrize(
    "where",
    [
        {},
        {"by": (100, 0, 0)},
        {"by": (-60, -150, 80), "turn": 25.0, "nod": -20.0, "tilt": 12.0},
    ],
)
def test_each_eye_sees_what_rays_meet_wherever_the_head_moves(page, assembly, where):
    enter(page)  # with the head turned, nodded and tilted
    move(page, SITTING, **where)
    assert_sees(page, assembly, **where)


@pytest.mark.parametrize(
    ("act", "nod"),
    [
        (lambda page: page.click("#seated"), 15.0),
        (lambda page: page.evaluate("press('trigger')"), -88.0),  # nearly straight down
        (lambda page: page.evaluate("inside.pendingReferenceSpaceReset = true"), 88.0),
    ],
    ids=["button of the page", "trigger", "recentred by the headset"],
)
def test_where_the_eyes_are_becomes_the_design_eye_point_again(page, assembly, act, nod):
    enter(page)
    elsewhere = ((-0.4, 0.9, 1.0), (-120.0, 0.0, 0.0))
    move(page, elsewhere, nod=nod)
    page.evaluate("drawn(2)")
    act(page)
    page.evaluate("drawn(2)")
    move(page, elsewhere, by=(-30, -40, -50))
    assert_sees(page, assembly, by=(-30, -40, -50))


def test_the_page_mirrors_the_left_eye(page, assembly):
    enter(page)
    move(page, SITTING)
    page.evaluate("drawn(5)")
    move(page, SITTING, by=(100, 0, 0))
    width, drawn = page.evaluate("mirrored()")
    mirror = ids(pixels(drawn, width))
    spare = (width - SIDE) // 2
    left = expected(assembly, "left", by=(100, 0, 0))
    assert (mirror[:, spare : spare + SIDE] != left).mean() <= 2 * MOST_DIFFER  # it is smoothed


def test_the_grip_takes_the_lenses_out(page, assembly):
    enter(page)
    move(page, SITTING)
    page.evaluate("press('grip')")
    assert not page.is_checked("#lenses")
    assert_sees(page, assembly, lenses=False)


def test_cautions_come_before_the_headset(page):
    page.click("#enter")
    assert page.inner_text("#before_title") == "Before you sit in Größe [[x]]"
    for caution in HEADSET:
        assert caution in page.inner_text("#before_list")
    page.keyboard.press("Enter")  # a second press of a key stays on the page
    assert not page.is_visible("#before")
    assert page.evaluate("device.activeSession === undefined")


def test_the_page_tells_the_distance_of_the_eyes_and_comes_back(page):
    page.evaluate("ids = false")
    page.press("#canvas", "ArrowLeft")
    before = picture(page)
    enter(page)
    told = page.inner_text("#headset_state")
    assert "distance is 70.0 mm, the rig's 63.0 mm. What you see is for the headset's" in told
    assert not page.is_visible("#heads")
    leave(page)
    assert picture(page) == before
    assert page.inner_text("#headset_state") == ""
    assert page.is_visible("#heads")
    page.press("#canvas", "ArrowRight")
    page.evaluate("ids = true")


def picture(page):
    page.evaluate(
        "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
    )
    return page.locator("#canvas").screenshot()


def test_a_headset_that_does_not_know_where_it_is_shows_black(page, assembly):
    enter(page)
    page.evaluate("""() => {
      XRFrame.prototype.known = XRFrame.prototype.getViewerPose;
      XRFrame.prototype.getViewerPose = () => null;
    }""")
    assert (pixels(page.evaluate("inHeadset()"), 2 * SIDE) == [0, 0, 0, 255]).all()
    assert "does not know where it is" in page.inner_text("#headset_state")
    page.evaluate("void (XRFrame.prototype.getViewerPose = XRFrame.prototype.known)")
    move(page, SITTING)
    assert_sees(page, assembly)


def test_a_refusal_is_told_in_one_line(page):
    page.evaluate(
        """() => { navigator.xr.requestSession = async () => { throw new Error("busy"); }; }"""
    )
    page.click("#enter")
    page.click("#confirm")
    page.wait_for_selector("#status:has-text('busy')")
    assert page.inner_text("#status") == "The headset cannot be entered: busy"
    page.evaluate("delete navigator.xr.requestSession")
    enter(page)
    assert page.inner_text("#status") == ""


def test_lost_graphics_end_the_session_and_come_back(page, assembly):
    enter(page)
    before = page.get_attribute("#canvas", "data-drawn")
    page.evaluate("loseGraphics()")
    page.wait_for_selector("#enter")
    assert "graphics were lost" in page.inner_text("#status")
    page.wait_for_selector(f"#canvas:not([data-drawn='{before}'])")
    move(page, SITTING)
    enter(page)
    assert_sees(page, assembly)


def test_an_emulated_headset_that_draws_on_the_page_itself_is_not_drawn_over(opened):
    page = opened("")
    enter(page)
    assert len(set(page.evaluate("onPage(6)"))) == 1


def test_a_headset_is_offered_while_there_is_one(opened):
    page = opened("device.supportedSessionModes.length = 0;")
    assert not page.is_visible("#headset")
    page.evaluate("""() => {
      device.supportedSessionModes.push("immersive-vr");
      navigator.xr.dispatchEvent(new Event("devicechange"));
    }""")
    page.wait_for_selector("#enter")
