"""The work of `panel`: where to place instruments behind a panel's holes."""

from pathlib import Path
from typing import Any

import typer
from PIL import Image

from seamsight.cli import options
from seamsight.cli.arguments import PanelWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.panel_report import TITLE, density, sentences, tables
from seamsight.cli.tables import console_of_width, print_table, say
from seamsight.scene import Rig, build
from seamsight.scene.polygons import Region
from seamsight.scene.rig_words import hint
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import command_line
from seamsight.viewer.pictures.panel import holes_picture, mask_picture
from seamsight.viewer.setup.desktop import Rectangle
from seamsight.viewer.setup.panel import HoleView, Panel, panel_of, pixels_of
from seamsight.viewer.sheet import png


def print_panel(rig_words: RigWords, words: PanelWords, *, force: bool, as_json: bool) -> None:
    """Print where to place instruments behind a rig's holes, and draw what was asked for."""
    files = {"picture": words.picture, "mask": words.mask}
    for option, path in files.items():
        if path:
            options.require_ending(path, (".png",), f"--{option}")
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
        "px_per_mm": dict(zip(("h", "v"), density(view), strict=True)),
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


def _print(rig: Rig, found: Panel) -> None:
    console = console_of_width()
    say(console, f"{rig.name}: {TITLE}")
    for table in tables(found):
        print_table(console, table)
    for sentence in sentences(found):
        say(console, sentence)
