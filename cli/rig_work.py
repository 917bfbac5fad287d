"""The work of `check`, `heads` and `parts`: what is to be told of a rig."""

from pathlib import Path

from seamsight.cli import options, report
from seamsight.cli.answer import answer
from seamsight.cli.arguments import CheckWords, HeadWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.scene import build
from seamsight.scene.errors import Problem, RigError
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.numbers.cautions import cautions
from seamsight.viewer.numbers.measures import measure, with_lens_models
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.setup.signal_notes import with_signal_notes


def print_check(
    rig_words: RigWords, head_words: HeadWords, words: CheckWords, *, lenses: bool
) -> None:
    """Print what a rig's numbers from a head come to, tables of them, and cautions.

    Raises
    ------
    RigError
        After all is printed, when notes count as errors and there are any.
    """
    rig = options.read(rig_words)
    eyes = eyes_of(rig, options.moved(options.head(rig, head_words.name), head_words))
    assembly = build(rig, lenses=lenses)
    compile_kernels()
    with announced("measuring"):
        numbers = with_lens_models(measure(assembly, eyes), assembly, eyes)
        numbers = with_signal_notes(numbers, assembly)
    called_for = cautions(assembly, numbers)
    full = [caution.full for caution in called_for]
    if words.as_json:
        print_json({**numbers.as_json(), "cautions": full})
    else:
        told = full if words.full_cautions else [caution.short for caution in called_for]
        report.print_numbers(numbers, answer(assembly, numbers), told, whole=words.everything)
    if words.strict and numbers.notes:
        raise _to_check(rig_words.file, len(numbers.notes))


def _to_check(rig_file: Path, count: int) -> RigError:
    things = "1 thing" if count == 1 else f"{count} things"
    return RigError(
        str(rig_file), [Problem(0, "", f"{things} to check before you build (--strict)")]
    )


def print_heads(rig_words: RigWords, *, as_json: bool) -> None:
    """Print a rig's heads."""
    heads = options.read(rig_words).heads()
    if as_json:
        print_json({name: head.model_dump(exclude={"name", "on"}) for name, head in heads.items()})
        return
    for head in heads.values():
        print(head_words(head))


def print_parts(rig_words: RigWords, *, as_json: bool) -> None:
    """Print everything in a rig that a ray can meet."""
    rows = report.part_rows(build(options.read(rig_words)))
    if as_json:
        print_json(rows)
    else:
        report.print_parts(rows)
