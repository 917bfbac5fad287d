"""`seamsight log`: adding, listing, the page in a real browser, Markdown, and wrong words."""

import json

import pytest
from PIL import Image


@pytest.fixture
def add(call, little_rig, tmp_path, small_log_pictures):
    """Return a function that adds an entry of the little rig to a log and gives its folder."""

    def add(*options, text="Built a *stand*."):
        done = call("log", "add", "log", "--rig", little_rig, "--text", text, *options)
        return tmp_path / done.stdout.strip()

    return add


@pytest.fixture
def photo(tmp_path):
    file = tmp_path / "my photo.jpg"
    Image.effect_noise((320, 240), 80).save(file)
    return file


def test_an_entry_holds_all_that_it_needs(add, little_rig, photo):
    entry = add(
        "--title", "First", "--picture", photo, "--caption", "The stand", "--date", "2026-03-14"
    )
    assert entry.name == "2026-03-14-01"
    files = {str(path.relative_to(entry)) for path in entry.rglob("*") if path.is_file()}
    eyes = {f"{eye}{lenses}.png" for eye in ("left", "right") for lenses in ("", "_without_lenses")}
    assert files == {
        "entry.json",
        "numbers.json",
        "rig/rig.toml",
        "pictures/01_my_photo.jpg",
        *eyes,
    }
    assert (entry / "rig/rig.toml").read_bytes() == little_rig.read_bytes()
    assert (entry / "pictures/01_my_photo.jpg").read_bytes() == photo.read_bytes()
    facts = json.loads((entry / "entry.json").read_text("utf-8"))
    assert (facts["title"], facts["text"], facts["head"]) == ("First", "Built a *stand*.", "design")
    assert facts["pictures"] == [{"file": "pictures/01_my_photo.jpg", "caption": "The stand"}]
    assert (entry / "left.png").read_bytes() != (entry / "left_without_lenses.png").read_bytes()


def test_numbers_are_those_of_check(call, add, little_rig):
    entry = add("--head", "leaning")
    numbers = json.loads((entry / "numbers.json").read_bytes())
    told = json.loads(call("check", little_rig, "--json", "--head", "leaning").stdout)
    assert numbers.pop("seamsight")
    for screen in told["screens"].values():
        screen["lens_models"] = None  # for `check` alone
    assert numbers == {key: value for key, value in told.items() if key != "cautions"}


def test_the_list_is_in_the_order_of_dates(call, add, tmp_path):
    add("--date", "2026-03-14", "--title", "second")
    add("--date", "2026-03-14", "--title", "third")
    add("--date", "2025-12-31", "--title", "first")
    lines = call("log", "list", "log").stdout.splitlines()
    assert lines == ["2025-12-31-01  first", "2026-03-14-01  second", "2026-03-14-02  third"]
    rows = json.loads(call("log", "list", "log", "--json").stdout)
    assert [row["entry"] for row in rows] == ["2025-12-31-01", "2026-03-14-01", "2026-03-14-02"]
    (tmp_path / "log" / ".adding-0123").mkdir()
    (tmp_path / "log" / "2026-03-14-01" / "entry.json").write_text("{")
    done = call("log", "list", "log")
    assert done.stdout.splitlines() == [lines[0], lines[2]]
    told = done.stderr.splitlines()
    assert len(told) == 2
    assert "2026-03-14-01 is damaged" in told[0]
    assert ".adding-0123" in told[1] and "unfinished entry" in told[1]


