"""Words around a picture: its caption, and what its file stores of where it comes from."""

import json
import shlex
from collections.abc import Mapping, Sequence
from pathlib import Path

from seamsight.scene.rig import Head, Rig
from seamsight.viewer.eye import EYE_WORDS
from seamsight.viewer.projection import Projection

Options = Mapping[str, str | bool | Sequence[str]]

SUBJECTS = {
    **EYE_WORDS,
    "overlap": "which eyes see each place of the screens",
    "seam": "seam",
}
"""What each kind of picture is called."""

BRIGHTER = 4
"""How many times as bright pictures of a dark room show what does not shine: a screen's glow on
parts is often too dim for a picture, though not for eyes that got used to the dark."""

_WAYS = (("left", "right"), ("back", "forward"), ("down", "up"))
_TURNS = (("turn left", "turn right"), ("nod down", "nod up"), ("tilt left", "tilt right"))


def way_words(by: Sequence[float]) -> list[str]:
    """Return how far and which way something goes, right, forward and up, as "5 mm left" each."""
    return [
        f"{abs(value):g} mm {way[value > 0]}" for value, way in zip(by, _WAYS, strict=True) if value
    ]


def head_words(head: Head) -> str:
    """Return a head as text: its name, where it is from the design eye point, how it is turned."""
    moved = way_words(head.offset)
    turned = [
        f"{way[value > 0]} {abs(value):.4g}°"
        for value, way in zip((head.turn, head.nod, head.tilt), _TURNS, strict=True)
        if value
    ]
    where = ", ".join(moved + turned) or "at the design eye point, facing straight ahead"
    return f"{head.name}: {where}"


def caption(
    rig: Rig, head: Head, subject: str = "", *, lenses: bool = True, room: str = "lit"
) -> str:
    """Return a picture's caption.

    Parameters
    ----------
    rig : Rig
    head : Head
    subject : str
        A key of `SUBJECTS`; nothing is said of it if left out.
    lenses : bool
        Whether they are in their places.
    room : str
        "lit" or "dark".
    """
    words = [rig.name, *change_words(rig), head_words(head)]
    if subject:
        words.insert(len(words) - 1, SUBJECTS[subject])
    if not lenses:
        words.append("lenses left out")
    if room == "dark":
        words.append(f"dark room, what does not shine {BRIGHTER} × as bright")
    return " · ".join(words)


def change_words(rig: Rig) -> list[str]:
    """Return what counts instead of the rig file's values, as "outside.radius=650" each."""
    return [
        f"{path}={value if isinstance(value, str) else json.dumps(value)}"
        for path, value in rig.changes.items()
    ]


def facts_of(rig: Rig, head: Head, command: str | None = None) -> dict[str, str]:
    """Return what a picture's file stores of where it comes from; see `png`."""
    facts = {"Title": rig.name, "Rig": str(rig.file), "Head": head_words(head)}
    return facts if command is None else {**facts, "Command": command}


def picture_command(
    rig: Rig,
    out: Path,
    eye: str,
    named: Head,
    head: Head,
    projection: Projection,
    *,
    lenses: bool = True,
    room: str = "lit",
) -> str:
    """Return the command that makes a picture of what is seen again, every choice written out.

    Parameters
    ----------
    rig : Rig
    out : Path
        The picture's file.
    eye : str
        "left", "right", "mid" or "both".
    named : Head
        A head of the rig.
    head : Head
        Where that head was moved to.
    projection : Projection
    lenses : bool
        Whether they are in their places.
    room : str
        "lit" or "dark".
    """
    by = [after - before for after, before in zip(head.offset, named.offset, strict=True)]

    # Long figures, so that the very same picture comes again
    options: Options = {
        "eye": eye,
        "head": named.name,
        "offset": ",".join(f"{value:.12g}" for value in by),
        "turn": f"{head.turn:.12g}",
        "nod": f"{head.nod:.12g}",
        "tilt": f"{head.tilt:.12g}",
        "projection": projection.kind,
        "size": f"{projection.width}x{projection.height}",
        **direction_options(projection),
        "samples": str(projection.samples),
        "room": room if room != "lit" else (),
        "without-lenses": not lenses,
    }
    return command_line("picture", rig, out, options)


def direction_options(projection: Projection) -> dict[str, str]:
    """Return the options that say which directions a picture shows."""
    return {
        "field": repr(projection.field),
        "aim": f"{projection.azimuth!r},{projection.elevation!r}",
    }


def command_line(command: str, rig: Rig, out: Path | None, options: Options) -> str:
    """Return a command as one would type it, with what counts instead of the file's values.

    Parameters
    ----------
    command : str
    rig : Rig
    out : Path, optional
        The file it writes, where that is no option.
    options : mapping
        Name to value; True for an option without one, several values for one that is given again.
    """
    words = ["seamsight", command, str(rig.file), *([str(out)] if out else [])]
    for name, value in ({"set": change_words(rig)} | dict(options)).items():
        if isinstance(value, bool):
            words += [f"--{name}"] * value
        else:
            values = [value] if isinstance(value, str) else value
            words += [f"--{name}={one}" for one in values]
    return shlex.join(words)
