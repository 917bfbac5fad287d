"""The work of `panel`: where to place instruments behind a panel's holes."""

import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer
from PIL import Image

from seamsight.cli import options
from seamsight.cli.answer import names_words
from seamsight.cli.arguments import PanelWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import Rig, build
from seamsight.scene.polygons import Region
from seamsight.scene.rig_words import hint
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.numbers.units import MM, PERCENT, in_words, number_words
from seamsight.viewer.pictures.captions import command_line
from seamsight.viewer.pictures.panel import holes_picture, mask_picture
from seamsight.viewer.setup.desktop import Rectangle
from seamsight.viewer.setup.panel import HoleView, Panel, panel_of, pixels_of
from seamsight.viewer.sheet import png

WHOLE = 0.9995  # share of a hole from which it counts as filled


def print_panel(rig_words: RigWords, words: PanelWords, *, force: bool, as_json: bool) -> None:
    """Print where to place instruments behind a rig's holes, and draw what was asked for."""
    files = {"picture": words.picture, "mask": words.mask}
    for option, path in files.items():
        if path and path.suffix.lower() != ".png":
            msg = f"must end in .png (got {path.name})"
            raise typer.BadParameter(msg, param_hint=f"--{option}")
        if path:
            refuse_to_overwrite(path, force)
    rig = options.read(rig_words)
    assembly = build(rig)
    compile_kernels()
    with announced("looking through the holes"):
        found = panel_of(assembly)

    drawn = _drawn(rig, found, words)
    for path, content in drawn.items():
        write_whole(path, content)
    if as_json:
        print_json({"rig": rig.name, **_as_json(found)})
        return
    _print(rig, found)
    for path in drawn:
        print(path)


def _drawn(rig: Rig, found: Panel, words: PanelWords) -> dict[Path, bytes]:
    """Return the pictures that were asked for, as PNG files."""
    files = {"picture": words.picture, "mask": words.mask}
    if not any(files.values()):
        return {}
    views = _of_one_screen(found, words.screen)
    makers = {"picture": holes_picture, "mask": mask_picture}
    drawn = {}
    for option, path in files.items():
        if path:
            image: Image.Image = makers[option](views)
            given = {"screen": views[0].screen.name, option: str(path)}
            command = command_line("panel", rig, None, given)
            facts = {"Title": rig.name, "Rig": str(rig.file), "Command": command}
            drawn[path] = png(image, facts)
    return drawn


def _of_one_screen(found: Panel, name: str | None) -> list[HoleView]:
    """Return the holes in front of the screen asked for, or of the only one."""
    names = list(dict.fromkeys(view.screen.name for view in found.views))
    if name is None and len(names) > 1:
        msg = f"say which screen to draw: {', '.join(names)}"
        raise typer.BadParameter(msg, param_hint="--screen")
    if name is not None and name not in names:
        msg = f"no screen {name!r} is behind a hole{hint(name, names)}; these are: "
        msg += ", ".join(names)
        raise typer.BadParameter(msg, param_hint="--screen")
    return [view for view in found.views if view.screen.name == (name or names[0])]


def _as_json(found: Panel) -> dict[str, Any]:
    return {
        "holes": [_hole_json(view) for view in found.views],
        "without_screen": [{"plate": hole.plate, "hole": hole.name} for hole in found.others],
    }


def _hole_json(view: HoleView) -> dict[str, Any]:
    return {
        "plate": view.hole.plate,
        "hole": view.hole.name,
        "screen": view.screen.name,
        "window": _numbers(view.window),
        "desktop": view.on_desktop and _numbers(view.on_desktop),
        "all_heads": _numbers(view.everywhere),
        "px_per_mm": dict(zip(("h", "v"), _density(view), strict=True)),
        "filled": view.filled,
        "stand_off": view.stand_off,
        "hidden": view.hidden,
        "heads": {name: _sight_json(view, name) for name in view.sights},
    }


