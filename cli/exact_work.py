"""The work of `exact`: how exactly to build, as tables and sentences or as JSON."""

import math
from collections.abc import Iterator

import typer

from seamsight.cli import options
from seamsight.cli.arguments import ExactWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import Progress, print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import ChoiceError, Head, Rig
from seamsight.scene.frames import Array
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.studies.tolerance import FEWEST, MOST, Chance, Study
from seamsight.viewer.studies.tolerance_errors import GROUPS, limits_of

LEAST_FACTOR = 0.01  # of all tolerances, that is still told

_FAULTS = {
    "shown": "bezel, bracket or gap shows",
    "shown_more": "over 0.25° wider than designed",
    "lost": "an eye loses a strip",
    "lost_more": "over 5 px more than designed",
    "breaks_1": "a line breaks by over 1′",
    "breaks_5": "a line breaks by over 5′",
}
_SHORT = {
    "shown": "shows",
    "shown_more": "shows\n+0.25°",
    "lost": "is lost",
    "lost_more": "is lost\n+5 px",
    "breaks_1": "breaks\nby 1′",
    "breaks_5": "breaks\nby 5′",
}
_FREE = {
    "shown": "no bezel, bracket or gap shows between images",
    "shown_more": "what shows between images is at most 0.25° wider than designed",
    "lost": "no eye loses a strip of an image",
    "lost_more": "no eye loses over 5 pixels more of an image than designed",
    "breaks_1": "no straight line breaks at a seam by over 1′",
    "breaks_5": "no straight line breaks at a seam by over 5′",
}
_MATTERS = {"shown_more": "shows", "lost_more": "is lost", "breaks_1": "breaks"}
_DESIGN = {"shown": "{:.2f}°", "lost": "{:.0f} px", "breaks_1": "{:.1f}′"}
_DO = (
    "place the screens to ±{}",
    "set the screens' angles to ±{}",
    "place the lenses to ±{}",
    "set the lenses' angles to ±{}",
    "know the focal length to ±{}",
    "cut the lenses' apertures to ±{}",
    "set the angles between screens to ±{}",
    "place the boards to ±{}",
    "set the boards' angles to ±{}",
)
"""How to keep the tolerance of each of `GROUPS`."""


def print_exact(rig_words: RigWords, words: ExactWords, *, as_json: bool) -> None:
    """Print how exactly to build a rig."""
    if not FEWEST <= words.builds <= MOST or words.builds & (words.builds - 1):
        msg = f"must be a power of two from {FEWEST} to {MOST}: 64, 128, 256 … (got {words.builds})"
        raise typer.BadParameter(msg, param_hint="--builds")
    if not 0 < words.wanted < 1:
        msg = f"must be above 0 and below 1, such as 0.9 (got {words.wanted:g})"
        raise typer.BadParameter(msg, param_hint="--wanted")
    rig = options.read(rig_words)
    head = options.head(rig, words.head)
    assembly = options.with_outside_view(rig)

    compile_kernels()
    try:
        study = Study(assembly, head, words.builds, words.wanted)
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--head") from error
    chances = study.chances(Progress("build", study.work).reached)
    if as_json:
        print_json(_as_json(rig, words, chances))
    else:
        _print(rig, head, words, study.groups, chances)


def _as_json(rig: Rig, words: ExactWords, chances: list[Chance]) -> dict[str, object]:
    limits = limits_of(rig.tolerance)
    used = {group.key: limit for group, limit in zip(GROUPS, limits.tolist(), strict=True)}
    return {
        "rig": rig.name,
        "head": words.head,
        "builds": words.builds,
        "wanted": words.wanted,
        "tolerance": used,
        "faults": {chance.fault.key: _fault_as_json(chance, limits) for chance in chances},
    }


def _fault_as_json(chance: Chance, limits: Array) -> dict[str, object]:
    single = None
    if chance.single:
        group, factor = chance.single
        single = {"tolerance": _key(group), "limit": factor * float(limits[group])}
    return {
        "design": chance.design,
        "chance": chance.chance,
        "worst": chance.worst._asdict(),
        "matters": {_key(group): share._asdict() for group, share in chance.matters.items()},
        "factor": chance.factor,
        "single": single,
        "rest": chance.rest,
    }


def _key(group: int) -> str:
    return GROUPS[group].name.replace(" ", "_")


def _print(
    rig: Rig, head: Head, words: ExactWords, groups: list[int], chances: list[Chance]
) -> None:
    console = console_of_width()
    limits = limits_of(rig.tolerance)
    say(console, f"{rig.name}, from head position {head_words(head)}")
    say(
        console,
        f"{words.builds:,} builds were tried; in each, every screen, lens and board is off at "
        "random within the tolerances below.",
    )
    if not rig.tolerance.model_fields_set:
        say(console, "The rig file has no [tolerance], so usual ones are taken: write in yours.")
    if {chance.fault.kind for chance in chances} == {"lost"}:
        say(console, "There is no seam between screens of the outside view: no line can break.")

    rows = [(_FAULTS[chance.fault.key], _cells(chance)) for chance in chances]
    headings = ("as designed", "of 100 builds", "most often at")
    title = "How many builds have a fault"
    print_table(console, NumbersTable(title, "fault", headings, rows, worded=True))
    for sentence in _answers(chances, words.wanted, limits):
        say(console, sentence)
    console.print()
    print_table(console, _shares_table(groups, chances))
    print_table(console, _limits_table(groups, chances, words.wanted, limits))


