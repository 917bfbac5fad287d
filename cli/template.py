"""The command `template`; its work is done in `template_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import Force, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight template rig.toml panel.pdf --part 'main panel'")
def template(
    rig: RigFile,
    out: Annotated[Path, typer.Argument(metavar="FILE", help="file to write: .pdf, .svg or .dxf")],
    parts: Annotated[
        list[str] | None,
        typer.Option(
            "--part",
            metavar="NAME",
            help="board or plate to draw; may be given again (default: all; as PDF, those that "
            "are more than a rectangle)",
        ),
    ] = None,
    paper: Annotated[str, typer.Option(help="paper of a PDF: a4, a3 or letter")] = "a4",
    sets: Sets = None,
    force: Force = False,
) -> None:
    """Draw boards and plates at 1:1, to saw and drill by.

    Each has its edge, its holes with their middles, and where screens and lenses meet it. A PDF is
    spread over sheets of paper that overlap, each with a bar to measure.
    """
    from seamsight.cli.template_work import write_template

    write_template(rig_words(rig, sets), out, tuple(parts or ()), paper, force=force)
