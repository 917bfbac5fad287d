"""STL, OBJ and PLY files counted before they are loaded: false counts are refused at once."""

import struct

import numpy as np
import pytest
import trimesh

from seamsight.scene import FileError
from seamsight.scene.mesh_count import MOST_BODIES, MOST_TEXT, count_triangles
from seamsight.scene.meshes import read_mesh

THREE = "v 0 0 0\nv 1 0 0\nv 0 1 0\n"
TEXT_FACET = (
    "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\n"
)
POINTS = struct.pack("<9f", 0, 0, 0, 9, 0, 0, 0, 9, 0)
ROWS = "0 0 0\n9 0 0\n0 9 0\n"


def ply(form="ascii", corners=3, faces=1, count="uchar"):
    return (
        f"ply\nformat {form} 1.0\nelement vertex {corners}\n"
        "property float x\nproperty float y\nproperty float z\n"
        f"element face {faces}\nproperty list {count} int vertex_indices\nend_header\n"
    )


def binary_ply(*faces, claimed=None, order="<"):
    form = f"binary_{'little' if order == '<' else 'big'}_endian"
    points = np.frombuffer(POINTS, "<f4").astype(f"{order}f4").tobytes()
    rows = b"".join(struct.pack(f"{order}B{len(face)}i", len(face), *face) for face in faces)
    return ply(form, faces=claimed or len(faces)).encode() + points + rows


def stl(count, there):
    return bytes(80) + struct.pack("<I", count) + bytes(50 * there)


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply", "glb"])
def test_counts_are_those_of_an_independent_writer(tmp_path, kind):
    content = trimesh.creation.icosphere(3).export(file_type=kind)
    content = content if isinstance(content, bytes) else content.encode()
    assert count_triangles(tmp_path, content, kind.removesuffix("_ascii")) == 20 * 4**3


@pytest.mark.parametrize(
    ("kind", "content", "count"),
    [
        ("obj", f"{THREE}f 1 2 3\nf 1/1/1 2/2/2 3/3/3 1/1/1\n", 3),
        ("obj", f"{THREE}f 1 2 3 \\\n1 2\n", 3),
        ("obj", f"{THREE}f -3 -2 -1\n", 1),
        ("ply", f"{ply(faces=2)}{ROWS}3 0 1 2\n4 0 1 2 0\n", 3),
        ("ply", binary_ply((0, 1, 2, 0), (1, 2, 0, 1)), 4),
        ("ply", binary_ply((0, 1, 2), order=">"), 1),
        ("ply", ply(faces=0) + ROWS, 0),
        ("stl", stl(0, 0), 0),
        ("stl", f"solid a\n{TEXT_FACET}endsolid\nsolid b\n{TEXT_FACET}endsolid\n", 2),
    ],
)
def test_faces_of_several_corners_and_bodies(tmp_path, kind, content, count):
    content = content if isinstance(content, bytes) else content.encode()
    assert count_triangles(tmp_path, content, kind) == count


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.stl", stl(10, 2), "ends after 2 of 10 triangles"),
        ("a.stl", stl(3_000_000_000, 2), "ends after 2 of 3,000,000,000 triangles"),
        ("a.stl", stl(1, 2), r"goes on after the triangles that its header counts \(1\)"),
        ("a.stl", f"solid a\n{TEXT_FACET}", 'ends before its "endsolid"'),
        ("a.stl", f"solid a\n{TEXT_FACET}endsolid\n" * (MOST_BODIES + 1), "too many bodies"),
        ("a.obj", f"{THREE}f 1 2 9\n", "name corners which are not there"),
        ("a.obj", f"{THREE}f 1 2 {'9' * 30}\n", "name corners which are not there"),
        ("a.obj", f"{THREE}v 5 5\nf 1 2 3\n", "is not a readable OBJ mesh"),
        ("a.obj", f"{THREE}f 0 1 2\n", "a face with a corner 0"),
        ("a.obj", f"{THREE}f -1 -2 -9\n", "a face with a corner -9, of 3"),
        ("a.obj", f"{THREE}f -1 -2 -3\nv 5 5 5\n", "count corners back before all are given"),
        ("a.obj", f"{THREE}f {'1 ' * 1_500_003}\n", "contains too many triangles"),
        ("a.obj", THREE + "f 1 2 3\n" * 1_500_001, "contains too many faces"),
        (
            "a.obj",
            THREE + "".join(f"usemtl {n}\nf 1 2 3\n" for n in range(MOST_BODIES + 1)),
            "too many bodies",
        ),
        ("a.obj", b"\nvn" * 4_500_001, 'too many rows of "v"'),
        ("a.obj", b"\n" * (MOST_TEXT + 1), "is too large for a mesh that is text"),
        ("a.ply", f"{ply(faces=10**9)}{ROWS}3 0 1 2\n", "contains too many faces"),
        ("a.ply", f"{ply(corners=10**9)}{ROWS}3 0 1 2\n", 'too many rows of "vertex"'),
        ("a.ply", f"{ply(corners=3_000_000)}{ROWS}3 0 1 2\n", "too long for a mesh that is text"),
        ("a.ply", f"{ply(corners=-3)}{ROWS}3 0 1 2\n", "its header is damaged"),
        ("a.ply", f"{ply(faces=5)}{ROWS}3 0 1 2\n", "ends after 4 of 8 rows"),
        ("a.ply", f"{ply()}{ROWS}200000000 0 1 2\n", "fewer corners than it counts"),
        ("a.ply", f"{ply()}{ROWS}-3 0 1 2\n", "fewer corners than it counts"),
        ("a.ply", f"{ply()}{ROWS}3 0 1 3\n", "name corners which are not there"),
        ("a.ply", f"{ply()}{ROWS}3 0 1 -1\n", "name corners which are not there"),
        ("a.ply", f"{ply()}inf 0 0\n9 0 0\n0 9 0\n3 0 1 2\n", "not finite"),
        ("a.ply", ply().encode() + b"0\n" * 5000, "goes on after the rows"),
        ("a.ply", binary_ply((0, 1, 2), claimed=10**9), "contains too many faces"),
        ("a.ply", binary_ply((0, 1, 2), claimed=1000), "is too short for what its header names"),
        ("a.ply", binary_ply((0, 1, 2), claimed=2), "or is not whole"),
        ("a.ply", binary_ply((0, 1, 2), (0, 1, 2, 0, 1), (0, 1, 2, 0)), "save it as triangles"),
        ("a.ply", binary_ply((0, 1, 3)), "name corners which are not there"),
        ("a.ply", binary_ply((0, 1, -1)), "name corners which are not there"),
        ("a.ply", b"ply\n", "it has no header"),
    ],
)
def test_false_counts_are_refused(file_of, name, content, said):
    with pytest.raises(FileError, match=said):
        read_mesh(file_of(name, content), "mm")
