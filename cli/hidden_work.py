"""The work of `hidden`: what no eye sees, into a file, and what there is to say of each part."""

import math
from pathlib import Path

import typer

from seamsight.cli import options
from seamsight.cli.arguments import HiddenWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import Progress, print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import Assembly, ChoiceError, Rig, build
from seamsight.scene.export import exported_mesh
from seamsight.scene.merging import merged
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import (
    Options,
    caption,
    command_line,
    facts_of,
    head_words,
)
from seamsight.viewer.pictures.room_slices import room_slices
from seamsight.viewer.sheet import noted, png
from seamsight.viewer.studies.cubes import surface
from seamsight.viewer.studies.head_region import HeadRegion
from seamsight.viewer.studies.hidden_parts import FARTHEST, PartFacts, judged, part_facts
from seamsight.viewer.studies.hidden_room import AROUND, HiddenRoom, Search, cells_around

FARTHEST_HEAD = 1000.0  # mm
WIDTH = 1800  # pixels of the picture


def write_hidden(
    rig_words: RigWords, out: Path, words: HiddenWords, *, as_json: bool, force: bool
) -> None:
    """Write what no eye sees, and print whether each part is seen."""
    options.require_ending(out, (".glb", ".stl", ".png"), "FILE")
    refuse_to_overwrite(out, force)
    rig = options.read(rig_words)
    region = _region(rig, words)
    assembly = _with_parts(rig, words.step)

    compile_kernels()
    room = _room(assembly, region, words.step)
    write_whole(out, _content(assembly, room, region, words, out))
    facts = _facts(assembly, room)
    if as_json:
        print_json(_as_json(rig, region, room, facts))
    else:
        print(out)
        _print(rig, region, room, facts)


def _region(rig: Rig, words: HiddenWords) -> HeadRegion:
    right, forward, up = options.numbers(words.reach, 3, "--reach")
    if min(right, forward, up) < 0:
        msg = f"needs distances of 0 or more (got {words.reach})"
        raise typer.BadParameter(msg, param_hint="--reach")
    if max(right, forward, up) > FARTHEST_HEAD:
        msg = f"needs distances of at most {FARTHEST_HEAD:g} mm (got {words.reach})"
        raise typer.BadParameter(msg, param_hint="--reach")
    if not (words.step > 0 and math.isfinite(words.step)):
        msg = f"must be above 0 (got {words.step:g})"
        raise typer.BadParameter(msg, param_hint="--step")
    named = options.head(rig, words.head)
    heads = tuple(rig.heads().values()) if words.all_heads else (named,)
    return HeadRegion(heads, (right, forward, up), words.turn)


def _with_parts(rig: Rig, step: float) -> Assembly:
    """Return a rig in its place, one that has parts, and no more room than can be looked at."""
    assembly = build(rig)
    if not assembly.parts:
        msg = "this rig has no parts: nothing hides anything"
        raise typer.BadParameter(msg, param_hint="RIG")
    try:
        cells_around(assembly, step)
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--step") from error
    return assembly


def _room(assembly: Assembly, region: HeadRegion, step: float) -> HiddenRoom:
    """Return what is hidden, and report progress."""
    search = Search(assembly, region, step)
    progress = Progress("looking around, step", search.pieces)
    for done in search.run():
        progress.reached(done)
    return search.room()


def _facts(assembly: Assembly, room: HiddenRoom) -> list[PartFacts]:
    """Return what there is to say of each part, and report progress."""
    progress = Progress("part", len(judged(assembly)))
    facts = []
    for fact in part_facts(assembly, room):
        facts.append(fact)
        progress.reached(len(facts))
    return facts


def _content(
    assembly: Assembly, room: HiddenRoom, region: HeadRegion, words: HiddenWords, out: Path
) -> bytes:
    """Return what the file is to contain."""
    kind = out.suffix.lower()
    if kind != ".png":
        mesh = surface(room.cells, room.hidden)
        return exported_mesh(
            "hidden space", *(merged(*mesh) if room.hidden.any() else mesh), kind[1:]
        )
    rig = assembly.rig
    head = region.heads[0]
    given: Options = {
        "head": words.head,
        "reach": words.reach,
        "turn": f"{words.turn:g}",
        "step": f"{words.step:g}",
        "all-heads": words.all_heads,
    }
    sheet = room_slices(assembly, room, caption(rig, head), WIDTH)
    sheet = noted(sheet, [f"Looked from {_heads_words(region, room)}."])
    return png(sheet, facts_of(rig, head, command_line("hidden", rig, out, given)))


def _as_json(
    rig: Rig, region: HeadRegion, room: HiddenRoom, facts: list[PartFacts]
) -> dict[str, object]:
    return {
        "rig": rig.name,
        "heads": [head.name for head in region.heads],
        "reach": list(region.reach),
        "turn": region.turn,
        "step": room.cells.step,
        "looked_from": len(room.lookers.heads),
        "left_out": room.lookers.left_out,
        "rays": room.rays,
        "litres": room.volume,
        "parts": [fact.as_json() for fact in facts],
    }


def _heads_words(region: HeadRegion, room: HiddenRoom) -> str:
    """Return in words where the heads were."""
    about = "; ".join(head_words(head) for head in region.heads)
    right, forward, up = region.reach
    turned = f", turned up to {region.turn:g}° to each side" if region.turn else ""
    return (
        f"{len(room.lookers.heads):,} head positions about {about}; each up to {right:g} mm left "
        f"and right, {forward:g} mm forward and back, {up:g} mm up and down{turned}; both eyes"
    )


def _print(rig: Rig, region: HeadRegion, room: HiddenRoom, facts: list[PartFacts]) -> None:
    console = console_of_width()
    say(console, f"{rig.name}: what no eye sees")
    say(console, f"Looked from {_heads_words(region, room)}.")
    if room.lookers.left_out:
        say(
            console,
            f"Left out: {room.lookers.left_out:,} head positions with an eye inside a part.",
        )
    say(
        console,
        f"Hidden: {room.volume:,.0f} litres up to {AROUND:g} mm around the parts, what is inside "
        f"parts included, with a margin of {room.cells.step:g} mm.",
    )

    # parts that are seen in a table, the others in a sentence
    unseen = [fact.part.name for fact in facts if not fact.seen]
    if unseen:
        say(console, f"Not seen: {', '.join(unseen)}.")
    rows = [(fact.part.name, _cells(fact, region)) for fact in facts if fact.seen]
    if not rows:
        return
    headings = ("seen", "hidden if moved", "seen already from")
    print_table(console, NumbersTable("Parts that are seen", "part", headings, rows, worded=True))
    say(console, "`check` reports whether a part that you move meets another.")


def _cells(fact: PartFacts, region: HeadRegion) -> list[str]:
    """Return the cells of a seen part."""
    share = f"{100 * fact.share:.0f} %" if fact.share >= 0.005 else "under 1 %"
    move = fact.move
    moved = f"no way in {FARTHEST:g} mm"
    if move:
        moved = f"{move.mm:g} mm {move.way}{' (own axes)' if move.own else ''}"
    if not fact.sight:
        return [share, moved, ""]
    head = fact.sight.head
    eye = fact.sight.eye
    lens = fact.sight.through
    where = head.name if head in region.heads else head_words(head)
    through = f", through {lens}" if lens else ""
    return [share, moved, f"{where}; {eye} eye{through}"]
