"""Sliders for the rig file's numbers, as a browser has them, and what they write."""

import json
import re

import pytest

SETTLED = "#eyes[aria-busy=false]"
RESTING = "#numbers[aria-busy=false]"
PICTURE = """() => ["left", "right"].map((eye) => document.getElementById(eye).toDataURL())"""
DISTANCE = "[[x]] lens.distance"
AWAY = "[[x]].centre.2"


@pytest.fixture
def page(browser, serving, little_rig):
    """Open the page of a rig of its own; hold its console to be without errors."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    wrong = []
    page.on("console", lambda message: wrong.append(message.text))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    with serving(little_rig) as (_, address):
        page.goto(address)
        settled(page)
        yield page
        context.close()
    assert [text for text in wrong if "GPU stall" not in text] == []  # of software drivers


def settled(page):
    """Wait until the full picture and numbers are there; return both eyes' pictures."""
    page.wait_for_timeout(100)
    page.wait_for_selector(RESTING)
    page.wait_for_selector(SETTLED)
    return page.evaluate(PICTURE)


def choose(page, path):
    """Choose a number by its path; return its slider and its field."""
    page.fill("#pick", path)
    page.press("#pick", "Enter")
    slider = page.get_by_role("slider", name=path, exact=True)
    return slider, page.get_by_role("spinbutton", name=f"{path}, millimetres", exact=True)


def drag(page, slider, share):
    """Drag a slider to a share of its length."""
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    y = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] / 2, y)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * share, y, steps=8)
    page.mouse.up()


def status(page):
    return page.inner_text("#values_status")


def told(page, words):
    """Wait until something is said below the sliders."""
    page.wait_for_selector(f"#values_status:has-text('{words}')")


def test_dragging_changes_pictures_and_numbers_and_can_be_undone(page):
    before, numbers = settled(page), page.inner_text("#numbers")
    slider, field = choose(page, DISTANCE)
    assert (slider.input_value(), field.input_value()) == ("150", "150")
    assert (slider.get_attribute("min"), slider.get_attribute("max")) == ("75", "225")
    drag(page, slider, 0.3)
    after = settled(page)
    value = float(field.input_value())
    assert 100 < value < 130 and slider.get_attribute("aria-valuetext") == f"{value:g} millimetres"
    assert after != before and page.inner_text("#numbers") != numbers
    assert status(page) == "1 number changed, not written"

    # back, and forth again, by buttons and by keys
    page.get_by_role("button", name="Undo").click()
    assert settled(page) == before and field.input_value() == "150" and status(page) == ""
    page.get_by_role("button", name="Redo").click()
    assert settled(page) == after and float(field.input_value()) == value
    page.keyboard.press("Control+z")
    assert settled(page) == before
    page.keyboard.press("Control+Shift+Z")
    assert settled(page) == after


def test_several_numbers_keys_and_removing(page):
    before = settled(page)
    slider, _ = choose(page, DISTANCE)
    slider.press("ArrowRight")
    slider.press("ArrowRight")
    _, field = choose(page, AWAY)
    field.fill("812.25")
    field.press("Tab")
    after = settled(page)
    assert slider.input_value() == "150.2" and status(page).startswith("2 numbers changed")

    # one that is removed is again what the file says; undoing brings it back
    page.get_by_role("button", name=f"Remove {AWAY}").click()
    assert settled(page) not in (before, after) and status(page).startswith("1 number changed")
    assert page.locator(".value_row").count() == 1
    page.get_by_role("button", name="Undo").click()
    assert settled(page) == after and page.locator(".value_row").count() == 2
    page.get_by_role("button", name="Back to the file's values").click()
    assert settled(page) == before


def test_what_is_no_number_of_the_file_is_told(page):
    choose(page, "[[x]].centr")
    assert status(page) == "The rig file has no number called [[x]].centr"
    assert page.locator(".value_row").count() == 0
    options = page.evaluate("() => [...document.querySelectorAll('option')].map((o) => o.value)")
    assert DISTANCE in options and AWAY in options and "[[x]].pixels.1" not in options


def test_a_wrong_number_is_told_with_its_line_and_the_last_picture_stays(page):
    _, field = choose(page, DISTANCE)
    before = settled(page)
    field.fill("500")
    page.wait_for_selector("#problems:not(:empty)")
    assert re.search(
        r"rig.toml:\d+: lens .*must be closer to the screen", page.inner_text("#problems")
    )
    assert page.evaluate(PICTURE) == before
    page.get_by_role("button", name="Write to the rig file").click()
    told(page, "Nothing was written")
    field.fill("150")
    page.wait_for_selector("#problems:empty", state="attached")
    assert settled(page) == before


