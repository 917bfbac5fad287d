"""The command `borders`; its work is done in `borders_work`."""

import typer

from seamsight.cli.arguments import AsJson, HeadNames, RigFile, Sets, rig_words

app = typer.Typer()


@app.command("borders", epilog="Example: seamsight borders rig.toml --head design")
def borders(
    rig: RigFile,
    heads: HeadNames = None,
    sets: Sets = None,
    as_json: AsJson = False,
) -> None:
    """Report which pixels to keep black for all head positions.

    From each head position both eyes then see all that is left of each screen of the outside view.
    The report says what this costs in field of view.
    """
    from seamsight.cli.borders_work import print_borders

    print_borders(rig_words(rig, sets), heads or [], as_json=as_json)
