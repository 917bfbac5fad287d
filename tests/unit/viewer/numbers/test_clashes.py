"""Parts that run into each other against sums by hand, and edges that touch by construction."""

import math
import re

import numpy as np
import pytest

from seamsight.scene import Head, build, read_rig
from seamsight.scene.boxes import Boxes, overlap
from seamsight.scene.frames import rotation
from seamsight.viewer import eyes_of
from seamsight.viewer.numbers.clashes import clashes
from seamsight.viewer.numbers.seams import seams


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
        Boxes(
            620 * np.array([[math.sin(a), math.cos(a), 0]]),
            rotation(a, 0.0, 0.0)[None],
            np.array([[250.0, 20.0, 150.0]]),
        )
        for a in (math.radians(-10), math.radians(10))
    ]
    assert note.amount == pytest.approx(float(overlap(*boxes)[0]), abs=1e-6)
    assert note.text.startswith(f"b.1 and b.2 run into each other by {note.amount:.1f} mm near (0,")
    assert note.text.endswith('make toe larger, or write toe = "touch" with a wider gap')


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
    assert clashes(build(read_rig(sample))) == []


SHELF = {"name": "shelf", "size": [400, 100, 20], "centre": [0, 500, -300]}
POST = {"name": "post", "size": [30, 30, 200], "centre": [100, 500, -205]}


def test_boards_that_run_into_each_other(rig_of):
    [note] = clashes(build(rig_of(board=[SHELF, POST])))
    assert note.names == ("shelf", "post")
    assert note.amount == pytest.approx(15)
    words = re.fullmatch(
        r"shelf and post run into each other by 15.0 mm near \((.*), (.*), −(.*)\): "
        r'move one by that, or say in = "shelf" for post',
        note.text,
    )
    right, forward, down = (float(number) for number in words.groups())
    assert 85 <= right <= 115 and 485 <= forward <= 515 and 290 <= down <= 305
    assert note.where == ("board", "post")


@pytest.mark.parametrize("let_into", ["shelf", "post"])
def test_what_is_let_into_a_thing_is_not_told(rig_of, let_into):
    boards = [SHELF, POST]
    boards[let_into == "shelf"] = boards[let_into == "shelf"] | {"in": let_into}
    assert clashes(build(rig_of(board=boards))) == []


def test_what_is_let_into_a_row_may_meet_each_of_its_units(bank_of, rig_of):
    bar = {"name": "bar", "size": [20, 900, 20], "centre": [0, 600, 0]}
    bank = {"name": "b", "count": 2, "radius": 600, "toe": 46.0}
    bank["screen"] = {"width": 500, "height": 300, "pixels": [1600, 960]}
    rig = rig_of(bank=[bank], board=[bar])
    assert [note.names for note in clashes(build(rig))] == [("b.1", "bar"), ("b.2", "bar")]
    for name, left in (("b", 0), ("b.1", 1)):
        rig = rig_of(bank=[bank], board=[bar | {"in": name}])
        assert len(clashes(build(rig))) == left


PANEL = {"name": "panel", "size": [300, 200], "thickness": 4, "centre": [0, 600, 0]}
HOLE = {"shape": "circle", "at": [30, 10], "diameter": 80}


@pytest.mark.parametrize(("side", "deep"), [(50, None), (60, 4.0)])
def test_a_column_through_a_hole_is_fine_as_far_as_it_fits(rig_of, side, deep):
    # a square column of diagonal 70.7 fits a hole of 80, one of 84.9 does not
    column = {"name": "column", "size": [side, 500, side], "centre": [30, 600, 10]}
    found = clashes(build(rig_of(plate=[PANEL | {"holes": [HOLE]}], board=[column])))
    assert len(found) == (deep is not None)
    if deep:
        [note] = found
        # what is outside the circle: from its corner to the line between its sides' places on it
        assert note.amount == pytest.approx(
            (30 - math.sqrt(40**2 - 30**2)) / math.sqrt(2), abs=0.01
        )
        assert "mm (right × forward × up): move one away" in note.text


