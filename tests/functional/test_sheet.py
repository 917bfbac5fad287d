"""`seamsight sheet`: one file with all sections that fits both papers, and what it refuses."""

import re

import pytest

from seamsight.cli import sheet_sections

OUTPUT = '\n[[output]]\nname = "<b>socket</b>"\nlink = "HDMI 1.2"\nscreens = ["[[x]]"]\n'


@pytest.fixture(autouse=True)
def _small_pictures(monkeypatch):
    for name, value in {"WIDTH": 330, "HEIGHT": 140, "SAMPLES": 1}.items():
        monkeypatch.setattr(sheet_sections, name, value)


@pytest.fixture
def rig(little_rig):
    little_rig.write_text(little_rig.read_text("utf-8") + OUTPUT, "utf-8")
    return little_rig


def headings(text):
    return re.findall(r"<h2>(.*?)</h2>", text)


def test_it_has_its_sections(call, rig, tmp_path):
    call("sheet", rig, "sheet.html", "--head", "leaning", "--set", "pilot.neck=90")
    text = (tmp_path / "sheet.html").read_text("utf-8")
    found = headings(text)
    assert found[0] == "Cautions"
    assert found.index("From the seat") < found.index("What both eyes see")
    assert found[-3:] == ["Signals and desktop", "Drawing", "Boards and plates to cut"]
    assert text.count("data:image/jpeg") == 4  # both eyes, the desktop, the drawing
    assert "head position leaning" in text and "pilot.neck=90" in text
    assert "Sunlight through a Fresnel lens" in text
    assert "&lt;b&gt;socket" in text and "<b>" not in text


def test_views_to_enter_are_on_it(call, bank_rig, tmp_path):
    call("sheet", bank_rig, "sheet.html")
    text = (tmp_path / "sheet.html").read_text("utf-8")
    assert {"Views for the simulator", "Reach, seat and view"} <= set(headings(text))
    assert "There is nothing to reach" in text and "Over the nose" in text
    assert "Off-axis (asymmetric) views" in text and "No setting mends this" in text
    assert text.count("data:image/jpeg") == 4  # both eyes, the views, the drawing


def test_a_panel_s_windows_are_on_it(call, little_rig, tmp_path):
    plate = """
[[plate]]
name = "panel"
size = [600, 400]
thickness = 3
centre = [0, 500, 1150]
holes = [{ shape = "circle", at = [0, 0], diameter = 57, name = "<i>clock" }]
"""
    little_rig.write_text(little_rig.read_text("utf-8") + plate, "utf-8")
    call("sheet", little_rig, "sheet.html")
    text = (tmp_path / "sheet.html").read_text("utf-8")
    assert "Instruments behind the panel" in headings(text)
    assert "&lt;i&gt;clock" in text and "<i>" not in text


LAMP = """
[[lamp]]
name = "<b>lamp"
centre = [0, -600, 1150]
yaw = 180
size = [400, 300]
luminance = 2000
"""
PIERCED = """
[[plate]]
name = "<u>plate"
size = [100, 100]
thickness = 3
centre = [300, 500, 900]
holes = [{ shape = "circle", at = [0, 0], diameter = 20 }]
"""


def test_a_lamp_s_mirror_image_and_templates_are_on_it(call, little_rig, tmp_path, monkeypatch):
    plain = little_rig.read_text("utf-8")
    little_rig.write_text(plain + LAMP + PIERCED, "utf-8")
    call("sheet", little_rig, "sheet.html")
    text = (tmp_path / "sheet.html").read_text("utf-8")
    assert headings(text)[-3:] == ["Light", "Drawing", "Boards and plates to cut"]
    assert "The worst is &lt;b&gt;lamp in [[x]] lens" in text
    assert "`seamsight template` draws at full size: &lt;u&gt;plate." in text
    assert "has all" not in text

    # only the brightest; none at all behind one's back
    monkeypatch.setattr(sheet_sections, "MOST_MIRRORED", 0)
    call("sheet", little_rig, "sheet.html", "--force")
    assert "The table has the brightest 0" in (tmp_path / "sheet.html").read_text("utf-8")
    little_rig.write_text(plain + LAMP.replace("yaw = 180", "yaw = 0"), "utf-8")
    call("sheet", little_rig, "sheet.html", "--force")
    text = (tmp_path / "sheet.html").read_text("utf-8")
    assert "Nothing is seen mirrored from: design." in text
    assert "seamsight template" not in text


def test_half_a_wide_picture_is_told_instead_of_views(call, bank_rig, tmp_path):
    half = 'shows = { wide = "world", part = 1, of = 2 }'
    bank_rig.write_text(bank_rig.read_text("utf-8").replace("[800, 500]", f"[800, 500], {half}"))
    call("sheet", bank_rig, "sheet.html")
    assert "part 2 of 2 of the wide picture" in (tmp_path / "sheet.html").read_text("utf-8")


def test_a_rig_without_outputs_has_no_signals(call, little_rig, tmp_path):
    call("sheet", little_rig, "sheet.html")
    assert "Signals and desktop" not in headings((tmp_path / "sheet.html").read_text("utf-8"))
    assert "exists" in call("sheet", little_rig, "sheet.html", status=1).stderr
    call("sheet", little_rig, "sheet.html", "--force")


def test_wrong_usage_and_wrong_rigs_write_nothing(call, rig, tmp_path):
    assert ".html" in call("sheet", rig, "sheet.pdf", status=2).stderr
    assert "leaning" in call("sheet", rig, "sheet.html", "--head", "leanin", status=2).stderr
    call("sheet", rig, "sheet.html", "--head", "in the ceiling", status=1)
    rig.write_text(rig.read_text("utf-8").replace("HDMI 1.2", "HDMI 7"), "utf-8")
    assert "link must be" in call("sheet", rig, "sheet.html", status=1).stderr
    assert list(tmp_path.iterdir()) == [rig]


PAPERS = {"A4": 210 - 26, "Letter": 215.9 - 26}  # mm between the margins


def test_it_fits_both_papers_and_asks_nobody(call, rig, tmp_path, browser):
    long = rig.read_text("utf-8").replace("[[x]]", "W" * 70).replace("<b>socket</b>", "M" * 80)
    rig.write_text(long, "utf-8")
    call("sheet", rig, "sheet.html")
    page = browser.new_page()
    asked = []
    page.on("request", lambda request: asked.append(request.url.partition(":")[0]))
    page.goto((tmp_path / "sheet.html").as_uri())
    page.emulate_media(media="print")
    for width in PAPERS.values():
        page.set_viewport_size({"width": int(width / 25.4 * 96), "height": 900})
        ends = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert page.evaluate(ends) <= 0
        tables = "Math.max(...[...document.querySelectorAll('table')].map((t) => t.offsetWidth))"
        assert page.evaluate(tables) <= width / 25.4 * 96
    assert set(asked) <= {"file", "data"}
    page.close()
