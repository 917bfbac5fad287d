"""Surfaces of cubes, read back by trimesh: closed, whatever the cubes, and of the right volume."""

import numpy as np
import pytest
import trimesh
from scipy.ndimage import binary_dilation

from seamsight.viewer.casting.cells import Cells
from seamsight.viewer.studies.cubes import grown, simply_joined, surface

LOW = np.array([5.0, -3.0, 7.0])


@pytest.mark.parametrize("seed", range(5))
def test_grown_is_what_scipy_has(seed):
    cubes = np.random.default_rng(seed).random((7, 5, 6)) < 0.05
    assert np.array_equal(grown(cubes), binary_dilation(cubes, np.ones((3, 3, 3))))


@pytest.mark.parametrize("share", [0.02, 0.3, 0.5, 0.8, 1.0])
def test_a_surface_is_closed_and_holds_its_cubes(share):
    cubes = simply_joined(np.random.default_rng(3).random((9, 8, 7)) < share)
    assert cubes.any()
    mesh = trimesh.Trimesh(*surface(Cells(LOW, 4.0, cubes.shape), cubes), process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(64 * cubes.sum())
    low = np.argwhere(cubes).min(axis=0) * 4 + LOW
    assert mesh.bounds[0] == pytest.approx(low)


def test_cubes_that_touch_along_an_edge_lose_one_of_them():
    cubes = np.zeros((3, 3, 3), bool)
    cubes[0, 0, 0] = cubes[1, 1, 0] = True
    assert simply_joined(cubes).sum() == 1
    cubes[1, 0, 0] = True
    assert np.array_equal(simply_joined(cubes), cubes)


def test_no_cubes_have_no_surface():
    corners, faces = surface(Cells(LOW, 4.0, (2, 2, 2)), np.zeros((2, 2, 2), bool))
    assert corners.shape == (0, 3)
    assert faces.shape == (0, 3)
