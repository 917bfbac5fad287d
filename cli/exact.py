"""The command `exact`; its work is done in `exact_work`."""

from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, ExactWords, HeadName, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight exact rig.toml --set tolerance.position=0.5")
def exact(
    rig: RigFile,
    head: HeadName = "design",
    builds: Annotated[
        int, typer.Option(help="how many builds to try: 64, 128, 256 … 65536")
    ] = 4096,
    wanted: Annotated[
        float, typer.Option(help="share of builds in which nothing should go wrong, 0 to 1")
    ] = 0.9,
    sets: Sets = None,
    as_json: AsJson = False,
) -> None:
    """Report how exactly you must build.

    Many builds are tried, each off at random within the rig's [tolerance]: how often a bezel or
    bracket shows, an eye loses a strip, or a line breaks at a seam; which tolerance matters most;
    and how small it must be.
    """
    from seamsight.cli.exact_work import print_exact

    print_exact(rig_words(rig, sets), ExactWords(head, builds, wanted), as_json=as_json)
