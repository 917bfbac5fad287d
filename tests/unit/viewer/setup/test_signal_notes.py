"""Notes on outputs, only where a link is too slow."""

import pytest

from seamsight.scene import Head, build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.numbers.measures import measure
from seamsight.viewer.setup.signal_notes import signal_notes, with_signal_notes


@pytest.fixture
def slow(output_of):
    """The table of an output of 1920 x 1080 at 240 Hz: 498 MHz without blanking, over 165 MHz."""
    return output_of("slow", "up", link="HDMI 1.2", refresh=240)


def test_only_what_does_not_fit_is_told(rig_with, output_of, slow, wide):
    [note] = signal_notes(build(rig_with(wide, slow, output_of("a", "map"))))
    assert (note.kind, note.names, note.where) == ("misfit", ("slow",), ("output", "slow", "link"))
    assert "slow cannot carry" in note.text
    assert signal_notes(build(rig_with(wide))) == []
    assert signal_notes(build(rig_with())) == []


def test_numbers_keep_their_own_notes(rig_with, slow):
    rig = rig_with(slow)
    assembly = build(rig)
    numbers = measure(assembly, eyes_of(rig, Head(name="here")))
    told = with_signal_notes(numbers, assembly)
    assert told.notes == [*numbers.notes, *signal_notes(assembly)]
    assert told.screens is numbers.screens
