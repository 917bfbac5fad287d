"""GLB files that claim more than they hold, or hold what cannot be loaded rightly."""

import struct

import pytest

from seamsight.scene import FileError
from seamsight.scene.glb import DEEPEST, MOST_PIECES, MOST_TABLES, triangles_of_glb
from seamsight.scene.meshes import read_mesh


def chain(count):
    return [{"children": [number + 1] if number + 1 < count else []} for number in range(count)]


def test_triangles_of_all_nodes_are_counted(tmp_path, glb):
    content = glb(nodes=[{"mesh": 0}, {"mesh": 0}, {}])
    assert triangles_of_glb(tmp_path, content) == 2


def test_what_only_changes_the_looks_may_be_required(tmp_path, glb):
    assert triangles_of_glb(tmp_path, glb(extensionsRequired=["KHR_materials_unlit"])) == 1


CLAIMS = {
    "items": ({"accessors": {"count": 300_000_000}}, "claims 300,000,000 items"),
    "items of no data": ({"accessors": {"bufferView": None, "count": 300_000_000}}, "sparse or"),
    "sparse": ({"accessors": {"sparse": {}}}, "sparse or empty accessors"),
    "a negative count": ({"accessors": {"count": -1}}, "tables are damaged"),
    "half an item": ({"accessors": {"count": 2.5}}, "tables are damaged"),
    "an offset": ({"accessors": {"byteOffset": 4}}, "claims 3 items"),
    "a long view": ({"bufferViews": {"byteLength": 10**9}}, "more data than the file contains"),
    "a stride": ({"bufferViews": {"byteStride": 13}}, "claims 3 items"),
    "another file": ({"buffers": {"uri": "a.bin"}}, "keeps its data outside the file"),
    "data as text": ({"buffers": {"uri": "data:base64,AAAA"}}, "keeps its data outside the file"),
    "compression": ({"extensionsRequired": ["KHR_draco_mesh_compression"]}, "'KHR_draco"),
    "a node in itself": ({"nodes": [{"children": [1]}, {"children": [0]}]}, "inside themselves"),
    "a node in two": ({"nodes": [{"children": [2]}, {"children": [2]}, {}]}, "inside two others"),
    "deep nodes": ({"nodes": chain(DEEPEST + 2)}, "more than 100 deep"),
    "many nodes": ({"nodes": [{}] * (MOST_PIECES + 1)}, "too many pieces"),
    "a mesh that is not there": ({"nodes": [{"mesh": 7}]}, "tables are damaged"),
    "fans": ({"meshes": {"primitives": [{"attributes": {"POSITION": 0}, "mode": 6}]}}, "fans"),
    "no tables": ({"nodes": 3}, "tables are damaged"),
    "large tables": ({"asset": "x" * MOST_TABLES}, "too large tables"),
}


@pytest.mark.parametrize(("changed", "said"), CLAIMS.values(), ids=CLAIMS.keys())
def test_a_false_claim_is_refused_at_once(file_of, glb, changed, said):
    with pytest.raises(FileError, match=said):
        read_mesh(file_of("a.glb", glb(**changed)), "mm")


@pytest.mark.parametrize(
    ("at", "number", "said"),
    [
        (4, 1, "GLB of version 1"),
        (8, 10**6, "is not whole: .* bytes of 1,000,000"),
        (12, 10**9, "a chunk that is longer"),
        (16, 0, "tables do not come first"),
    ],
)
def test_a_wrong_length_or_kind_is_refused(file_of, glb, at, number, said):
    content = bytearray(glb())
    content[at : at + 4] = struct.pack("<I", number)
    with pytest.raises(FileError, match=said):
        read_mesh(file_of("a.glb", bytes(content)), "mm")


def test_the_same_data_is_not_taken_up_time_and_again(file_of, glb):
    accessor = {"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC3"}
    with pytest.raises(FileError, match="more data than the file contains"):
        read_mesh(file_of("a.glb", glb(accessors=[accessor] * 3)), "mm")


def test_tables_nested_too_deeply_are_refused(file_of):
    content = struct.pack("<4sII", b"glTF", 2, 100_020) + struct.pack("<I4s", 100_000, b"JSON")
    with pytest.raises(FileError, match="tables are damaged"):
        read_mesh(file_of("a.glb", content + b"[" * 100_000), "mm")
