"""The work of `cut-list`: what to cut, as a table, JSON or CSV; and drawings of the sheets."""

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar, get_args

import typer

from seamsight.cli import options
from seamsight.cli.arguments import CutListWords, RigWords
from seamsight.cli.cut_list_report import print_plan
from seamsight.cli.lengths import length_between, size_between
from seamsight.cli.output import announced, print_json
from seamsight.scene import ChoiceError, Rig, build
from seamsight.scene.rig_words import hint
from seamsight.scene.solids import Material
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import command_line
from seamsight.viewer.sheet import png
from seamsight.viewer.workshop.cutting_plan import CuttingPlan, cutting_plan
from seamsight.viewer.workshop.doorway import Door
from seamsight.viewer.workshop.dxf import dxf
from seamsight.viewer.workshop.layout_sheets import layout_picture, layout_sketch
from seamsight.viewer.workshop.sheet_layout import KERF, SHEET, Stock

MATERIALS: tuple[Material, ...] = get_args(Material)
WIDTH = 1400  # pixels of the picture

Value = TypeVar("Value")


def print_cut_list(rig_words: RigWords, words: CutListWords, *, force: bool, as_json: bool) -> None:
    """Print what to cut of a rig, and write what else was asked for."""
    stock = _stock(words)
    door = None
    if words.door:
        door = Door(*_read(words.door, size_between(100, 10_000, "800x2000"), "--door"))
    files = [path for path in (words.table, *words.layouts) if path]
    _refuse_odd_endings(words)
    for path in files:
        refuse_to_overwrite(path, force)
    rig = options.read(rig_words)

    with announced("laying boards on sheets"):
        plan = cutting_plan(build(rig), stock, door)
        contents = [(path, _drawn(plan, rig, words, path)) for path in words.layouts]
        if words.table:
            contents.append((words.table, plan.as_csv()))
    for path, content in contents:
        write_whole(path, content)
    if as_json:
        print_json(plan.as_json())
        return
    print_plan(plan)
    for path in files:
        print(path)


def _refuse_odd_endings(words: CutListWords) -> None:
    for path in words.layouts:
        options.require_ending(path, (".png", ".dxf"), "--layout")
    if words.table:
        options.require_ending(words.table, (".csv",), "--csv")


def _stock(words: CutListWords) -> dict[Material, Stock] | None:
    """Return the sheets of each material; None where nobody asked for a layout."""
    sizes = _by_material(words.sheets, size_between(10, 20_000, "2440x1220"), SHEET, "--sheet")
    kerfs = _by_material(words.kerfs, length_between(0, 50), KERF, "--kerf")
    if not (words.sheets or words.kerfs or words.layouts):
        return None
    return {material: Stock(sizes[material], kerfs[material]) for material in MATERIALS}


def _by_material(
    texts: tuple[str, ...], read: Callable[[str], Value], usual: Value, option: str
) -> dict[Material, Value]:
    """Return a value for each material from "VALUE" for all, or "MATERIAL=VALUE" for one."""
    own: dict[str, Value] = {}
    for text in texts:
        material, sign, value = text.rpartition("=")
        material = material.strip()
        if sign and material not in MATERIALS:
            msg = f"there is no material {material!r}{hint(material, MATERIALS)}"
            raise typer.BadParameter(msg, param_hint=option)
        if sign:
            own[material] = _read(value.strip(), read, option)
        else:
            usual = _read(value, read, option)
    return {material: own.get(material, usual) for material in MATERIALS}


def _read(text: str, read: Callable[[str], Value], option: str) -> Value:
    try:
        return read(text)
    except typer.BadParameter as error:
        raise typer.BadParameter(error.message, param_hint=option) from error


def _drawn(plan: CuttingPlan, rig: Rig, words: CutListWords, path: Path) -> bytes:
    """Return the sheets as the file that was asked for."""
    if not plan.layouts:
        msg = "this rig has no board or plate that is cut from a sheet"
        raise ChoiceError(msg)
    if path.suffix.lower() == ".dxf":
        return dxf(layout_sketch(plan.layouts, plan.numbers))
    given = {"sheet": words.sheets, "kerf": words.kerfs, "layout": str(path)}
    facts = {
        "Title": rig.name,
        "Rig": str(rig.file),
        "Command": command_line("cut-list", rig, None, given),
    }
    caption = f"{rig.name}: boards on their sheets, cut from edge to edge"
    return png(layout_picture(plan.layouts, plan.numbers, caption, WIDTH), facts)
