"""The command `head-box`; its work is done in `head_box_work`."""

from typing import Annotated

import typer

from seamsight.cli.arguments import AsJson, HeadBoxWords, HeadName, RigFile, RigWords, Sets

app = typer.Typer()


@app.command("head-box", epilog="Example: seamsight head-box rig.toml --seen 0.95")
def head_box(
    rig: RigFile,
    head: HeadName = "design",
    seen: Annotated[
        float,
        typer.Option(min=0.01, max=1, help="share of each image that each eye must see, 0 to 1"),
    ] = 0.98,
    whole: Annotated[
        bool,
        typer.Option("--whole", help="no strip of an image may be lost at its own lens or bezel"),
    ] = False,
    hide: Annotated[
        list[str] | None,
        typer.Option(
            metavar="ROLE",
            help="no bezel, bracket or frame may be seen between images; may be given again",
        ),
    ] = None,
    sets: Sets = None,
    as_json: AsJson = False,
) -> None:
    """Report how far the head may move each way.

    The head moves each way alone, or turns, until an eye sees less of an outside screen than it
    should. The report names the part that is in the way then.
    """
    from seamsight.cli.head_box_work import print_head_box

    words = HeadBoxWords(head, seen, whole, tuple(hide or ()))
    print_head_box(RigWords(rig, tuple(sets or ())), words, as_json=as_json)
