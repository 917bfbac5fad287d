"""Arguments and options that several commands share. Nothing heavy is imported here."""

from pathlib import Path
from typing import Annotated

import typer

RigFile = Annotated[
    Path, typer.Argument(metavar="RIG", help="rig file (TOML); `seamsight samples` lists some")
]
HeadName = Annotated[
    str, typer.Option("--head", metavar="NAME", help="head position named in the rig")
]
AsJson = Annotated[bool, typer.Option("--json", help="print one JSON object instead of text")]
Force = Annotated[bool, typer.Option("--force", help="overwrite an existing file")]
Degrees = float | None
Out = Annotated[Path, typer.Argument(metavar="PICTURE", help="PNG file to write")]
WithoutLenses = Annotated[bool, typer.Option("--without-lenses", help="leave all lenses out")]
Size = Annotated[str, typer.Option(metavar="WxH", help="pixels of each picture")]
Field = Annotated[Degrees, typer.Option(help="degrees from edge to edge; all screens if left out")]
Aim = Annotated[
    str, typer.Option(metavar="AZ,EL", help="where the middle looks, degrees right and up")
]
