"""Faces as drawn: edges, holes, and where a bevel ends."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.pieces_drawn import face_sketch


def test_a_plate_with_its_holes(rig_of):
    holes = [{"shape": "circle", "at": [100, 50], "diameter": 20}]
    plate = {"name": "p", "size": [300, 200], "thickness": 4, "centre": [0, 900, 0], "holes": holes}
    [piece] = cut_pieces(build(rig_of(plate=[plate])))
    sketch = face_sketch(piece)
    assert sketch.bounds == ((-150, -100), (150, 100))
    assert [(one.centre, one.radius) for one in sketch.rounds] == [((100, 50), 10)]


BANK = {
    "name": "row",
    "count": 2,
    "radius": 600,
    "screen": {"width": 400, "height": 300, "pixels": [800, 600]},
    "lens": {"focal_length": 450, "distance": 150, "width": 420, "height": 320},
    "carcass": {"thickness": 12, "slot": {"depth": 5}},
}


def test_a_slot_runs_across_a_board(rig_of):
    pieces = {piece.name: piece for piece in cut_pieces(build(rig_of(bank=[BANK | {"count": 1}])))}
    sketch = face_sketch(pieces["row.1 carcass top"])
    [slot] = [path for path in sketch.paths if path.layer == "SLOTS"]
    assert np.ptp(slot.points, axis=0) == pytest.approx([420, 2.5])  # the lens, and 0.5 of play
    assert [label.text for label in sketch.labels] == ["slot 5 deep, lower face"]


def test_a_bevelled_board_has_a_line_where_the_bevel_ends(rig_of):
    pieces = {piece.name: piece for piece in cut_pieces(build(rig_of(bank=[BANK])))}
    sketch = face_sketch(pieces["row.1 carcass right"])
    [line] = [path for path in sketch.paths if path.layer == "HIDDEN"]
    # 12 thick, bevelled by atan(210 / 600): it ends 12 * 600 / 210 behind the near edge
    (x, y), (far_x, far_y) = line.points
    near = min(sketch.paths[0].points)[0]
    assert x == far_x == pytest.approx(near + 12 * 600 / 210)
    assert abs(far_y - y) == pytest.approx(np.ptp([p[1] for p in sketch.paths[0].points]))
