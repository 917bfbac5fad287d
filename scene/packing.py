"""A rig with its meshes and pictures in one zip file, and safely out of it again.

A zip file may come from anybody. Before anything of it is read, its directory is held to limits:
how many files there are, how large they would be, where they would go.
"""

import io
import posixpath
import stat
import struct
import tempfile
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path

from seamsight.scene.errors import FileError, RigError
from seamsight.scene.files import MOST_BYTES, beside, size_of
from seamsight.scene.rig_file import MOST_BYTES as MOST_RIG_BYTES
from seamsight.scene.rig_file import read_rig, read_source, rig_of
from seamsight.scene.samples import SCHEMA, named_files, schema_file
from seamsight.scene.writing import wrong_name

MOST_FILES = 500
MOST_IN_ALL = 2 * MOST_BYTES  # of all files together
MOST_DIRECTORY = 2**20  # bytes of the zip's own directory
LONGEST_PATH = 200

_BEGINNING = (1980, 1, 1, 0, 0, 0)  # the earliest date that a zip file can hold
_REGULAR = (stat.S_IFREG | 0o644) << 16
_UNIX = 3
_ENCRYPTED = 1
# The end of the directory (APPNOTE 4.3.16): its mark and seven numbers; the last but one is where
# the directory is, the one before its length, the last the length of a comment
_END = struct.Struct("<4s4H2LH")
_END_MARK = b"PK\x05\x06"
_LARGE_MARK = b"PK\x06\x07"  # of the locator of 20 bytes before it, in a file with 64-bit sizes
_LOCATOR = 20
_UNREADABLE = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    OSError,
)


@dataclass(frozen=True)
class Unpacked:
    """What a zip file holds of a rig.

    Attributes
    ----------
    rig : bytes
        The rig file.
    beside : dict
        What it needs beside it, the schema too: name to content.
    unused : list of str
        Names of files that it does not need.
    """

    rig: bytes
    beside: dict[str, bytes]
    unused: list[str]


def packed(rig_file: Path) -> bytes:
    """Return a zip file of a rig: the same bytes for the same files.

    Raises
    ------
    RigError
        When the rig is wrong.
    FileError
        When it names a file so that it could not be unpacked elsewhere, or is too large.
    """
    source = read_source(rig_file)
    rig = rig_of(source)
    files = {f"{rig_file.stem}.toml": source.content, SCHEMA: schema_file().read_bytes()}
    for name in named_files(rig):
        files[posixpath.normpath(name)] = beside(rig_file, name).read_bytes()

    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, _BEGINNING)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = _UNIX
            entry.external_attr = _REGULAR
            archive.writestr(entry, files[name], compresslevel=9)
        # what could not be unpacked elsewhere is not packed
        wrong = _wrong_entries(archive.infolist()) or _wrong_together(archive.infolist())
    if wrong:
        raise FileError(rig_file, f"cannot be packed: the zip file {wrong}")
    return stream.getvalue()


def unpacked(file: Path) -> Unpacked:
    """Return the rig of a zip file with what it needs.

    Raises
    ------
    FileError
        When it is no zip file that may be unpacked.
    RigError
        When the rig in it is wrong.
    """
    files = _contents(file)
    [rig_name] = (name for name in files if name.lower().endswith(".toml"))

    # read the rig where only its own files are
    with tempfile.TemporaryDirectory(prefix="seamsight-") as folder:
        for name, content in files.items():
            path = Path(folder, name)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        try:
            rig = read_rig(Path(folder, rig_name))
        except RigError as error:
            called = f"{file}: {rig_name}"
            raise RigError(called, error.problems) from error

    needed = {posixpath.normpath(name) for name in named_files(rig)}
    found = {name: files[name] for name in sorted(needed)}
    found[SCHEMA] = schema_file().read_bytes()
    return Unpacked(files[rig_name], found, sorted(set(files) - {rig_name, SCHEMA} - needed))


