"""The work of `lenses`: combinations of lens size and focal length, as tables, JSON or CSV."""

import csv
import dataclasses
import io
import itertools
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeVar

import typer

from seamsight.cli import options
from seamsight.cli.arguments import LensesWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.lengths import length_between, lens_size
from seamsight.cli.lenses_report import print_choices
from seamsight.cli.output import Progress, print_json
from seamsight.scene import Head, Rig
from seamsight.scene.rig_words import hint
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.studies.lens_choice import ROOM, KindFigures, Tried, best, lensed_names, tried
from seamsight.viewer.studies.lens_filling import Lens

MOST = 60  # combinations; each takes about a second
FOCAL_LENGTHS = (20, 20_000)  # mm, as `start` takes them
KIND_KEYS = [field.name for field in dataclasses.fields(KindFigures)]

Value = TypeVar("Value")


def print_lenses(
    rig_words: RigWords, words: LensesWords, table: Path | None, *, force: bool, as_json: bool
) -> None:
    """Print what each combination of lens size and focal length shows."""
    lenses = _lenses(words)
    if table:
        options.require_ending(table, (".csv",), "--csv")
    options.require_one_of(words.distance, ("fill", "keep"), "--distance")
    rig = options.read(rig_words)
    name = _named(rig, words.name)
    head = options.head(rig, words.head)
    if table:
        refuse_to_overwrite(table, force)

    compile_kernels()
    found = list(_with_progress(rig, name, lenses, head, fill=words.distance == "fill"))
    if table:
        write_whole(table, _csv(found).encode("utf-8"))
    if as_json:
        print_json(_as_json(rig.name, name, words, found))
    else:
        print_choices(f"{rig.name}, lenses of {name} from head position {head.name}", found)


def _lenses(words: LensesWords) -> list[Lens]:
    """Return each combination once, in the order of the lists."""
    sizes = _listed(words.sizes, lens_size, "--size")
    lengths = _listed(words.focal_lengths, length_between(*FOCAL_LENGTHS), "--focal-length")
    lenses = list(dict.fromkeys(Lens(*pair) for pair in itertools.product(sizes, lengths)))
    if len(lenses) > MOST:
        msg = f"{len(lenses)} combinations are too many: at most {MOST}"
        raise typer.BadParameter(msg, param_hint="--size, --focal-length")
    return lenses


def _listed(text: str, read: Callable[[str], Value], option: str) -> list[Value]:
    """Return the values of an option with commas between them."""
    words = [word.strip() for word in text.split(",")]
    if not all(words):
        msg = f"needs one or more, separated by commas (got {text!r})"
        raise typer.BadParameter(msg, param_hint=option)
    try:
        return [read(word) for word in words]
    except typer.BadParameter as error:
        raise typer.BadParameter(error.message, param_hint=option) from error


def _named(rig: Rig, name: str | None) -> str:
    """Return the bank or screen asked for, or the first bank with a lens, or the only lens."""
    names = lensed_names(rig)
    if not names:
        msg = "this rig has no lens: give a bank or screen one first"
        raise typer.BadParameter(msg, param_hint="RIG")
    if name is None:
        banks = [bank.name for bank in rig.bank if bank.lens]
        if not banks and len(names) > 1:
            msg = f"say which lens is meant: {', '.join(names)}"
            raise typer.BadParameter(msg, param_hint="--screen")
        return names[0]
    if name not in names:
        msg = f"no bank or screen {name!r} has a lens{hint(name, names)}; "
        msg += f"these have: {', '.join(names)}"
        raise typer.BadParameter(msg, param_hint="--screen")
    return name


def _with_progress(
    rig: Rig, name: str, lenses: list[Lens], head: Head, *, fill: bool
) -> Iterator[Tried]:
    """Try lenses, and report progress."""
    progress = Progress("lens", len(lenses))
    for number, lens in enumerate(lenses, start=1):
        yield tried(rig, name, lens, head, fill=fill)
        progress.reached(number)


def _as_json(rig: str, name: str, words: LensesWords, found: list[Tried]) -> dict[str, Any]:
    choice = best(found)
    return {
        "rig": rig,
        "screen": name,
        "head": words.head,
        "lenses": [_row(one) for one in found],
        "best": choice and {"lens": found.index(choice[0]), "kind": choice[1].lens},
    }


def _row(one: Tried) -> dict[str, Any]:
    width, height = one.lens.size
    return {
        "width": width,
        "height": height,
        "focal_length": one.lens.focal_length,
        "distance": one.distance,
        "magnification": one.magnification,
        "impossible": one.impossible,
        "head_room": one.head_room,
        "runs_into": one.runs_into,
        "kinds": [dataclasses.asdict(kind) for kind in one.kinds],
    }


def _csv(found: list[Tried]) -> str:
    """Return a row for each kind of lens of each combination, or for one that is impossible."""
    rows = [line for one in found for line in _lines(one)]
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, rows[0].keys(), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _lines(one: Tried) -> Iterator[dict[str, Any]]:
    row = _row(one)
    room = row.pop("head_room") or {}
    kinds = row.pop("kinds")
    row["impossible"] = "; ".join(row["impossible"])
    row["runs_into"] = "; ".join(" and ".join(pair) for pair in row["runs_into"])
    row |= {f"head_room_{way}": room.get(way) for way in ROOM}
    for kind in kinds or [dict.fromkeys(KIND_KEYS)]:
        field = kind["field"] or {}
        flat = {"kind": kind["lens"], "field_h": field.get("h"), "field_v": field.get("v")}
        yield row | flat | {key: kind[key] for key in KIND_KEYS if key not in ("lens", "field")}
