"""Meshes with one fault each: what must be mended, and what must not be guessed."""

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
