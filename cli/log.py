"""The commands of `log`; their work is done in `log_work`."""

from pathlib import Path
from typing import Annotated

import typer

from seamsight.cli.arguments import (
    AsJson,
    EntryWords,
    Force,
    HeadName,
    PictureWords,
    Sets,
    rig_words,
)

Folder = Annotated[Path, typer.Argument(metavar="FOLDER", help="the log's folder")]

app = typer.Typer(
    no_args_is_help=True,
    help="Keep a build log of your cockpit.\n\nEach dated entry holds your text and photos, the "
    "rig file as it was, pictures of what both eyes saw, and the numbers.",
    epilog="Example: seamsight log add log --rig rig.toml --text 'Moved the lenses 20 mm out.'",
)


@app.command(
    epilog="Example: seamsight log add log --rig rig.toml --title 'Lenses in' "
    "--text-file words.md --picture photo.jpg"
)
def add(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="the log's folder; created if missing")
    ],
    rig: Annotated[Path, typer.Option("--rig", metavar="RIG", help="rig file (TOML) to store")],
    text: Annotated[
        str | None, typer.Option(metavar="TEXT", help="what was done and found, in Markdown")
    ] = None,
    text_file: Annotated[
        Path | None, typer.Option(metavar="FILE", help="a file with that text (UTF-8)")
    ] = None,
    title: Annotated[
        str, typer.Option(metavar="TEXT", help="title of the entry (default: the rig's name)")
    ] = "",
    picture: Annotated[
        list[Path] | None,
        typer.Option(
            metavar="FILE",
            help="a photo to copy in; may be given again",
        ),
    ] = None,
    caption: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TEXT",
            help="caption of a picture, in the pictures' order (default: its file's name)",
        ),
    ] = None,
    keep_camera_notes: Annotated[
        bool,
        typer.Option(
            "--keep-camera-notes",
            help="copy photos with what the camera noted in them (place, time, serial number)",
        ),
    ] = False,
    sheet: Annotated[
        bool,
        typer.Option("--sheet", help="store the sheet to print too, as sheet.html in the entry"),
    ] = False,
    walk_in: Annotated[
        bool,
        typer.Option(
            "--walk-in",
            help="store a page to walk in too, as walk_in.html in the entry; `log page` holds it",
        ),
    ] = False,
    sets: Sets = None,
    head: HeadName = "design",
    date: Annotated[
        str, typer.Option(metavar="YYYY-MM-DD", help="date of the entry (default: today)")
    ] = "",
) -> None:
    """Add an entry to a log.

    Existing entries are never changed.
    """
    from seamsight.cli.log_work import add_entry

    pictures = PictureWords(picture or [], caption or [], keep_camera_notes)
    words = EntryWords(date, title, text, text_file, sheet, walk_in)
    add_entry(folder, rig_words(rig, sets), head, words, pictures)


@app.command("list", epilog="Example: seamsight log list log")
def list_entries(folder: Folder, as_json: AsJson = False) -> None:
    """List a log's entries, oldest first."""
    from seamsight.cli.log_work import print_entries

    print_entries(folder, as_json=as_json)


@app.command(epilog="Example: seamsight log page log build_log.html")
def page(
    folder: Folder,
    out: Annotated[Path, typer.Argument(metavar="PAGE", help="file to write: .html")],
    force: Force = False,
) -> None:
    """Write a log as one HTML file.

    It contains all pictures, and the pages to walk in that entries have: open it in a browser, send
    it or print it.
    """
    from seamsight.cli.log_work import write_page

    write_page(folder, out, force=force)


@app.command(epilog="Example: seamsight log markdown log build_log.md")
def markdown(
    folder: Folder,
    out: Annotated[Path, typer.Argument(metavar="TEXT", help="file to write: .md")],
    force: Force = False,
) -> None:
    """Write a log as Markdown, for a forum or a repository.

    Its pictures stay in the log's folder.
    """
    from seamsight.cli.log_work import write_markdown

    write_markdown(folder, out, force=force)
