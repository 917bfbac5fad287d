"""Photographs copied without what their cameras noted: read again by Pillow and by hand."""

import io

import numpy as np
import pytest
from PIL import Image, PngImagePlugin

from seamsight.scene import FileError
from seamsight.viewer.log.camera_notes import without_camera_notes

# Exif tags (CIPA DC-008): maker, orientation, place and its latitude, Exif IFD and maker's notes
MAKER, ORIENTATION, PLACE, LATITUDE, EXIF, NOTES = 0x010F, 0x0112, 0x8825, 2, 0x8769, 0x927C
KINDS = {"JPEG": {}, "PNG": {}, "WEBP": {"lossless": True}}


def photo(kind, orientation=1, **options):
    """Return the bytes of a noisy picture whose camera noted much, and says so in plain bytes."""
    noise = np.random.default_rng(4).integers(0, 256, (40, 60, 3), np.uint8)
    notes = Image.Exif()
    notes[MAKER] = "SECRET maker"
    notes[ORIENTATION] = orientation
    notes[PLACE] = {LATITUDE: (48.0, 7.0, 30.0)}
    notes[EXIF] = {NOTES: b"SECRET notes"}
    if kind != "PNG":
        options["xmp"] = b"<x:xmpmeta>SECRET place</x:xmpmeta>"
    stream = io.BytesIO()
    Image.fromarray(noise).save(stream, kind, exif=notes, **options, **KINDS[kind])
    return stream.getvalue()


def opened(content):
    return Image.open(io.BytesIO(content))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("orientation", [1, 3, 6])
def test_nothing_stays_but_pixels_and_which_way_up(tmp_path, kind, orientation):
    content = photo(kind, orientation)
    assert b"SECRET" in content and opened(content).getexif().get_ifd(PLACE)
    bare = without_camera_notes(tmp_path, content)
    exif = opened(bare).getexif()
    assert b"SECRET" not in bare and not exif.get_ifd(PLACE) and not exif.get_ifd(EXIF)
    assert dict(exif) == ({ORIENTATION: orientation} if orientation > 1 else {})
    assert (np.asarray(opened(bare)) == np.asarray(opened(content))).all()
    assert without_camera_notes(tmp_path, bare) == bare


def test_progressive_jpeg_keeps_its_profile_and_loses_comment_and_what_follows(tmp_path):
    content = photo("JPEG", progressive=True, icc_profile=b"a profile", comment=b"SECRET words")
    bare = without_camera_notes(tmp_path, content + b"SECRET second picture, with its place")
    assert b"SECRET" not in bare
    assert opened(bare).info["icc_profile"] == b"a profile"
    assert (np.asarray(opened(bare)) == np.asarray(opened(content))).all()


def test_a_jpeg_without_its_end_is_copied_too(tmp_path):
    content = photo("JPEG")
    assert content.endswith(b"\xff\xd9")
    whole, cut = (without_camera_notes(tmp_path, one) for one in (content, content[:-2]))
    assert whole == cut + b"\xff\xd9"


def test_a_png_loses_its_words(tmp_path):
    words = PngImagePlugin.PngInfo()
    words.add_text("Author", "SECRET")
    words.add_itxt("XML:com.adobe.xmp", "SECRET place")
    words.add_text("Place", "SECRET " * 50, zip=True)
    bare = without_camera_notes(tmp_path, photo("PNG", pnginfo=words))
    assert opened(bare).info == {} or not any(
        "SECRET" in str(v) for v in opened(bare).info.values()
    )
    assert not {"Author", "Place", "XML:com.adobe.xmp"} & opened(bare).info.keys()


@pytest.mark.parametrize("content", [b"", b"solid a", b"BM" + bytes(50), b"GIF89a" + bytes(9)])
def test_other_files_stay_as_they_are(tmp_path, content):
    assert without_camera_notes(tmp_path, content) == content


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_cut_short_is_refused_or_loses_its_notes_all_the_same(tmp_path, kind):
    content = photo(kind)
    for length in range(12, len(content), 97):
        try:
            bare = without_camera_notes(tmp_path, content[:length])
        except FileError as error:
            assert "camera notes cannot be removed" in error.what
        else:
            assert b"SECRET" not in bare
