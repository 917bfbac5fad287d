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


def size_between(least: float, most: float, example: str) -> Callable[[str], tuple[float, float]]:
    """Return what reads two lengths from "576 x 324 mm": a unit at the end holds for both."""
    read = length_between(least, most)

    def read_both(word: str) -> tuple[float, float]:
        sides = [side.strip() for side in re.split("[x×]", word)]
        if len(sides) != 2:
            msg = f"needs two lengths such as {example} (got {word!r})"
            raise typer.BadParameter(msg)
        unit = re.search(r"[a-z\"]+$", sides[1])
        if unit and re.fullmatch(r"[\d./ ]+", sides[0]):
            sides[0] += f" {unit[0]}"
        return read(sides[0]), read(sides[1])

    return read_both


lens_size = size_between(50, 5000, "576 x 324 mm")
