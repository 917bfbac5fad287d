"""`walk-in`: the page that it writes, opened in a browser as a file."""

import pytest

DRAWN = """() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"""
LOSE = """() => {
  const gl = document.getElementById("canvas").getContext("webgl2");
  const found = gl.getExtension("WEBGL_lose_context");
  found.loseContext();
  setTimeout(() => found.restoreContext(), 50);
}"""


@pytest.fixture(scope="module")
def page_file(tmp_path_factory, command, little_rig_text):
    folder = tmp_path_factory.mktemp("walk_in")
    (folder / "rig.toml").write_text(little_rig_text, "utf-8")
    command("walk-in", "rig.toml", "page.html", cwd=folder)
    return folder / "page.html"


@pytest.fixture
def page(browser, page_file):
    """Open the page; hold it to asking for nothing elsewhere and to a console without errors."""
    page = browser.new_page(viewport={"width": 1000, "height": 700})
    asked, wrong = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda message: wrong.append(message.text))
    page.goto(page_file.as_uri())
    page.wait_for_selector("#canvas[data-drawn]")
    yield page
    page.close()
    assert [text for text in wrong if "GPU stall" not in text] == []
    assert {url.partition(":")[0] for url in asked} <= {"file", "data", "blob"}


def picture(page):
    page.evaluate(DRAWN)
    return page.locator("#canvas").screenshot()


def test_the_page_shows_the_rig_by_itself(page):
    assert page.inner_text("h1") == "Größe [[x]]"
    assert page.inner_text("#numbers li").startswith("[[x]]: seen by left / right eye")
    assert "Fresnel lens starts fires" in page.inner_text("#caution_list")
    names = [button.inner_text() for button in page.query_selector_all("#heads button")]
    assert names == ["design", "leaning", "in the ceiling"]


@pytest.mark.parametrize(
    "act",
    [
        lambda page: page.click("text=leaning"),
        lambda page: page.check("input[value=right]"),
        lambda page: page.check("input[value=both]"),
        lambda page: page.check("input[value=outside]"),
        lambda page: page.uncheck("#lenses"),
        lambda page: page.select_option("#other", "lenses"),
        lambda page: page.press("#canvas", "ArrowLeft"),
        lambda page: page.press("#canvas", "Shift+m"),
        lambda page: page.press("#canvas", "o"),
        lambda page: [page.press("#canvas", "-") for _ in range(6)],  # as wide as no flat picture
        lambda page: page.mouse.wheel(0, -300) if not page.hover("#canvas") else None,
        lambda page: page.fill("#slide_z", "50"),
    ],
)
def test_every_control_changes_the_picture(page, act):
    before = picture(page)
    act(page)
    assert picture(page) != before


def test_a_legend_tells_the_colours_by_eye(page):
    assert page.is_hidden("#legend")
    page.check("#overlap")
    assert page.is_visible("#legend")
    page.check("input[value=outside]")
    assert page.is_hidden("#legend")


def test_a_keyboard_skips_to_the_controls(page):
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "controls"


def test_numbers_follow_the_head_position(page):
    page.click("text=in the ceiling")
    assert "inside" in page.inner_text("#numbers")
    assert page.inner_text("#numbers_of") == "Measured at head position in the ceiling"


def test_a_lost_drawing_context_comes_back(page):
    before = picture(page)
    drawn = int(page.get_attribute("#canvas", "data-drawn"))
    page.evaluate(LOSE)
    for _ in range(100):  # the page forbids what waits for a condition
        if int(page.get_attribute("#canvas", "data-drawn")) > drawn:
            break
        page.wait_for_timeout(50)
    assert picture(page) == before


def test_two_rigs_are_compared(call, little_rig, tmp_path, browser):
    (tmp_path / "other.toml").write_text(
        little_rig.read_text("utf-8").replace("distance = 150", "distance = 200"), "utf-8"
    )
    call("walk-in", "rig.toml", "page.html", "--with", "other.toml")
    page = browser.new_page()
    page.goto((tmp_path / "page.html").as_uri())
    page.wait_for_selector("#canvas[data-drawn]")
    assert page.input_value("#other") == "rig 1"
    before = picture(page)
    page.fill("#divide", "20")
    assert picture(page) != before
    page.close()


def test_wrong_usage(call, little_rig, tmp_path):
    assert "must end in .html" in call("walk-in", "rig.toml", "page.png", status=2).stderr
    assert "no such file" in call("walk-in", "no.toml", "page.html", status=1).stderr
    (tmp_path / "there.html").write_text("mine")
    assert "exists" in call("walk-in", "rig.toml", "there.html", status=1).stderr
    assert (tmp_path / "there.html").read_text() == "mine"
    assert not (tmp_path / "page.html").exists()
