"""The work of `choose`: a search for the best values, told in words, as JSON, and as a new rig."""

import dataclasses
import sys
from pathlib import Path
from typing import Any

import typer

from seamsight.cli import options
from seamsight.cli.arguments import ChooseWords, RigWords
from seamsight.cli.choose_report import conflict_words, print_answer, print_so_far
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.lengths import length_between
from seamsight.cli.output import Progress, announced, print_json
from seamsight.scene.errors import ChoiceError
from seamsight.scene.freedom import Free, free_values, value_now, written_changes
from seamsight.scene.rig import Rig
from seamsight.scene.rig_file import RigSource, read_source, rig_of, source_of
from seamsight.scene.rig_text import with_values
from seamsight.scene.values import with_changes
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import caption, command_line, facts_of
from seamsight.viewer.pictures.trade_off import trade_off
from seamsight.viewer.sheet import png
from seamsight.viewer.studies.choosing import Answer, Point, Question, Search, goal_of
from seamsight.viewer.studies.choosing_figures import Views
from seamsight.viewer.studies.choosing_proof import Proof, proof
from seamsight.viewer.studies.choosing_tries import Limit

PICTURE = 1200  # pixels
STOPPED = 130  # how a shell calls a program that Ctrl-C ended
MOST_FREE = 8  # values; a search among more would take minutes


def print_choice(
    rig_words: RigWords,
    words: ChooseWords,
    picture: Path | None,
    write: Path | None,
    *,
    force: bool,
    as_json: bool,
) -> None:
    """Print the best values for a rig, and what each constraint costs."""
    _refuse_files(words, picture, write, force=force)
    rig = options.read(rig_words)
    options.with_outside_view(rig)
    source = read_source(rig_words.file)
    question = _question(rig, source, dict(options.change(text) for text in rig_words.sets), words)
    if write:
        _refuse_unwritable(question, write)

    compile_kernels()
    answer = _answered(question)
    best = _picked(answer, words.pick)
    chosen = rig_of(source, {**question.given, **best.changes})
    with announced("looking at the best rig with all its parts"):
        proved = proof(rig, chosen, question.views)
    if as_json:
        print_json(_as_json(rig, question, answer, best, proved))
    else:
        print_answer(rig, question, answer, best, proved)
    if answer.missed:
        raise ChoiceError(conflict_words(answer))
    if picture:
        _draw(rig, question, answer, picture)
    if write:
        write_whole(write, _written(question, best.changes))
        print(write, file=sys.stderr if as_json else sys.stdout)


def _refuse_files(
    words: ChooseWords, picture: Path | None, write: Path | None, *, force: bool
) -> None:
    """Refuse files that would not be written, before any work is done."""
    for path, ending, option in ((picture, ".png", "--picture"), (write, ".toml", "--write")):
        if path:
            options.require_ending(path, (ending,), option)
    two = len(words.goals) == 2
    for given, option in ((picture, "--picture"), (words.pick, "--pick")):
        if given is not None and not two:
            msg = "needs a trade-off curve: give a second --goal"
            raise typer.BadParameter(msg, param_hint=option)
    for path in (picture, write):
        if path:
            refuse_to_overwrite(path, force)


def _question(rig: Rig, source: RigSource, given: dict[str, Any], words: ChooseWords) -> Question:
    """Return what the words of a command line ask for."""
    if not 1 <= len(words.goals) <= 2 or len(set(words.goals)) < len(words.goals):
        msg = "give one goal, or two different ones"
        raise typer.BadParameter(msg, param_hint="--goal")
    try:
        goals = tuple(goal_of(goal) for goal in words.goals)
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--goal") from error
    options.require_roles(words.hide)
    heads = _heads(rig, words)
    views = Views(words.head, heads, words.seen, words.hide)
    return Question(source, given, _frees(rig, source, given, words), views, goals, _limits(words))


def _heads(rig: Rig, words: ChooseWords) -> tuple[str, ...]:
    options.head(rig, words.head)
    if "all" in words.at:
        return tuple(rig.heads())
    for name in words.at:
        if name not in rig.heads():
            names = ", ".join(rig.heads())
            msg = f"there is no head position {name!r} (there are all, {names})"
            raise typer.BadParameter(msg, param_hint="--at")
    return tuple(dict.fromkeys(words.at)) or (words.head,)


