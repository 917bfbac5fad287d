"""A rig into a zip file and out again; and zip files that mean no good."""

import io
import stat
import struct
import tempfile
import zipfile
import zlib
from pathlib import Path

import pytest

from seamsight.scene import FileError, RigError, packing
from seamsight.scene.packing import packed, unpacked

RIG = b"""\
format = 1
name = "rig"
[pilot]
eye_point = [0, 0, 1200]
[[screen]]
name = "front"
width = 400
height = 300
pixels = [4, 3]
shows = "pictures/view.png"
centre = [0, 700, 1200]
"""


def png():
    """Return a picture of one grey pixel, chunk by chunk (PNG specification, 5.3)."""

    def chunk(kind, content):
        crc = struct.pack(">I", zlib.crc32(kind + content))
        return struct.pack(">I", len(content)) + kind + content + crc

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0))
    return (
        b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0\x80")) + chunk(b"IEND", b"")
    )


FILES = {"rig.toml": RIG, "pictures/view.png": png()}


@pytest.fixture
def rig_file(tmp_path):
    folder = tmp_path / "theirs"
    (folder / "pictures").mkdir(parents=True)
    for name, content in FILES.items():
        (folder / name).write_bytes(content)
    return folder / "rig.toml"


@pytest.fixture
def zipped(tmp_path):
    """Return a function from files, names or entries to content, to a zip file of them."""

    def zipped(files, method=zipfile.ZIP_DEFLATED):
        path = tmp_path / "rig.zip"
        with zipfile.ZipFile(path, "w", method) as archive:
            for name, content in files.items():
                archive.writestr(name, content)
        return path

    return zipped


@pytest.fixture
def refused(zipped, tmp_path, monkeypatch):
    """Return a function that holds files in a zip to being refused, with nothing written."""
    drafts = tmp_path / "drafts"
    drafts.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(drafts))

    def refused(files, said, **options):
        with pytest.raises(FileError, match=said):
            unpacked(zipped(files, **options))
        assert not list(drafts.iterdir())

    return refused


def test_what_is_packed_comes_out_again(rig_file, tmp_path):
    (tmp_path / "rig.zip").write_bytes(packed(rig_file))
    held = unpacked(tmp_path / "rig.zip")
    assert held.rig == RIG
    assert held.beside["pictures/view.png"] == FILES["pictures/view.png"]
    assert set(held.beside) == {"pictures/view.png", "rig.schema.json"}
    assert held.unused == []


def test_the_same_files_make_the_same_bytes(rig_file, tmp_path):
    before = packed(rig_file)
    rig_file.chmod(0o600)
    (rig_file.parent / "pictures/view.png").touch()
    assert packed(rig_file) == before
    with zipfile.ZipFile(io.BytesIO(before)) as archive:
        entries = archive.infolist()
    assert [entry.filename for entry in entries] == sorted(entry.filename for entry in entries)
    assert {entry.date_time for entry in entries} == {(1980, 1, 1, 0, 0, 0)}
    assert {entry.external_attr >> 16 for entry in entries} == {stat.S_IFREG | 0o644}


@pytest.mark.parametrize("name", ["{folder}/view.png", ".view.png", "a:b.png"])
def test_what_could_not_be_unpacked_elsewhere_is_not_packed(name):
    with tempfile.TemporaryDirectory() as folder:  # a short name, as in rigs
        named = name.format(folder=folder)
        Path(folder, named).write_bytes(FILES["pictures/view.png"])
        rig_file = Path(folder, "rig.toml")
        rig_file.write_bytes(RIG.replace(b"pictures/view.png", named.encode()))
        with pytest.raises(FileError, match="cannot be packed"):
            packed(rig_file)


def test_a_wrong_rig_is_not_packed(rig_file):
    rig_file.write_bytes(RIG.replace(b"view.png", b"none.png"))
    with pytest.raises(RigError):
        packed(rig_file)


def test_files_that_the_rig_does_not_name_stay_in(zipped):
    held = unpacked(zipped(FILES | {"autostart.desktop": b"x", "rig.schema.json": b"theirs"}))
    assert held.unused == ["autostart.desktop"]
    assert set(held.beside) == {"pictures/view.png", "rig.schema.json"}
    assert held.beside["rig.schema.json"] != b"theirs"


@pytest.mark.parametrize(
    "name",
    [
        "../evil.png",
        "pictures/../../evil.png",
        "/tmp/evil.png",
        "//host/evil.png",
        "..\\evil.png",
        "C:\\evil.png",
        "C:evil.png",
        "pictures//evil.png",
        "./evil.png",
        ".bashrc",
        "pictures/.hidden/evil.png",
        "evil.png.",
        "evil.png ",
        "evil\n.png",
        "evil\x1b[2J.png",
        "../folder/",
        "x" * 201,
    ],
)
def test_names_that_lead_elsewhere_are_refused(refused, name):
    refused(FILES | {name: b""}, "is unsafe: the name")


