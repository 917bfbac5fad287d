"""Lengths as words of a command line. Wrong words end in `typer.BadParameter`."""

import re
from collections.abc import Callable

import typer

from seamsight.scene.units import millimetres


def length_between(least: float, most: float) -> Callable[[str], float]:
    """Return what reads a length between two, mm."""

    def read(word: str) -> float:
        try:
            length = float(millimetres(word))
        except ValueError as error:
            msg = f"{error} (got {word!r})"
            raise typer.BadParameter(msg) from error
        if not least <= length <= most:
            msg = f"must be from {least:g} to {most:g} mm (got {word!r}, {length:g} mm)"
            raise typer.BadParameter(msg)
        return length

    return read


def lens_size(word: str) -> tuple[float, float]:
    """Return width and height from "576 x 324 mm": a unit at the end holds for both."""
    sides = [side.strip() for side in re.split("[x×]", word)]
    if len(sides) != 2:
        msg = f"needs width and height such as 576 x 324 mm (got {word!r})"
        raise typer.BadParameter(msg)
    unit = re.search(r"[a-z\"]+$", sides[1])
    if unit and re.fullmatch(r"[\d./ ]+", sides[0]):
        sides[0] += f" {unit[0]}"
    width, height = (length_between(50, 5000)(side) for side in sides)
    return width, height