def _contents(file: Path) -> dict[str, bytes]:
    """Return every file of a zip file, name to content."""
    _refuse_large_directory(file)
    try:
        with zipfile.ZipFile(file) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
            wrong = _wrong_entries(archive.infolist()) or _wrong_together(entries)
            if wrong:
                raise FileError(file, wrong)
            return {entry.filename: _content(archive, entry) for entry in entries}
    except FileError:
        raise
    except _UNREADABLE as error:
        raise FileError(file, f"is not a readable zip file ({error})") from error


def _content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """Return a file's content, and never more of it than its directory says."""
    with archive.open(entry) as stream:
        content = stream.read(entry.file_size + 1)
    if len(content) != entry.file_size:
        msg = f"{entry.filename} is not as long as it says"
        raise ValueError(msg)
    return content


def _refuse_large_directory(file: Path) -> None:
    """Refuse a zip file whose directory takes much memory, before that is read."""
    size = size_of(file)
    if not file.is_file():
        raise FileError(file, "is not a file")
    with file.open("rb") as stream:
        stream.seek(max(0, size - _END.size - _LOCATOR))
        ending = stream.read()
    end = ending[-_END.size :]
    if len(end) < _END.size or end[:4] != _END_MARK or _END.unpack(end)[-1]:
        raise FileError(file, "is not a zip file, or one with a comment at its end")

    directory = _END.unpack(end)[5]
    is_large = ending[: -_END.size].startswith(_LARGE_MARK)
    if is_large or directory > MOST_DIRECTORY:
        raise FileError(file, f"contains too many files: at most {MOST_FILES}")


def _wrong_entries(entries: list[zipfile.ZipInfo]) -> str | None:
    """Return what is wrong with one of a zip file's files, or with a folder."""
    for entry in entries:
        called = repr(entry.orig_filename[:LONGEST_PATH])
        wrong = _wrong_path(entry.orig_filename.removesuffix("/"))
        if wrong:
            return f"is unsafe: the name {called} {wrong}"
        kind = stat.S_IFMT(entry.external_attr >> 16)
        if kind not in (0, stat.S_IFDIR if entry.is_dir() else stat.S_IFREG):
            return f"is unsafe: {called} is a link or something else that is no file"
        if entry.flag_bits & _ENCRYPTED:
            return f"has a password: {called} cannot be read"
        if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            return f"is compressed in an unusual way: pack {called} anew"
        most = MOST_RIG_BYTES if entry.filename.lower().endswith(".toml") else MOST_BYTES
        if entry.file_size > most:
            return f"contains too large a file: {called}, at most {most // 2**20} MB"
    return None


def _wrong_together(entries: list[zipfile.ZipInfo]) -> str | None:
    """Return what is wrong with all files of a zip file together."""
    if len(entries) > MOST_FILES:
        return f"contains too many files: at most {MOST_FILES}"
    if sum(entry.file_size for entry in entries) > MOST_IN_ALL:
        return f"contains too much: at most {MOST_IN_ALL // 2**20} MB"

    names = [entry.filename.lower() for entry in entries]  # some systems know no capitals
    folders = {str(folder) for name in names for folder in Path(name).parents}
    twice = [name for name in names if names.count(name) > 1 or name in folders]
    if twice:
        return f"contains {twice[0]!r} twice"
    rigs = [name for name in names if name.endswith(".toml")]
    if len(rigs) != 1 or "/" in rigs[0]:
        return f"must contain one rig file (.toml) outside its folders (got {len(rigs)})"
    return None


def _wrong_path(name: str) -> str | None:
    """Return what is wrong with a path that must be safe in any folder on any system."""
    if len(name) > LONGEST_PATH:
        return f"has more than {LONGEST_PATH} characters"
    parts = name.split("/")
    if name.startswith("/") or ".." in parts:
        return "leads out of the rig's folder"
    wrong = [what for what in map(wrong_name, parts) if what]
    return f"has a part that {wrong[0]}" if wrong else None
