"""Rays on their way: what is told of them, and what an unlit room leaves of their light."""

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer.casting.kernel import VOID
from seamsight.viewer.casting.tracer import tracer_of
from seamsight.viewer.casting.walk import dark_void, filled, planes_met, unlit, walk

BOARD = {"name": "board", "size": [100, 20, 100], "centre": [0, 310, 0], "yaw": 30}


@pytest.fixture(scope="module")
def assembly(rig_of):
    return build(rig_of(board=[BOARD]))


def rays(*directions):
    ways = np.array(directions, float)
    return filled(np.zeros(ways.shape), ways / np.linalg.norm(ways, axis=1, keepdims=True))


def test_where_faces_are_met_and_which_way_they_look(assembly):
    told = []

    def met(segments, count, faces):
        hit = np.flatnonzero(faces[:count] >= 0)
        told.append(planes_met(assembly, segments, hit, faces[hit]))

    tracer = tracer_of(assembly)
    fates = walk(tracer.caster, tracer.bare, rays([0, 1, 0], [0, 0, 1]), met=met)
    [(points, normals)] = told
    # the near face of a board turned by 30 degrees about its middle, 10 mm thick half
    assert points == pytest.approx(np.array([[0, 310 - 10 / np.cos(np.pi / 6), 0]]))
    assert normals == pytest.approx(np.array([[-0.5, -np.sqrt(0.75), 0]]))
    assert fates.part.tolist() == [assembly.part_id("board"), VOID]


def test_nothing_shines_in_an_unlit_room(assembly):
    tracer = tracer_of(assembly)
    lit = walk(tracer.caster, tracer.bare, rays([0, 1, 0], [0, 0, 1]))
    dark = walk(tracer.caster, unlit(tracer.bare), rays([0, 1, 0], [0, 0, 1]), met=dark_void)
    assert (lit.light > 0).all()
    assert (dark.light == 0).all()
