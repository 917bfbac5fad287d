"""Light spreads over one surface only, and weighs by distance."""

import numpy as np
import pytest

from seamsight.viewer.light.glow_kernel import spread


def test_spread():
    parts = np.array([[1, 1, 2, 1]], np.int32)
    normals = np.zeros((1, 4, 3))
    normals[..., 2] = 1.0
    normals[0, 3] = [1.0, 0, 0]  # another side of part 1
    light = np.array([[[3.0] * 3, [5.0] * 3, [50.0] * 3, [70.0] * 3]])

    columns = np.array([0.5, 2.0, 1.0, 1.0])
    asked = np.array([1, 2, 3, 1], np.int32)
    facing = np.array([[0.0, 0, 1], [0, 0, 1], [0, 0, 1], [0, 1, 0]])
    out = np.empty((4, 3))
    spread(columns, np.zeros(4), asked, facing, parts, normals, light, out)
    assert out[0] == pytest.approx([4] * 3)  # midway between 3 and 5
    assert out[1] == pytest.approx([50] * 3)
    assert np.isnan(out[2:]).all()  # no such part, and no such side of it