def stl_of(triangles):
    records = np.zeros(len(triangles), [("n", "<f4", 3), ("t", "<f4", (3, 3)), ("a", "<u2")])
    records["t"] = triangles
    return bytes(80) + np.uint32(len(triangles)).tobytes() + records.tobytes()


def cylinder(radius, length, sides):
    turns = np.linspace(0, 2 * math.pi, sides, endpoint=False)
    ring = np.stack([radius * np.cos(turns), 0 * turns, radius * np.sin(turns)], axis=1)
    half = np.array([0, length / 2, 0])
    near, far = ring - half, ring + half
    nexts = (np.roll(near, -1, axis=0), np.roll(far, -1, axis=0))
    middle = np.repeat(half[None], sides, axis=0)
    pieces = [(near, nexts[0], nexts[1]), (near, nexts[1], far)]
    pieces += [(nexts[0], near, -middle), (far, nexts[1], middle)]
    return np.concatenate([np.stack(piece, axis=1) for piece in pieces])


MESH = {"name": "shaft", "file": "shaft.stl", "centre": [30, 600, 10]}


@pytest.fixture
def with_shaft(rig_of, tmp_path):
    """Return a function from triangles to the notes on a panel with a hole and a shaft in it."""

    def make(triangles):
        (tmp_path / "shaft.stl").write_bytes(stl_of(triangles))
        rig = rig_of(plate=[PANEL | {"holes": [HOLE]}], mesh=[MESH])
        return clashes(build(rig.read_from(tmp_path / "rig.toml")))

    return make


@pytest.mark.parametrize(("radius", "count"), [(39, 0), (40, 0), (40.5, 1)])
def test_a_shaft_may_be_as_wide_as_its_hole(with_shaft, radius, count):
    assert len(with_shaft(cylinder(radius, 100, 48))) == count


@pytest.mark.parametrize("fault", ["missing", "turned", "doubled", "inside out"])
def test_a_faulty_mesh_still_counts(with_shaft, fault):
    whole = cylinder(45, 100, 48)
    faulty = {
        "missing": whole[1:],
        "turned": np.concatenate([whole[1:], whole[:1, ::-1]]),
        "doubled": np.concatenate([whole, whole[:1]]),
        "inside out": whole[:, ::-1],
    }
    [note] = with_shaft(faulty[fault])
    assert (note.kind, note.names) == ("clash", ("panel", "shaft"))
    # the plate is 4 mm thick, the ring between both circles 5 mm wide but nowhere straight
    assert note.amount == pytest.approx(4, abs=0.01)


def test_an_open_mesh_is_told_of(with_shaft):
    [note] = with_shaft(cylinder(45, 100, 48)[:96])  # a tube without ends
    assert (note.kind, note.names, note.amount) == ("misfit", ("shaft",), None)
    assert note.text.startswith("not checked: mesh shaft is not closed")
    assert note.where == ("mesh", "shaft")


def test_a_thing_in_a_hollow_is_free(with_shaft, rig_of):
    tube = np.concatenate([cylinder(39, 100, 24), cylinder(30, 90, 24)[:, ::-1]])
    assert with_shaft(tube) == []


@pytest.mark.parametrize("table", ["bank", "lens"])
@pytest.mark.parametrize(("depth", "count"), [(145, 0), (150, 1)])
def test_a_lens_frame_may_reach_as_far_as_its_own_screen(rig_of, screen_at, table, depth, count):
    lens = LENS | {"width": 410, "height": 310, "frame": {"width": 30, "depth": depth}}
    display = {"width": 400, "height": 300, "pixels": [800, 600], "bezel": 20, "lip": 5}
    tables = {"screen": [screen_at("a", **display)], "lens": [lens | {"screen": "a"}]}
    if table == "bank":
        tables = {"bank": [{"name": "a", "count": 1, "radius": 600, "screen": display}]}
        tables["bank"][0]["lens"] = lens
    found = clashes(build(rig_of(**tables)))
    assert len(found) == count
    if found:
        assert found[0].amount == pytest.approx(5)
        assert found[0].text.endswith(": make one of them smaller, or distance larger")
        assert found[0].where == (("bank", "a", "lens") if table == "bank" else ("lens", "a"))
