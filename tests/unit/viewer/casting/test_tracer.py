"""What is kept of an assembly: made once, for every thread, and gone with the assembly."""

import weakref
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.viewer import Projection, see
from seamsight.viewer.casting.tracer import tracer_of

PROJECTION = Projection("equirectangular", 80, 40, 100)


@pytest.fixture
def assembly(rig_of, screen_at):
    return build(rig_of(screen=[screen_at("card", shows="card"), screen_at(centre=[500, 600, 0])]))


def test_all_threads_share_one(assembly):
    with ThreadPoolExecutor(8) as threads:
        found = list(threads.map(lambda _: tracer_of(assembly), range(32)))
    assert len({id(tracer) for tracer in found}) == 1


def test_it_goes_with_its_assembly(assembly, rig_of, screen_at):
    other = build(assembly.rig)
    see(other, np.zeros(3), PROJECTION)
    tracer = weakref.ref(tracer_of(other))
    assert tracer() is not None
    del other
    assert tracer() is None


def test_tables_are_made_once_for_eyes_with_the_same_factors(assembly):
    tracer = tracer_of(assembly)
    first = tracer.tables_for(np.zeros(3), PROJECTION)
    assert tracer.tables_for(np.array([0.1, 0.0, 0.0]), PROJECTION) is first
    assert tracer.tables_for(np.array([0.0, 400.0, 0.0]), PROJECTION) is not first


def test_too_many_pixels_are_painted_coarser_and_look_alike(assembly, monkeypatch):
    screens = assembly.rig.screen
    native = see(assembly, np.zeros(3), PROJECTION)
    pixels = sum(across * down for across, down in (screen.pixels for screen in screens))
    monkeypatch.setattr("seamsight.scene.content.MOST_PIXELS", pixels // 4)
    other = build(assembly.rig)
    coarse = see(other, np.zeros(3), PROJECTION)
    assert tracer_of(other).tables_for(np.zeros(3), PROJECTION).texels.size < 3 + 3 * pixels // 4
    assert (coarse.parts == native.parts).all()
    # two of a ray's many pixels each way are one: its light differs by what their rest is
    assert np.abs(coarse.light - native.light).mean() < 0.01
