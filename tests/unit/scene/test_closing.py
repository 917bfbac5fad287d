"""Meshes with one fault each: what must be mended, and what must not be guessed."""

import itertools

import numpy as np
import pytest

from seamsight.scene import shapes
from seamsight.scene.closing import closed, shell_of

BOX = shapes.box(10, 20, 30)


def volume_of(triangles):
    mended = closed(shell_of(triangles))
    return mended and shapes.volume(mended.corners[mended.faces])


@pytest.mark.parametrize("number", range(12))
def test_one_fault_is_mended(number):
    rest = np.delete(BOX, number, axis=0)
    one = BOX[number : number + 1]
    for faulty in (rest, np.concatenate([rest, one[:, ::-1]]), np.concatenate([BOX, one])):
        assert not shell_of(faulty).is_closed
        assert abs(volume_of(faulty)) == pytest.approx(6000)


def test_triangles_without_area_are_left_out():
    sliver = np.repeat(BOX[:1, :1], 3, axis=1)
    assert volume_of(np.concatenate([BOX[1:], sliver])) == pytest.approx(6000)


def test_sheets_and_larger_holes_stay_open():
    assert closed(shell_of(shapes.rectangle(10, 20))) is None
    facing = BOX[(BOX[:, :, 1] == -10).all(axis=1)]
    without_front = BOX[~(BOX[:, :, 1] == -10).all(axis=1)]
    assert len(facing) == 2
    assert closed(shell_of(without_front)) is None


def test_closed_meshes_stay_as_they_are():
    shell = shell_of(BOX)
    assert len(shell.corners) == 8 and closed(shell) is shell
    touching = np.concatenate([BOX, BOX + np.array([10, 20, 0])])  # along one edge
    assert volume_of(touching) == pytest.approx(12000)


def test_a_mesh_faces_outwards_when_each_of_its_pieces_does():
    apart = np.add(BOX, [100, 0, 0])
    inside_out = apart[:, ::-1]
    assert shell_of(np.concatenate([BOX, apart])).is_outward
    for faulty in (
        np.concatenate([BOX, inside_out]),
        np.concatenate([BOX, 0.5 * BOX[:, ::-1]]),  # a hollow: seen from within it is wrong
        BOX[1:],
        shapes.rectangle(10, 20),
    ):
        assert not shell_of(faulty).is_outward


def test_pieces_that_wind_about_are_found_whole():
    # a tube of many sections, whose far end is told last
    ring = np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])
    along = np.arange(200.0)
    corners = np.stack([np.column_stack([ring, np.full(3, z)]) for z in along])
    sides = []
    for here, there in itertools.pairwise(corners):
        for k in range(3):
            a, b, c, d = here[k], here[(k + 1) % 3], there[(k + 1) % 3], there[k]
            sides += [(a, b, c), (a, c, d)]
    ends = [corners[0][::-1], corners[-1]]
    tube = np.array([*sides, *ends])
    assert shell_of(tube).is_outward
    assert not shell_of(tube[:, ::-1]).is_outward
