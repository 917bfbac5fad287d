"""Notes on outputs whose links cannot carry what they send."""

import dataclasses

from seamsight.scene.assembly import Assembly
from seamsight.scene.notes import Note, with_lines
from seamsight.viewer.numbers.measures import Numbers
from seamsight.viewer.setup.signals import signals_of


def with_signal_notes(numbers: Numbers, assembly: Assembly) -> Numbers:
    """Return a rig's numbers with a note more for each of its outputs that does not fit."""
    return dataclasses.replace(numbers, notes=[*numbers.notes, *signal_notes(assembly)])


def signal_notes(assembly: Assembly) -> list[Note]:
    """Return a note on each output whose links cannot carry what it sends."""
    rig = assembly.rig
    if not rig.output:
        return []
    found = signals_of(rig.output, assembly.screens)
    names = [signal.output.name for signal in found.signals if not signal.fits]
    return with_lines([_note(name) for name in names], rig.source)


def _note(name: str) -> Note:
    text = (
        f"the links of {name} cannot carry what it sends: `seamsight signals` says what to change"
    )
    return Note("misfit", (name,), text, None, ("output", name, "link"))
