"""The work of `sway`: what a moving head loses, as a table or as JSON."""

import dataclasses

from seamsight.cli import options
from seamsight.cli.arguments import RigWords, SwayWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.studies.sway import Losses, losses, read_movement, swaying


def print_losses(rig_words: RigWords, words: SwayWords, *, as_json: bool) -> None:
    """Print for which share of the time a moving head sees too little of each screen."""
    reach = options.numbers(words.by, 3, "--by")
    rig = options.read(rig_words)
    head = options.head(rig, words.head)
    movement = read_movement(words.path) if words.path else swaying(reach)
    assembly = options.with_outside_view(rig)

    compile_kernels()
    with announced("moving the head"):
        found = losses(assembly, head, movement, words.seen)
    if as_json:
        print_json({"rig": rig.name, "head": head.name, **dataclasses.asdict(found)})
        return
    console = console_of_width()
    say(console, f"{rig.name}, about head position {head_words(head)}")
    _print(found, words.seen)


def _print(found: Losses, seen: float) -> None:
    console = console_of_width()
    say(
        console,
        f"For {100 * found.share:.1f} % of {found.seconds:g} s an eye sees less than "
        f"{100 * seen:g} % of an outside screen.",
    )
    rows = [
        (name, [f"{100 * loss.share:.1f} %", f"{100 * loss.least:.1f} %", f"{loss.at:.1f} s"])
        for name, loss in found.screens.items()
    ]
    headings = ("of the\ntime", "least\nseen", "at")
    print_table(console, NumbersTable("Too little of each screen", "screen", headings, rows))
