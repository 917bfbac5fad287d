"""Boards as they are cut, against shapes worked out by hand and against trimesh."""

import math

import numpy as np
import pytest
import trimesh

from seamsight.scene import build, read_rig
from seamsight.scene.cutting import cut_pieces
from seamsight.scene.parts import MATERIALS

BANK = {
    "name": "row",
    "count": 2,
    "radius": 600,
    "screen": {"width": 400, "height": 300, "pixels": [800, 600]},
    "lens": {"focal_length": 450, "distance": 150, "width": 420, "height": 320},
    "carcass": {"thickness": 12},
    "hood": {"depth": 50, "sides": ["top"]},
}


def board(**keys):
    return {"name": "board", "size": [300, 20, 700], "centre": [0, 900, 0]} | keys


def only(rig):
    [piece] = cut_pieces(build(rig))
    return piece


def test_a_turned_board_has_its_own_size(rig_of):
    piece = only(rig_of(board=[board(yaw=33, pitch=10, roll=5)]))
    assert piece.size == (700, 300, 20)
    assert piece.slants == ()
    assert piece.mass == pytest.approx(0.3 * 0.02 * 0.7 * 650)
    assert piece.centroid == pytest.approx([0, 900, 0])


def test_its_face_is_seen_with_its_right_on_the_right(rig_of):
    piece = only(rig_of(board=[board()]))
    assert piece.face_axes == (0, 2)
    assert np.ptp(piece.face, axis=0) == pytest.approx([300, 700])


def test_what_belongs_to_the_room_is_left_out(rig_of):
    rig = rig_of(board=[board(room=True, mirror="other"), board(name="kept")])
    assert [piece.name for piece in cut_pieces(build(rig))] == ["kept"]


def test_side_boards_of_neighbours_are_bevelled_to_half_the_toe(rig_of):
    half = math.degrees(math.atan(210 / 600))  # "touch": toe = 2 atan(a / radius)
    pieces = {piece.name: piece for piece in cut_pieces(build(rig_of(bank=[BANK])))}
    [bevel] = pieces["row.1 carcass right"].slants
    assert (bevel.edge, bevel.across) == ("near", "thickness")
    assert bevel.angle == pytest.approx(90 - half)
    [mitre] = pieces["row.1 hood top"].slants
    assert (mitre.edge, mitre.across) == ("right", "face")
    assert mitre.angle == pytest.approx(half)
    assert pieces["row.1 carcass left"].slants == ()


def test_masses_and_middles_against_trimesh(sample):
    for piece in cut_pieces(build(read_rig(sample))):
        mesh = trimesh.Trimesh(**trimesh.triangles.to_kwargs(piece.part.triangles), process=True)
        assert mesh.is_watertight
        density, _ = MATERIALS[piece.material]
        assert piece.mass == pytest.approx(mesh.volume * 1e-9 * density, rel=1e-6)
        assert piece.centroid == pytest.approx(mesh.center_mass, abs=1e-3)


def test_points_beyond_edges_are_just_outside(rig_of):
    for piece in cut_pieces(build(rig_of(bank=[BANK], board=[board(yaw=20)]))):
        mesh = trimesh.Trimesh(**trimesh.triangles.to_kwargs(piece.part.triangles), process=True)
        for _, points in piece.edge_points(20.0, 0.5):
            far = np.abs(trimesh.proximity.signed_distance(mesh, points))
            assert far.min() == pytest.approx(0.5, abs=0.01)
            assert not mesh.contains(points).any()


SHELF = {"name": "shelf", "size": [600, 300, 18], "centre": [0, 700, 900]}
LET_IN = {"in": "shelf", "notch": 0.3}


def test_a_notch_right_through_and_a_slot_of_some_depth(rig_of):
    rib = {"name": "rib", "size": [12, 140, 200], "centre": [100, 580, 950]} | LET_IN
    back = {"name": "back", "size": [400, 12, 300], "centre": [-50, 780, 1055]} | LET_IN
    pieces = {piece.name: piece for piece in cut_pieces(build(rig_of(board=[SHELF, rib, back])))}
    through, slot = pieces["shelf"].notches
    assert (through.name, through.through) == ("rib", True)
    # the rib ends at 650, the shelf begins at 550 and its middle is at 700
    assert through.corners.min(axis=0) == pytest.approx([93.7, -150])
    assert through.corners.max(axis=0) == pytest.approx([106.3, -49.7])
    # the back reaches down to 905, the shelf's top is at 909
    assert (slot.name, slot.through) == ("back", False)
    assert (slot.low, slot.high) == pytest.approx((9 - 4.3, 9))
    assert np.ptp(slot.corners, axis=0) == pytest.approx([400.6, 12.6])
    assert pieces["rib"].notches == ()


def test_a_notch_in_an_upright_board_is_where_it_is_seen(rig_of):
    wall = {"name": "wall", "size": [600, 18, 300], "centre": [0, 900, 0], "yaw": 30}
    pin = {"name": "pin", "on": "wall", "size": [40, 60, 20], "centre": [200, 0, 100]}
    rig = rig_of(board=[wall, pin | {"in": "wall", "notch": 0}])
    [recess] = cut_pieces(build(rig))[0].notches
    assert recess.through
    assert recess.corners.min(axis=0) == pytest.approx([180, 90])
    assert recess.corners.max(axis=0) == pytest.approx([220, 110])


def test_what_only_touches_cuts_no_notch(rig_of):
    post = {"name": "post", "size": [40, 40, 100], "centre": [0, 700, 959]} | LET_IN | {"notch": 0}
    pieces = cut_pieces(build(rig_of(board=[SHELF, post])))
    assert pieces[0].notches == ()
