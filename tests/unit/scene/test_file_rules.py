"""What a rig's meshes and pictures must keep, together above all."""

import io
import struct

import pytest
from PIL import Image

from seamsight.scene import read_rig
from seamsight.scene.mesh_count import MOST_TRIANGLES


def stl(count):
    return bytes(80) + struct.pack("<I", count) + bytes(50 * count)


def mesh(name, file, *keys):
    return "\n".join(
        ["[[mesh]]", f'name = "{name}"', f'file = "{file}"', "centre = [0, 300, 0]", *keys, ""]
    )


def test_the_meshes_of_a_rig_have_one_limit(problems_of):
    each = MOST_TRIANGLES // 2
    text = mesh("a", "a.stl") + mesh("b", "a.stl") + mesh("c", "c.stl") + mesh("d", "a.stl")
    told = problems_of(text, a__stl=stl(each), c__stl=stl(1))
    assert told == [
        'rig.toml:15: mesh "c": file "c.stl" is too much: the meshes of a rig may contain '
        "1,500,000 triangles in all (got 1,500,001 with this one)"
    ]


def test_a_mesh_after_a_refused_one_is_not_loaded_to_look_for_the_eye(problems_of, tetrahedron):
    around = mesh("a", "a.stl") + mesh("b", "missing.stl") + mesh("c", "a.stl")
    told = problems_of(around.replace("0, 300, 0", "-1, -1, -1"), a__stl=tetrahedron)
    assert 'is inside "a"' in told[0] and "is missing" in told[1]


def test_the_bytes_of_all_mesh_files_have_a_limit(problems_of, tmp_path, monkeypatch):
    monkeypatch.setattr("seamsight.scene.files.MOST_BYTES", 200)
    told = problems_of(mesh("a", "a.stl") + mesh("b", "b.stl"), a__stl=stl(1), b__stl=stl(1))
    assert len(told) == 1 and 'mesh "b": file "b.stl" is too much' in told[0]


def test_one_file_for_many_meshes_counts_its_bytes_once(write_rig, monkeypatch, tetrahedron):
    monkeypatch.setattr("seamsight.scene.files.MOST_BYTES", len(tetrahedron) + 1)
    text = "".join(mesh(name, "a.stl") for name in "abc")
    assert len(read_rig(write_rig(text, a__stl=tetrahedron)).mesh) == 3


@pytest.mark.parametrize("unit", ['"px"', "3"])
def test_a_wrong_unit_is_told_once(problems_of, tetrahedron, unit):
    (told,) = problems_of(mesh("a", "a.stl", f"unit = {unit}"), a__stl=tetrahedron)
    assert "unit must be" in told


def screen(name, shows):
    return (
        f'[[screen]]\nname = "{name}"\nwidth = 40\nheight = 30\npixels = [80, 60]\n'
        f'centre = [0, 600, 0]\nshows = "{shows}"\n'
    )


def png(width, height):
    stream = io.BytesIO()
    Image.new("1", (width, height)).save(stream, "PNG")
    return stream.getvalue()


def test_the_pictures_of_a_rig_have_100_million_pixels(problems_of, write_rig):
    half = png(8000, 6250)
    assert read_rig(write_rig(screen("a", "a.png") + screen("b", "a.png"), a__png=half)).screen
    text = "".join(screen(name, f"{name}.png") for name in "abc")
    told = problems_of(text, a__png=half, b__png=half, c__png=png(1, 1))
    assert told == [
        'rig.toml:25: screen "c": picture "c.png" is too much: the pictures of a rig may have '
        "100 million pixels in all"
    ]
