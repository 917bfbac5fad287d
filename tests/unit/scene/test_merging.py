"""Meshes with fewer triangles, read back by trimesh: the same shape, still closed."""

import numpy as np
import pytest
import trimesh

from seamsight.scene.merging import merged


def test_a_finely_cut_box_becomes_twelve_triangles():
    box = trimesh.creation.box((20, 40, 60))
    fine = box.subdivide().subdivide()
    assert len(fine.faces) == 192
    mesh = trimesh.Trimesh(*merged(fine.vertices, fine.faces), process=False)
    assert len(mesh.faces) == 12
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(box.volume)
    assert np.allclose(mesh.bounds, box.bounds)


def test_an_open_mesh_is_refused():
    box = trimesh.creation.box()
    with pytest.raises(ValueError, match="not closed"):
        merged(box.vertices, box.faces[1:])
