"""A build log as one HTML file that needs nothing else, or as Markdown beside the log's folder."""

import base64
import io
import itertools
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import TypeVar
from urllib.parse import quote

from jinja2 import Environment, StrictUndefined
from markdown_it import MarkdownIt
from markupsafe import Markup
from PIL import Image, ImageOps

from seamsight.scene.errors import FileError, OutputError
from seamsight.scene.files import opened_picture
from seamsight.viewer.log.store import SHEET, WALK_IN, Entry, broken_line, changed_lines
from seamsight.viewer.log.walk_ins import held_walk_ins, walk_in_text
from seamsight.viewer.numbers.changes import ALL, Row, side_by_side, value_words

LONGEST = 1600  # pixels of a picture's longer side in the page
LINKS = ("https://", "http://", "mailto:", "#")  # how they may start
_TEMPLATE = "page.html.jinja"
_PAGES = {SHEET: "The sheet to print", WALK_IN: "The rig to walk in"}
_VERDICTS = {"better": "better", "worse": "worse", "other": "changed"}


@dataclass(frozen=True)
class Shown:
    """A picture in the page: data URI, pixels, and what it is in words."""

    uri: str
    width: int
    height: int
    words: str


@dataclass(frozen=True)
class Pair:
    """Two pictures of one size, one over the other, and what each is."""

    what: str
    before: Shown
    after: Shown


@dataclass(frozen=True)
class Change:
    """A number that has changed; `better` is "better", "worse" or "changed"."""

    where: str
    what: str
    before: str
    after: str
    better: str


Placed = TypeVar("Placed", Row, Change)


def page_picture(path: Path, words: str = "") -> Shown:
    """Return a picture as the page holds it: upright, at most 1600 pixels long, as JPEG.

    What a camera noted in it is left out.

    Raises
    ------
    FileError
        When it is not a picture that can be read.
    """
    with opened_picture(path) as image:
        image.draft("RGB", (LONGEST, LONGEST))  # a JPEG is read at no more than it needs
        upright = _on_white(ImageOps.exif_transpose(image))
    upright.thumbnail((LONGEST, LONGEST))
    stream = io.BytesIO()
    upright.save(stream, "JPEG", quality=85, subsampling=0, optimize=True)
    uri = f"data:image/jpeg;base64,{base64.b64encode(stream.getvalue()).decode()}"
    return Shown(uri, upright.width, upright.height, words)


def page(entries: Sequence[Entry], broken: Sequence[str]) -> tuple[str, list[str]]:
    """Return a log as one HTML file, and a line for each entry left out of it.

    Left out is an entry of which a picture cannot be read.

    Parameters
    ----------
    entries : sequence of Entry
    broken : sequence of str
        Lines about entries that are left out already; the page says them too.

    Raises
    ------
    OutputError
        When no entry can be shown.
    """
    # Read the pictures, and hold each entry against the last one shown
    shown: list[dict[str, object]] = []
    lines: list[str] = []
    last: _Drawn | None = None
    walk_ins = held_walk_ins(entries)
    for entry in entries:
        try:
            drawn = _drawn(entry)
            walk_in = walk_in_text(entry) if entry.name in walk_ins else ""
            shown.append(_context(last, drawn) | {"walk_in": walk_in})
            last = drawn
        except FileError as error:
            lines.append(broken_line(entry.folder, error))
    if last is None:
        raise OutputError("\n".join(lines))

    # Fill in the template
    template = resources.files("seamsight.viewer.log") / _TEMPLATE
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    text = environment.from_string(template.read_text("utf-8")).render(
        title=f"Build log: {last.entry.facts.rig_name}",
        entries=shown,
        cautions=_cautions(entries),
        broken=[*broken, *lines],
    )
    return text, lines


