"""The log as a page and as Markdown: what it shows, and that odd text and files do no harm."""

import base64
import io
import re

import pytest
from PIL import Image

from seamsight.scene import OutputError
from seamsight.viewer.log.page import _closed, markdown, page, page_picture
from seamsight.viewer.log.store import changed_lines, read_log, store


def test_a_photo_that_cannot_be_read_any_more_leaves_its_entry_out(log, first, day, content_of):
    second = store(log, day, content_of(first))
    (first / "left.png").write_bytes(b"no picture")
    found = read_log(log)
    text, lines = page(found.entries, found.broken)
    assert len(lines) == 1 and "2026-03-14-01" in lines[0] and "left.png" in lines[0]
    assert 'id="e2026-03-14-02"' in text and 'id="e2026-03-14-01"' not in text

    (second / "right.png").write_bytes(b"no picture")
    with pytest.raises(OutputError, match=r"right\.png"):
        page(read_log(log).entries, [])


def test_pictures_of_the_same_directions_are_laid_over_each_other(entry_of, screen_at):
    places = [[0, 600, 0], [20, 600, 10], [400, 600, 0]]
    entries = [entry_of(screen=[screen_at(centre=place)]) for place in places]
    text, _ = page(entries, [])
    # both eyes, of the second entry only
    assert text.count("shows before; the rest shows now") == 2


def test_what_changed_is_said_in_words_and_the_cautions_once(entry_of, screen_at, tmp_path):
    first = entry_of(screen=[screen_at()])
    (tmp_path / "rig.toml").write_text("# a rig\n# with a wider screen\n")
    second = entry_of(screen=[screen_at(width=500)])
    text, lines = page([first, second], [])
    assert lines == []
    assert '<td class="better">better</td>' in text
    assert changed_lines(first, second) == ["+ # with a wider screen"]
    assert "+ # with a wider screen" in text
    assert text.count("must not tip or fall") == 1
    assert "visible field, width" in text and "36.87°" in text  # 2 atan(200 / 600)


def test_odd_text_stays_text(entry_of, screen_at, tmp_path):
    odd = (
        '</script><script>alert(1)</script> "q" & [[x]] 🛩 {{ 7 * 7 }} <img src=x onerror=alert(1)>'
    )
    photo = tmp_path / "a b.png"
    Image.new("RGB", (40, 30), "red").save(photo)
    words = f"{odd}\n\n![out](http://example.org/a.png) **bold**"
    entry = entry_of(words, odd, [(photo, odd)], screen=[screen_at()])
    text, _ = page([entry], ["entry <b>x</b> is broken"])
    assert text.count("<script>") == 1 and text.count("</script>") == 1
    assert "<img src=x" not in text and "<b>x</b>" not in text
    assert "{{ 7 * 7 }}" in text and "[[x]]" in text and "🛩" in text
    assert "<strong>bold</strong>" in text
    assert 'src="http' not in text
    assert (entry.folder / entry.facts.pictures[0].file).read_bytes() == photo.read_bytes()


@pytest.mark.parametrize(
    "url",
    [
        *(
            "/etc/passwd",
            "photo.jpg",
            "../a.md",
            "file:///etc/passwd",
            "C:/a.txt",
            "//server/share",
        ),
        *(r"\\\\server\\share", "javascript:alert(1)", "data:text/html,x"),
    ],
)
def test_only_the_web_is_linked_to(entry_of, screen_at, url):
    words = f"[here](<{url}>) <{url}> [there][1] [web](https://example.org/a)\n\n[1]: <{url}>"
    text, _ = page([entry_of(words, screen=[screen_at()])], [])
    assert re.findall('href="([^"]*)"', text) == ["https://example.org/a"]


def test_markdown_names_the_pictures_from_where_it_lies(entry_of, screen_at, tmp_path):
    entry = entry_of("words", "a *title*", screen=[screen_at()])
    (tmp_path / "sub").mkdir()
    text = markdown([entry], tmp_path / "sub" / "log.md")
    assert "![left eye](../log/2026-03-14-01/left.png)" in text
    assert "a \\*title\\*" in text


def test_a_photo_is_shown_upright_small_and_without_its_cameras_notes(tmp_path):
    """EXIF orientation 6: the picture's left column is its top row (TIFF 6.0, tag 274)."""
    photo = Image.new("RGB", (3200, 2400), "blue")
    photo.paste("red", (0, 0, 400, 2400))
    notes = Image.Exif()
    notes[0x0112] = 6
    notes[0x010F] = "a camera"
    photo.save(tmp_path / "photo.jpg", exif=notes)
    shown = page_picture(tmp_path / "photo.jpg", "words")
    assert (shown.width, shown.height) == (1200, 1600)
    image = image_in(shown)
    assert image.size == (1200, 1600) and not image.getexif()
    assert image.getpixel((600, 100))[0] > 200 and image.getpixel((600, 1500))[2] > 200


def test_a_clear_picture_stands_on_white(tmp_path):
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(tmp_path / "clear.png")
    assert image_in(page_picture(tmp_path / "clear.png")).getpixel((10, 10)) == (255, 255, 255)


def image_in(shown):
    return Image.open(io.BytesIO(base64.b64decode(shown.uri.split(",")[1])))


@pytest.mark.parametrize(
    ("text", "closed"),
    [("words", "words"), ("```\ncode", "```\ncode\n```"), ("~~~~\ncode\n~~~~", "~~~~\ncode\n~~~~")],
)
def test_an_open_code_fence_is_closed(text, closed):
    assert _closed(text) == closed
