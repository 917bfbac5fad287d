"""The sheet of who sees which places: both eyes' pictures, and below them the maps."""

import numpy as np
import pytest

from seamsight.scene import Head, PoseError, build
from seamsight.viewer import Projection, eyes_of, see
from seamsight.viewer.casting.view import picture_of
from seamsight.viewer.pictures.overlap import overlap_picture
from seamsight.viewer.sheet import letter_of

FLAT = Projection("rectilinear", 600, 300, 60)


def pictures_of(sheet):
    """Return both eyes' pictures: right of and below their lettering, see `with_scale`."""
    letter = letter_of(FLAT.width)
    left, top, foot = round(3.6 * letter), round(2.0 * letter), round(2.4 * letter)
    tops = top, 2 * top + FLAT.height + foot
    return [sheet[y : y + FLAT.height, left : left + FLAT.width] for y in tops]


def test_only_screens_are_tinted(rig_of, screen_at):
    post = {"name": "post", "size": [20, 20, 400], "centre": [0, 300, 0]}
    rig = rig_of(screen=[screen_at()], board=[post])
    assembly, eyes = build(rig), eyes_of(rig, Head(name="here"))
    sheet = np.asarray(overlap_picture(assembly, eyes, FLAT, "caption"))
    for picture, eye in zip(pictures_of(sheet), (eyes.left, eyes.right), strict=True):
        view = see(assembly, eye, FLAT)
        changed = (picture != picture_of(view)).any(axis=2)
        assert (changed == (view.parts == assembly.part_id("screen"))).all()


def test_an_eye_inside_a_part_is_told(rig_of, screen_at):
    board = {"name": "shelf", "size": [200, 200, 200], "centre": [0, 0, 0]}
    rig = rig_of(screen=[screen_at()], board=[board])
    with pytest.raises(PoseError, match="shelf"):
        overlap_picture(build(rig), eyes_of(rig, Head(name="here")), FLAT, "caption")
