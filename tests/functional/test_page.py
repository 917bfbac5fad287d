"""The page as a browser shows it: a real one, without a screen, at the command's own server."""

import json
import signal
import socket
import sys

import pytest
from PIL import Image

SETTLED = "#eyes[aria-busy=false]"
RESTING = "#numbers[aria-busy=false]"
DRAG_TO_MIDDLE = """() => { const slider = document.getElementById("slide_nod");
  slider.value = 0;
  slider.dispatchEvent(new Event("input")); }"""
PICTURE = """() => ["left", "right"].map((eye) => document.getElementById(eye).toDataURL())"""


@pytest.fixture(scope="module")
def rig(tmp_path_factory, little_rig_text):
    path = tmp_path_factory.mktemp("page") / "rig.toml"
    path.write_text(little_rig_text, "utf-8")
    return path


@pytest.fixture
def far_rig(tmp_path, little_rig_text):
    path = tmp_path / "rig.toml"
    head = '[[head]]\nname = "far"\noffset = [0, -1500, 0]\nnod = 80\n'
    path.write_text(f"{little_rig_text}\n{head}", "utf-8")
    return path


@pytest.fixture(scope="module")
def address(serving, rig):
    with serving(rig) as (_, address):
        yield address


@pytest.fixture
def page(browser, address):
    """Open the page, hold it to asking for nothing elsewhere and to a console without errors."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    page = context.new_page()
    asked, wrong = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda line: asked.append(line.url))
    page.on("console", lambda message: wrong.append(message.text))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(address)
    page.wait_for_selector(SETTLED)
    page.wait_for_selector(RESTING)
    yield page
    context.close()
    assert [text for text in wrong if "GPU stall" not in text] == []  # of software drivers
    host = address.removeprefix("http://")
    assert {
        url
        for url in asked
        if not url.startswith((f"http://{host}", f"ws://{host}", "data:", "blob:"))
    } == set()
    assert f"ws://{host}live" in asked


def settled(page):
    """Wait until the head rests and its full picture and numbers are there; return the picture."""
    page.wait_for_timeout(100)
    page.wait_for_selector(RESTING)
    page.wait_for_selector(SETTLED)
    return page.evaluate(PICTURE)


def test_the_page_shows_both_eyes_the_rig_in_3d_and_its_numbers(page):
    left, right = settled(page)
    assert left != right
    assert page.inner_text("h1") == "Größe [[x]]"
    assert page.inner_text("#numbers li").startswith("[[x]]: seen by left / right eye")
    page.wait_for_selector("#stage[data-drawn]")


def test_a_slider_follows_the_arrow_keys(page):
    before = settled(page)
    slider = page.get_by_role("slider", name="right", exact=True)
    slider.focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    assert settled(page) != before
    assert (
        page.input_value("#type_x") == "20"
        and slider.get_attribute("aria-valuetext") == "20 millimetres"
    )
    assert "20 mm right" in page.get_attribute("#left", "aria-label")
    page.wait_for_selector(RESTING)


def test_a_number_can_be_typed_and_is_kept_within_reach(page):
    before = settled(page)
    field = page.get_by_role("spinbutton", name="forward, millimetres")
    field.fill("33.5")
    assert settled(page) != before and page.input_value("#slide_y") in ("33.5", "35")
    assert "33.5 mm forward" in page.inner_text("#where")
    field.fill("5000")
    field.press("Tab")
    assert field.input_value() == "300"


def test_letters_move_the_head_but_not_from_a_field_nor_when_switched_off(page):
    page.keyboard.press("m")
    page.keyboard.press("Shift+D")
    settled(page)
    assert (page.input_value("#type_x"), page.input_value("#type_turn")) == ("5", "5")
    page.focus("#type_x")
    page.keyboard.press("l")
    page.keyboard.press("m")
    assert page.is_checked("#lenses") and page.input_value("#slide_x") == "5"
    page.click("summary")
    page.uncheck("#letters")
    page.keyboard.press("l")
    assert page.is_checked("#lenses")
    page.check("#letters")
    page.keyboard.press("l")
    page.wait_for_selector("#lenses:not(:checked)")


def test_a_head_of_the_rig_and_back(page):
    before = settled(page)
    page.get_by_role("button", name="leaning").click()
    assert settled(page) != before
    assert page.input_value("#type_x") == "-40" and page.input_value("#type_turn") == "10"
    assert page.get_by_role("button", name="leaning").get_attribute("aria-pressed") == "true"
    page.get_by_role("button", name="design").click()
    assert settled(page) == before


def test_a_head_beyond_the_sliders_reach_stays_there_until_a_slider_is_dragged(
    browser, serving, far_rig
):
    page = browser.new_page()
    with serving(far_rig) as (_, address):
        page.goto(address)
        before = settled(page)
        page.get_by_role("button", name="far").click()
        assert settled(page) != before
        assert page.input_value("#type_y") == "-1500" and page.input_value("#slide_y") == "-300"
        assert page.input_value("#type_nod") == "80" and page.input_value("#slide_nod") == "60"
        assert page.get_attribute("#slide_y", "aria-valuetext") == "-1500 millimetres"
        assert "1500 mm back, nod up 80°" in page.inner_text("#where")

        # keys go on from there, farther out too, and leave the sliders at their ends
        page.keyboard.press("g")
        page.keyboard.press("w")
        settled(page)
        assert page.input_value("#type_y") == "-1505" and page.input_value("#slide_y") == "-300"
        assert page.input_value("#type_nod") == "81" and page.input_value("#slide_nod") == "60"

        # a slider that is dragged takes its own value only
        page.evaluate(DRAG_TO_MIDDLE)
        settled(page)
        assert page.input_value("#type_nod") == "0" and page.input_value("#type_y") == "-1505"
    page.close()


def test_keys_move_the_head_beyond_the_sliders_reach(page):
    for _ in range(13):
        page.keyboard.press("Shift+M")
    settled(page)
    assert page.input_value("#type_x") == "325" and page.input_value("#slide_x") == "300"


@pytest.mark.parametrize("switch", ["lenses", "overlap"])
def test_a_switch_changes_the_picture_and_back(page, switch):
    before = settled(page)
    page.focus(f"#{switch}")
    page.keyboard.press("Space")
    assert settled(page) != before
    assert page.is_visible("#legend") == (switch == "overlap")
    page.keyboard.press("Space")
    assert settled(page) == before


def test_the_head_room_is_switched_by_its_box_or_a_key(page):
    page.focus("#room")
    page.keyboard.press("Space")
    page.wait_for_selector("#room_state:has-text('head room')")
    assert page.is_visible("#room_hint")
    page.keyboard.press("b")
    settled(page)
    assert not page.is_checked("#room") and page.is_hidden("#room_hint")


def test_an_eye_inside_a_part_is_told_and_the_pictures_pale(page):
    before = settled(page)
    page.get_by_role("button", name="in the ceiling").click()
    page.wait_for_selector("#status.wrong")
    assert 'would be inside "höhe [bold]"' in page.inner_text("#status")
    assert page.locator("#eyes.stale").count()
    page.keyboard.press("r")
    page.wait_for_selector("#status:empty", state="attached")
    assert settled(page) == before


def test_the_picture_is_saved_with_what_made_it(page):
    with page.expect_download() as download:
        page.get_by_role("button", name="Save picture").click()
    assert download.value.suggested_filename == "rig_eyes.png"
    with Image.open(download.value.path()) as picture:
        assert picture.width > 640 and picture.height > 2 * 360
        assert (
            picture.info["Title"] == "Größe [[x]]"
            and "--projection=equirectangular" in picture.info["Command"]
        )


def test_the_3d_view_turns_by_keys_buttons_and_dragging(page):
    def drawn():
        return int(page.get_attribute("#stage", "data-drawn"))

    page.wait_for_selector("#stage[data-drawn]")
    page.focus("#stage")
    for act in (
        lambda: page.keyboard.press("ArrowLeft"),
        lambda: page.get_by_role("button", name="Zoom in").click(),
        lambda: page.drag_and_drop("#stage", "#stage", target_position={"x": 50, "y": 60}),
    ):
        settled(page)
        before = drawn()
        act()
        page.wait_for_selector(f"#stage:not([data-drawn='{before}'])")
    assert page.input_value("#type_x") == "0"


def test_the_sheet_opens_in_a_tab_of_its_own(page):
    with page.expect_popup() as opened:
        page.click("#sheet")
    sheet = opened.value
    sheet.wait_for_selector("section")
    assert sheet.inner_text("h1") == "Größe [[x]]"
    assert "Cautions" in sheet.inner_text("h2 >> nth=0")
    # its own styles and pictures are let in
    assert sheet.evaluate("getComputedStyle(document.querySelector('h1')).marginTop") == "0px"
    assert sheet.evaluate("document.querySelector('img').naturalWidth") > 1000
    sheet.close()


def test_every_control_has_a_name_and_can_be_reached_by_tab(page):
    unnamed = page.evaluate(
        """() => [...document.querySelectorAll("input, button, canvas, select")]
        .filter((one) => !one.disabled)
        .filter((one) => !(one.labels?.length || one.ariaLabel || one.textContent.trim()))
        .map((one) => one.outerHTML)"""
    )
    assert unnamed == []
    page.click("summary")
    page.click("#open_save_as")
    wanted = page.evaluate(
        """() => [...document.querySelectorAll("main input, main button, main summary, #stage")]
        .map((one, at) => one.id ||= `control${at}`)"""
    )
    reached = set()
    page.evaluate("() => document.activeElement.blur()")
    for _ in range(len(wanted) + 8):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("() => document.activeElement.id"))
    assert set(wanted) <= reached
    assert page.get_attribute("html", "lang") == "en"


def test_at_most_one_pair_is_on_its_way_and_the_last_state_wins(browser, address):
    page = browser.new_page()
    sent = []
    page.on(
        "websocket", lambda line: line.on("framesent", lambda frame: sent.append(json.loads(frame)))
    )
    page.goto(address)
    settled(page)
    drawn = int(page.get_attribute("#eyes", "data-drawn"))
    page.evaluate(
        """() => { const slider = document.getElementById("slide_x");
        for (let x = -150; x <= 150; x += 1) {
          slider.value = x;
          slider.dispatchEvent(new Event("input"));
        } }"""
    )
    settled(page)
    pairs = [asked for asked in sent if asked["want"] == "pair"]
    assert int(page.get_attribute("#eyes", "data-drawn")) - drawn < 20
    assert pairs[-1]["state"]["x"] == 150 and not pairs[-1]["moving"]
    assert [pair["number"] for pair in pairs] == list(range(1, len(pairs) + 1))
    page.close()


def test_the_pictures_take_the_whole_width_of_a_page_of_1280_pixels(page):
    boxes = {eye: page.locator(f"#{eye}").bounding_box() for eye in ("left", "right")}
    left, right = boxes["left"], boxes["right"]
    assert left["x"] <= 20 and right["x"] + right["width"] >= 1280 - 20
    assert right["x"] - (left["x"] + left["width"]) <= 20


def test_nothing_sticks_out_at_the_side(page):
    for width, height in ((1280, 900), (800, 900), (390, 844), (320, 600)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0


def test_the_rig_file_is_read_again_when_saved(page, rig, little_rig_text):
    before = settled(page)
    rig.write_text(little_rig_text.replace("bezel = 16", "bezel = -16"), "utf-8")
    page.wait_for_selector("#problems:not(:empty)")
    assert "bezel" in page.inner_text("#problems") and settled(page) == before
    rig.write_text(little_rig_text.replace("[0, 750, 1150]", "[0, 850, 1150]"), "utf-8")
    page.wait_for_selector("#problems:empty", state="attached")
    assert settled(page) != before


def test_ctrl_c_ends_it_quietly_with_a_page_open(browser, serving, rig):
    page = browser.new_page()
    with serving(rig, "--head", "leaning", "--without-lenses") as (process, address):
        page.goto(address)
        page.wait_for_selector(RESTING)
        assert page.input_value("#type_x") == "-40" and not page.is_checked("#lenses")
        process.send_signal(signal.SIGINT)
        told = process.communicate(timeout=20)[1]
    assert process.returncode == 0 and "Traceback" not in told and "Error" not in told
    page.wait_for_selector("#status.wrong")
    page.close()


def test_a_port_in_use_is_told_in_one_line(call, little_rig):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        told = call("page", little_rig, "--port", port, status=1).stderr
    assert told.count("\n") == 1 and str(port) in told and "in use" in told


def test_missing_packages_are_told_in_one_line(call, little_rig, monkeypatch):
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    told = call("page", little_rig, status=1).stderr
    assert told.count("\n") == 1 and "pip install" in told


def test_wrong_usage_and_a_wrong_rig(call, little_rig, tmp_path):
    assert "leaning" in call("page", little_rig, "--head", "leanin", status=2).stderr
    assert call("page", little_rig, "--port", 70000, status=2).stderr
    little_rig.write_text("format = 2", "utf-8")
    assert "rig.toml" in call("page", little_rig, status=1).stderr


def test_the_browser_may_get_ready_to_draw_while_the_head_moves(browser, address):
    page = browser.new_page()
    wrong = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(address)
    page.wait_for_selector(RESTING)
    page.focus("#slide_x")
    for _ in range(30):  # what there is to draw comes meanwhile
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(30)
    settled(page)
    page.close()
    assert wrong == []


# its canvas is in no document: it is met where it is made
KEEP_CANVAS = """const get = OffscreenCanvas.prototype.getContext;
OffscreenCanvas.prototype.getContext = function (...words) {
  return (window.gl = get.apply(this, words));
};"""


def test_the_browser_draws_again_when_it_has_its_graphics_back(browser, address):
    page = browser.new_page()
    wrong = []
    page.on("console", lambda message: wrong.append(message.text))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.add_init_script(KEEP_CANVAS)
    page.goto(address)
    page.wait_for_selector("#eyes[data-own]")

    # lost: the server draws
    page.evaluate("window.lose = gl.getExtension('WEBGL_lose_context'); lose.loseContext();")
    page.evaluate("document.getElementById('eyes').dataset.own = ''")
    page.focus("#slide_x")
    page.keyboard.press("ArrowRight")
    settled(page)
    assert page.get_attribute("#eyes", "data-by") == "server"
    assert page.get_attribute("#eyes", "data-own") == ""  # nothing to draw was asked for

    # back: what there is to draw is asked for again
    page.evaluate("lose.restoreContext()")
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("#eyes[data-own=true], #eyes[data-own=false]")
    settled(page)
    page.close()
    assert [text for text in wrong if "GPU stall" not in text] == []


def test_the_browser_draws_while_the_head_moves_and_the_server_at_rest(page):
    settled(page)
    # a machine that draws slowly leaves it to the server
    page.wait_for_selector("#eyes[data-own]")
    own = page.get_attribute("#eyes", "data-own") == "true"
    page.evaluate(
        """() => { window.by = [];
        const eyes = document.getElementById("eyes");
        new MutationObserver(() => window.by.push(eyes.dataset.by))
          .observe(eyes, { attributeFilter: ["data-drawn"] }); }"""
    )
    page.focus("#slide_x")
    for _ in range(5):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(60)
    settled(page)
    by = page.evaluate("() => window.by")
    assert ("browser" in by) == own
    assert by[-1] == "server"


def test_pictures_at_rest_are_as_large_as_they_are_shown(browser, address):
    context = browser.new_context(
        viewport={"width": 720, "height": 900}, device_scale_factor=3, color_scheme="dark"
    )
    page = context.new_page()
    sizes = """() => { const eyes = document.getElementById("eyes");
        const box = document.getElementById("left").getBoundingClientRect();
        return [Number(eyes.dataset.width), Math.round(3 * box.width), eyes.offsetHeight]; }"""
    page.goto(address)
    quick = page.wait_for_function(
        f"() => document.getElementById('eyes').dataset.width && ({sizes})()"
    ).json_value()
    settled(page)
    sharp = page.evaluate(sizes)
    assert 900 < sharp[0] == sharp[1] < 1080
    assert sharp[1:] == quick[1:]  # nothing moves

    # another size of the window; then beyond the greatest, and below the least
    for width, height, least, most in (
        (900, 900, 1200, 1350),
        (1600, 1600, 1920, 1920),
        (300, 500, 640, 640),
    ):
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_function(
            f"ends => ({sizes})()[0] >= ends[0] && ({sizes})()[0] <= ends[1]", arg=[least, most]
        )
    context.close()


def test_the_browser_draws_as_wide_as_it_is_quick(page):
    # times of a pair grow by load, and with the square of its width: 25 ms for 1280 pixels
    widths = page.evaluate(
        """async () => { const { Pace } = await import("/page_pace.js");
        const cost = (width, load) => (load * 25 * width ** 2) / 1280 ** 2;
        const pace = new Pace(1900);
        for (const width of pace.widths) if (!pace.try(width, cost(width, 1))) break;
        const found = [pace.isQuick(10), pace.isQuick(1000)];
        pace.start();
        for (const load of [1, 4, 40, 4, 1, 1.9, 1]) {
          for (let pair = 0; pair < 100; pair++) pace.note(cost(pace.width, load));
          found.push(pace.width);
        }
        pace.start();
        return [...found, pace.width]; }"""
    )
    # none is tried again at once that takes more than 21 ms
    assert widths == [True, True, 1280, 640, 320, 320, 960, 960, 960, 1280]


def test_a_browser_slower_than_the_server_leaves_it_to_that(page):
    found = page.evaluate(
        """async () => { const { Pace } = await import("/page_pace.js");
        const pace = new Pace(1900);
        for (const [width, took] of [[320, 40], [640, 45]]) pace.try(width, took);
        const worth = [pace.isQuick(40), pace.isQuick(50)];
        pace.start();
        return [...worth, pace.width]; }"""
    )
    assert found == [False, True, 640]


def test_what_was_too_slow_is_tried_again_after_a_while(page):
    found = page.evaluate(
        """async () => { const { OwnPictures } = await import("/page_drawing.js");
        const own = Object.assign(new OwnPictures(), { key: "rig", isQuick: false });
        const after = (seconds) => {
          own.triedAt = performance.now() - 1000 * seconds;
          return [own.isWorthATry("rig"), own.isWorthATry("another")];
        };
        return [after(1), after(11)]; }"""
    )
    assert found == [[False, False], [True, False]]
