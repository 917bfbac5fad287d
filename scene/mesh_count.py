"""How many triangles a mesh file says it holds, told from its bytes before anything is loaded.

A file of a few bytes can claim a thousand million triangles, and a loader would make room for them.
So each format's own counts are held to what the file really holds; only then is it loaded.
"""

import io
import re
from pathlib import Path
from typing import Literal, NamedTuple

import numpy as np

from seamsight.scene.errors import FileError
from seamsight.scene.glb import triangles_of_glb

MOST_TRIANGLES = 1_500_000
"""Of all meshes of a rig: `check` then takes some 10 s and 1 GB on two processors."""
MOST_TEXT = 128 * 2**20  # bytes of a mesh file that is text; loading one takes 10 times as much
MOST_TEXT_ROWS = 3_000_000  # of a PLY file that is text; the loader takes half a kB for each
MOST_BODIES = 3000  # of a mesh file, each of which the loader makes a mesh of its own
MOST_ROWS = 3 * MOST_TRIANGLES  # of corners, or of anything else that a file lists row by row
STL_HEADER = 84  # bytes before a binary STL's first triangle
STL_TRIANGLE = 50  # bytes of each

_LONGEST_HEADER = 64 * 2**10  # bytes of a PLY file's header
_PLY_SIZES = {
    **dict.fromkeys(("char", "uchar", "int8", "uint8"), 1),
    **dict.fromkeys(("short", "ushort", "int16", "uint16"), 2),
    **dict.fromkeys(("int", "uint", "float", "int32", "uint32", "float32"), 4),
    **dict.fromkeys(("double", "float64", "int64", "uint64"), 8),
}


class _Element(NamedTuple):
    """What a PLY file lists: how many rows, and what stands in each.

    Of each property the bytes of its value, or of a list's count and of each of its items.
    """

    name: str
    rows: int
    properties: tuple[tuple[int, int], ...]

    @property
    def least(self) -> int:
        """Bytes of a row whose lists are empty."""
        return sum(size for size, _ in self.properties)

    @property
    def lists(self) -> int:
        return sum(1 for _, item in self.properties if item)

    @property
    def list_first(self) -> bool:
        return bool(self.properties) and self.properties[0][1] > 0


def count_triangles(path: Path, content: bytes, kind: str) -> int:
    """Return how many triangles a mesh file holds, by its own counts; at least those, if not fewer.

    Parameters
    ----------
    path : Path
        What to call it.
    content : bytes
    kind : str
        "stl", "obj", "ply" or "glb".

    Raises
    ------
    FileError
        When it says that it holds more than it does, or what cannot be loaded rightly.
    """
    counts = {"stl": _of_stl, "obj": _of_obj, "ply": _of_ply, "glb": triangles_of_glb}
    return counts[kind](path, content)


def refuse_too_many(path: Path, count: int, what: str = "triangles") -> None:
    """Raise FileError when a mesh file holds more than a whole rig may.

    Raises
    ------
    FileError
    """
    if count > MOST_TRIANGLES:
        most = f"at most {MOST_TRIANGLES:,} (got {count:,})"
        raise FileError(path, f"contains too many {what}: {most}")


def is_text_stl(content: bytes) -> bool:
    """Return whether an STL file is text; the first word alone does not tell."""
    return content.lstrip()[:5].lower() == b"solid" and b"facet" in content[:2000].lower()


def _of_stl(path: Path, content: bytes) -> int:
    if not is_text_stl(content):
        return _of_binary_stl(path, content)
    _refuse_long_text(path, content)

    lower = content.lower()
    ends = lower.count(b"endsolid")
    if ends == 0:
        raise FileError(path, 'ends before its "endsolid": it is not whole')
    _refuse_many_bodies(path, ends)
    return lower.count(b"vertex") // 3


def _of_binary_stl(path: Path, content: bytes) -> int:
    if len(content) < STL_HEADER:
        raise FileError(path, "contains no triangles: it is shorter than an STL file's header")
    count = int.from_bytes(content[STL_HEADER - 4 : STL_HEADER], "little")
    there, over = divmod(len(content) - STL_HEADER, STL_TRIANGLE)
    if there < count:
        raise FileError(path, f"ends after {there:,} of {count:,} triangles")
    if there > count or over:
        raise FileError(path, f"goes on after the triangles that its header counts ({count:,})")
    return count


def _of_obj(path: Path, content: bytes) -> int:
    """Count a triangle for each corner of a face beyond two, and look at odd corner numbers."""
    _refuse_long_text(path, content)
    refuse_too_many(path, content.count(b"\nf "), "faces")
    _refuse_many_rows(path, content.count(b"\nv"), "v")
    given = content.count(b"\nv ") + content.startswith(b"v ")
    count = so_far = 0
    materials: set[bytes] = set()
    for line in io.BytesIO(content.replace(b"\\\r\n", b"").replace(b"\\\n", b"")):
        if line.startswith(b"v "):
            so_far += 1
        elif line.startswith(b"f "):
            count += max(0, line.count(b" ") - 2)
            if b"-" in line or b" 0" in line:
                _refuse_odd_corners(path, line, so_far, given)
        elif line.startswith(b"usemtl "):
            materials.add(line)
    _refuse_many_bodies(path, len(materials))
    return count


def _refuse_odd_corners(path: Path, line: bytes, so_far: int, given: int) -> None:
    """Refuse a face with a corner 0, or one that counts back from where the loader does not."""
    for word in line.split()[1:]:
        number = word.partition(b"/")[0]
        if re.fullmatch(rb"0+", number):
            raise FileError(path, "has a face with a corner 0: corners count from 1")
        if number.startswith(b"-"):
            if so_far < given:
                what = "has faces that count corners back before all are given"
                raise FileError(path, f"{what}: save it with corners counted from the first")
            if not re.fullmatch(rb"-\d{1,9}", number) or int(number) < -given:
                got = number[:20].decode("ascii", "replace")
                raise FileError(path, f"has a face with a corner {got}, of {given:,}")


