"""The work of `head-box`: how far a head may move, as a table or as JSON."""

from seamsight.cli import options
from seamsight.cli.arguments import HeadBoxWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import Assembly
from seamsight.viewer.pictures.captions import head_words, way_words
from seamsight.viewer.studies.head_box import TURNS, Asked, HeadBox, Travel, head_box

WAYS = {"turn_left": "turn left", "turn_right": "turn right"}


def print_head_box(rig_words: RigWords, words: HeadBoxWords, *, as_json: bool) -> None:
    """Print how far a head may move each way, and what stops it."""
    options.require_roles(words.hide)
    rig = options.read(rig_words)
    head = options.head(rig, words.head)
    assembly = options.with_outside_view(rig)

    compile_kernels()
    with announced("moving the head"):
        box = head_box(assembly, head, Asked(words.seen, words.whole, words.hide))
    if as_json:
        print_json({"rig": rig.name, **box.as_json()})
    else:
        _print(assembly, box, words)


def _print(assembly: Assembly, box: HeadBox, words: HeadBoxWords) -> None:
    console = console_of_width()
    say(console, f"{assembly.rig.name}, from head position {head_words(box.head)}")
    say(console, _asked(words))
    if box.failure:
        say(console, f"This does not hold there: {box.failure.text}.")
        say(console, _nearby(box.nearby))
        return
    rows = [
        (WAYS.get(way, way), [_far(way, travel), travel.stopped_by or "nothing"])
        for way, travel in box.travel.items()
    ]
    title = "How far the head may move, each way alone"
    print_table(console, NumbersTable(title, "way", ("up to", "stopped by"), rows, worded=True))


def _asked(words: HeadBoxWords) -> str:
    """Return in words what must hold."""
    asked = [f"each eye sees at least {100 * words.seen:g} % of each outside screen"]
    if words.whole:
        asked.append("no strip is lost at the edge of a lens or bezel")
    if words.hide:
        asked.append(f"no {', '.join(words.hide)} is seen between images")
    return f"What must hold: {'; '.join(asked)}."


def _nearby(by: tuple[float, float, float] | None) -> str:
    if by is None:
        return "No head position near it was found where it holds."
    words = ", ".join(way_words([round(value, 1) for value in by]))
    return f"It holds at a head position near it: {words}."


def _far(way: str, travel: Travel) -> str:
    unit = "°" if way in TURNS else " mm"
    return f"{travel.far:.1f}{unit}" if travel.stopped_by else f"more than {travel.far:g}{unit}"
