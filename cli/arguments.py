"""Arguments and options that commands share, and words that go together. Imports nothing heavy."""

from pathlib import Path
from typing import Annotated, NamedTuple

import typer

RigFile = Annotated[
    Path, typer.Argument(metavar="RIG", help="rig file (TOML); `seamsight samples` lists some")
]
Sets = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="PATH=VALUE",
        help="use this value instead of the file's, such as outside.lens.distance=180; may be "
        "given again",
    ),
]
HeadName = Annotated[
    str, typer.Option("--head", metavar="NAME", help="head position named in the rig")
]
HeadNames = Annotated[
    list[str] | None,
    typer.Option(
        "--head",
        metavar="NAME",
        help="head position named in the rig; may be given again (default: all)",
    ),
]
Offset = Annotated[
    str,
    typer.Option(
        metavar="X,Y,Z", help="move the head right, forward and up, mm, from the head position"
    ),
]
Turn = Annotated[
    float | None,
    typer.Option(help="turn the head right, degrees; replaces the head position's own turn"),
]
Nod = Annotated[
    float | None,
    typer.Option(help="nod the head up, degrees; replaces the head position's own nod"),
]
Tilt = Annotated[
    float | None,
    typer.Option(
        help="tilt the head to the right shoulder, degrees; replaces the head position's own tilt"
    ),
]
Hide = Annotated[
    list[str] | None,
    typer.Option(
        metavar="ROLE",
        help="no bezel, bracket or frame may be seen between images; may be given again",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="print one JSON object instead of text")]
Force = Annotated[bool, typer.Option("--force", help="overwrite an existing file")]
Degrees = float | None
Out = Annotated[Path, typer.Argument(metavar="PICTURE", help="PNG file to write")]
WithoutLenses = Annotated[bool, typer.Option("--without-lenses", help="leave all lenses out")]
Size = Annotated[str, typer.Option(metavar="WxH", help="pixels of each picture")]
Field = Annotated[
    Degrees, typer.Option(help="horizontal field of view, degrees (default: all screens)")
]
Aim = Annotated[
    str,
    typer.Option(
        metavar="AZ,EL",
        help="direction of the picture's centre, degrees right and up (default: the screens' "
        "middle)",
    ),
]


class RigWords(NamedTuple):
    """Which rig, and which of its values are others: "PATH=VALUE" each."""

    file: Path
    sets: tuple[str, ...] = ()


def rig_words(file: Path, sets: list[str] | None) -> RigWords:
    """Return the words of a command that takes a rig file and `--set`."""
    return RigWords(file, tuple(sets or ()))


class HeadWords(NamedTuple):
    """Which head position, and how the head is moved from there; see `picture`."""

    name: str
    offset: str
    turn: float | None
    nod: float | None
    tilt: float | None


class FrameWords(NamedTuple):
    """Which directions a picture shows, and how finely."""

    kind: str
    size: str
    field: float | None
    aim: str
    samples: int


class CheckWords(NamedTuple):
    """How much `check` prints, and how."""

    everything: bool
    full_cautions: bool
    as_json: bool
    strict: bool


class HeadBoxWords(NamedTuple):
    """From which head, and what must hold as it moves; see `head-box`."""

    head: str
    seen: float
    whole: bool
    hide: tuple[str, ...]


class HeadMapWords(NamedTuple):
    """From which head positions to look, and what should be seen; see `head-map`."""

    head: str
    reach: str
    step: float
    turns: str
    seen: float
    scheduler: str | None


class HiddenWords(NamedTuple):
    """From which head positions to look, and how closely; see `hidden`."""

    head: str
    reach: str
    turn: float
    step: float
    all_heads: bool


class LensesWords(NamedTuple):
    """Which lenses to try, in front of what, and from which head; see `lenses`."""

    sizes: str
    focal_lengths: str
    name: str | None
    distance: str
    head: str


class CutListWords(NamedTuple):
    """On which sheets to lay boards, through which door, and what to write; see `cut-list`."""

    sheets: tuple[str, ...]
    kerfs: tuple[str, ...]
    layouts: tuple[Path, ...]
    door: str | None
    table: Path | None


class ExactWords(NamedTuple):
    """From which head, how many builds to try, and how many should be right; see `exact`."""

    head: str
    builds: int
    wanted: float


class PanelWords(NamedTuple):
    """Which screen to draw with its holes, and the files to write; see `panel`."""

    screen: str | None
    picture: Path | None
    mask: Path | None


class SunWords(NamedTuple):
    """Where the sun stands, or when and where, and which way the pilot faces; see `sun`."""

    azimuth: float | None
    elevation: float | None
    place: str | None
    date: str | None
    facing: float | None


class ChooseWords(NamedTuple):
    """What may change, for what, and within which limits; see `choose`."""

    goals: list[str]
    frees: list[str]
    head: str
    at: list[str]
    seen: float
    hide: tuple[str, ...]
    limits: dict[str, str | float | None]
    pick: int | None


class SwayWords(NamedTuple):
    """How a head moves, and what should be seen; see `sway`."""

    head: str
    by: str
    path: Path | None
    seen: float


class CompareWords(NamedTuple):
    """What to compare, and which eyes' views to draw; see `compare`."""

    rigs: list[RigWords]
    sets: list[str]
    tries: list[str]
    heads: list[str]
    lenses: str
    lens_models: bool
    eye: str | None
    size: str
    photo: Path | None
    matches: list[str]


class MeasureWords(NamedTuple):
    """A builder's measures, None for those not given; see `start`."""

    screens: str | None
    diagonal: str | None
    aspect: str | None
    pixels: str | None
    bezel: str | None
    lens: str | None
    focal_length: str | None
    eye_height: str | None


class PictureWords(NamedTuple):
    """Photos for a log's entry, and their captions; see `log add`."""

    files: list[Path]
    captions: list[str]
    keep_notes: bool


class EntryWords(NamedTuple):
    """What a log's entry says, and which pages are stored with it; see `log add`."""

    date: str
    title: str
    text: str | None
    text_file: Path | None
    sheet: bool
    walk_in: bool
