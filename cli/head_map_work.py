"""The work of `head-map`: what both eyes see over a grid of head positions, into a file."""

import functools
import sys
from pathlib import Path

import typer

from seamsight.cli import options
from seamsight.cli.arguments import HeadMapWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import Progress
from seamsight.scene import Assembly, ChoiceError, Head
from seamsight.scene.frames import Array
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import caption, command_line, facts_of
from seamsight.viewer.pictures.slices import slices
from seamsight.viewer.sheet import png
from seamsight.viewer.studies.head_map import (
    Grid,
    HeadMap,
    grid_about,
    head_map,
    mapped,
    question_of,
    shares_shape,
)
from seamsight.viewer.studies.scheduler import on_scheduler
from seamsight.viewer.studies.unfinished import Unfinished

WIDTH = 1400  # pixels of the picture


def write_head_map(rig_words: RigWords, out: Path, words: HeadMapWords, *, force: bool) -> None:
    """Write what both eyes see from each head position of a grid.

    What is done is kept in a folder beside the file until all is done.
    """
    options.require_ending(out, (".csv", ".npz", ".png"), "FILE")
    refuse_to_overwrite(out, force)
    rig = options.read(rig_words)
    head = options.head(rig, words.head)
    grid = _grid(head, words)
    assembly = options.with_outside_view(rig)

    compile_kernels()
    kept = Unfinished(out.with_name(f"{out.name}.unfinished"), question_of(assembly, grid))
    try:
        found = _found(assembly, grid, kept, words.scheduler)
    except KeyboardInterrupt:
        _tell("stopped; the same command goes on from here")
        raise
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
    kept.remove()
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


def _found(assembly: Assembly, grid: Grid, kept: Unfinished, scheduler: str | None) -> HeadMap:
    """Return the map, keep each piece of it as soon as it is done, and report progress."""
    pieces = _kept_pieces(assembly, grid, kept)
    done = sum(len(shares) for shares in pieces.values())
    progress = Progress("head position", grid.count, before=done)

    work = functools.partial(mapped, assembly, grid)
    todo = [number for number in grid.pieces if number not in pieces]
    if scheduler and todo:
        results = on_scheduler(scheduler, work, todo)
    else:
        results = ((number, work(number)) for number in todo)
    for number, shares in results:
        kept.keep(number, shares)
        pieces[number] = shares
        done += len(shares)
        progress.reached(done)
    return head_map(assembly, grid, [pieces[number] for number in grid.pieces])


def _kept_pieces(assembly: Assembly, grid: Grid, kept: Unfinished) -> dict[int, Array]:
    """Return what an earlier run has done, and say so."""
    pieces = {}
    for number in grid.pieces:
        shares = kept.piece(number, shares_shape(assembly, grid, number))
        if shares is not None:
            pieces[number] = shares
        elif kept.has(number):
            _tell(f"a damaged file in {kept.folder} is not used")
    if kept.has_others():
        _tell(f"{kept.folder} has parts of a map with other values too; they are not used")
    if pieces:
        done = sum(len(shares) for shares in pieces.values())
        _tell(f"{done:,} of {grid.count:,} head positions are done already")
    return pieces


def _tell(words: str) -> None:
    print(f"seamsight: {words}", file=sys.stderr, flush=True)
