"""A sheet's HTML: whole, without scripts or requests, whatever names it holds."""

import base64
import io
from html.parser import HTMLParser

import numpy as np
import pytest
from PIL import Image

from seamsight.viewer.handout.page import POLICY, Figure, Section, SheetTable, sheet_page

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{ 7 * 7 }}"


class Read(HTMLParser):
    """Collects the tags of a page, and its text."""

    def __init__(self, text):
        super().__init__()
        self.tags = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text += data

    def all(self, name):
        return [attributes for tag, attributes in self.tags if tag == name]


@pytest.fixture(scope="module")
def picture():
    return Image.new("RGB", (40, 30), (200, 60, 20))


def hostile_page(picture):
    table = SheetTable(HOSTILE, (HOSTILE, "h"), [(HOSTILE, HOSTILE)], worded=True)
    figures = [Figure(picture, HOSTILE)]
    return sheet_page(HOSTILE, [HOSTILE], [Section(HOSTILE, [HOSTILE], [table], figures)])


def test_hostile_names_stay_text(picture):
    page = Read(hostile_page(picture))
    assert page.all("script") == []
    assert [image["alt"] for image in page.all("img")] == [HOSTILE]
    assert not any(key.startswith("on") for _, attributes in page.tags for key in attributes)
    # title, heading, line, link, section, sentence, caption of figure and table, heading, 2 cells
    assert page.text.count(HOSTILE) == 11
    assert "49" not in page.text


def test_nothing_is_fetched_and_no_script_may_run(picture):
    page = Read(hostile_page(picture))
    policies = [each["content"] for each in page.all("meta") if "http-equiv" in each]
    assert policies == [POLICY]
    assert "script-src" not in POLICY and POLICY.startswith("default-src 'none'")
    assert all(image["src"].startswith("data:image/jpeg;base64,") for image in page.all("img"))
    assert all(link["href"].startswith("#") for link in page.all("a"))
    assert page.all("link") == []


def test_a_picture_is_the_one_given(picture):
    page = Read(sheet_page("t", [], [Section("s", figures=[Figure(picture, "words")])]))
    [image] = page.all("img")
    assert (image["width"], image["height"]) == ("40", "30")
    content = base64.b64decode(image["src"].partition(",")[2])
    shown = np.asarray(Image.open(io.BytesIO(content)).convert("RGB"), float)
    assert shown.shape == (30, 40, 3)
    assert np.abs(shown - (200, 60, 20)).max() < 8


def test_sections_follow_in_order_and_can_be_jumped_to():
    page = Read(sheet_page("t", [], [Section("first", ["a"]), Section("second", warns=True)]))
    assert [section["id"] for section in page.all("section")] == ["s1", "s2"]
    assert [link["href"] for link in page.all("a")] == ["#s1", "#s2"]
    assert page.all("section")[1].get("class") == "warns"


def test_a_table_s_last_column_may_have_words():
    tables = [
        SheetTable("t", ("a", "b", "c"), [("1", "2", "3")], worded) for worded in (True, False)
    ]
    page = Read(sheet_page("t", [], [Section("s", tables=tables)]))
    assert [cell.get("class") for cell in page.all("td")] == ["number", "word", "number", "number"]


def test_only_long_words_are_broken():
    row = ("a", "−1,234.567 × 1,234", "W" * 17)
    page = Read(sheet_page("t", [], [Section("s", tables=[SheetTable("t", row, [row])])]))
    assert [cell["class"] for cell in page.all("td")] == ["number", "long"]
