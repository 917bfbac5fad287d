import io
import sys

import numpy as np
import pytest
import trimesh
from PIL import Image

from seamsight.scene import FileError, build, files, read_rig

BOX = trimesh.creation.box((4, 2, 1)).apply_translation((1, 2, 3))


@pytest.fixture
def mesh_file(tmp_path):
    def write(name, content):
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        return file

    return write


def exported(mesh, kind):
    content = mesh.export(file_type=kind)
    return content if isinstance(content, bytes) else content.encode()


def sorted_corners(triangles):
    points = np.asarray(triangles).reshape(-1, 3).round(4)
    return points[np.lexsort(points.T)]


# ---- meshes ----


@pytest.mark.parametrize(
    ("unit", "mm"), [("mm", 1), ("cm", 10), ("m", 1000), ("in", 25.4), ("ft", 304.8)]
)
@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply", "glb"])
def test_every_format_in_every_unit(mesh_file, kind, unit, mm):
    file = mesh_file(f"box.{kind.removesuffix('_ascii')}", exported(BOX, kind))
    triangles = files.read_mesh(file, unit)
    np.testing.assert_allclose(
        sorted_corners(triangles), sorted_corners(BOX.triangles * mm), rtol=1e-5, atol=1e-3
    )


@pytest.mark.parametrize("name", ["box.STL", "box.Stl"])
def test_endings_in_capitals(mesh_file, name):
    assert len(files.read_mesh(mesh_file(name, exported(BOX, "stl")), "mm")) == 12


def test_several_bodies_of_a_file_are_one_mesh(mesh_file):
    scene = trimesh.Scene([BOX, BOX.copy().apply_translation((9, 0, 0))])
    assert len(files.read_mesh(mesh_file("two.glb", exported(scene, "glb")), "mm")) == 24


def test_bodies_stand_where_the_file_places_them(mesh_file):
    scene = trimesh.Scene()
    scene.add_geometry(BOX, transform=trimesh.transformations.translation_matrix((100, 0, 0)))
    triangles = files.read_mesh(mesh_file("moved.glb", exported(scene, "glb")), "mm")
    np.testing.assert_allclose(
        sorted_corners(triangles), sorted_corners(np.add(BOX.triangles, [100, 0, 0])), atol=1e-4
    )


def test_changed_file_is_read_anew(mesh_file):
    file = mesh_file("box.stl", exported(BOX, "stl"))
    assert len(files.read_mesh(file, "mm")) == 12
    changed = mesh_file("box.stl", exported(trimesh.creation.icosphere(1), "stl"))
    assert len(files.read_mesh(changed, "mm")) == 80


OBJ = "v 0 0 0\nv 1 0 0\nv 0 1 {}\nf 1 2 3\n"


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.stl", b"", "STL|no triangles"),
        ("a.stl", b"\x00" * 84, "no triangles"),
        ("a.stl", exported(BOX, "stl")[:300], "STL|no triangles"),
        ("a.obj", b"", "OBJ|no triangles"),
        ("a.obj", b"v 0 0 0\n", "OBJ|no triangles"),
        ("a.obj", "f 1 2 3\n", "OBJ|no triangles"),
        ("a.obj", OBJ.format("nan"), "not finite"),
        ("a.obj", OBJ.format("inf"), "not finite"),
        ("a.obj", OBJ.format("1e999"), "not finite"),
        ("a.ply", b"ply\nformat ascii 1.0\nend_header\n", "PLY|no triangles"),
        ("a.ply", exported(BOX, "ply")[:200], "PLY"),
        ("a.glb", b"glTF", "GLB"),
        ("a.glb", exported(BOX, "glb")[:400], "GLB"),
        ("a.step", b"ISO-10303-21;", r"must be STL, OBJ, PLY or GLB \(got \.step\)"),
        ("a", b"", r"must be STL, OBJ, PLY or GLB \(got no file ending\)"),
        ("a.obj", OBJ.format("2e5"), "larger than 100 m"),
    ],
)
def test_what_is_no_usable_mesh(mesh_file, name, content, said):
    with pytest.raises(FileError, match=said):
        files.read_mesh(mesh_file(name, content), "mm")


@pytest.mark.parametrize("kind", ["stl", "obj", "ply", "glb"])
def test_broken_meshes_are_told_or_finite(mesh_file, kind):
    random, whole = np.random.default_rng(8), exported(BOX, kind)
    for number in range(60):
        broken = bytearray(whole)
        for place in random.integers(0, len(whole), 3):
            broken[place] = random.integers(0, 256)
        file = mesh_file(f"{number}.{kind}", bytes(broken[: random.integers(1, len(whole) + 1)]))
        try:
            triangles = files.read_mesh(file, "mm")
        except FileError:
            continue
        assert np.isfinite(triangles).all()
        assert triangles.shape[1:] == (3, 3)


