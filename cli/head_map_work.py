"""The work of `head-map`: what both eyes see over a grid of head positions, into a file."""

from pathlib import Path

import numpy as np
import typer

from seamsight.cli import options
from seamsight.cli.arguments import HeadMapWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import Progress
from seamsight.scene import Assembly, ChoiceError, Head
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import caption, command_line, facts_of
from seamsight.viewer.pictures.slices import slices
from seamsight.viewer.sheet import png
from seamsight.viewer.studies.head_map import Grid, HeadMap, grid_about, head_map, mapped

FORMATS = (".csv", ".npz", ".png")
WIDTH = 1400  # pixels of the picture


def write_head_map(rig_words: RigWords, out: Path, words: HeadMapWords, *, force: bool) -> None:
    """Write what both eyes see from each head position of a grid."""
    if out.suffix.lower() not in FORMATS:
        msg = f"must end in {', '.join(FORMATS[:-1])} or {FORMATS[-1]} (got {out.name})"
        raise typer.BadParameter(msg, param_hint="FILE")
    refuse_to_overwrite(out, force)
    rig = options.read(rig_words)
    head = options.head(rig, words.head)
    grid = _grid(head, words)
    assembly = options.with_outside_view(rig)

    compile_kernels()
    found = _found(assembly, grid)
    given = {
        "head": words.head,
        "reach": words.reach,
        "step": f"{words.step:g}",
        "turns": words.turns,
        "seen": f"{words.seen:g}",
    }
    command = command_line("head-map", rig, out, given)
    if out.suffix.lower() == ".png":
        sheet = slices(assembly, found, caption(rig, head), WIDTH, words.seen)
        content = png(sheet, facts_of(rig, head, command))
    else:
        content = found.as_csv() if out.suffix.lower() == ".csv" else found.as_npz()
    write_whole(out, content)
    print(out)
    share = float((found.least >= words.seen).mean())
    print(f"{100 * share:.1f} % of {found.least.size:,} head positions: each eye sees at least")
    print(f"{100 * words.seen:g} % of each outside screen.")


def _grid(head: Head, words: HeadMapWords) -> Grid:
    reach = options.numbers(words.reach, 3, "--reach")
    turns = options.numbers(words.turns, None, "--turns")
    if min(reach) < 0 or not words.step > 0:
        msg = "needs distances of 0 or more, and a step above 0"
        raise typer.BadParameter(msg, param_hint="--reach, --step")
    try:
        return grid_about(head, (reach[0], reach[1], reach[2]), words.step, turns)
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--reach, --step, --turns") from error


def _found(assembly: Assembly, grid: Grid) -> HeadMap:
    """Return the map, and report progress."""
    progress = Progress("head position", int(np.prod(grid.shape)))
    shares = []
    for done, newest in mapped(assembly, grid):
        shares.append(newest)
        progress.reached(done)
    return head_map(assembly, grid, shares)
