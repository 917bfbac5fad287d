"""Photographs without what a camera noted in them: place, time, owner, serial numbers.

Their pixels stay as they are, byte by byte, and so does which way up they are shown.
"""

import io
import zlib
from collections.abc import Iterator
from pathlib import Path

from PIL import Image

from seamsight.scene.errors import FileError

_ORIENTATION = 0x0112  # Exif (CIPA DC-008), which way up
_PREFIX = b"Exif\0\0"  # what begins such notes in a JPEG file

# JPEG (ITU-T T.81, B.1): markers with no length, and segments that say how pixels look
_ALONE = {0x01, *range(0xD0, 0xD8)}
_END = 0xD9
_SCAN = 0xDA
_APPS = range(0xE0, 0xF0)
_COMMENT = 0xFE
_LOOKS = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_NOTES = {b"eXIf", b"tEXt", b"zTXt", b"iTXt", b"tIME"}
_WEBP_NOTES = {b"EXIF": 0x08, b"XMP ": 0x04}  # and their flags in VP8X


def without_camera_notes(path: Path, content: bytes) -> bytes:
    """Return a picture file's bytes without what its camera noted; others, and meshes, as they are.

    Raises
    ------
    FileError
        When it is a JPEG, PNG or WebP file that is not built as its format says.
    """
    try:
        if content.startswith(b"\xff\xd8"):
            return b"".join(_jpeg_kept(content))
        if content.startswith(_PNG):
            return b"".join(_png_kept(content))
        if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
            return _webp_kept(content)
    except (IndexError, ValueError, OSError, SyntaxError) as error:
        what = "is damaged, so that its camera notes cannot be removed: save it anew"
        raise FileError(path, what) from error
    return content


def _turn(content: bytes) -> bytes:
    """Return notes that only say which way up a picture is, or none where it is as it is."""
    with Image.open(io.BytesIO(content)) as picture:
        orientation = picture.getexif().get(_ORIENTATION, 1)
    if orientation not in range(2, 9):
        return b""
    notes = Image.Exif()
    notes[_ORIENTATION] = orientation
    return notes.tobytes()


def _jpeg_kept(content: bytes) -> Iterator[bytes]:
    """Yield what stays of a JPEG file: all up to its end but notes; what follows goes too."""
    notes = _turn(content)
    yield content[:2]
    if notes:
        yield b"\xff\xe1" + (len(notes) + 2).to_bytes(2, "big") + notes
    for marker, body, segment in _jpeg_segments(content):
        is_note = marker == _COMMENT or marker in _APPS
        looks = _LOOKS.get(marker)
        if not is_note or (looks and body.startswith(looks)):
            yield segment


def _jpeg_segments(content: bytes) -> Iterator[tuple[int, bytes, bytes]]:
    """Yield a JPEG file's segments, with the pixels behind them: marker, how it begins, all of it.

    The end may be missing, as some cameras leave it out.
    """
    at = 2
    marker = 0
    while marker != _END and not (marker == _SCAN and at == len(content)):
        start = at
        while content[at + 1] == 0xFF:  # padding
            at += 1
        marker = content[at + 1]
        if content[at] != 0xFF:
            raise ValueError(at)

        body = at + 4
        at += 2
        if marker != _END and marker not in _ALONE:
            at += int.from_bytes(content[at:body], "big")
        if at > len(content):
            raise ValueError(at)
        if marker == _SCAN:
            at = _end_of_scan(content, at)
        yield marker, content[body : body + 16], content[start:at]


def _end_of_scan(content: bytes, at: int) -> int:
    """Return where the next marker is behind pixels, in which 255 is followed by 0; or the end."""
    while True:
        at = content.find(b"\xff", at)
        if at < 0 or at + 1 >= len(content):
            return len(content)
        if content[at + 1] != 0 and content[at + 1] not in _ALONE:
            return at
        at += 2


def _png_kept(content: bytes) -> Iterator[bytes]:
    """Yield what stays of a PNG file (ISO/IEC 15948, 5.3): chunks of length, name, data, check."""
    notes = _turn(content).removeprefix(_PREFIX)
    yield _PNG
    at = len(_PNG)
    while True:
        name = content[at + 4 : at + 8]
        end = at + 12 + int.from_bytes(content[at : at + 4], "big")
        if end > len(content) or len(name) < 4:
            raise ValueError(at)
        if name == b"IDAT" and notes:
            checked = b"eXIf" + notes
            check = zlib.crc32(checked).to_bytes(4, "big")
            yield len(notes).to_bytes(4, "big") + checked + check
            notes = b""
        if name not in _PNG_NOTES:
            yield content[at:end]
        if name == b"IEND":
            return
        at = end


def _webp_kept(content: bytes) -> bytes:
    """Return what stays of a WebP file (RFC 9649, 2.3): chunks of name, length, even data."""
    notes = _turn(content).removeprefix(_PREFIX)
    kept = []
    at = 12
    whole = min(len(content), 8 + int.from_bytes(content[4:8], "little"))
    while at < whole:
        name = content[at : at + 4]
        size = int.from_bytes(content[at + 4 : at + 8], "little")
        chunk = content[at : at + 8 + size + size % 2]
        if len(chunk) < 8 + size:
            raise ValueError(at)
        if name == b"VP8X":
            flags = chunk[8] & ~sum(_WEBP_NOTES.values()) | (_WEBP_NOTES[b"EXIF"] if notes else 0)
            chunk = chunk[:8] + bytes([flags]) + chunk[9:]
        if name not in _WEBP_NOTES:
            kept.append(chunk)
        at += len(chunk)
    if notes:
        padding = b"\0" * (len(notes) % 2)
        kept.append(b"EXIF" + len(notes).to_bytes(4, "little") + notes + padding)
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + len(body).to_bytes(4, "little") + body
