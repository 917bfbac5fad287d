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


def test_notches_through_are_sawn_and_others_are_slots(rig_of):
    shelf = {"name": "shelf", "size": [600, 300, 18], "centre": [0, 700, 900]}
    let_in = {"in": "shelf", "notch": 0.3}
    rib = {"name": "rib", "size": [12, 140, 200], "centre": [100, 580, 950]} | let_in
    back = {"name": "back", "size": [400, 12, 300], "centre": [-50, 780, 1055]} | let_in
    sketch = face_sketch(cut_pieces(build(rig_of(board=[shelf, rib, back])))[0])
    [edge] = [path for path in sketch.paths if path.layer == "CUT"]
    corners = {(round(x, 3), round(y, 3)) for x, y in edge.points}
    assert {(93.7, -49.7), (106.3, -49.7), (93.7, -150.0), (106.3, -150.0)} <= corners
    assert len(corners) == 8
    [slot] = [path for path in sketch.paths if path.layer == "SLOTS"]
    assert np.ptp(slot.points, axis=0) == pytest.approx([400.6, 12.6])
    assert [label.text for label in sketch.labels] == ["slot for back: 4.3 deep from top"]
