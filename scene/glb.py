"""How many triangles a GLB file says it holds, after a look whether its tables can be true.

The format: Khronos, glTF 2.0 specification, chapters 3 (tables) and 4 (binary chunks).
"""

import json
from pathlib import Path
from typing import Any

from seamsight.scene.errors import FileError

MOST_TABLES = 8 * 2**20  # bytes of JSON
MOST_PIECES = 3000  # nodes, or primitives of meshes
DEEPEST = 100  # nodes within nodes; the loader's time grows with the third power

# what only changes how a surface looks; any other that is required changes where it is
_LOOKS = ("KHR_materials_", "KHR_texture_", "EXT_texture_", "KHR_lights_")
_JSON, _BINARY = b"JSON", b"BIN\0"
_COMPONENT_BYTES = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_COMPONENTS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}
_TRIANGLES, _STRIP, _FAN = 4, 5, 6


def triangles_of_glb(path: Path, content: bytes) -> int:
    """Return how many triangles the nodes of a GLB file hold, by its own counts.

    Raises
    ------
    FileError
        When it says that it holds more than it does, or what cannot be loaded rightly.
    """
    text, binary = _chunks(path, content)
    if len(text) > MOST_TABLES:
        raise FileError(path, f"has too large tables: at most {MOST_TABLES // 2**20} MB of JSON")
    try:
        return _counted(path, json.loads(text), binary)
    except FileError:
        raise
    # whatever stands in place of the tables and numbers there should be
    except (LookupError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise FileError(path, "is not a readable GLB mesh: its tables are damaged") from error


def _chunks(path: Path, content: bytes) -> tuple[bytes, int]:
    """Return the JSON chunk, and how many bytes the binary chunk holds."""
    if content[:4] != b"glTF" or len(content) < 20:
        raise FileError(path, "is not a readable GLB mesh: it is damaged, or in another format")
    version, length = (int.from_bytes(content[at : at + 4], "little") for at in (4, 8))
    if version != 2:
        raise FileError(path, f"is GLB of version {version}: save it as version 2")
    if length != len(content):
        raise FileError(path, f"is not whole: {len(content):,} bytes of {length:,}")

    found: list[tuple[bytes, bytes]] = []
    at = 12
    while at < length:
        size = int.from_bytes(content[at : at + 4], "little")
        end = at + 8 + size
        if end > length:
            raise FileError(path, "has a chunk that is longer than the file")
        found.append((content[at + 4 : at + 8], content[at + 8 : end]))
        at = end
    if found[0][0] != _JSON:
        raise FileError(path, "is not a readable GLB mesh: its tables do not come first")
    return found[0][1], sum(len(chunk) for kind, chunk in found[1:2] if kind == _BINARY)


def _counted(path: Path, tables: dict[str, Any], binary: int) -> int:
    for name in tables.get("extensionsRequired", []):
        if not name.startswith(_LOOKS):
            what = f"needs the extension {name[:40]!r}, which cannot be read: save it without"
            raise FileError(path, what)
    if any("uri" in buffer for buffer in tables.get("buffers", [])):
        raise FileError(path, "keeps its data outside the file: save it as one GLB file")

    views = _checked_views(path, tables, binary)
    counts = _checked_accessors(path, tables, views, binary)
    in_mesh = [
        sum(_triangles(path, primitive, counts) for primitive in mesh["primitives"])
        for mesh in tables.get("meshes", [])
    ]
    pieces = sum(len(mesh["primitives"]) for mesh in tables.get("meshes", []))
    nodes = tables.get("nodes", [])
    if max(pieces, len(nodes)) > MOST_PIECES:
        raise FileError(path, f"has too many pieces: at most {MOST_PIECES:,} nodes or primitives")
    _refuse_odd_nodes(path, nodes)
    return max(sum(in_mesh), sum(in_mesh[_whole(node["mesh"])] for node in nodes if "mesh" in node))


def _checked_views(path: Path, tables: dict[str, Any], binary: int) -> list[tuple[int, int]]:
    """Return of each buffer view how many bytes it has, and from one item to the next."""
    views = []
    for view in tables.get("bufferViews", []):
        size = _whole(view["byteLength"])
        if _whole(view["buffer"]) != 0 or _whole(view.get("byteOffset", 0)) + size > binary:
            raise FileError(path, "claims more data than the file contains")
        views.append((size, _whole(view.get("byteStride", 0))))
    _refuse_overlaps(path, sum(size for size, _ in views), binary)
    return views


def _checked_accessors(
    path: Path, tables: dict[str, Any], views: list[tuple[int, int]], binary: int
) -> list[int]:
    """Return how many items each accessor has."""
    counts = []
    taken = 0
    for accessor in tables.get("accessors", []):
        if "sparse" in accessor or "bufferView" not in accessor:
            raise FileError(path, "has sparse or empty accessors, which cannot be read")
        count = _whole(accessor["count"])
        size, stride = views[_whole(accessor["bufferView"])]
        item = _COMPONENT_BYTES[accessor["componentType"]] * _COMPONENTS[accessor["type"]]
        last = _whole(accessor.get("byteOffset", 0)) + max(count - 1, 0) * (stride or item) + item
        if last > size:
            what = f"claims {count:,} items where its data ends after fewer"
            raise FileError(path, what)
        counts.append(count)
        taken += count * item
    _refuse_overlaps(path, taken, binary)
    return counts


def _refuse_overlaps(path: Path, taken: int, binary: int) -> None:
    """Refuse tables that take up the same data time and again, as the loader copies each time."""
    if taken > 2 * binary:
        raise FileError(path, "claims more data than the file contains")


def _triangles(path: Path, primitive: dict[str, Any], counts: list[int]) -> int:
    corners = counts[_whole(primitive.get("indices", primitive["attributes"]["POSITION"]))]
    mode = primitive.get("mode", _TRIANGLES)
    if mode == _FAN:
        raise FileError(path, "contains triangle fans, which cannot be read: save it as triangles")
    return {_TRIANGLES: corners // 3, _STRIP: max(corners - 2, 0)}.get(mode, 0)


def _refuse_odd_nodes(path: Path, nodes: list[dict[str, Any]]) -> None:
    """Refuse nodes that are no trees: one within itself or in two others, or too deep."""
    within = [[_whole(child) for child in node.get("children", [])] for node in nodes]
    children = [child for inner in within for child in inner]
    if len(set(children)) < len(children):
        raise FileError(path, "has a node that is inside two others")

    layer = sorted(set(range(len(nodes))) - set(children))
    reached = len(layer)
    for _ in range(DEEPEST):
        layer = [child for node in layer for child in within[node]]
        reached += len(layer)
    if layer:
        raise FileError(path, f"has nodes more than {DEEPEST} deep in each other")
    if reached < len(nodes):
        raise FileError(path, "has nodes that are inside themselves")


def _whole(value: Any) -> int:
    """Return a count or a place, which must be a whole number from 0."""
    if not isinstance(value, int) or not 0 <= value < 2**53:
        raise ValueError(value)
    return value
