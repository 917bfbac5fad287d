"""The commands about light in the room; their work is done in modules that end in `_work`."""

from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight glare rig.toml --head design")
def glare(
    rig: RigFile,
    heads: Annotated[
        list[str] | None,
        typer.Option(
            "--head",
            metavar="NAME",
            help="head position named in the rig; may be given again (default: all)",
        ),
    ] = None,
    sets: Sets = None,
    as_json: AsJson = False,
) -> None:
    """Report which lamps, windows and screens are seen mirrored.

    For each lens and screen it reports what each eye sees mirrored there, where, how bright against
    the screen, what the rig's hoods keep away, and how long a hood must be so that nothing is left.
    """
    from seamsight.cli.glare_work import print_glare

    print_glare(rig_words(rig, sets), heads or [], as_json=as_json)