def _frees(
    rig: Rig, source: RigSource, given: dict[str, Any], words: ChooseWords
) -> tuple[Free, ...]:
    """Return what may change: what the options say, besides what the rig file says."""
    asked = dict(rig.free)
    for text in words.frees:
        path, sign, values = (word.strip() for word in text.partition("="))
        if not (path and sign and values):
            msg = f"needs PATH=VALUES, such as outside.lens.distance=100..200 (got {text!r})"
            raise typer.BadParameter(msg, param_hint="--free")
        asked[path] = values
    if not 0 < len(asked) <= MOST_FREE:
        msg = f"say what may change, at most {MOST_FREE} values: outside.lens.distance=100..200, "
        msg += "or a table [free] in the rig file"
        raise typer.BadParameter(msg, param_hint="--free")
    try:
        return tuple(free_values(with_changes(source.data, given), asked))
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--free") from error


def _limits(words: ChooseWords) -> tuple[Limit, ...]:
    """Return the constraints asked for."""
    limits = [Limit("seen", words.seen)]
    if words.hide:
        limits.append(Limit("hide", 0.0))
    for key, value in words.limits.items():
        if isinstance(value, float):
            if not 0 < value <= 1000:
                msg = f"must be above 0 and at most 1000 (got {value:g})"
                raise typer.BadParameter(msg, param_hint=f"--{key}")
            limits.append(Limit(key, value))
        elif value is not None:
            option = "--room" if key == "head-room" else f"--{key}"
            try:
                limits.append(Limit(key, length_between(0.01, 100_000)(value)))
            except typer.BadParameter as error:
                raise typer.BadParameter(error.message, param_hint=option) from error
    return tuple(limits)


def _refuse_unwritable(question: Question, out: Path) -> None:
    """Refuse a rig file that would lack files beside it, or free values that it does not write."""
    rig_of(source_of(str(out), question.source.content))
    now = {free.path: value_now(question.source.data, free.path) for free in question.frees}
    changes = {
        free.path: free.low if now[free.path] is None else now[free.path] for free in question.frees
    }
    _written(question, {path: value for path, value in changes.items() if value is not None})


def _written(question: Question, changes: Any) -> bytes:
    """Return the rig file's text with new values in place of its own."""
    data = question.source.data
    given = {path: value for path, value in question.given.items() if path not in changes}
    return with_values(question.source.content, given | written_changes(data, changes))


def _answered(question: Question) -> Answer:
    """Return the answer, with progress; when stopped, say what was best so far."""
    progress = Progress("searching, percent", 100)

    def tell(looked: int, most: int) -> None:
        if 100 * looked >= most:
            progress.reached(min(99, 100 * looked // most))

    search = Search(question, tell)
    try:
        return search.run()
    except KeyboardInterrupt:
        print_so_far(question, search.best_so_far())
        raise typer.Exit(STOPPED) from None


def _picked(answer: Answer, pick: int | None) -> Point:
    if pick is None or not answer.curve:
        return answer.best
    if not 1 <= pick <= len(answer.curve):
        msg = f"the curve has rigs 1 to {len(answer.curve)} (got {pick})"
        raise typer.BadParameter(msg, param_hint="--pick")
    return answer.curve[pick - 1]


def _draw(rig: Rig, question: Question, answer: Answer, out: Path) -> None:
    head = rig.heads()[question.views.head]
    given = {
        "goal": question.goals,
        "free": [f"{free.path}={free.words()}" for free in question.frees],
        "head": head.name,
    }
    facts = facts_of(rig, head, command_line("choose", rig, out, given))
    write_whole(out, png(trade_off(answer, question.goals, caption(rig, head), PICTURE), facts))
    print(out, file=sys.stderr)


def _as_json(
    rig: Rig, question: Question, answer: Answer, best: Point, proved: Proof
) -> dict[str, Any]:
    return {
        "rig": rig.name,
        "head": question.views.head,
        "heads": question.views.heads,
        "goals": question.goals,
        "possible": not answer.missed,
        "now": answer.now,
        "changes": best.changes,
        "before": answer.before,
        "figures": best.figures,
        "at_ends": answer.at_ends,
        "constraints": [
            {
                "figure": cost.limit.key,
                "value": cost.limit.value,
                "missed_by": answer.missed.get(cost.limit, 0.0),
                "reached": cost.reached,
                "goal_with": cost.goal_with,
                "goal_without": cost.goal_without,
            }
            for cost in answer.costs
        ],
        "curve": [dataclasses.asdict(point) for point in answer.curve],
        "all_parts": dataclasses.asdict(proved),
        "tried": answer.tried,
    }