def markdown(entries: Sequence[Entry], out: Path) -> str:
    """Return a log as Markdown, its pictures shown out of the log as seen from a file's folder.

    Raises
    ------
    OutputError
        When no relative path leads there, as between drives.
    """
    lines = [f"# Build log: {_escaped(entries[-1].facts.rig_name)}", "", "## Cautions", ""]
    lines += [f"- {_escaped(caution)}" for caution in _cautions(entries)]

    last: Entry | None = None
    for entry in entries:
        lines += ["", f"## {entry.facts.date}: {_escaped(entry.title)}", ""]
        lines += [_closed(entry.facts.text.strip()), ""]
        lines += [f"Head position {_escaped(entry.facts.head_words)}.", ""]
        lines += [f"!{_link(path, words, out)}" for path, words in _all_pictures(entry)]
        lines += [
            _link(entry.folder / name, words, out)
            for name, words in _PAGES.items()
            if entry.has(name)
        ]
        if last:
            lines += _changes_table(_changes(last, entry))
        last = entry
    return "\n".join(lines).rstrip() + "\n"


def _closed(text: str) -> str:
    """Return Markdown with its last code fence closed; an open one takes in all that follows."""
    fences = re.findall(r"^ {0,3}(`{3,}|~{3,})", text, re.MULTILINE)
    return f"{text}\n{fences[-1]}" if len(fences) % 2 else text


def _changes_table(changes: Sequence[Change]) -> list[str]:
    """Return changes as a table in Markdown."""
    if not changes:
        return ["", "No number changed."]
    rows = [
        (change.where, change.what, change.before, change.after, change.better)
        for change in changes
    ]
    heading = ["", "| where | what | before | now | verdict |", "| --- | --- | ---: | ---: | --- |"]
    return heading + [f"| {' | '.join(map(_escaped, row))} |" for row in rows]


@dataclass(frozen=True, eq=False)
class _Drawn:
    """An entry with what each eye sees in it, with lenses and, where there are any, without."""

    entry: Entry
    eyes: dict[str, Shown]
    bare: dict[str, Shown]


def _drawn(entry: Entry) -> _Drawn:
    """Return an entry with its eyes' pictures as the page holds them.

    Raises
    ------
    FileError
        When one cannot be read.
    """
    if not entry.facts.lenses:
        return _Drawn(entry, _eye_pictures(entry, ""), {})
    eyes = _eye_pictures(entry, " with lenses")
    return _Drawn(entry, eyes, _eye_pictures(entry, " without lenses", lenses=False))


def _eye_pictures(entry: Entry, within: str, *, lenses: bool = True) -> dict[str, Shown]:
    """Return what both eyes see, by eye."""
    return {
        eye: page_picture(
            entry.eye_picture(eye, lenses=lenses),
            f"What the {eye} eye sees{within}, {entry.facts.date}",
        )
        for eye in ("left", "right")
    }


def _context(last: _Drawn | None, drawn: _Drawn) -> dict[str, object]:
    """Return what the template needs of an entry."""
    entry = drawn.entry
    facts = entry.facts
    context: dict[str, object] = {
        "name": entry.name,
        "date": facts.date,
        "title": entry.title,
        "text": _html(facts.text),
        "head": facts.head_words,
        "walk_in_file": f"{entry.name}/{WALK_IN}" if entry.has(WALK_IN) else "",
        "rig": facts.rig_name,
        "photos": [page_picture(entry.folder / own.file, own.caption) for own in facts.pictures],
        "eyes": [] if drawn.bare else list(drawn.eyes.values()),
        "lenses": _pairs(drawn.bare, drawn.eyes),
        "numbers": [
            (where, [(row.what, value_words(row, 0)) for row in rows])
            for where, rows in _by_place(side_by_side([entry.numbers]))
        ],
    }
    if last is None:
        return context | {"last": None, "older": [], "changes": [], "lines": []}

    # Pictures can be laid over each other where they show the same directions
    alike = last.entry.facts.directions == facts.directions
    pairs = _pairs(last.eyes, drawn.eyes) if alike else []
    return context | {
        "last": {"name": last.entry.name, "head": last.entry.facts.head_words},
        "older": [pair for pair in pairs if pair.before.uri != pair.after.uri],
        "changes": _change_tables(_changes(last.entry, entry)),
        "lines": changed_lines(last.entry, entry),
    }


