import io

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import FileError, files


def test_a_picture_that_is_gone_is_named(tmp_path):
    with pytest.raises(FileError) as told:
        files.read_picture(tmp_path / "a.png")
    assert (told.value.path, told.value.what) == (tmp_path / "a.png", "cannot be opened")
    assert str(told.value) == f"{tmp_path / 'a.png'} cannot be opened"


def picture_bytes(image, kind="PNG", **options):
    stream = io.BytesIO()
    image.save(stream, kind, **options)
    return stream.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "BMP", "GIF"])
@pytest.mark.parametrize("mode", ["RGB", "L", "P", "RGBA", "1"])
def test_pictures_become_rgb(file_of, kind, mode):
    image = Image.new("RGB", (5, 3), (255, 255, 255)).convert(mode)
    if (kind, mode) == ("GIF", "RGBA"):
        image = image.convert("P")
    picture = files.read_picture(file_of("a.img", picture_bytes(image, kind)))
    assert (picture.shape, picture.dtype) == ((3, 5, 3), np.uint8)
    assert (picture == 255).all()


def test_photograph_is_turned_as_its_camera_says(file_of):
    image = Image.new("RGB", (40, 20))
    exif = image.getexif()
    exif[0x0112] = 6  # Exif standard (CIPA DC-008), orientation: the top row is the right-hand side
    assert files.read_picture(file_of("a.jpg", picture_bytes(image, "JPEG", exif=exif))).shape == (
        40,
        20,
        3,
    )


@pytest.mark.parametrize(
    "content", [b"", b"text", picture_bytes(Image.new("RGB", (50, 50), "red"))[:60]]
)
def test_what_is_no_picture(file_of, content):
    with pytest.raises(FileError, match="is not a readable picture"):
        files.read_picture(file_of("a.png", content))


def test_a_frame_of_no_width_is_told(file_of):
    content = bytearray(picture_bytes(Image.effect_noise((64, 48), 80), "GIF"))
    frame = content.index(b"\x2c" + bytes(4) + b"\x40")  # GIF89a, 20: separator, place, width
    content[frame + 5] = 0
    with pytest.raises(FileError, match="is not a readable picture"):
        files.read_picture(file_of("a.gif", bytes(content)))


# ---- places ----


@pytest.mark.parametrize("name", ["../a.png", "/etc/hosts", "b/../../a.png", ".."])
def test_outside_the_folder(file_of, name):
    rig = file_of("rig.toml", "")
    with pytest.raises(FileError, match="outside"):
        files.beside(rig, name)


def test_beside(file_of):
    rig, picture = file_of("rig.toml", ""), file_of("a.png", b"x")
    assert files.beside(rig, "a.png") == picture
    assert files.beside(rig, "b/../a.png") == picture


@pytest.mark.parametrize("kind", ["TIFF", "EPS"])
def test_pictures_of_other_kinds_are_not_opened(tmp_path, kind):
    Image.new("RGB", (4, 4)).save(tmp_path / "a.png", kind)
    with pytest.raises(FileError, match="not a readable picture"):
        files.read_picture(tmp_path / "a.png")


def test_pictures_of_16_bits_are_refused(tmp_path):
    Image.fromarray(np.arange(16, dtype=np.uint16).reshape(4, 4) * 4000).save(tmp_path / "a.png")
    with pytest.raises(FileError, match="16 or more bits"):
        files.read_picture(tmp_path / "a.png")


def test_links_in_a_circle_cannot_be_followed(tmp_path):
    (tmp_path / "a.png").symlink_to(tmp_path / "b.png")
    (tmp_path / "b.png").symlink_to(tmp_path / "a.png")
    with pytest.raises(FileError, match=r"cannot be opened|is missing"):
        files.beside(tmp_path / "rig.toml", "a.png")


def test_a_picture_that_does_not_fit_into_memory_is_told(file_of, monkeypatch):
    def load(*_):
        raise MemoryError

    monkeypatch.setattr("PIL.PngImagePlugin.PngImageFile.load", load)
    with pytest.raises(FileError, match=r"is not a readable picture \(MemoryError\)"):
        files.read_picture(file_of("a.png", picture_bytes(Image.new("RGB", (4, 4)))))