def test_a_rig_that_no_longer_reads_still_shows(call, add, little_rig, tmp_path):
    entry = add()
    little_rig.write_text("nonsense")
    (entry / "rig" / "rig.toml").write_text("nonsense")
    call("log", "page", "log", "page.html")
    assert "What each eye sees" in (tmp_path / "page.html").read_text("utf-8")
    call("log", "markdown", "log", "page.md")
    assert f"log/{entry.name}/left_without_lenses.png" in (tmp_path / "page.md").read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["add", "log", "--rig", "rig.toml"], "--text"),
        (["add", "log", "--rig", "rig.toml", "--text", " \n"], "empty"),
        (
            ["add", "log", "--rig", "rig.toml", "--text", "a", "--text-file", "b"],
            "either --text or",
        ),
        (["add", "log", "--rig", "rig.toml", "--text-file", "missing.md"], "missing.md"),
        (["add", "log", "--rig", "rig.toml", "--text-file", "binary"], "UTF-8"),
        (["add", "log", "--rig", "rig.toml", "--text", "a", "--date", "2026-13-01"], "2026-13-01"),
        (["add", "log", "--rig", "rig.toml", "--text", "a", "--date", "20260301"], "20260301"),
        (
            ["add", "log", "--rig", "rig.toml", "--text", "a", "--picture", "rig.toml"],
            "rig.toml is not a readable",
        ),
        (["add", "log", "--rig", "rig.toml", "--text", "a", "--picture", "none.png"], "none.png"),
        (
            ["add", "log", "--rig", "rig.toml", "--text", "a", "--caption", "of none"],
            "more captions",
        ),
        (
            ["add", "log", "--rig", "rig.toml", "--text", "a", "--head", "leanig"],
            'did you mean "leaning"?',
        ),
        (["add", "log", "--text", "a"], "--rig"),
        (["page", "log", "page.txt"], "page.txt"),
        (["markdown", "log", "page.html"], "page.html"),
    ],
)
def test_wrong_usage_ends_in_2_and_makes_nothing(call, little_rig, tmp_path, words, said):
    (tmp_path / "binary").write_bytes(b"\xff\xfe\xff")
    before = sorted(tmp_path.iterdir())
    done = call("log", *words, status=2)
    assert said in done.stderr and done.stdout == ""
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["list", "log"], "not a build log"),
        (["page", ".", "page.html"], "not a build log"),
        (["add", ".", "--rig", "rig.toml", "--text", "a"], "contains other files"),
        (["add", "no/log", "--rig", "rig.toml", "--text", "a"], "create it first"),
        (["add", "log", "--rig", "none.toml", "--text", "a"], "none.toml"),
        (["add", "log", "--rig", "rig.toml", "--text", "a", "--head", "in the ceiling"], "inside"),
    ],
)
def test_wrong_folders_and_rigs_end_in_1_with_one_line(call, little_rig, tmp_path, words, said):
    done = call("log", *words, status=1)
    assert len(done.stderr.splitlines()) == 1 and said in done.stderr
    assert list(tmp_path.iterdir()) == [little_rig]


