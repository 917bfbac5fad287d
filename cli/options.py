"""From a command line's words to values. Wrong words end in `typer.BadParameter`."""

import dataclasses
import itertools
import math
import tomllib
from collections.abc import Collection, Iterable
from pathlib import Path
from typing import Any

import typer

from seamsight.cli.arguments import FrameWords, HeadWords, RigWords
from seamsight.scene import Assembly, ChoiceError, Head, Rig, build, read_rig
from seamsight.scene.frames import Array, direction_at
from seamsight.viewer.eye import Eyes, head_named
from seamsight.viewer.pictures.framing import along_the_face, framed_on_screens
from seamsight.viewer.pictures.photo import Match, corner_direction
from seamsight.viewer.projection import LARGEST, Projection
from seamsight.viewer.workshop.tiles import PAPERS


def read(words: RigWords) -> Rig:
    """Return the rig of a file, with some values set."""
    changes = dict(change(text) for text in words.sets)
    try:
        return read_rig(words.file, changes)
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--set") from error


def change(text: str, option: str = "--set") -> tuple[str, Any]:
    """Return a path and a value from "PATH=VALUE"; what is no TOML value is text."""
    path, sign, value = (word.strip() for word in text.partition("="))
    if not (path and sign and value):
        msg = f"needs PATH=VALUE, such as outside.lens.distance=180 (got {text!r})"
        raise typer.BadParameter(msg, param_hint=option)
    try:
        return path, tomllib.loads(f"value = {value}")["value"]
    except ValueError:
        return path, value


def with_outside_view(rig: Rig) -> Assembly:
    """Return a rig in its place, one that has a screen of the outside view."""
    assembly = build(rig)
    if not assembly.outside_screens:
        msg = "this rig has no screen of the outside view"
        raise typer.BadParameter(msg, param_hint="RIG")
    return assembly


def head(rig: Rig, name: str) -> Head:
    """Return a rig's head by name."""
    try:
        return head_named(rig, name)
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--head") from error


def moved(named: Head, words: HeadWords) -> Head:
    """Return a head moved by an offset "X,Y,Z", with those angles that are given."""
    by = numbers(words.offset, 3, "--offset")
    angles = {"turn": words.turn, "nod": words.nod, "tilt": words.tilt}
    fields = named.model_dump()
    fields |= {key: value for key, value in angles.items() if value is not None}
    fields["offset"] = [start + step for start, step in zip(named.offset, by, strict=True)]
    try:
        return Head.model_validate(fields)
    except ValueError as error:
        msg = "head position out of range: offsets up to 100 m, angles up to 360 degrees"
        raise typer.BadParameter(msg, param_hint="--offset, --turn, --nod, --tilt") from error


def projection(assembly: Assembly, eyes: Eyes, words: FrameWords) -> Projection:
    """Return the projection asked for; what is left out shows all screens, or follows the face."""
    width, height = size(words.size)
    try:
        if words.kind == "equirectangular":
            usual = framed_on_screens(assembly, eyes, width, height, words.samples)
        else:
            usual = along_the_face(eyes, width, height, words.samples)

        azimuth, elevation = usual.azimuth, usual.elevation
        if words.aim:
            azimuth, elevation = numbers(words.aim, 2, "--aim")
        field = usual.field if words.field is None else words.field
        return dataclasses.replace(usual, field=field, azimuth=azimuth, elevation=elevation)
    except ChoiceError as error:
        raise typer.BadParameter(str(error), param_hint="--size, --field, --aim") from error


def size(text: str, least: tuple[int, int] = (1, 1), most: int = LARGEST) -> tuple[int, int]:
    """Return width and height from "WxH", pixels."""
    width, height = (_pixels(side) for side in text.partition("x")[::2])
    if not (least[0] <= width <= most and least[1] <= height <= most):
        allowed = f"from {least[0]}x{least[1]} to {most}x{most}"
        msg = f"needs width and height such as 1600x700, {allowed} (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--size")
    return width, height


def require_paper(paper: str) -> None:
    """Refuse what is no size of paper."""
    require_one_of(paper, PAPERS, "--paper")


def require_roles(roles: Iterable[str]) -> None:
    """Refuse roles of parts that cannot be asked to be hidden."""
    for role in roles:
        require_one_of(role, ("bezel", "bracket", "frame"), "--hide")


def require_one_of(word: str, words: Collection[str], option: str) -> None:
    """Refuse a word that is not one of some."""
    if word not in words:
        msg = f"must be {_either(words)} (got {word!r})"
        raise typer.BadParameter(msg, param_hint=option)


def require_ending(file: Path, endings: tuple[str, ...], option: str) -> str:
    """Return the ending of a file to write, in small letters; it must be one of some."""
    ending = file.suffix.lower()
    if ending not in endings:
        msg = f"must end in {_either(endings)} (got {file.name})"
        raise typer.BadParameter(msg, param_hint=option)
    return ending


def screen_pair(assembly: Assembly, between: str) -> tuple[str, str]:
    """Return the names of two screens from "A,B"."""
    names = [screen.name for screen in assembly.screens]
    for pair in itertools.permutations(names, 2):  # a name may contain a comma
        if ",".join(pair) == between:
            return pair
    msg = f"needs two screens as A,B; screens are {', '.join(names) or 'none'} (got {between!r})"
    raise typer.BadParameter(msg, param_hint="--between")


def match(text: str, assembly: Assembly, eye: Array) -> Match:
    """Return a matched point from "X,Y=AZ,EL" or "X,Y=SCREEN top left".

    Raises
    ------
    ChoiceError
        When there is no such screen or corner.
    PoseError
        When the eye (3,) is beside or behind it.
    """
    left, _, right = text.partition("=")
    pixel = _floats(left, 2)
    angles = _floats(right, 2)
    screen, *corner = right.strip().rsplit(maxsplit=2) or [""]
    is_place = abs(angles[1]) <= 90 if angles else len(corner) == 2
    if pixel is None or not is_place:
        msg = f"needs X,Y=AZ,EL or X,Y=SCREEN top left (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--match")

    if angles:
        azimuth, elevation = map(math.radians, angles)
        direction = direction_at(azimuth, elevation)
    else:
        direction = corner_direction(assembly, eye, screen, " ".join(corner))
    return Match((pixel[0], pixel[1]), direction)


def numbers(text: str, count: int | None, option: str) -> tuple[float, ...]:
    """Return so many numbers with commas between them; any number of them if not told."""
    values = _floats(text, count or text.count(",") + 1)
    if values is None:
        msg = f"needs {count or 'some'} numbers separated by commas (got {text!r})"
        raise typer.BadParameter(msg, param_hint=option)
    return values


def _either(words: Iterable[str]) -> str:
    """Return words as "a, b or c"."""
    *others, last = words
    return f"{', '.join(others)} or {last}" if others else last


def _floats(text: str, count: int) -> tuple[float, ...] | None:
    """Return so many numbers with commas between them, None where the text is no such thing."""
    try:
        values = tuple(float(word) for word in text.split(","))
    except ValueError:
        return None
    return values if len(values) == count and all(map(math.isfinite, values)) else None


def _pixels(text: str) -> int:
    """Return a whole number of pixels, 0 where the text is none."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 6 else 0
