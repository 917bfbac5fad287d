"""A head that moves: for which share of the time an eye sees too little of the outside view."""

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import FileError
from seamsight.scene.frames import Array
from seamsight.scene.rig import Head
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.sweep import seen_shares

COLUMNS = ("time", "x", "y", "z", "turn", "nod", "tilt")
MOST_ROWS = 100_000
MOST_BYTES = 32 << 20
SWAY_SECONDS = 60.0
SWAY_STEPS = 600
# turns a minute of three slow movements that do not fall in with each other (our choice)
_SWAY_RATES = np.array([11.0, 7.0, 17.0])


@dataclass(frozen=True, eq=False)
class Movement:
    """Where a head is over some time.

    Attributes
    ----------
    times : (n,) float64
        Seconds, rising.
    places : (n, 6) float64
        From a head position: right, forward, up, mm; turned right, nodded up, tilted right,
        degrees.
    """

    times: Array
    places: Array


@dataclass(frozen=True)
class Loss:
    """What is lost of one screen while a head moves.

    Attributes
    ----------
    share : float
        Of the time, in which an eye sees less of it than asked.
    least : float
        The least share of its image that an eye sees.
    at : float
        When that is, seconds.
    """

    share: float
    least: float
    at: float


@dataclass(frozen=True)
class Losses:
    """What a moving head loses: of the time, the share in which any screen is not seen enough."""

    seconds: float
    share: float
    screens: dict[str, Loss]


def swaying(reach: Sequence[float]) -> Movement:
    """Return a minute in which a head sways up to a reach right, forward and up, mm."""
    times = np.linspace(0, SWAY_SECONDS, SWAY_STEPS + 1)
    waves = np.sin(2 * math.pi * times[:, None] / SWAY_SECONDS * _SWAY_RATES)
    return Movement(times, np.hstack([waves * reach, np.zeros_like(waves)]))


def read_movement(file: Path) -> Movement:
    """Read a movement: a CSV file with a heading, of `time` and any of the other `COLUMNS`.

    Raises
    ------
    FileError
        With the line that is wrong.
    """
    try:
        if file.stat().st_size > MOST_BYTES:
            raise FileError(file, f"is too large: at most {MOST_BYTES >> 20} MB")
        lines = list(csv.reader(file.read_text("utf-8-sig").splitlines()))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise FileError(file, "cannot be read as a CSV file") from error

    heading = [name.strip() for name in lines[0]] if lines else []
    unknown = [name for name in heading if name not in COLUMNS]
    if "time" not in heading or len(heading) < 2 or unknown or len(set(heading)) < len(heading):
        raise FileError(
            file, f"line 1: needs a heading of time and any of {', '.join(COLUMNS[1:])}"
        )
    rows = [_row(file, number, heading, line) for number, line in enumerate(lines[1:], 2) if line]
    if not 2 <= len(rows) <= MOST_ROWS:
        raise FileError(file, f"needs 2 to {MOST_ROWS:,} rows below its heading (got {len(rows)})")
    table = np.array(rows)
    back = np.flatnonzero(np.diff(table[:, 0]) <= 0)
    if len(back):
        raise FileError(file, f"row {back[0] + 2} below the heading: time must rise")
    return Movement(table[:, 0], table[:, 1:])


def losses(assembly: Assembly, head: Head, movement: Movement, seen: float) -> Losses:
    """Return for which share of the time an eye of a moving head sees less than asked.

    Each place counts for half the time to its neighbours, before and after.
    """
    heads = [head.moved(place[:3], *place[3:]) for place in movement.places.tolist()]
    eyes = np.concatenate([eyes_of(assembly.rig, one).rows[:2] for one in heads])
    shares = seen_shares(assembly, eyes).reshape(len(heads), 2, -1).min(axis=1)

    steps = np.diff(movement.times)
    weights = (np.append(0, steps) + np.append(steps, 0)) / 2
    weights /= weights.sum()
    lost = shares < seen
    return Losses(
        seconds=float(np.ptp(movement.times)),
        share=float(weights @ lost.any(axis=1)),
        screens={
            screen.name: Loss(
                share=float(weights @ lost[:, column]),
                least=float(shares[:, column].min()),
                at=float(movement.times[np.argmin(shares[:, column])]),
            )
            for column, screen in enumerate(assembly.outside_screens)
        },
    )


def _row(file: Path, number: int, heading: list[str], line: list[str]) -> list[float]:
    """Return a row's numbers in the order of `COLUMNS`; those that the file has not are 0."""
    if len(line) != len(heading):
        raise FileError(file, f"line {number}: needs {len(heading)} numbers (got {len(line)})")
    found = dict.fromkeys(COLUMNS, 0.0)
    for name, text in zip(heading, line, strict=True):
        try:
            found[name] = float(text)
        except ValueError:
            found[name] = math.nan
        if not abs(found[name]) <= 1e6:
            raise FileError(file, f"line {number}: {name} is not a number (got {text[:20]!r})")
    return [found[name] for name in COLUMNS]