def test_writing_changes_that_number_alone_and_is_no_conflict(page, little_rig, little_rig_text):
    slider, field = choose(page, DISTANCE)
    for value in ("160.5", "170"):
        field.fill(value)
        field.press("Enter")
        after = settled(page)
        page.get_by_role("button", name="Write to the rig file").click()
        told(page, "Written")
        page.wait_for_timeout(1500)  # until the file would have been looked at again
        assert status(page) == "Written to rig.toml"
        wanted = little_rig_text.replace("distance = 150", f"distance = {value}")
        assert little_rig.read_text("utf-8") == wanted
        assert settled(page) == after and f"in the file: {value} mm" in page.inner_text("#values")
    assert page.inner_text("#problems") == ""
    assert float(slider.get_attribute("min")) == 85


def test_a_file_changed_meanwhile_is_not_written_over(page, little_rig, little_rig_text):
    _, field = choose(page, DISTANCE)
    field.fill("160")
    settled(page)
    theirs = little_rig_text.replace("bezel = 16", "bezel = 20") + "# theirs\n"
    little_rig.write_text(theirs, "utf-8")
    page.wait_for_selector("#values_status.wrong")
    assert "changed by another program" in status(page)
    page.get_by_role("button", name="Write to the rig file").click()
    told(page, "nothing was written")
    assert little_rig.read_text("utf-8") == theirs and field.input_value() == "160"

    # from the file's values on it can be written again
    page.get_by_role("button", name="Back to the file's values").click()
    assert "another program" not in status(page) and field.input_value() == "150"
    field.fill("165")
    settled(page)
    page.get_by_role("button", name="Write to the rig file").click()
    page.wait_for_function(
        "() => document.querySelector('#values_status').innerText == 'Written to rig.toml'"
    )
    assert little_rig.read_text("utf-8") == theirs.replace("distance = 150", "distance = 165")


def test_saving_under_a_new_name(page, little_rig, little_rig_text):
    _, field = choose(page, DISTANCE)
    field.fill("160")
    settled(page)
    page.get_by_role("button", name="Save as …").click()
    for name, words in (
        ("../out.toml", "plain name"),
        ("rig.toml", "rig.toml exists"),
        ("wider", "Saved as wider.toml"),
    ):
        page.get_by_label("Name of the new file").fill(name)
        page.keyboard.press("Enter")
        told(page, words)
    saved = little_rig.parent / "wider.toml"
    assert saved.read_text("utf-8") == little_rig_text.replace("distance = 150", "distance = 160")
    assert little_rig.read_text("utf-8") == little_rig_text
    assert sorted(path.name for path in little_rig.parent.iterdir()) == ["rig.toml", "wider.toml"]
    assert "1 number changed, not written" in status(page)


def test_values_set_by_the_command_are_sliders(browser, serving, little_rig):
    page = browser.new_page()
    with serving(little_rig, "--set", f"{DISTANCE}=170", "--set", "[[x]].bezel=20") as (_, address):
        page.goto(address)
        settled(page)
        assert page.input_value(f"[id='typed {DISTANCE}']") == "170"
        assert status(page) == "2 numbers changed, not written"
        page.get_by_role("button", name="Back to the file's values").click()
        assert page.input_value(f"[id='typed {DISTANCE}']") == "150"
    page.close()


