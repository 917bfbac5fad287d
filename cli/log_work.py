"""The work of `log`: adding entries, listing them, and the whole log as HTML or Markdown."""

import datetime
import re
import sys
from pathlib import Path

import typer

from seamsight.cli import options
from seamsight.cli.arguments import EntryWords, PictureWords, RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.sheet_work import sheet_of
from seamsight.scene import FileError, OutputError, build
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.live.walk_in import walk_in_page
from seamsight.viewer.log.entry import Words, entry_files
from seamsight.viewer.log.page import markdown, page, page_picture
from seamsight.viewer.log.store import (
    SHEET,
    WALK_IN,
    Entry,
    Log,
    last_entry,
    read_log,
    refuse_foreign_folder,
    store,
)


def add_entry(
    folder: Path,
    rig_words: RigWords,
    head_name: str,
    entry: EntryWords,
    pictures: PictureWords,
) -> None:
    """Add an entry to a log."""
    # Refuse what cannot be done before the work begins
    words = Words(
        date=_date(entry.date),
        text=_text(entry.text, entry.text_file),
        pictures=_pictures(pictures),
        keeps_notes=pictures.keep_notes,
        title=_clean(" ".join(entry.title.split())),
    )
    refuse_foreign_folder(folder)

    rig = options.read(rig_words)
    head = options.head(rig, head_name)
    compile_kernels(scene=True)
    with announced("drawing what both eyes see, and measuring"):
        files = entry_files(rig, head, words, last_entry(folder))
        if entry.sheet:
            files[SHEET] = sheet_of(rig, head).encode("utf-8", "replace")
        if entry.walk_in:
            files[WALK_IN] = walk_in_page([build(rig)])
    print(store(folder, words.date, files))
    if entry.walk_in:
        print(f"{WALK_IN}: {_megabytes(files[WALK_IN])}", file=sys.stderr)


def print_entries(folder: Path, *, as_json: bool) -> None:
    """Print a log's entries, oldest first."""
    log = _read(folder)
    if as_json:
        print_json([_facts(entry) for entry in log.entries])
        return
    for entry in log.entries:
        own = len(entry.facts.pictures)
        count = {0: "", 1: "  (1 picture)"}.get(own, f"  ({own} pictures)")
        print(f"{entry.name}  {entry.title}{count}")


def write_page(folder: Path, out: Path, *, force: bool) -> None:
    """Write a log as one HTML file."""
    log = _read_for(folder, out, (".html", ".htm"), "PAGE", force=force)
    with announced("writing the page"):
        text, broken = page(log.entries, log.broken)
    for line in broken:
        print(line, file=sys.stderr)
    content = text.encode("utf-8", "replace")
    write_whole(out, content)
    print(out)
    if any(entry.has(WALK_IN) for entry in log.entries):
        print(f"{out.name}: {_megabytes(content)}", file=sys.stderr)


def write_markdown(folder: Path, out: Path, *, force: bool) -> None:
    """Write a log as Markdown."""
    log = _read_for(folder, out, (".md",), "TEXT", force=force)
    write_whole(out, markdown(log.entries, out).encode("utf-8", "replace"))
    print(out)


def _megabytes(content: bytes) -> str:
    return f"{len(content) / 1e6:.1f} MB"


def _read_for(
    folder: Path, out: Path, endings: tuple[str, ...], option: str, *, force: bool
) -> Log:
    """Return a log to be written into a file, after a look whether that may be."""
    options.require_ending(out, endings, option)
    refuse_to_overwrite(out, force)
    return _read(folder)


def _read(folder: Path) -> Log:
    """Return a log; print what in it is broken, or was left unfinished."""
    log = read_log(folder)
    lines = [
        f"{folder / name}: unfinished entry, ignored (`log add` deletes it when an hour has passed)"
        for name in log.leftovers
    ]
    for line in (*log.broken, *lines):
        print(line, file=sys.stderr)
    if not log.entries:
        msg = f"{folder} has no entry that can be read"
        raise OutputError(msg)
    return log


def _facts(entry: Entry) -> dict[str, object]:
    """Return an entry's line of the list as JSON."""
    return {
        "entry": entry.name,
        "date": str(entry.facts.date),
        "title": entry.title,
        "rig": entry.facts.rig_name,
        "head": entry.facts.head,
        "pictures": len(entry.facts.pictures),
        "folder": str(entry.folder),
    }


def _date(text: str) -> datetime.date:
    if not text:
        return datetime.date.today()
    try:
        if not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
            raise ValueError
        return datetime.date.fromisoformat(text)
    except ValueError:
        msg = f"needs a date such as 2026-01-31 (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--date") from None


def _text(text: str | None, file: Path | None) -> str:
    """Return the builder's words, from one of both."""
    if (text is None) == (file is None):
        msg = "give either --text or --text-file"
        raise typer.BadParameter(msg, param_hint="--text, --text-file")
    words = text or "" if file is None else _text_of(file)
    if not words.strip():
        msg = "is empty: say what was done or found"
        raise typer.BadParameter(msg, param_hint="--text" if file is None else "--text-file")
    return _clean(words)


def _text_of(file: Path) -> str:
    try:
        return file.read_text("utf-8-sig")
    except OSError as error:
        reason = error.strerror
        cause: Exception = error
    except UnicodeDecodeError as error:
        reason = "it is not UTF-8 text"
        cause = error
    msg = f"{file} cannot be read: {reason}"
    raise typer.BadParameter(msg, param_hint="--text-file") from cause


def _clean(text: str) -> str:
    """Return text without bytes that are no text: a command line and a file name may have some."""
    return text.encode("utf-8", "replace").decode()


def _pictures(words: PictureWords) -> list[tuple[Path, str]]:
    """Return pictures that can be read, each with its caption, or else its file's name."""
    files, captions, _ = words
    if len(captions) > len(files):
        msg = f"there are more captions than pictures: {len(captions)} and {len(files)}"
        raise typer.BadParameter(msg, param_hint="--caption")
    for file in files:
        try:
            page_picture(file)
        except FileError as error:
            raise typer.BadParameter(str(error), param_hint="--picture") from error
    lines = [*captions, *(file.stem for file in files[len(captions) :])]
    return [(file, _clean(line)) for file, line in zip(files, lines, strict=True)]