def test_a_name_that_is_cut_at_a_null_byte_is_refused(zipped):
    path = zipped(FILES | {"evil.pngX.toml": b""})
    path.write_bytes(path.read_bytes().replace(b"evil.pngX", b"evil.png\0"))
    with pytest.raises(FileError, match="is unsafe"):
        unpacked(path)


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFCHR, stat.S_IFIFO, stat.S_IFDIR])
def test_links_and_devices_are_refused(refused, kind):
    entry = zipfile.ZipInfo("link.png")
    entry.create_system = 3
    entry.external_attr = (kind | 0o777) << 16
    refused(FILES | {entry: b"/etc/passwd"}, "is a link or something else")


def test_a_bomb_is_refused_before_it_is_inflated(refused, monkeypatch):
    monkeypatch.setattr(packing, "_content", lambda *_: pytest.fail("inflated"))
    monkeypatch.setattr(packing, "MOST_BYTES", 1000)
    refused(FILES | {"bomb.stl": bytes(1001)}, "too large a file")
    monkeypatch.setattr(packing, "MOST_IN_ALL", 3000)
    refused(FILES | {f"bomb{number}.stl": bytes(999) for number in range(4)}, "contains too much")
    monkeypatch.setattr(packing, "MOST_RIG_BYTES", 10)
    refused(FILES, "too large a file: 'rig.toml'")


def test_a_file_that_says_it_is_small_is_not_inflated_further(zipped):
    path = zipped(FILES | {"bomb.stl": bytes(100_000)})
    said = struct.pack("<I", 100_000)
    assert path.read_bytes().count(said) == 2
    path.write_bytes(path.read_bytes().replace(said, struct.pack("<I", 100)))
    with pytest.raises(FileError, match="not a readable zip file"):
        unpacked(path)


def test_very_many_files_are_refused_before_they_are_listed(zipped, monkeypatch):
    path = zipped(FILES | {f"{number}.png": b"" for number in range(packing.MOST_FILES)})
    with pytest.raises(FileError, match="too many files"):
        unpacked(path)
    monkeypatch.setattr(packing, "MOST_DIRECTORY", 1000)
    monkeypatch.setattr(zipfile, "ZipFile", lambda *_: pytest.fail("listed"))
    with pytest.raises(FileError, match="too many files"):
        unpacked(path)


def test_64_bit_sizes_are_refused(zipped):
    path = zipped(FILES)
    content = path.read_bytes()
    locator = b"PK\x06\x07" + bytes(16)
    path.write_bytes(content[:-22] + locator + content[-22:])
    with pytest.raises(FileError, match="too many files"):
        unpacked(path)


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ({"view.png": b""}, r"one rig file \(.toml\) outside its folders \(got 0\)"),
        (FILES | {"other.TOML": RIG}, r"got 2"),
        ({"folder/rig.toml": RIG}, "outside its folders"),
        (FILES | {"Pictures/View.png": b""}, "twice"),
        (FILES | {"pictures": b""}, "twice"),
    ],
)
def test_one_rig_and_nothing_twice(refused, files, said):
    refused(files, said)


def test_other_ways_of_compressing_and_passwords_are_refused(refused, zipped):
    refused(FILES, "compressed in an unusual way", method=zipfile.ZIP_BZIP2)
    path = zipped(FILES)
    content = bytearray(path.read_bytes())
    content[content.index(b"PK\x01\x02") + 8] |= 1  # flags in the directory (APPNOTE 4.3.12)
    path.write_bytes(content)
    with pytest.raises(FileError, match="password"):
        unpacked(path)


@pytest.mark.parametrize("content", [b"", b"PK", b"no zip at all" * 10, packing._END_MARK * 10])
def test_other_files_are_no_zip_files(tmp_path, content):
    path = tmp_path / "rig.zip"
    path.write_bytes(content)
    with pytest.raises(FileError, match="is not a"):
        unpacked(path)
    with pytest.raises(FileError, match="is not a file"):
        unpacked(tmp_path)


def test_broken_and_shortened_files_are_told_of(zipped):
    path = zipped(FILES)
    whole = path.read_bytes()
    for place in range(0, len(whole), 7):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :])
        try:
            unpacked(path)
        except (FileError, RigError) as error:
            assert str(error)


def test_a_wrong_rig_is_told_of_by_its_name_in_the_zip(zipped):
    path = zipped(FILES | {"rig.toml": RIG.replace(b"pixels", b"pixel")})
    with pytest.raises(RigError) as told:
        unpacked(path)
    assert str(told.value).startswith(f"{path}: rig.toml:")
    path = zipped({"rig.toml": RIG})
    with pytest.raises(RigError) as told:
        unpacked(path)
    assert tempfile.gettempdir() + "/seamsight-" not in str(told.value)
