"""The work of `start` from measures: asking for them, writing the rig, saying what was chosen."""

import math
import re
import shlex
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import typer

from seamsight.cli import options
from seamsight.cli.arguments import MeasureWords
from seamsight.cli.files_work import write_rig
from seamsight.cli.lengths import length_between, lens_size
from seamsight.cli.start_report import chosen, next_steps
from seamsight.scene.display import aspect_ratio
from seamsight.scene.rig import MOST_UNITS
from seamsight.scene.samples import SCHEMA, schema_file
from seamsight.scene.starting import (
    Measures,
    usual_focal_length,
    usual_lens,
    usual_pixels,
)
from seamsight.scene.starting_choice import choose
from seamsight.scene.starting_text import rig_text
from seamsight.scene.writing import refuse_to_overwrite

HOW_TO_ANSWER = "Lengths are in mm, or have a unit: 27 in. Enter alone takes what is in brackets."


class Question(NamedTuple):
    """One measure: how it is asked for, read, and what is usual after those before it."""

    key: str
    ask: str
    read: Callable[[str], Any]
    usual: Callable[[dict[str, Any]], str]

    @property
    def option(self) -> str:
        """The option that gives it."""
        return "--" + self.key.replace("_", "-")


def start_from_measures(out: Path, words: MeasureWords, *, bare: bool, force: bool) -> None:
    """Write a rig from measures, asking for what is missing, and say what was chosen and why."""
    options.require_ending(out, (".toml",), "RIG")
    if bare and (words.lens is not None or words.focal_length is not None):
        msg = "is of no use with --bare, which leaves the lenses out"
        option = "--focal-length" if words.lens is None else "--lens"
        raise typer.BadParameter(msg, param_hint=option)
    refuse_to_overwrite(out, force)

    measures = _measures(words, bare)
    choice = choose(measures)
    needed = {SCHEMA: schema_file().read_bytes()}
    write_rig(out, rig_text(measures, choice).encode(), needed, force=force)
    print("\n".join(["", *chosen(measures, choice), "", *next_steps(out, bare)]))


def _measures(words: MeasureWords, bare: bool) -> Measures:
    """Return what is given, asked for on a terminal or else usual."""
    given = words._asdict()
    questions = [one for one in QUESTIONS if not (bare and one.key in ("lens", "focal_length"))]
    known: dict[str, Any] = {}
    for one in questions:
        word = given[one.key]
        if word is not None:
            known[one.key] = _read(one, word)

    if sys.stdin.isatty() and len(known) < len(questions):
        print(HOW_TO_ANSWER, file=sys.stderr)

    # what is usual depends on the answers before
    taken = []
    for one in questions:
        if one.key not in known:
            usual = one.usual(known)
            if sys.stdin.isatty():
                known[one.key] = typer.prompt(one.ask, usual, value_proc=one.read, err=True)
            else:
                known[one.key] = one.read(usual)
                taken.append(f"{one.option} {shlex.quote(usual)}")
    if taken:
        print(f"Not given, so these usual values are taken: {', '.join(taken)}")

    return Measures(
        count=known["screens"],
        diagonal=known["diagonal"],
        aspect=known["aspect"],
        pixels=known["pixels"],
        bezel=known["bezel"],
        eye_height=known["eye_height"],
        lens=known.get("lens"),
        focal_length=known.get("focal_length", math.inf),
    )


def _read(question: Question, word: str) -> Any:
    try:
        return question.read(word)
    except typer.BadParameter as error:
        raise typer.BadParameter(error.message, param_hint=question.option) from error


def _count(word: str) -> int:
    number = int(word) if word.strip().isascii() and word.strip().isdigit() else 0
    if not 1 <= number <= MOST_UNITS:
        msg = f"needs a whole number from 1 to {MOST_UNITS} (got {word!r})"
        raise typer.BadParameter(msg)
    return number


def _aspect(word: str) -> tuple[int, int]:
    try:
        across, up = str(aspect_ratio(word.replace(" ", ""))).split(":")
    except ValueError as error:
        msg = f"{error} (got {word!r})"
        raise typer.BadParameter(msg) from error
    return int(across), int(up)


def _pixels(word: str) -> tuple[int, int]:
    found = re.fullmatch(r"\s*([1-9]\d{0,4})\s*[x×]\s*([1-9]\d{0,4})\s*", word)
    if not found or max(int(found[1]), int(found[2])) > 16384:
        msg = f"needs width and height such as 1920x1080, up to 16384 each (got {word!r})"
        raise typer.BadParameter(msg)
    return int(found[1]), int(found[2])


QUESTIONS = (
    Question("screens", "How many screens stand side by side?", _count, lambda known: "3"),
    Question(
        "diagonal",
        "How long is the diagonal of one image area?",
        length_between(100, 3000),
        lambda known: "27 in",
    ),
    Question("aspect", "What is its width : height?", _aspect, lambda known: "16:9"),
    Question(
        "pixels",
        "How many pixels has it, across x down?",
        _pixels,
        lambda known: "{}x{}".format(*usual_pixels(known["aspect"])),
    ),
    Question(
        "bezel",
        "How wide is the bezel, the rim around the image area?",
        length_between(0, 200),
        lambda known: "10 mm",
    ),
    Question(
        "lens",
        "What is the clear aperture of one lens, width x height?",
        lens_size,
        lambda known: "{:.0f} x {:.0f} mm".format(*usual_lens(_partly(known))),
    ),
    Question(
        "focal_length",
        "What is its focal length, from the data sheet?",
        length_between(20, 20_000),
        lambda known: f"{usual_focal_length(known['lens']):.0f} mm",
    ),
    Question(
        "eye_height",
        "How high above the floor are your eyes when you sit?",
        length_between(100, 3000),
        lambda known: "1200 mm",
    ),
)


def _partly(known: dict[str, Any]) -> Measures:
    """Return measures of which the screens are known."""
    return Measures(known["screens"], known["diagonal"], known["aspect"], known["pixels"], 0.0, 0.0)