def _sight_json(view: HoleView, head: str) -> dict[str, Any]:
    sight = view.sights[head]

    def pixels(region: Region | None) -> dict[str, int] | None:
        rectangle = pixels_of(view.screen, region)
        return None if rectangle is None else _numbers(rectangle)

    return {
        "left": pixels(sight.left),
        "right": pixels(sight.right),
        "both": pixels(sight.both),
        "either": pixels(sight.either),
        "past_px": view.past(head),
    }


def _numbers(rectangle: Rectangle) -> dict[str, int]:
    return {
        "x": rectangle.x,
        "y": rectangle.y,
        "width": rectangle.width,
        "height": rectangle.height,
    }


def _density(view: HoleView) -> tuple[float, float]:
    """Return pixels for each mm, across and down."""
    across, down = view.screen.display.pixels
    width, height = view.screen.size
    return across / width, down / height


def _print(rig: Rig, found: Panel) -> None:
    console = console_of_width()
    say(console, f"{rig.name}: windows behind the holes, in pixels from the screen's top left")
    print_table(console, _window_table(found))
    print_table(console, _hidden_table(found))
    for sentence in _sentences(found):
        say(console, sentence)


def _window_table(found: Panel) -> NumbersTable:
    on_desktop = any(view.on_desktop for view in found.views)
    headings = ["screen", "x", "y", "width", "height", "pixels\nper mm"]
    if on_desktop:
        headings.append("x, y on the\ndesktop")
    rows = []
    for view in found.views:
        window = view.window
        across, down = (number_words(density, 2) for density in _density(view))
        cells = [
            view.screen.name,
            *map(str, (window.x, window.y, window.width, window.height)),
            across if across == down else f"{across} × {down}",
        ]
        if on_desktop:
            cells.append(_place_words(view))
        rows.append((view.hole.name, cells))
    title = "Window of each instrument: what at least one eye sees from the design eye point"
    return NumbersTable(title, "hole", tuple(headings), rows)


def _place_words(view: HoleView) -> str:
    """Return a window's place on the desktop, with its size if that is another there."""
    place = view.on_desktop
    if not place:
        return "–"
    size = (place.width, place.height)
    told = f"{place.x}, {place.y}"
    if size == (view.window.width, view.window.height):
        return told
    return f"{told}: {place.width} × {place.height}"


def _hidden_table(found: Panel) -> NumbersTable:
    rows = [
        (
            view.hole.name,
            [in_words(view.stand_off, MM), *_hidden_cells(view), _past_words(view)],
        )
        for view in found.views
    ]
    title = (
        "What the plate hides from the worse eye of the pixels straight behind the hole; and how "
        "many pixels past the window other head positions see"
    )
    headings = ("behind\nplate", "by\ndistance", "by thick\nplate", "sees past the window")
    return NumbersTable(title, "hole", headings, rows, worded=True)


def _hidden_cells(view: HoleView) -> list[str]:
    return [
        in_words(100 * max((by_eye[why] for by_eye in view.hidden.values()), default=0.0), PERCENT)
        if view.hidden
        else "–"
        for why in ("stand_off", "thickness")
    ]


def _past_words(view: HoleView) -> str:
    past = {head: px for head in view.sights if (px := view.past(head))}
    return ", ".join(f"{head} {px}" for head, px in past.items()) or "none"


def _sentences(found: Panel) -> Iterator[str]:
    """Yield which holes are not filled, what serves all heads, and which have no screen."""
    for view in found.views:
        if view.filled < WHOLE:
            yield (
                f"{view.hole.name}: an eye sees past the image's edge; {view.screen.name} fills "
                f"{in_words(100 * view.filled, PERCENT)} of what shows through the hole."
            )
    if any(view.everywhere != view.window for view in found.views):
        yield (
            "Where other head positions see past a window, its background shows there: make it "
            "black, or draw the instrument larger (--json has the rectangle for all of them)."
        )
    for plate, holes in itertools.groupby(found.others, key=lambda hole: hole.plate):
        yield (
            f"No screen can be seen through these holes of {plate}: "
            f"{names_words(hole.name for hole in holes)}."
        )
