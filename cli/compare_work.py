"""The work of `compare`: rigs, heads and lenses with the first, or one with a photograph."""

import contextlib
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import typer
from PIL import Image
from rich.text import Text

from seamsight.cli import options
from seamsight.cli.arguments import CompareWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.pictures_work import rig_for_picture, save_sheet
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import Assembly, ChoiceError, PoseError, Rig, build
from seamsight.viewer.eye import EYE_WORDS, eyes_of, head_named
from seamsight.viewer.numbers.lens_models import LENS_MODELS, optics_of_rig, with_lens_model
from seamsight.viewer.pictures.captions import Options, caption, command_line
from seamsight.viewer.pictures.compare import MOST_ITEMS, Comparison, Seen, compare, item_letter
from seamsight.viewer.pictures.photo import framed_on_photo, placed, read_photo
from seamsight.viewer.pictures.photo_sheet import photo_sheet, residual_words

LENSES = {"in": (True,), "out": (False,), "both": (True, False)}
SAMPLES = 2  # rays along each side of a pixel
INDENT = "\N{NO-BREAK SPACE}\N{NO-BREAK SPACE}"
STYLES = {"better": "green", "worse": "red", "same": "dim"}


class Choice(NamedTuple):
    """One of the things to compare, as the command line names it."""

    rig: RigWords
    head: str
    lenses: bool
    model: str | None  # what all lenses are, of `LENS_MODELS`; as the rig has them for None


@dataclass(frozen=True, eq=False)
class Answer:
    """What a comparison comes to: its sheet, its facts for JSON, and what prints them as text."""

    sheet: Image.Image
    facts: dict[str, Any]
    print_text: Callable[[], None]


def write_comparison(words: CompareWords, out: Path, *, as_json: bool, force: bool) -> None:
    """Write a sheet of all combinations, or of one with a photograph, and print its numbers."""
    first = rig_for_picture(words.rigs[0], out, force=force)
    if words.photo is None:
        answer = _against_first(words, first)
    else:
        answer = _against_photo(words, first, words.photo)

    # Keep the file's name out of what a program reads
    head = options.head(first, words.heads[0])
    with contextlib.redirect_stdout(sys.stderr if as_json else sys.stdout):
        save_sheet(out, answer.sheet, first, head, _command(words, first, out))
    if as_json:
        print_json(answer.facts)
    else:
        answer.print_text()


def _against_first(words: CompareWords, first: Rig) -> Answer:
    """Compare all combinations with the first of them."""
    choices = _choices(words)
    if words.matches:
        msg = "needs --photo"
        raise typer.BadParameter(msg, param_hint="--match")
    _refuse_count(len(choices))
    rigs = {words.rigs[0]: first, **{rig: options.read(rig) for rig in words.rigs[1:]}}
    if words.lens_models:
        _refuse_models(words, rigs)
    width, height = options.size(words.size)
    items = _items(choices, rigs)

    compile_kernels(scene=True)
    with announced(f"casting rays and measuring, {len(items)} items"):
        comparison = compare(items, _looks(words.eye or "both"), width, height, SAMPLES)
        sheet = comparison.sheet()
    return Answer(sheet, _as_json(choices, comparison), lambda: print_comparison(comparison))


def _against_photo(words: CompareWords, first: Rig, file: Path) -> Answer:
    """Compare one rig from one head and eye with a photograph."""
    choices = _choices(words)
    looks = _looks(words.eye or "mid")
    if len(choices) > 1 or len(looks) > 1:
        msg = "a photograph is compared with one rig, one head position and one eye, "
        msg += "with lenses in or out: leave out the rest"
        raise typer.BadParameter(msg, param_hint="--photo")
    [item] = _items(choices, {words.rigs[0]: first})
    width, height = options.size(words.size)
    eye = item.eyes.point(looks[0])

    # Place the photograph by its matched points
    picture = read_photo(file)
    try:
        matches = [options.match(text, item.assembly, eye) for text in words.matches]
        photo = placed(picture, matches)
    except (ChoiceError, PoseError) as error:
        raise typer.BadParameter(str(error), param_hint="--match") from error

    # Draw it beside what is computed
    projection = framed_on_photo(photo, width, height, SAMPLES)
    compile_kernels(scene=True)
    with announced("casting rays"):
        above = f"{item.caption} · {EYE_WORDS[looks[0]]}"
        sheet = photo_sheet(item.assembly, eye, photo, projection, above)
    off = {"off_px": photo.off_px.tolist(), "off_degrees": photo.off_degrees.tolist()}
    facts = {"points": len(matches), **off, "corner_degrees": photo.corner_degrees}
    return Answer(sheet, facts, lambda: print(residual_words(photo)))


