"""A grid of head positions, and what is seen from each, as a table and as arrays."""

import csv
import io

import numpy as np
import pytest

from seamsight.scene import ChoiceError, Head, build
from seamsight.viewer import eyes_of
from seamsight.viewer.numbers.areas import seen_places
from seamsight.viewer.studies import head_map as module
from seamsight.viewer.studies.head_map import (
    grid_about,
    head_map,
    mapped,
    question_of,
    shares_shape,
)

DESIGN = Head(name="design", offset=(10, 0, 0), turn=5)


@pytest.fixture
def placed(rig_of):
    screen = {"width": 480, "height": 300, "pixels": [800, 500]}
    lens = {"focal_length": 450, "distance": 150, "width": 520, "height": 330}
    bank = {"name": "row", "count": 2, "radius": 600, "screen": screen, "lens": lens}
    return build(rig_of(bank=[bank]))


@pytest.fixture
def found(placed):
    grid = grid_about(DESIGN, (60, 30, 0), 30, (-10, 0, 10))
    return head_map(placed, grid, [mapped(placed, grid, number) for number in grid.pieces])


def test_positions_reach_as_far_to_each_side():
    grid = grid_about(DESIGN, (60, 29, 0), 30, (0.0,))
    assert grid.right.tolist() == [-60, -30, 0, 30, 60]
    assert (grid.forward.tolist(), grid.up.tolist()) == ([0], [0])
    heads = list(grid.heads())
    assert [head.offset[0] for head in heads] == [-50, -20, 10, 40, 70]
    assert {head.turn for head in heads} == {5}


def test_too_many_positions_are_refused():
    with pytest.raises(ChoiceError, match="can be mapped"):
        grid_about(DESIGN, (1000, 1000, 1000), 1, (0.0,))


def test_shares_are_those_of_each_head(placed, found):
    for number in (0, 7, 22, 44):
        head = list(found.grid.heads())[number]
        eyes = eyes_of(placed.rig, head)
        for column, screen in enumerate(placed.screens):
            for row, eye in enumerate((eyes.left, eyes.right)):
                exact = seen_places(placed, screen, eye).area() / (480 * 300)
                assert found.shares[number, column, row] == pytest.approx(exact, abs=2e-3)


def test_table_and_arrays_say_the_same(found):
    rows = list(csv.DictReader(io.StringIO(found.as_csv().decode())))
    assert len(rows) == 5 * 3 * 1 * 3
    assert list(rows[0])[:5] == ["right", "forward", "up", "turn", "least"]
    arrays = np.load(io.BytesIO(found.as_npz()))
    assert arrays["shares"].shape == (5, 3, 1, 3, 2, 2)
    assert arrays["screens"].tolist() == ["row.1", "row.2"]
    for row, place, least in zip(rows, found.grid.places(), found.least, strict=True):
        assert [float(row[key]) for key in ("right", "forward", "up", "turn")] == place.tolist()
        assert float(row["least"]) == pytest.approx(least, abs=1e-4)
        where = tuple(
            int(np.flatnonzero(arrays[key] == value)[0])
            for key, value in zip(("right", "forward", "up", "turn"), place, strict=True)
        )
        assert float(row["row.2 right"]) == pytest.approx(arrays["shares"][where][1, 1], abs=1e-4)


def test_pieces_together_are_the_map(placed, found, monkeypatch):
    monkeypatch.setattr(module, "PIECE", 10)
    grid = found.grid
    assert list(grid.pieces) == [0, 1, 2, 3, 4]
    pieces = [mapped(placed, grid, number) for number in grid.pieces]
    assert [len(piece) for piece in pieces] == [10, 10, 10, 10, 5]
    assert [piece.shape for piece in pieces] == [
        shares_shape(placed, grid, number) for number in grid.pieces
    ]
    assert head_map(placed, grid, pieces).shares.tobytes() == found.shares.tobytes()


def test_a_question_is_another_with_any_other_value(placed, rig_of):
    def grid(head=DESIGN, step=20.0, turns=(0.0,)):
        return grid_about(head, (40, 20, 0), step, turns)

    def changed(**values):
        bank = placed.rig.bank[0].model_copy(update=values)
        return build(placed.rig.model_copy(update={"bank": (bank,)}))

    same = question_of(placed, grid())
    assert same == question_of(changed(), grid())
    others = [
        question_of(placed, grid(step=10.0)),
        question_of(placed, grid(turns=(0.0, 5.0))),
        question_of(placed, grid(head=DESIGN.model_copy(update={"nod": 1.0}))),
        question_of(changed(radius=600.001), grid()),
    ]
    assert len({same, *others}) == 5
    assert len(same) == 16


def test_a_changed_mesh_is_another_question(placed, monkeypatch):
    grid = grid_about(DESIGN, (40, 20, 0), 20, (0.0,))
    same = question_of(placed, grid)
    moved = placed.triangles.copy()
    moved[0, 0, 0] += 1e-9
    monkeypatch.setitem(placed.__dict__, "triangles", moved)
    assert question_of(placed, grid) != same
