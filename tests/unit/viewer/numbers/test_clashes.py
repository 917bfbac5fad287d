"""Clashing units against box hulls' Minkowski differences, and edges that touch by construction."""

import math

import numpy as np
import pytest
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from seamsight.scene import Head, build
from seamsight.viewer import eyes_of
from seamsight.viewer.numbers.clashes import Boxes, clashes, overlap
from seamsight.viewer.numbers.seams import seams

CORNERS = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])


def box(centre, halves, turn=(0.0, 0.0, 0.0)):
    axes = Rotation.from_euler("zyx", turn, degrees=True).as_matrix()
    return Boxes(np.array([centre], float), axes, np.array([halves], float))


def least_move(first, second):
    """Return the least move that frees two boxes: to the hull of all their corners' differences."""
    corners = [
        boxes.centres[0] + (CORNERS * boxes.halves[0]) @ boxes.axes.T for boxes in (first, second)
    ]
    hull = ConvexHull((corners[0][:, None] - corners[1][None]).reshape(-1, 3))
    return -hull.equations[:, 3].max()  # distance inside each face; the nearest


def test_boxes_side_by_side_overlap_by_what_they_share():
    first = box((0, 0, 0), (10, 20, 30))
    assert overlap(first, box((17, 0, 0), (10, 20, 30))) == pytest.approx(3)
    assert overlap(first, box((20, 0, 0), (10, 20, 30))) == pytest.approx(0)
    assert overlap(first, box((26, 3, 0), (10, 20, 30))) == pytest.approx(-6)


def test_turned_boxes_overlap_as_their_minkowski_difference_says():
    random = np.random.default_rng(1)
    for _ in range(200):
        first, second = (
            box(random.uniform(-25, 25, 3), random.uniform(1, 30, 3), random.uniform(-180, 180, 3))
            for _ in range(2)
        )
        expected = least_move(first, second)
        if expected > 0:
            assert overlap(first, second) == pytest.approx(expected, abs=1e-9)
        else:
            assert overlap(first, second) <= 1e-9


@pytest.fixture
def bank_of(rig_of):
    """Return a function from keys of a bank, and of its screens, to a rig of it."""

    def make(lens=None, screen=None, **keys):
        display = {"width": 500, "height": 300, "pixels": [1600, 960], "shows": "black"}
        bank = {"name": "b", "count": 2, "radius": 600, "screen": display | (screen or {})}
        return build(rig_of(bank=[bank | keys | ({"lens": lens} if lens else {})]))

    return make


def test_screens_toed_in_too_little_cut_into_each_other(bank_of):
    rig = bank_of(toe=20.0)
    note, *more = clashes(rig)
    assert not more
    (seam,) = seams(rig, eyes_of(rig.rig, Head(name="here")))
    assert seam.clash == note.amount
    assert (note.kind, note.names, note.line) == ("clash", ("b.1", "b.2"), None)
    # two boxes 500 x 40 x 300 whose fronts' middles stand 600 from the eye, 20 degrees apart
    boxes = [
        box((620 * math.sin(a), 620 * math.cos(a), 0), (250, 20, 150), (-math.degrees(a), 0, 0))
        for a in (math.radians(-10), math.radians(10))
    ]
    assert note.amount == pytest.approx(least_move(*boxes), abs=1e-6)
    assert note.text == f"b.1 and b.2 cut into each other, {note.amount:.1f} mm deep"


LENS = {"focal_length": 450, "magnification": 1.5, "width": 517, "height": 330}


@pytest.mark.parametrize("count", [2, 3, 5])
@pytest.mark.parametrize("lens", [None, LENS, LENS | {"frame": {"width": 9, "depth": 12}}])
def test_units_that_touch_do_not_clash(bank_of, lens, count):
    rig = bank_of(lens, count=count)
    assert clashes(rig) == []
    assert {seam.clash for seam in seams(rig, eyes_of(rig.rig, Head(name="here")))} == {0.0}


@pytest.mark.parametrize(("spare", "count"), [(-0.1, 1), (0.1, 0)])
def test_bezels_proud_of_their_images_need_a_gap(bank_of, spare, count):
    # walls square to images turned by toe come closer, each by sin(toe / 2) mm for every mm of lip
    screen = {"bezel": 10, "lip": 8}
    touching = 2 * math.atan(260 / 600)
    gap = 16 * math.sin(touching / 2)
    for _ in range(20):  # the gap widens the toe a little
        toe = touching + 2 * math.asin(gap / (2 * math.hypot(260, 600)))
        gap = 16 * math.sin(toe / 2)
    found = clashes(bank_of(screen=screen, gap=gap + spare))
    assert [note.names for note in found] == [("b.1", "b.2")] * count


def test_lens_in_the_next_one_s_way_is_named(rig_of, screen_at):
    # 400 mm wide screens 440 mm apart behind lenses 460 mm wide
    screens = [screen_at(name, centre=[x, 750, 0]) for name, x in (("a", -220), ("b", 220))]
    lenses = [LENS | {"screen": name, "width": 460, "thickness": 3} for name in ("a", "b")]
    found = clashes(build(rig_of(screen=screens, lens=lenses)))
    assert [note.names for note in found] == [("a lens", "b lens")]
    assert found[0].amount == pytest.approx(3)  # past each other by the sheet's thickness
    apart = [lens | {"width": 439} for lens in lenses]
    assert clashes(build(rig_of(screen=screens, lens=apart))) == []


def test_samples_can_be_built(sample):
    from seamsight.scene import read_rig

    assert clashes(build(read_rig(sample))) == []
