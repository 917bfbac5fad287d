"""The command that holds rigs, heads and lens choices against each other, or one against a photograph."""

from __future__ import annotations

import contextlib
import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple

import typer

from seamsight.cli.arguments import AsJson, Force, RigFile, Size
from seamsight.cli.output import announced, print_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from PIL import Image

    from seamsight.scene import Assembly, Rig
    from seamsight.scene.frames import Array
    from seamsight.viewer.pictures.compare import Comparison, Seen
    from seamsight.viewer.pictures.photo import Match

    # the sheet; its facts for JSON; what prints them
    Answer = tuple[Image.Image, dict[str, Any], Callable[[], None]]

app = typer.Typer()

LENSES = {"in": (False,), "out": (True,), "both": (False, True)}
SAMPLES = 2  # rays along each side of a pixel
STYLES = {"better": "green", "worse": "red", "same": "dim"}


class Choice(NamedTuple):
    """One of the things to compare, as the command line names it."""

    file: Path
    head: str
    without_lenses: bool


@app.command(
    epilog="Example: seamsight compare rig.toml sheet.png --with wider.toml --head design --head 'tall pilot'"
)
def compare(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="SHEET", help="PNG file to write")],
    others: Annotated[
        list[Path] | None,
        typer.Option("--with", metavar="RIG", help="another rig file; may be given again"),
    ] = None,
    heads: Annotated[
        list[str] | None,
        typer.Option(
            "--head",
            metavar="NAME",
            help="head position named in every rig, design if left out; may be given again",
        ),
    ] = None,
    lenses: Annotated[
        Literal["in", "out", "both"], typer.Option(help="with all lenses, without any, or each")
    ] = "in",
    eye: Annotated[
        Literal["left", "right", "mid", "both"] | None,
        typer.Option(help="whose view; both if left out, with --photo mid"),
    ] = None,
    size: Size = "1000x440",
    photo: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="a photograph from the seat, instead of other rigs or heads"
        ),
    ] = None,
    match: Annotated[
        list[str] | None,
        typer.Option(
            metavar="'X,Y=WHERE'",
            help="where in the photograph (pixels from its left and top) something is: WHERE is AZ,EL in degrees, or a "
            "corner as 'SCREEN top left'; four or more",
        ),
    ] = None,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Compare rigs, heads and lenses in and out: a sheet of pictures at one scale and the numbers, held to the first.

    All combinations of what is given, the first named first. Or with --photo: one of them against a photograph.
    """
    from seamsight.cli import options
    from seamsight.viewer.pictures.captions import command_line

    loaded = options.rig_for_picture(rig, out, force)
    files, names = (
        list(dict.fromkeys([rig, *(others or [])])),
        list(dict.fromkeys(heads or ["design"])),
    )
    choices = [
        Choice(file, name, without)
        for file in files
        for name in names
        for without in LENSES[lenses]
    ]
    looks = _looks(eye, photo)
    if photo is None:
        _refuse_count(len(choices), match)
        sheet, facts, words = _against_first(choices, _rigs(choices, rig, loaded), looks, size)
    elif len(choices) > 1 or len(looks) > 1:
        msg = "a photograph is held against one rig from one head and eye, with lenses in or out: leave the rest out"
        raise typer.BadParameter(msg, param_hint="--photo")
    else:
        item = _items(choices, {rig: loaded})[0]
        sheet, facts, words = _against_photo(item, looks[0], size, photo, match or [])
    given = {
        "with": [str(file) for file in files[1:]],
        "head": names,
        "lenses": lenses,
        "size": size,
        "eye": eye or (),
        "photo": str(photo) if photo else (),
        "match": match or (),
    }
    with contextlib.redirect_stdout(sys.stderr if as_json else sys.stdout):
        command = command_line("compare", loaded, out, given)
        options.write_picture(out, sheet, loaded, options.head(loaded, names[0]), command)
    if as_json:
        print_json(facts)
    else:
        words()


def _looks(eye: str | None, photo: Path | None) -> tuple[str, ...]:
    """Return whose views to draw."""
    if eye is None:
        return ("mid",) if photo else ("left", "right")
    return ("left", "right") if eye == "both" else (eye,)


def _refuse_count(count: int, match: list[str] | None) -> None:
    from seamsight.viewer.pictures.compare import MOST_ITEMS

    if match:
        raise typer.BadParameter("goes with --photo", param_hint="--match")
    if count < 2:
        msg = "one thing alone cannot be compared: add --with RIG, a second --head NAME (design is the usual one), "
        msg += "--lenses both, or --photo FILE"
        raise typer.BadParameter(msg, param_hint="--with, --head, --lenses")
    if count > MOST_ITEMS:
        msg = f"at most {MOST_ITEMS} can be compared, and all combinations of these are {count}"
        raise typer.BadParameter(msg, param_hint="--with, --head, --lenses")


def _rigs(choices: list[Choice], file: Path, loaded: Rig) -> dict[Path, Rig]:
    """Return every rig that is to be seen, by its file, one of them read already."""
    from seamsight.scene import read_rig

    return {
        choice.file: loaded if choice.file == file else read_rig(choice.file) for choice in choices
    }


def _items(choices: list[Choice], rigs: dict[Path, Rig]) -> list[Seen]:
    """Return what is to be seen for each choice."""
    from seamsight.scene import ChoiceError, build
    from seamsight.viewer.eye import eyes_of, head_named
    from seamsight.viewer.pictures.captions import caption
    from seamsight.viewer.pictures.compare import Seen

    built: dict[tuple[Path, bool], Assembly] = {}
    items = []
    for choice in choices:
        rig = rigs[choice.file]
        try:
            posed = head_named(rig, choice.head)
        except ChoiceError as error:
            raise typer.BadParameter(f"{choice.file}: {error}", param_hint="--head") from error
        key = choice.file, choice.without_lenses
        if key not in built:
            built[key] = build(rig, lenses=not choice.without_lenses)
        words = caption(rig, posed, lenses=not choice.without_lenses)
        if len(rigs) > 1:
            words = f"{choice.file.name} · {words}"
        items.append(Seen(words, built[key], eyes_of(rig, posed)))
    return items


def _against_first(
    choices: list[Choice], rigs: dict[Path, Rig], looks: tuple[str, ...], size: str
) -> Answer:
    from seamsight.cli import options
    from seamsight.viewer.pictures.compare import compare as compared

    width, height = options.size(size)
    items = _items(choices, rigs)
    options.compile_kernels(scene=True)
    with announced("casting rays and measuring"):
        comparison = compared(items, looks, width, height, SAMPLES)
        sheet = comparison.sheet()
    return sheet, _as_json(choices, comparison), lambda: _print(comparison)


def _as_json(choices: list[Choice], comparison: Comparison) -> dict[str, Any]:
    from seamsight.viewer.pictures.compare import item_letter

    items = [
        {
            "item": item_letter(number),
            "file": str(choice.file),
            "head": choice.head,
            "lenses": not choice.without_lenses,
            "numbers": numbers.as_json(),
        }
        for number, (choice, numbers) in enumerate(zip(choices, comparison.numbers, strict=True))
    ]
    return {"items": items, "rows": [row.as_json() for row in comparison.rows]}


def _print(comparison: Comparison) -> None:
    """Print who is who, and the numbers side by side."""
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from seamsight.viewer.pictures.compare import item_letter

    for number, item in enumerate(comparison.items):
        print(f"{item_letter(number)}: {item.caption}")
    shown = comparison.table(len(comparison.rows))
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for heading in shown.headings:
        table.add_column(heading, overflow="fold")
    for row in shown.rows:
        table.add_row(*(Text(cell.text, style=STYLES.get(cell.verdict, "")) for cell in row))
    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=80 + 20 * len(comparison.items))
    console.print(table)
    print("\n".join(shown.notes))


def _against_photo(item: Seen, look: str, size: str, file: Path, matches: list[str]) -> Answer:
    from seamsight.cli import options
    from seamsight.scene import ChoiceError, PoseError
    from seamsight.viewer.eye import EYE_WORDS
    from seamsight.viewer.pictures.photo import framed_on_photo, placed, read_photo
    from seamsight.viewer.pictures.photo_sheet import photo_sheet, residual_words

    width, height = options.size(size)
    eye = item.eyes.point(look)
    picture = read_photo(file)
    try:
        photo = placed(picture, [_match(text, item.assembly, eye) for text in matches])
    except (ChoiceError, PoseError) as error:
        raise typer.BadParameter(str(error), param_hint="--match") from error
    shown = framed_on_photo(photo, width, height, SAMPLES)
    options.compile_kernels(scene=True)
    with announced("casting rays"):
        sheet = photo_sheet(item.assembly, eye, photo, shown, f"{item.caption} · {EYE_WORDS[look]}")
    off = {"off_px": photo.off_px.tolist(), "off_degrees": photo.off_degrees.tolist()}
    return sheet, {"points": len(matches), **off}, lambda: print(residual_words(photo))


def _match(text: str, assembly: Assembly, eye: Array) -> Match:
    """Return a matched point from "X,Y=AZ,EL" or "X,Y=SCREEN top left"."""
    from seamsight.viewer.pictures.photo import Match, corner_direction, direction_at

    left, _, right = text.partition("=")
    pixel, angles = _pair(left), _pair(right)
    screen, *corner = right.strip().rsplit(maxsplit=2)[-3:] if right.strip() else [""]
    if pixel is None or (angles is None and len(corner) != 2) or (angles and abs(angles[1]) > 90):
        msg = f"needs X,Y=AZ,EL or X,Y=SCREEN top left (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--match")
    direction = (
        direction_at(*angles)
        if angles
        else corner_direction(assembly, eye, screen, " ".join(corner))
    )
    return Match(pixel, direction)


def _pair(text: str) -> tuple[float, float] | None:
    try:
        first, second = (float(word) for word in text.split(","))
    except ValueError:
        return None
    return (first, second) if math.isfinite(first + second) else None