def test_nothing_sticks_out_at_the_side(page):
    for path in (DISTANCE, AWAY, "höhe [bold].centre.3"):
        choose(page, path)
    page.click("#open_save_as")
    for width, height in ((1280, 900), (800, 900), (390, 844), (320, 600)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0


def test_a_click_on_a_trade_off_curve_shows_its_rig(page, tmp_path):
    path = "[[x]] lens.distance"
    points = [
        {"changes": {path: distance}, "figures": {"field": field, "head-room": room}}
        for distance, field, room in [(120, 40.0, 60.0), (180, 47.5, 12.0)]
    ]
    answer = {"goals": ["field", "head-room"], "curve": points}

    def opened(number, text):
        (tmp_path / f"{number}.json").write_text(text)
        page.set_input_files("#curve_file", tmp_path / f"{number}.json")

    opened(1, json.dumps(answer))
    page.wait_for_selector("#curve circle >> nth=1")

    page.click("#curve circle >> nth=1")
    assert page.input_value(f"[id='value {path}']") == "180"
    assert page.get_attribute("#curve circle >> nth=1", "aria-pressed") == "true"
    assert "rig 2: field 47.5, head-room 12" in page.inner_text("#curve_status")
    page.focus("#curve circle >> nth=0")
    page.keyboard.press("Enter")
    assert page.input_value(f"[id='value {path}']") == "120"
    page.click("#undo")
    assert page.input_value(f"[id='value {path}']") == "180"

    # a curve of another rig, and what is none
    opened(2, json.dumps(answer | {"curve": [points[0] | {"changes": {"no.such": 1}}]}))
    page.wait_for_selector("#curve circle >> nth=1", state="detached")
    page.click("#curve circle")
    assert "no number called no.such" in page.inner_text("#curve_status")
    for number, wrong in enumerate(["no JSON", "[]", json.dumps(answer | {"curve": [{}]})], 3):
        opened(number, wrong)
        page.wait_for_selector("#curve_status:has-text('no trade-off curve')")
        assert not page.locator("#curve circle").count()


# a tab of its own draws a rig after changes, and one that is loaded at once; returns the pictures
DRAW = """async ([first, then]) => {
  const load = (name) => import(`/${name}.js`);
  const [{ RigShapes }, { OwnPictures }, { takenApart }] = await Promise.all(
    ["page_shapes", "page_drawing", "rig_shapes"].map(load));
  const line = new WebSocket(`ws://${location.host}/live`);
  line.binaryType = "arraybuffer";
  const heard = (kind) => new Promise((done) => {
    line.onmessage = ({ data }) => {
      const { facts, binary } = takenApart(data);
      if (facts.kind === kind) done({ facts, binary, bytes: data.byteLength });
    };
  });
  await heard("rig");
  const state = { x: 20, y: 0, z: 0, turn: 3, nod: 0, tilt: 0, lenses: true };

  const tab = { shapes: new RigShapes(), own: new OwnPictures() };
  const take = async ({ shapes, own }, changes, moving) => {
    const asked = { want: "shapes", number: 1, state, changes, moving, has: shapes.keys };
    line.send(JSON.stringify(asked));
    const { facts, binary, bytes } = await heard("shapes");
    own.take(JSON.stringify(changes), facts, await shapes.take(facts.shapes, binary));
    return bytes;
  };
  const drawn = async ({ own }) => {
    const found = [];
    for (const bitmap of own.pair(state, 640)) {
      const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
      canvas.getContext("bitmaprenderer").transferFromImageBitmap(bitmap);
      const blob = await canvas.convertToBlob();
      found.push(await new Promise((done) => {
        const reader = new FileReader();
        reader.onload = () => done(reader.result);
        reader.readAsDataURL(blob);
      }));
    }
    return found;
  };

  const bytes = [await take(tab, {}, false)];
  const before = await drawn(tab);
  for (const changes of first) bytes.push(await take(tab, changes, true));
  bytes.push(await take(tab, then, false));
  const after = await drawn(tab);
  const fresh = { shapes: new RigShapes(), own: new OwnPictures() };
  await take(fresh, then, false);
  const whole = await drawn(fresh);
  line.close();
  return { before, after, whole, bytes };
}"""


def test_what_the_browser_draws_after_changes_is_what_it_draws_of_that_rig(page):
    for first, then in (
        ([{DISTANCE: 160}, {DISTANCE: 171}], {DISTANCE: 180}),
        ([{AWAY: 700}, {AWAY: 720, DISTANCE: 140}, {"[[x]].bezel": 30}], {AWAY: 790.5}),
        ([{"höhe [bold].size.1": 300}], {"pilot.eye_point.3": 1160}),
    ):
        found = page.evaluate(DRAW, [first, then])
        assert found["after"] == found["whole"] != found["before"]
        assert max(found["bytes"][1:]) < found["bytes"][0] / 2


def test_while_a_number_moves_the_browser_draws_with_what_changes(browser, serving, little_rig):
    page = browser.new_page()
    sent = []
    page.on(
        "websocket", lambda line: line.on("framesent", lambda frame: sent.append(json.loads(frame)))
    )
    with serving(little_rig) as (_, address):
        page.goto(address)
        settled(page)
        page.wait_for_selector("#eyes[data-own]")
        own = page.get_attribute("#eyes", "data-own") == "true"
        slider, field = choose(page, DISTANCE)
        sent.clear()
        drag(page, slider, 0.3)
        settled(page)
        moving = [
            asked for asked in sent if asked["moving"] and asked["want"] in ("pair", "shapes")
        ]
        assert moving[0]["want"] == ("shapes" if own else "pair")
        assert all(asked["has"] for asked in moving if asked["want"] == "shapes")

        # what is wrong is told, too
        field.fill("500")
        page.wait_for_selector("#problems:not(:empty)")
    page.close()
