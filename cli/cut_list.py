"""The command `cut-list`; its work is done in `cut_list_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, CutListWords, Force, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(
    "cut-list",
    epilog="Example: seamsight cut-list rig.toml --sheet 2440x1220 --kerf 3.2 --layout sheets.png",
)
def cut_list(
    rig: RigFile,
    sheets: Annotated[
        list[str] | None,
        typer.Option(
            "--sheet",
            metavar="[MATERIAL=]LxW",
            help="lay the boards on sheets of this size: along the grain x across it, mm "
            "(default: 2440x1220); may be given again for one material, as acrylic=1220x610",
        ),
    ] = None,
    kerfs: Annotated[
        list[str] | None,
        typer.Option(
            "--kerf",
            metavar="[MATERIAL=]WIDTH",
            help="width of the saw's cut, mm (default: 3.2); may be given again for one material",
        ),
    ] = None,
    layouts: Annotated[
        list[Path] | None,
        typer.Option(
            "--layout",
            metavar="FILE",
            help="write the boards on their sheets, as .png or .dxf; may be given again",
        ),
    ] = None,
    door: Annotated[
        str | None,
        typer.Option(metavar="WxH", help="clear size of a door that it must pass, as 800x2000"),
    ] = None,
    sets: Sets = None,
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE", help="also write a row for each board, as CSV")
    ] = None,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """List the boards and plates to cut, and what all weighs.

    Sizes are along each board's own axes, with all slanting edges. The list also says what each
    edge meets, what hangs on each screen's mounting, how hard a push the frame stands, and whether
    it passes a door. Boards with `room = true` are left out.
    """
    from seamsight.cli.cut_list_work import print_cut_list

    words = CutListWords(tuple(sheets or ()), tuple(kerfs or ()), tuple(layouts or ()), door, csv)
    print_cut_list(rig_words(rig, sets), words, force=force, as_json=as_json)
