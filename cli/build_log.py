"""The commands of the build log. Heavy libraries are imported inside them, so that `--help` answers at once."""

import datetime
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from seamsight.cli.arguments import AsJson, Force, HeadName
from seamsight.cli.output import announced, print_json

if TYPE_CHECKING:
    from seamsight.viewer.log.store import Log

Folder = Annotated[Path, typer.Argument(metavar="FOLDER", help="the log's folder")]

app = typer.Typer(
    no_args_is_help=True,
    help="Keep a build log: dated entries with the rig as it was, what both eyes saw, numbers, words and photos.",
    epilog="Example: seamsight log add log --rig rig.toml --text 'Moved the lenses 20 mm out.'",
)


@app.command(
    epilog="Example: seamsight log add log --rig rig.toml --title 'Lenses in' --text-file words.md --picture photo.jpg"
)
def add(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="the log's folder; made if it is not there")
    ],
    rig: Annotated[Path, typer.Option("--rig", metavar="RIG", help="rig file (TOML) as it is now")],
    text: Annotated[
        str | None, typer.Option(metavar="TEXT", help="what was done and found, in Markdown")
    ] = None,
    text_file: Annotated[
        Path | None, typer.Option(metavar="FILE", help="a file with that text (UTF-8)")
    ] = None,
    title: Annotated[str, typer.Option(metavar="TEXT", help="the rig's name if left out")] = "",
    picture: Annotated[
        list[Path] | None,
        typer.Option(
            metavar="FILE",
            help="a photo to copy in, with all its camera notes; may be given several times",
        ),
    ] = None,
    caption: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TEXT",
            help="what stands below a picture, in the pictures' order; else its file's name",
        ),
    ] = None,
    head: HeadName = "design",
    date: Annotated[
        str, typer.Option(metavar="YYYY-MM-DD", help="of the entry; today if left out")
    ] = "",
) -> None:
    """Add an entry: whole or not at all, never over another."""
    from seamsight.cli import options
    from seamsight.scene import read_rig
    from seamsight.viewer.log import store as build_log
    from seamsight.viewer.log.entry import Words, entry_files

    day, written = _date(date), _text(text, text_file)
    pictures = _pictures(picture or [], caption or [])
    build_log.refuse_foreign_folder(folder)
    options.compile_kernels(scene=True)
    loaded = read_rig(rig)
    posed = options.head(loaded, head)
    words = Words(day, _clean(" ".join(title.split())), written, pictures)
    with announced("drawing what both eyes see, and measuring"):
        files = entry_files(loaded, posed, words, build_log.last_entry(folder))
    print(build_log.store(folder, day, files))


@app.command("list", epilog="Example: seamsight log list log")
def list_entries(folder: Folder, as_json: AsJson = False) -> None:
    """List a log's entries, oldest first."""
    log = _read(folder)
    if as_json:
        print_json(
            [
                {
                    "entry": entry.name,
                    "date": str(entry.facts.date),
                    "title": entry.title,
                    "rig": entry.facts.rig_name,
                    "head": entry.facts.head,
                    "pictures": len(entry.facts.pictures),
                    "folder": str(entry.folder),
                }
                for entry in log.entries
            ]
        )
        return
    for entry in log.entries:
        own = len(entry.facts.pictures)
        count = {0: "", 1: "  (1 picture)"}.get(own, f"  ({own} pictures)")
        print(f"{entry.name}  {entry.title}{count}")


@app.command(epilog="Example: seamsight log page log build_log.html")
def page(
    folder: Folder,
    out: Annotated[Path, typer.Argument(metavar="PAGE", help="file to write: .html")],
    force: Force = False,
) -> None:
    """Write a log as one HTML file that holds everything, to open in a browser, send or print."""
    from seamsight.scene.writing import write_whole
    from seamsight.viewer.log.page import page

    log = _read_for(folder, out, (".html", ".htm"), force)
    with announced("writing the page"):
        text, broken = page(log.entries, log.broken)
    for line in broken:
        print(line, file=sys.stderr)
    write_whole(out, text.encode("utf-8", "replace"))
    print(out)


@app.command(epilog="Example: seamsight log markdown log build_log.md")
def markdown(
    folder: Folder,
    out: Annotated[Path, typer.Argument(metavar="TEXT", help="file to write: .md")],
    force: Force = False,
) -> None:
    """Write a log as Markdown that shows the pictures out of the log's folder."""
    from seamsight.scene.writing import write_whole
    from seamsight.viewer.log.page import markdown

    log = _read_for(folder, out, (".md",), force)
    write_whole(out, markdown(log.entries, out).encode("utf-8", "replace"))
    print(out)


def _read_for(folder: Path, out: Path, endings: tuple[str, ...], force: bool) -> "Log":
    """Return a log to be written into a file, after a look whether that may be."""
    from seamsight.scene.writing import refuse_to_overwrite

    if out.suffix.lower() not in endings:
        raise typer.BadParameter(
            f"must end in {endings[0]} (got {out.name})", param_hint=f"'{out.name}'"
        )
    refuse_to_overwrite(out, force)
    return _read(folder)


def _read(folder: Path) -> "Log":
    """Return a log; say on standard error what in it is broken or was left by an add that did not finish."""
    from seamsight.scene import OutputError
    from seamsight.viewer.log.store import read_log

    log = read_log(folder)
    for line in log.broken:
        print(line, file=sys.stderr)
    for name in log.leftovers:
        print(
            f"{folder / name}: an add that did not finish; ignored (delete it if none is running)",
            file=sys.stderr,
        )
    if not log.entries:
        msg = f"{folder} holds no entry that can be read"
        raise OutputError(msg)
    return log


def _date(text: str) -> datetime.date:
    if not text:
        return datetime.date.today()
    try:
        if not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
            raise ValueError
        return datetime.date.fromisoformat(text)
    except ValueError:
        msg = f"needs a date as 2026-01-31 (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--date") from None


def _text(text: str | None, file: Path | None) -> str:
    if (text is None) == (file is None):
        msg = "give one of both"
        raise typer.BadParameter(msg, param_hint="--text, --text-file")
    if file is not None:
        try:
            text = file.read_text("utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            reason = (
                "it is not UTF-8 text" if isinstance(error, UnicodeDecodeError) else error.strerror
            )
            msg = f"{file} cannot be read: {reason}"
            raise typer.BadParameter(msg, param_hint="--text-file") from error
    if not text or not text.strip():
        msg = "is empty: say what was done or found"
        raise typer.BadParameter(msg, param_hint="--text" if file is None else "--text-file")
    return _clean(text)


def _clean(text: str) -> str:
    """Return text without what is none: a command line and a file's name may hold it."""
    return text.encode("utf-8", "replace").decode()


def _pictures(files: list[Path], captions: list[str]) -> list[tuple[Path, str]]:
    """Return pictures that can be read, each with its caption."""
    from seamsight.scene import FileError
    from seamsight.viewer.log.page import page_picture

    if len(captions) > len(files):
        msg = f"there are more captions than pictures: {len(captions)} and {len(files)}"
        raise typer.BadParameter(msg, param_hint="--caption")
    for file in files:
        try:
            page_picture(file)
        except FileError as error:
            raise typer.BadParameter(str(error), param_hint="--picture") from error
    words = [*captions, *(file.stem for file in files[len(captions) :])]
    return [(file, _clean(line)) for file, line in zip(files, words, strict=True)]