def _pairs(before: dict[str, Shown], after: dict[str, Shown]) -> list[Pair]:
    return [Pair(f"{eye} eye", picture, after[eye]) for eye, picture in before.items()]


def _changes(last: Entry, entry: Entry) -> list[Change]:
    rows = side_by_side([last.numbers, entry.numbers])
    return [_change(row) for row in rows if row.differs]


def _change_tables(changes: Sequence[Change]) -> list[tuple[str, list[tuple[str, list[Change]]]]]:
    """Return changes by place, in two parts: those of all screens, and the others.

    Each is a line that opens it, "" where it is in sight, and rows by place.
    """
    of_all = [change for change in changes if change.where == ALL]
    others = [change for change in changes if change.where != ALL]
    summary = f"Screen by screen and seam by seam: {len(others)} numbers changed" if of_all else ""
    return [(text, _by_place(rows)) for text, rows in (("", of_all), (summary, others)) if rows]


def _by_place(rows: Sequence[Placed]) -> list[tuple[str, list[Placed]]]:
    return [
        (where, list(group)) for where, group in itertools.groupby(rows, key=lambda row: row.where)
    ]


def _change(row: Row) -> Change:
    return Change(
        row.where, row.what, value_words(row, 0), value_words(row, 1), _VERDICTS[row.verdicts[1]]
    )


def _cautions(entries: Sequence[Entry]) -> list[str]:
    """Return every caution once, those of the newest rig first."""
    return list(
        dict.fromkeys(caution for entry in reversed(entries) for caution in entry.facts.cautions)
    )


def _html(text: str) -> Markup:
    """Return Markdown as HTML.

    Tags in it stay text, and pictures, which could be fetched from outside, are none. Links lead
    to the web only: a path on the builder's disk is none to others, and one to a server's share
    would tell it who opens the page.
    """
    markdown_it = MarkdownIt("commonmark", {"html": False}).enable("table").disable("image")
    markdown_it.validateLink = lambda url: url.startswith(LINKS)  # type: ignore[method-assign]
    return Markup(markdown_it.render(text))


def _on_white(image: Image.Image) -> Image.Image:
    if image.mode == "RGB":
        return image.copy()
    if image.mode == "CMYK":
        return image.convert("RGB")
    clear = image.convert("RGBA")
    return Image.alpha_composite(Image.new("RGBA", clear.size, "white"), clear).convert("RGB")


def _all_pictures(entry: Entry) -> list[tuple[Path, str]]:
    """Return an entry's pictures and what they are: the builder's, then what each eye sees."""
    found = [(entry.folder / own.file, own.caption) for own in entry.facts.pictures]
    for lenses in (False, True) if entry.facts.lenses else (True,):
        within = "" if not entry.facts.lenses else ", with lenses" if lenses else ", without lenses"
        found += [
            (entry.eye_picture(eye, lenses=lenses), f"{eye} eye{within}")
            for eye in ("left", "right")
        ]
    return found


def _link(path: Path, words: str, out: Path) -> str:
    try:
        way = os.path.relpath(path.resolve(), out.resolve().parent)
    except ValueError as error:
        msg = f"{out} cannot link to the log's files: it is on another drive"
        raise OutputError(msg) from error
    return f"[{_escaped(words)}]({quote(Path(way).as_posix())})\n"


def _escaped(text: str) -> str:
    """Return text in one line that Markdown shows as it is."""
    return re.sub(r"([\\`*_{}\[\]<>#|!&~])", r"\\\1", " ".join(text.split()))