def _answers(chances: list[Chance], wanted: float, limits: Array) -> Iterator[str]:
    """Yield in sentences what would do."""
    enough = ""
    for chance in chances:
        # what is enough for a fault at all is enough for more of it
        if chance.factor is None or chance.fault.kind == enough:
            continue
        yield answer(chance, chance.factor, wanted, limits)
        enough = chance.fault.kind if chance.factor >= 1 else ""
    if any(chance.fault.kind == "broken" and chance.chance > 1 - wanted for chance in chances):
        yield (
            "Or measure the finished rig and set the views for it: lines break because the views "
            "are those of the rig as designed."
        )


def _shares_table(groups: list[int], chances: list[Chance]) -> NumbersTable:
    """Return a table of what matters, most first."""
    told = [chance for chance in chances if chance.fault.key in _MATTERS]
    shares = {group: [chance.matters[group].total for chance in told] for group in groups}
    rows = [
        (GROUPS[group].name, [_percent(share) for share in shares[group]])
        for group in sorted(groups, key=lambda one: -max(shares[one]))
    ]
    columns = tuple(_MATTERS[chance.fault.key] for chance in told)
    title = "What matters: how much less builds would differ without this tolerance, %"
    return NumbersTable(title, "tolerance", columns, rows)


def _limits_table(
    groups: list[int], chances: list[Chance], wanted: float, limits: Array
) -> NumbersTable:
    """Return a table of the tolerances used, and of those that would do."""
    factors = {
        _SHORT[chance.fault.key]: chance.factor for chance in chances if chance.factor is not None
    }
    rows = []
    for group in groups:
        limit = float(limits[group])
        cells = [_limit(group, limit, factor) for factor in factors.values()]
        rows.append((GROUPS[group].name, [f"±{with_unit(group, limit)}", *cells]))
    title = f"How large all tolerances may be for {of_ten(wanted)} builds without the fault"
    return NumbersTable(title, "tolerance", ("used here", *factors), rows)


def _limit(group: int, limit: float, factor: float) -> str:
    return f"±{measured(group, factor * limit)}" if factor >= LEAST_FACTOR else "–"


def _cells(chance: Chance) -> list[str]:
    place, often, part = chance.worst
    where = f"{place} ({_percent(often)})" if often else "nowhere"
    if part and chance.fault.kind == "shown":
        where = f"{where}: {part}"
    design = _DESIGN.get(chance.fault.key, "").format(max(0.0, chance.design))
    return [design, _percent(chance.chance), where]


def answer(chance: Chance, factor: float, wanted: float, limits: Array) -> str:
    """Return what would do, as a sentence."""
    free = _FREE[chance.fault.key]
    if factor >= 1:
        share = f"{_percent(1 - chance.chance)} of 100" if chance.chance else "all"
        return f"In {share} builds {free}: exact enough."
    goal = f"in {of_ten(wanted)} builds {free}"
    if chance.single:
        group, alone = chance.single
        do = _DO[group].format(measured(group, alone * limits[group]))
        return f"{do[0].upper()}{do[1:]}, and {goal}."
    if factor < LEAST_FACTOR:
        return f"Build with hardly any error, and {goal}."

    closer = f"Build everything {_times(factor)} times as exactly"
    if chance.fault.kind == "broken":
        return f"{closer}, and {goal}."
    most = GROUPS[next(iter(chance.matters))].name
    return (
        f"Most is due to {most}, but not all. {closer}, or make {most} perfect and all else "
        f"{_times(chance.rest or LEAST_FACTOR)} times as exact, and {goal}."
    )


def _times(factor: float) -> str:
    """Return how many times as exact a part of the tolerances is."""
    return f"{1 / factor:.1f}" if factor > 0.1 else f"{1 / factor:.0f}"


def measured(group: int, value: float) -> str:
    """Return a limit with its unit: two digits, never rounded up."""
    if value > 0:  # a limit of none stays none
        step = 10.0 ** (math.floor(math.log10(value)) - 1)
        value = math.floor(value / step + 1e-9) * step
    return with_unit(group, value)


def with_unit(group: int, value: float) -> str:
    """Return a value of one of `GROUPS` with its unit."""
    unit = GROUPS[group].unit
    return f"{value:.3g}°" if unit == "°" else f"{value:.3g} {unit}"


def of_ten(share: float) -> str:
    """Return a share as so many of 10 or 100, where it is a whole number of them."""
    for whole in (10, 100):
        if abs(share * whole - round(share * whole)) < 1e-9:
            return f"{round(share * whole)} of {whole}"
    return f"{100 * share:g} %"


def _percent(share: float) -> str:
    return f"{100 * share:.0f}"