def test_a_file_that_is_gone_is_named(tmp_path):
    for name, read in (
        ("a.png", files.read_picture),
        ("a.stl", lambda p: files.read_mesh(p, "mm")),
    ):
        with pytest.raises(FileError) as told:
            read(tmp_path / name)
        assert (told.value.path, told.value.what) == (tmp_path / name, "cannot be opened")
        assert str(told.value) == f"{tmp_path / name} cannot be opened"


def test_units_too_large_for_the_mesh(mesh_file):
    file = mesh_file("box.stl", exported(BOX.copy().apply_scale(500), "stl"))
    with pytest.raises(FileError, match='larger than 100 m in unit "m": is the unit right'):
        files.read_mesh(file, "m")


def test_obj_opens_no_further_files(mesh_file, tmp_path):
    (tmp_path / "paint.mtl").write_text("newmtl a\nmap_Kd /etc/hosts\n")
    triangles = files.read_mesh(
        mesh_file("a.obj", "mtllib paint.mtl\nusemtl a\n" + OBJ.format(0)), "mm"
    )
    assert len(triangles) == 1


def test_a_million_triangles_are_read_and_built(write_rig):
    sphere = trimesh.creation.icosphere(8, radius=50)  # 20 x 4^8 triangles
    text = '[[mesh]]\nname = "sphere"\nfile = "sphere.stl"\ncentre = [0, 300, 0]\n'
    assembly = build(read_rig(write_rig(text, sphere__stl=exported(sphere, "stl"))))
    assert len(assembly.triangles) == 1_310_720


# ---- pictures ----


def picture_bytes(image, kind="PNG", **options):
    stream = io.BytesIO()
    image.save(stream, kind, **options)
    return stream.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "BMP", "GIF"])
@pytest.mark.parametrize("mode", ["RGB", "L", "P", "RGBA", "1"])
def test_pictures_become_rgb(mesh_file, kind, mode):
    image = Image.new("RGB", (5, 3), (255, 255, 255)).convert(mode)
    if (kind, mode) == ("GIF", "RGBA"):
        image = image.convert("P")
    picture = files.read_picture(mesh_file("a.img", picture_bytes(image, kind)))
    assert (picture.shape, picture.dtype) == ((3, 5, 3), np.uint8)
    assert (picture == 255).all()


def test_photograph_is_turned_as_its_camera_says(mesh_file):
    image = Image.new("RGB", (40, 20))
    exif = image.getexif()
    exif[0x0112] = 6  # Exif standard (CIPA DC-008), orientation: the top row is the right-hand side
    assert files.read_picture(
        mesh_file("a.jpg", picture_bytes(image, "JPEG", exif=exif))
    ).shape == (40, 20, 3)


@pytest.mark.parametrize(
    "content", [b"", b"text", picture_bytes(Image.new("RGB", (50, 50), "red"))[:60]]
)
def test_what_is_no_picture(mesh_file, content):
    with pytest.raises(FileError, match="is not a readable picture"):
        files.read_picture(mesh_file("a.png", content))


# ---- places ----


@pytest.mark.parametrize("name", ["../a.png", "/etc/hosts", "b/../../a.png", ".."])
def test_outside_the_folder(mesh_file, name):
    rig = mesh_file("rig.toml", "")
    with pytest.raises(FileError, match="outside"):
        files.beside(rig, name)


def test_beside(mesh_file):
    rig, picture = mesh_file("rig.toml", ""), mesh_file("a.png", b"x")
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


def test_a_mesh_opens_no_other_file(tmp_path):
    (tmp_path / "a.mtl").write_text("newmtl red\n")
    (tmp_path / "a.obj").write_text("mtllib a.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n")
    opened = []
    sys.addaudithook(lambda event, of: opened.append(str(of[0])) if event == "open" else None)
    files.read_mesh(tmp_path / "a.obj", "mm")
    assert not [name for name in opened if name.endswith("a.mtl")]


def test_links_in_a_circle_cannot_be_followed(tmp_path):
    (tmp_path / "a.png").symlink_to(tmp_path / "b.png")
    (tmp_path / "b.png").symlink_to(tmp_path / "a.png")
    with pytest.raises(FileError, match=r"cannot be opened|is missing"):
        files.beside(tmp_path / "rig.toml", "a.png")
