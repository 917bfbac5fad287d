"""Mesh files: every format in every unit, and those that are no usable mesh."""

import sys

import numpy as np
import pytest
import trimesh

from seamsight.scene import FileError, build, read_rig
from seamsight.scene.meshes import read_mesh, triangles_told

BOX = trimesh.creation.box((4, 2, 1)).apply_translation((1, 2, 3))


def exported(mesh, kind):
    content = mesh.export(file_type=kind)
    return content if isinstance(content, bytes) else content.encode()


def sorted_corners(triangles):
    points = np.asarray(triangles).reshape(-1, 3).round(4)
    return points[np.lexsort(points.T)]


@pytest.mark.parametrize(
    ("unit", "mm"), [("mm", 1), ("cm", 10), ("m", 1000), ("in", 25.4), ("ft", 304.8)]
)
@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply", "glb"])
def test_every_format_in_every_unit(file_of, kind, unit, mm):
    file = file_of(f"box.{kind.removesuffix('_ascii')}", exported(BOX, kind))
    triangles = read_mesh(file, unit)
    np.testing.assert_allclose(
        sorted_corners(triangles), sorted_corners(BOX.triangles * mm), rtol=1e-5, atol=1e-3
    )


@pytest.mark.parametrize("name", ["box.STL", "box.Stl"])
def test_endings_in_capitals(file_of, name):
    assert len(read_mesh(file_of(name, exported(BOX, "stl")), "mm")) == 12


def test_several_bodies_of_a_file_are_one_mesh(file_of):
    scene = trimesh.Scene([BOX, BOX.copy().apply_translation((9, 0, 0))])
    assert len(read_mesh(file_of("two.glb", exported(scene, "glb")), "mm")) == 24


def test_bodies_stand_where_the_file_places_them(file_of):
    scene = trimesh.Scene()
    scene.add_geometry(BOX, transform=trimesh.transformations.translation_matrix((100, 0, 0)))
    triangles = read_mesh(file_of("moved.glb", exported(scene, "glb")), "mm")
    np.testing.assert_allclose(
        sorted_corners(triangles), sorted_corners(np.add(BOX.triangles, [100, 0, 0])), atol=1e-4
    )


def test_changed_file_is_read_anew(file_of):
    file = file_of("box.stl", exported(BOX, "stl"))
    assert len(read_mesh(file, "mm")) == 12
    changed = file_of("box.stl", exported(trimesh.creation.icosphere(1), "stl"))
    assert len(read_mesh(changed, "mm")) == 80


OBJ = "v 0 0 0\nv 1 0 0\nv 0 1 {}\nf 1 2 3\n"


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.stl", b"", "STL|no triangles"),
        ("a.stl", b"\x00" * 84, "no triangles"),
        ("a.stl", exported(BOX, "stl")[:300], "ends after 4 of 12 triangles"),
        ("a.obj", b"", "OBJ|no triangles"),
        ("a.obj", b"v 0 0 0\n", "OBJ|no triangles"),
        ("a.obj", "f 1 2 3\n", "OBJ|no triangles"),
        ("a.obj", OBJ.format("nan"), "not finite"),
        ("a.obj", OBJ.format("inf"), "not finite"),
        ("a.obj", OBJ.format("1e999"), "not finite"),
        ("a.ply", b"ply\nformat ascii 1.0\nend_header\n", "PLY|no triangles"),
        ("a.ply", exported(BOX, "ply")[:200], "PLY"),
        ("a.glb", b"glTF", "GLB"),
        ("a.glb", exported(BOX, "glb")[:400], "is not whole: 400 bytes of"),
        ("a.step", b"ISO-10303-21;", r"must be STL, OBJ, PLY or GLB \(got \.step\)"),
        ("a", b"", r"must be STL, OBJ, PLY or GLB \(got no file ending\)"),
        ("a.obj", OBJ.format("2e5"), "larger than 100 m"),
    ],
)
def test_what_is_no_usable_mesh(file_of, name, content, said):
    with pytest.raises(FileError, match=said):
        read_mesh(file_of(name, content), "mm")


@pytest.mark.parametrize("kind", ["stl", "obj", "ply", "glb"])
def test_broken_meshes_are_told_or_finite(file_of, kind):
    random, whole = np.random.default_rng(8), exported(BOX, kind)
    for number in range(60):
        broken = bytearray(whole)
        for place in random.integers(0, len(whole), 3):
            broken[place] = random.integers(0, 256)
        file = file_of(f"{number}.{kind}", bytes(broken[: random.integers(1, len(whole) + 1)]))
        try:
            triangles = read_mesh(file, "mm")
        except FileError:
            continue
        assert np.isfinite(triangles).all()
        assert triangles.shape[1:] == (3, 3)


def test_units_too_large_for_the_mesh(file_of):
    file = file_of("box.stl", exported(BOX.copy().apply_scale(500), "stl"))
    with pytest.raises(FileError, match='larger than 100 m in unit "m": is the unit right'):
        read_mesh(file, "m")


def test_obj_opens_no_further_files(file_of, tmp_path):
    (tmp_path / "paint.mtl").write_text("newmtl a\nmap_Kd /etc/hosts\n")
    triangles = read_mesh(file_of("a.obj", "mtllib paint.mtl\nusemtl a\n" + OBJ.format(0)), "mm")
    assert len(triangles) == 1


def test_a_million_triangles_are_read_and_built(write_rig):
    sphere = trimesh.creation.icosphere(8, radius=50)  # 20 x 4^8 triangles
    text = '[[mesh]]\nname = "sphere"\nfile = "sphere.stl"\ncentre = [0, 300, 0]\n'
    assembly = build(read_rig(write_rig(text, sphere__stl=exported(sphere, "stl"))))
    assert len(assembly.triangles) == 1_310_720


def test_a_mesh_opens_no_other_file(tmp_path):
    (tmp_path / "a.mtl").write_text("newmtl red\n")
    (tmp_path / "a.obj").write_text("mtllib a.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n")
    opened = []
    sys.addaudithook(lambda event, of: opened.append(str(of[0])) if event == "open" else None)
    read_mesh(tmp_path / "a.obj", "mm")
    assert not [name for name in opened if name.endswith("a.mtl")]


def test_a_mesh_that_is_gone_is_named(tmp_path):
    for read in (lambda path: read_mesh(path, "mm"), triangles_told):
        with pytest.raises(FileError) as told:
            read(tmp_path / "a.stl")
        assert (told.value.path, told.value.what) == (tmp_path / "a.stl", "cannot be opened")


def test_what_the_loader_notes_of_a_broken_file_is_not_printed(file_of, caplog):
    text = exported(BOX, "stl_ascii").replace(b"facet normal 0", b"facet normal x", 1)
    triangles = read_mesh(file_of("a.stl", text), "mm")
    assert len(triangles) == 12
    assert caplog.records == []