def _of_ply(path: Path, content: bytes) -> int:
    header, start = _ply_header(path, content)
    elements = _ply_elements(path, header)
    for element in elements:
        if element.name == "face":
            refuse_too_many(path, element.rows, "faces")
        _refuse_many_rows(path, element.rows, element.name[:40])

    if "format ascii" in header:
        return _of_text_ply(path, content, start, elements)
    least = sum(element.rows * element.least for element in elements)
    if least > len(content) - start:
        what = f"is too short for what its header names: {len(content) - start:,} bytes"
        raise FileError(path, f"{what} of at least {least:,}")
    return _of_binary_faces(path, content, start, header, elements)


def _ply_header(path: Path, content: bytes) -> tuple[str, int]:
    """Return a PLY file's header, and where what it describes begins."""
    found = re.search(rb"^end_header[ \t]*\r?\n", content[:_LONGEST_HEADER], re.MULTILINE)
    if not content.startswith(b"ply") or found is None:
        raise FileError(path, "is not a readable PLY mesh: it has no header")
    return content[: found.start()].decode("utf-8", "replace"), found.end()


def _ply_elements(path: Path, header: str) -> list[_Element]:
    elements: list[_Element] = []
    try:
        for words in filter(None, map(str.split, header.splitlines())):
            if words[0] == "element":
                elements.append(_Element(words[1], _whole(words[2]), ()))
            elif words[0] == "property":
                is_list = words[1] == "list"
                size = _PLY_SIZES[words[2] if is_list else words[1]]
                item = _PLY_SIZES[words[3]] if is_list else 0
                last = elements[-1]
                elements[-1] = last._replace(properties=(*last.properties, (size, item)))
    except (IndexError, KeyError, ValueError) as error:
        raise FileError(path, "is not a readable PLY mesh: its header is damaged") from error
    return elements


def _whole(word: str) -> int:
    if not re.fullmatch(r"\d{1,15}", word):
        raise ValueError
    return int(word)


def _of_binary_faces(
    path: Path, content: bytes, start: int, header: str, elements: list[_Element]
) -> int:
    """Count the triangles of faces that all have the same number of corners, as the loader needs.

    Where a face's row does not begin with its corners, or other lists come before, each face is
    taken to be a quadrilateral: the loader then looks for itself.
    """
    for element in elements:
        if element.name == "face":
            break
        start += element.rows * element.least
    else:
        return 0
    if element.rows == 0:
        return 0
    before = elements[: elements.index(element)]
    if not element.list_first or element.lists > 1 or any(other.lists for other in before):
        return 2 * element.rows

    # hold every face's count to the first one's
    size, item = element.properties[0]
    order: Literal["big", "little"] = "big" if "binary_big_endian" in header else "little"
    corners = int.from_bytes(content[start : start + size], order)
    row = element.least + corners * item
    counts = np.frombuffer(content, np.uint8, offset=start)[: row * element.rows]
    if len(counts) < row * element.rows:
        whole = False
    else:
        told = counts.reshape(element.rows, row)[:, :size]
        whole = bool((told == told[0]).all())
    if not whole or corners not in (3, 4):
        what = "has faces of more than 4 corners, or of 3 and 4, or is not whole"
        raise FileError(path, f"{what}: save it as triangles")
    return element.rows * (corners - 2)


def _of_text_ply(path: Path, content: bytes, start: int, elements: list[_Element]) -> int:
    _refuse_long_text(path, content)
    rows = sum(element.rows for element in elements)
    if rows > MOST_TEXT_ROWS:
        most = f"at most {MOST_TEXT_ROWS:,} rows (got {rows:,})"
        raise FileError(path, f"is too long for a mesh that is text: {most}; save it as binary")
    there = content.count(b"\n", start) + (not content.endswith(b"\n"))
    if there < rows:
        raise FileError(path, f"ends after {there:,} of {rows:,} rows")
    if len(content[start:].rstrip()) and there > rows + content.count(b"\n\n", start) + 1000:
        raise FileError(path, f"goes on after the rows that its header counts ({rows:,})")

    lines = io.BytesIO(content)
    lines.seek(start)
    count = 0
    for element in elements:
        for _, line in zip(range(element.rows), lines, strict=False):
            if element.name == "face":
                count += _corners_told(path, line, element) - 2
    return max(count, 0)


def _corners_told(path: Path, line: bytes, face: _Element) -> int:
    """Return how many corners a face's row has, by its own count."""
    words = len(line.split()) - 1
    if not face.list_first:
        return max(words, 2)
    told = line.split(maxsplit=1)[:1]
    if not told or not re.fullmatch(rb"\d{1,9}", told[0]) or int(told[0]) > words:
        raise FileError(path, "has a face with fewer corners than it counts")
    return max(int(told[0]), 2)


def _refuse_long_text(path: Path, content: bytes) -> None:
    if len(content) > MOST_TEXT:
        most = f"at most {MOST_TEXT // 2**20} MB"
        raise FileError(path, f"is too large for a mesh that is text: {most}; save it as binary")


def _refuse_many_rows(path: Path, count: int, name: str) -> None:
    if count > MOST_ROWS:
        most = f"at most {MOST_ROWS:,} (got {count:,})"
        raise FileError(path, f'contains too many rows of "{name}": {most}')


def _refuse_many_bodies(path: Path, count: int) -> None:
    if count > MOST_BODIES:
        raise FileError(path, f"contains too many bodies: at most {MOST_BODIES:,} (got {count:,})")
