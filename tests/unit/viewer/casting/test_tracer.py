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


def test_a_draft_of_a_new_outside_view_looks_alike_and_gives_way_to_the_full_one(rig_of, screen_at):
    card = screen_at("card", shows="card", centre=[-600, 600, 0])
    assembly = build(rig_of(screen=[card, screen_at(centre=[0, 523, 0], shows="world")]))
    tracer = tracer_of(assembly)
    draft = tracer.tables_for(np.zeros(3), PROJECTION, draft=True)
    drafted = see(assembly, np.zeros(3), PROJECTION, draft=True)
    full = see(assembly, np.zeros(3), PROJECTION)
    assert 0 < np.abs(drafted.light - full.light).mean() < 0.01
    assert (drafted.parts == full.parts).all()

    # what is painted once is used, also for another assembly
    for later in (tracer, tracer_of(build(assembly.rig))):
        kept = later.tables_for(np.zeros(3), PROJECTION, draft=True)
        assert kept.texels.shape == draft.texels.shape and (kept.texels != draft.texels).any()
