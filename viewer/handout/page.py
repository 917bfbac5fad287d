"""A sheet as one HTML file that needs nothing else and prints well: sections, one by one.

A section has sentences, tables and pictures. This module only lays them out; what is in them comes
from whoever asks for a sheet.
"""

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from typing import NamedTuple

from jinja2 import Environment, StrictUndefined
from PIL import Image

POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
"""The file's content security policy: no script runs, and nothing is fetched."""

LONGEST_WHOLE = 16  # letters of a word that is never broken

_TEMPLATE = "page.html.jinja"
_QUALITY = 88  # of JPEG


@dataclass(frozen=True)
class SheetTable:
    """A table: its headings, the first that of the names, and rows that begin with a name.

    Where `worded`, the last column has words, else numbers as the others.
    """

    title: str
    headings: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    worded: bool = False


class Figure(NamedTuple):
    """A picture, and what it shows in words."""

    picture: Image.Image
    words: str


@dataclass(frozen=True, eq=False)
class Section:
    """A part of a sheet.

    Attributes
    ----------
    title : str
    sentences : sequence of str
        A list above tables and pictures, which follow in this order.
    tables : sequence of SheetTable
    figures : sequence of Figure
    warns : bool
        Whether it is about danger, and stands out.
    """

    title: str
    sentences: Sequence[str] = ()
    tables: Sequence[SheetTable] = ()
    figures: Sequence[Figure] = ()
    warns: bool = False


def sheet_page(title: str, about: Sequence[str], sections: Sequence[Section]) -> str:
    """Return a sheet as the text of an HTML file.

    Parameters
    ----------
    title : str
    about : sequence of str
        Lines below it: which rig, from where, made when.
    sections : sequence of Section
    """
    template = resources.files("seamsight.viewer.handout") / _TEMPLATE
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["data_uri"] = _data_uri
    environment.tests["long"] = _is_long
    return environment.from_string(template.read_text("utf-8")).render(
        title=title, about=about, sections=sections, policy=POLICY
    )


def _is_long(text: str) -> bool:
    """Return whether a text has a word that must be broken to fit a column; no number is one."""
    return any(len(word) > LONGEST_WHOLE for word in text.split())


def _data_uri(picture: Image.Image) -> str:
    stream = io.BytesIO()
    picture.convert("RGB").save(stream, "JPEG", quality=_QUALITY, subsampling=0, optimize=True)
    return f"data:image/jpeg;base64,{base64.b64encode(stream.getvalue()).decode()}"
