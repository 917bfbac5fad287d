"""A view as a picture: hatched where there is nothing, and only there."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer import Projection, see
from seamsight.viewer.casting.view import HATCHING, picture_of
from seamsight.viewer.colour import srgb

EYE = np.zeros(3)


@pytest.mark.parametrize("width", [200, 1600])
def test_only_what_is_nothing_is_hatched(rig_of, screen_at, width):
    assembly = build(rig_of(screen=[screen_at()]))
    view = see(assembly, EYE, Projection("rectilinear", width, 100, 60))
    picture, plain = picture_of(view), srgb(view.light)
    changed = (picture != plain).any(axis=2)
    assert (view.parts[changed] < 0).all()
    assert (picture[changed] == HATCHING).all()
    # a line every so many pixels of each row, moved on by one from row to row
    empty = np.flatnonzero(view.parts[0] < 0)
    lines = [np.flatnonzero(changed[row][empty]) for row in (0, 1)]
    assert len(lines[0]) > 4
    assert len(set(np.diff(np.flatnonzero(changed[0][: empty[0] + 60])))) <= 1