def _choices(words: CompareWords) -> list[Choice]:
    """Return all combinations, the first named first."""
    return [
        Choice(rig, head, lenses, model)
        for rig in words.rigs
        for head in words.heads
        for lenses in LENSES[words.lenses]
        for model in (LENS_MODELS if words.lens_models else (None,))
    ]


def _looks(eye: str) -> tuple[str, ...]:
    """Return whose views to draw."""
    return ("left", "right") if eye == "both" else (eye,)


def _refuse_count(count: int) -> None:
    hint = "--with, --try, --head, --lenses, --lens-models"
    if count < 2:
        msg = "nothing to compare with: add --with RIG, --try PATH=V1,V2, a second --head NAME "
        msg += "(design is the default), --lenses both, --lens-models, or --photo FILE"
        raise typer.BadParameter(msg, param_hint=hint)
    if count > MOST_ITEMS:
        msg = f"at most {MOST_ITEMS} can be compared; these options combine to {count}"
        raise typer.BadParameter(msg, param_hint=hint)


def _refuse_models(words: CompareWords, rigs: dict[RigWords, Rig]) -> None:
    """Refuse other lenses for a rig that has none, or no room for them."""
    if words.lenses != "in":
        msg = "needs the lenses in place: leave out --lenses"
        raise typer.BadParameter(msg, param_hint="--lens-models")
    for (file, _), rig in rigs.items():
        optics = optics_of_rig(rig)
        if not optics:
            msg = f"{file} has no lens"
            raise typer.BadParameter(msg, param_hint="--lens-models")
        for optic in optics:
            broken = optic.model_copy(update={"model": "grooved"}).broken_rule()
            if broken:
                msg = f"{file}: no grooved lens fits there: {broken}"
                raise typer.BadParameter(msg, param_hint="--lens-models")


def _items(choices: list[Choice], rigs: dict[RigWords, Rig]) -> list[Seen]:
    """Return what is to be seen for each choice."""
    built: dict[tuple[RigWords, bool, str | None], Assembly] = {}
    items = []
    for of, head_name, lenses, model in choices:
        rig = rigs[of]
        try:
            head = head_named(rig, head_name)
        except ChoiceError as error:
            msg = f"{of.file}: {error}"
            raise typer.BadParameter(msg, param_hint="--head") from error

        key = of, lenses, model
        if key not in built:
            built[key] = build(with_lens_model(rig, model) if model else rig, lenses=lenses)
        words = caption(rig, head, lenses=lenses)
        if model:
            words = f"{words} · lenses {model}"
        if len({rig.file for rig in rigs}) > 1:
            words = f"{of.file.name} · {words}"
        items.append(Seen(words, built[key], eyes_of(rig, head)))
    return items


def _command(words: CompareWords, first: Rig, out: Path) -> str:
    """Return the command that makes a sheet again."""
    given: Options = {
        "with": list(dict.fromkeys(str(rig.file) for rig in words.rigs if rig.file != first.file)),
        "set": words.sets,
        "try": words.tries,
        "head": words.heads,
        "lenses": words.lenses,
        "lens-models": words.lens_models,
        "size": words.size,
        "eye": words.eye or (),
        "photo": str(words.photo) if words.photo else (),
        "match": words.matches,
    }
    return command_line("compare", first, out, given)


def _as_json(choices: list[Choice], comparison: Comparison) -> dict[str, Any]:
    items = [
        {
            "item": item_letter(number),
            "file": str(choice.rig.file),
            "set": list(choice.rig.sets),
            "head": choice.head,
            "lenses": choice.lenses,
            "lens_model": choice.model,
            "numbers": numbers.as_json(),
        }
        for number, (choice, numbers) in enumerate(zip(choices, comparison.numbers, strict=True))
    ]
    return {"items": items, "rows": [row.as_json() for row in comparison.rows]}


def print_comparison(comparison: Comparison) -> None:
    """Print who is who, and the numbers side by side."""
    console = console_of_width()
    for number, item in enumerate(comparison.items):
        say(console, f"{item_letter(number)}: {item.caption}")
    console.print()

    # what the numbers are of stands above them, so that a narrow terminal has room for columns
    shown = comparison.table(len(comparison.rows))
    _, first, *headings = shown.headings
    rows: list[tuple[str, list[Text]]] = []
    for where, called, *values in shown.rows:
        if where.text:
            rows.append((where.text, [Text() for _ in values]))
        cells = [Text(cell.text, style=STYLES.get(cell.verdict, "")) for cell in values]
        rows.append((f"{INDENT}{called.text}", cells))
    print_table(console, NumbersTable("Numbers", first, tuple(headings), rows))
    for note in shown.notes:
        say(console, note)