def test_the_sheet_is_stored_if_asked_for(call, add, tmp_path):
    assert not (add() / "sheet.html").exists()
    entry = add("--sheet")
    assert (entry / "sheet.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert len(call("log", "list", "log").stdout.splitlines()) == 2
    call("log", "page", "log", "page.html")


HOSTILE = """<!doctype html><title>x</title><script>
for (const act of [
  () => (parent.document.title = "reached"),
  () => (top.location = "https://example.org/top"),
  () => open("https://example.org/open"),
  () => (location = "https://example.org/frame"),
  () => (new Image().src = "https://example.org/image"),
  () => fetch("https://example.org/fetch").catch(() => {}),
]) try { act(); } catch {}
</script>"""


def test_the_page_holds_what_to_walk_in(call, add, tmp_path, browser):
    add()
    entry = add("--walk-in", "--title", '"><b>odd</b>')
    hostile = add("--walk-in")
    assert (entry / "walk_in.html").read_text("utf-8").startswith("<!doctype html>")
    (hostile / "walk_in.html").write_text(HOSTILE, "utf-8")
    said = call("log", "page", "log", "page.html").stderr.splitlines()[-1]
    assert said.startswith("page.html: ") and said.endswith(" MB")

    # a keyboard opens it on a phone, with all that it needs, and closes it
    tab = browser.new_page(viewport={"width": 390, "height": 844}, color_scheme="dark")
    asked, said = [], []
    tab.on("request", lambda request: asked.append(request.url))
    tab.on("console", lambda message: said.append(message.text))
    tab.goto((tmp_path / "page.html").as_uri())
    assert tab.locator("iframe").count() == 0 and len(tab.frames) == 1
    enter, enter_hostile = tab.locator(".enter").all()
    enter.focus()
    tab.keyboard.press("Enter")
    frame = tab.frame_locator("iframe")
    frame.locator("#canvas[data-drawn]").wait_for()
    assert tab.get_attribute("iframe", "title") == 'The rig to walk in: "><b>odd</b>'
    assert frame.locator("h1").inner_text() == "Größe [[x]]"
    assert tab.evaluate("document.documentElement.scrollWidth") == 390
    inside = tab.frames[1]
    assert inside.evaluate("[isSecureContext, origin]") == [True, "null"]
    allowed = set(inside.evaluate("document.featurePolicy.allowedFeatures()"))
    assert {"fullscreen", "gyroscope", "xr-spatial-tracking"} <= allowed
    tab.keyboard.press("Tab")  # to the other button
    tab.keyboard.press("Tab")
    frame.locator(".skip:focus").wait_for()
    tab.keyboard.press("Enter")
    frame.locator("#controls:focus").wait_for()
    tab.locator(".fill").first.click()
    tab.wait_for_function("document.fullscreenElement?.tagName === 'IFRAME'")
    tab.evaluate("document.exitFullscreen()")
    enter.click()
    assert tab.locator("iframe").count() == 0
    assert [text for text in said if "GPU stall" not in text] == []

    # one that was tampered with reaches neither the page nor the web
    with tab.expect_console_message(lambda message: "example.org/fetch" in message.text):
        enter_hostile.click()
    tab.wait_for_timeout(300)
    assert tab.title() == "Build log: Größe [[x]]"
    assert {url.partition(":")[0] for url in asked} <= {"file", "data", "about"}
    tab.close()


def test_without_pages_to_walk_in_the_page_is_as_before(call, add, tmp_path):
    add()
    assert "MB" not in call("log", "page", "log", "page.html").stderr
    text = (tmp_path / "page.html").read_text("utf-8")
    assert "script-src 'unsafe-inline'\"" in text and "<iframe" not in text


def test_markdown_links_to_the_pages_of_an_entry(call, add, tmp_path):
    entry = add("--walk-in", "--sheet")
    call("log", "markdown", "log", "page.md")
    text = (tmp_path / "page.md").read_text("utf-8")
    assert f"\n[The sheet to print](log/{entry.name}/sheet.html)\n" in text
    assert f"\n[The rig to walk in](log/{entry.name}/walk_in.html)\n" in text


def test_an_existing_page_stays_without_force(call, add, tmp_path):
    add()
    (tmp_path / "page.html").write_text("mine")
    assert "--force" in call("log", "page", "log", "page.html", status=1).stderr
    assert (tmp_path / "page.html").read_text() == "mine"
    call("log", "page", "log", "page.html", "--force")
    assert (tmp_path / "page.html").read_text("utf-8").startswith("<!DOCTYPE html>")


def test_the_page_works_in_a_browser_from_a_file(call, add, little_rig, photo, tmp_path, browser):
    add("--picture", photo, text="# </script> <b>\n\n![x](http://example.org/x.png)")
    little_rig.write_text(
        little_rig.read_text("utf-8").replace("width = 517", "width = 400"), "utf-8"
    )
    add("--title", 'odd "title" [[x]] 🛩', "--head", "leaning")
    call("log", "page", "log", "page.html")
    asked = []
    said = []
    tab = browser.new_page(viewport={"width": 390, "height": 844})
    tab.on("request", lambda request: asked.append(request.url))
    tab.on("console", lambda message: said.append(message.text))
    tab.on("pageerror", lambda error: said.append(str(error)))
    tab.goto((tmp_path / "page.html").as_uri())
    assert [url for url in asked if not url.startswith("data:")] == [
        (tmp_path / "page.html").as_uri()
    ]
    assert said == []
    assert (
        tab.evaluate("document.documentElement.scrollWidth") == 390
    )  # nothing sticks out on a phone
    assert tab.evaluate(
        "[...document.images].every(image => image.complete && image.naturalWidth > 0)"
    )
    assert tab.evaluate("[...document.images].every(image => image.alt)")
    assert tab.locator("h2", has_text='odd "title" [[x]] 🛩').count() == 1
    assert tab.locator(".text").first.inner_text().startswith("</script> <b>")
    assert tab.get_by_text("worse", exact=True).count() > 0
    slider = tab.get_by_role("slider").first
    shown = tab.locator(".before").first
    assert slider.get_attribute("aria-label").startswith("left eye")
    clip = "image => getComputedStyle(image).clipPath"
    before = shown.evaluate(clip)
    slider.focus()
    tab.keyboard.press("ArrowRight")
    after = shown.evaluate(clip)
    assert "50%" in before and "49%" in after
    tab.keyboard.press("Home")
    left = tab.locator(".stack").first.screenshot()
    tab.keyboard.press("End")
    assert shown.evaluate(clip) in (
        "inset(0px)",
        "inset(0px 0% 0px 0px)",
        "inset(0px calc(0%) 0px 0px)",
    )
    assert tab.locator(".stack").first.screenshot() != left


def test_a_printed_page_shows_both_pictures_and_all_numbers(call, add, tmp_path, browser):
    add()
    call("log", "page", "log", "page.html")
    tab = browser.new_page()
    tab.goto((tmp_path / "page.html").as_uri())
    tab.emulate_media(media="print")
    tab.evaluate("dispatchEvent(new Event('beforeprint'))")
    boxes = [tab.locator(f".stack .{which}").first.bounding_box() for which in ("before", "after")]
    assert boxes[1]["y"] >= boxes[0]["y"] + boxes[0]["height"]
    assert not tab.get_by_role("slider").first.is_visible()
    assert tab.get_by_text("visible field, width").first.is_visible()


@pytest.mark.parametrize("keep", [(), ("--keep-camera-notes",)])
def test_a_photo_is_copied_without_its_place_unless_asked(add, tmp_path, keep):
    notes = Image.Exif()
    notes[0x8825] = {2: (48.0, 7.0, 30.0)}  # Exif (CIPA DC-008): GPS, latitude
    Image.new("RGB", (40, 30), "red").save(tmp_path / "seat.jpg", exif=notes)
    entry = add("--picture", tmp_path / "seat.jpg", *keep)
    with Image.open(entry / "pictures/01_seat.jpg") as copy:
        assert bool(copy.getexif().get_ifd(0x8825)) == bool(keep)
