"""Exported files read back by trimesh, and by the rules of glTF 2.0 (Khronos)."""

import io
import json

import numpy as np
import pytest
import trimesh

from seamsight.scene import OutputError, build, read_rig
from seamsight.scene.export import exported, exported_mesh


@pytest.fixture
def assembly(sample):
    return build(read_rig(sample))


def gltf_json(content):
    """Return the JSON chunk of a GLB file: glTF 2.0, section 4.4."""
    assert content[:4] == b"glTF"
    length = int.from_bytes(content[12:16], "little")
    assert content[16:20] == b"JSON"
    return json.loads(content[20 : 20 + length])


def test_glb_names_every_part_and_stands_in_metres_with_y_up(assembly):
    scene = trimesh.load_scene(io.BytesIO(exported(assembly, "glb")), file_type="glb")
    assert set(scene.geometry) == {part.name for part in assembly.parts}
    low, high = scene.bounds * 1000
    corners = assembly.triangles.reshape(-1, 3)
    (x0, y0, z0), (x1, y1, z1) = corners.min(axis=0), corners.max(axis=0)
    assert np.allclose([low, high], [[x0, z0, -y1], [x1, z1, -y0]], atol=1e-2)


def test_glb_s_lenses_are_clear_and_all_else_is_not(assembly):
    modes = {
        material["name"]: material.get("alphaMode", "OPAQUE")
        for material in gltf_json(exported(assembly, "glb"))["materials"]
    }
    assert modes == {
        part.name: "BLEND" if part.role == "lens" else "OPAQUE" for part in assembly.parts
    }


def test_stl_holds_every_triangle_in_mm(assembly):
    mesh = trimesh.load(io.BytesIO(exported(assembly, "stl")), file_type="stl")
    assert len(mesh.faces) == len(assembly.triangles)
    assert np.allclose(
        mesh.bounds,
        [assembly.triangles.min(axis=(0, 1)), assembly.triangles.max(axis=(0, 1))],
        atol=1e-2,
    )


def test_obj_names_every_part(assembly):
    text = exported(assembly, "obj").decode()
    assert [line[2:] for line in text.splitlines() if line.startswith("o ")] == [
        part.name for part in assembly.parts
    ]
    assert "mtllib" not in text  # a file that would not be there


@pytest.mark.parametrize("kind", ["glb", "obj", "stl"])
def test_an_empty_rig_is_not_exported(rig_of, kind):
    with pytest.raises(OutputError, match="no parts"):
        exported(build(rig_of()), kind)


def test_one_mesh_has_its_name_axes_and_units():
    box = trimesh.creation.box((200, 400, 600))
    scene = trimesh.load_scene(
        io.BytesIO(exported_mesh("room", box.vertices, box.faces, "glb")), file_type="glb"
    )
    assert list(scene.geometry) == ["room"]
    assert np.allclose(scene.bounds, [[-0.1, -0.3, -0.2], [0.1, 0.3, 0.2]])
    content = exported_mesh("room", box.vertices, box.faces, "stl")
    mesh = trimesh.load(io.BytesIO(content), file_type="stl")
    assert mesh.is_watertight
    assert np.allclose(mesh.bounds, box.bounds)


def test_an_empty_mesh_is_refused():
    with pytest.raises(OutputError, match="no room"):
        exported_mesh("room", np.empty((0, 3)), np.empty((0, 3), np.int64), "stl")
