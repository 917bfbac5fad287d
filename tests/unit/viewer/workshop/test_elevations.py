"""Plan and elevations: sizes, what hides what, and the dimensions' figures."""

import numpy as np
import pytest

from seamsight.scene import ChoiceError, build, read_rig
from seamsight.viewer.workshop.elevations import drawing, elevations

BANK = {
    "name": "row",
    "count": 2,
    "radius": 600,
    "screen": {"width": 400, "height": 300, "pixels": [800, 600]},
    "lens": {"focal_length": 450, "distance": 150, "width": 420, "height": 320},
}
NEAR = {"name": "near", "size": [300, 20, 200], "centre": [0, 300, -300]}
FAR = {"name": "far", "size": [500, 20, 100], "centre": [0, 900, -300]}


def words(sketch):
    return [label.text for label in sketch.labels]


def spans(sketch):
    return [
        tuple(np.ptp(path.points, axis=0).round(3)) for path in sketch.paths if path.layer == "CUT"
    ]


def test_dimensions_of_a_row(rig_of):
    told = words(elevations(build(rig_of(bank=[BANK])), 20))
    # eye to lens, lens to screen, and twice atan(210 / 600)
    assert told.count("600") == told.count("150") == 2
    assert "38.6°" in told
    assert told.count("eye point") == 3


def test_overall_sizes(rig_of):
    told = words(elevations(build(rig_of(board=[NEAR, FAR])), 20))
    # width, depth from 290 to 910, height from -400 to -200, in two views each
    assert [told.count(size) for size in ("500", "620", "200")] == [2, 2, 2]


def test_what_is_behind_is_cut_off(rig_of):
    sketch = elevations(build(rig_of(board=[NEAR, FAR])), 20)
    # from the seat, 100 of the far board shows at either end of the near one
    assert spans(sketch).count((100.0, 100.0)) == 2
    assert (300.0, 200.0) in spans(sketch)


def test_what_is_above_eye_and_screens_is_left_out_of_the_plan(rig_of, screen_at):
    roof = {"name": "roof", "size": [2000, 1500, 20], "centre": [0, 500, 500]}
    rig = rig_of(board=[roof, NEAR], screen=[screen_at()])
    assert (2000.0, 1500.0) not in spans(elevations(build(rig), 20))


def test_a_mesh_that_is_open_is_drawn_whichever_way_its_triangles_turn(write_rig):
    # two triangles of a sheet of 300 x 200 mm, of which one looks away from the seat
    low, right, high, left = (-150, 400, 0), (150, 400, 0), (150, 400, 200), (-150, 400, 200)
    faces = np.zeros(2, [("normal", "<3f4"), ("corners", "<9f4"), ("rest", "<u2")])
    faces["corners"] = [np.ravel([low, right, high]), np.ravel([low, left, high])]
    stl = bytes(80) + np.uint32(2).tobytes() + faces.tobytes()
    sheet = '[[mesh]]\nname = "sheet"\nfile = "sheet.stl"\nunit = "mm"\ncentre = [0, 0, 0]\n'
    rig = read_rig(write_rig(sheet, sheet__stl=stl))
    sketch = elevations(build(rig), 20)
    [outline] = [path for path in sketch.paths if path.layer == "CUT"]
    assert np.ptp(outline.points, axis=0).tolist() == [300, 200]
    assert len(outline.points) == 4


def test_the_room_is_left_out(rig_of):
    lamp = {"name": "lamp", "centre": [0, 0, 900], "pitch": 90, "size": [300, 300]}
    rig = rig_of(board=[NEAR, FAR | {"room": True}], lamp=[lamp | {"luminance": 900}])
    assert "500" not in words(elevations(build(rig), 20))


def test_the_largest_scale_that_fits(rig_of):
    found = drawing(build(rig_of(board=[NEAR, FAR])), (277, 170))
    assert found.scale == 10
    (left, bottom), (right, top) = found.on_paper.bounds
    assert left == pytest.approx(0)
    assert bottom > 0
    assert right <= 277
    assert top <= 170
    assert drawing(build(rig_of(board=[NEAR, FAR])), (100, 170)).scale == 20
    # as large as it says
    assert any(span[0] == pytest.approx(300 / found.scale) for span in spans(found.on_paper))


def test_nothing_to_draw(rig_of):
    with pytest.raises(ChoiceError, match="nothing to draw"):
        drawing(build(rig_of()), (277, 170))
