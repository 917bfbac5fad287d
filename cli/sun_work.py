"""The work of `sun`: what sunlight through lenses meets, in sentences or as JSON."""

import datetime
import math
from collections.abc import Iterator

import numpy as np
import typer

from seamsight.cli import options
from seamsight.cli.arguments import RigWords, SunWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import build
from seamsight.scene.frames import direction_at
from seamsight.viewer.light.sun import CHARS_WOOD, IGNITES, SunOnLens, strongest, sun_on_lenses
from seamsight.viewer.light.sun_place import SunPlace, sun_at
from seamsight.viewer.numbers.cautions import SUN
from seamsight.viewer.numbers.units import DEGREES, MM, PERCENT, in_words, number_words


def print_sun(rig_words: RigWords, words: SunWords, *, as_json: bool) -> None:
    """Print which lenses the sun reaches, and what its light meets behind them."""
    stands = _sun(words)
    rig = options.read(rig_words)
    assembly = build(rig)
    if not assembly.has_lenses:
        msg = "this rig has no lens"
        raise typer.BadParameter(msg, param_hint="RIG")

    compile_kernels()
    ahead = stands.azimuth - (words.facing or 0.0)
    towards = direction_at(math.radians(ahead), math.radians(stands.elevation))
    found = sun_on_lenses(assembly, np.array(towards)) if stands.elevation > 0 else []
    right = (ahead + 180) % 360 - 180
    if as_json:
        print_json(
            {
                "rig": rig.name,
                "sun": {**stands._asdict(), "right_of_ahead": right},
                "lenses": [one.as_json() for one in found],
                "caution": SUN.full,
            }
        )
        return
    console = console_of_width()
    say(console, f"{rig.name}: sunlight on lenses")
    for sentence in _sentences(stands, right, found):
        say(console, sentence)
    for one in found:
        print_table(console, _table(one))
    say(console, f"Caution: {SUN.full}")


def _sun(words: SunWords) -> SunPlace:
    """Return where the sun stands, as given or at a place and a time."""
    angles = {
        "--azimuth": words.azimuth,
        "--elevation": words.elevation,
        "--facing": words.facing,
    }
    for option, angle in angles.items():
        if angle is not None and not math.isfinite(angle):  # which older typer lets through
            msg = f"must be a number of degrees (got {angle})"
            raise typer.BadParameter(msg, param_hint=option)

    given = (words.azimuth, words.elevation, words.place, words.date)
    if words.azimuth is not None and words.elevation is not None and given[2:] == (None, None):
        return SunPlace(words.azimuth, words.elevation)
    if words.place is None or words.date is None or given[:2] != (None, None):
        msg = "give either both --azimuth and --elevation, or both --place and --date"
        raise typer.BadParameter(msg)
    if words.facing is None:
        msg = "with --place, say in which compass direction the pilot faces, as 90 for east"
        raise typer.BadParameter(msg, param_hint="--facing")
    latitude, longitude = options.numbers(words.place, 2, "--place")
    if abs(latitude) > 90 or abs(longitude) > 180:
        msg = f"latitude is up to 90 and longitude up to 180, either way (got {words.place})"
        raise typer.BadParameter(msg, param_hint="--place")
    return sun_at(latitude, longitude, _time(words.date))


def _time(text: str) -> datetime.datetime:
    try:
        time = datetime.datetime.fromisoformat(text)
    except ValueError:
        time = None
    if time is None or time.utcoffset() is None:
        msg = f"needs a time with its offset from UTC, as 2026-12-21T12:00+01:00 (got {text!r})"
        raise typer.BadParameter(msg, param_hint="--date")
    return time


def _sentences(stands: SunPlace, right: float, found: list[SunOnLens]) -> Iterator[str]:
    side = "right" if right >= 0 else "left"
    yield (
        f"The sun stands {in_words(stands.elevation, DEGREES, 1)} above the horizon at azimuth "
        f"{in_words(stands.azimuth % 360, DEGREES, 1)}, {in_words(abs(right), DEGREES, 1)} to the "
        f"{side} of straight ahead."
    )

    if stands.elevation <= 0:
        yield "It is below the horizon."
        return
    if not found:
        yield "It reaches no lens."
        return
    for one in found:
        yield _lens_words(one)

    # what it does where it is strongest
    worst = strongest(found)
    if worst and worst.flux > CHARS_WOOD:
        does = "sets wood and plastic" if worst.flux > IGNITES else "can set wood"
        yield f"DANGER: the light on {worst.part} {does} on fire."
    else:
        near, far = (in_words(depth, MM, 0) for depth in found[0].burning)
        yield (
            "No part is where it is strong enough to char wood, but whatever comes there is: with "
            f"{found[0].lens}, from {near} to {far} behind the lens."
        )
    yield (
        "Fluxes are upper values, for an ideal lens and clear air: wood has caught fire from "
        f"{number_words(CHARS_WOOD / 1000, 1)} kW/m² on, and usually does from "
        f"{number_words(IGNITES / 1000, 1)} on."
    )


def _lens_words(one: SunOnLens) -> str:
    through = f" through {' and '.join(one.through)}" if one.through else ""
    side = "the pilot's side" if one.from_pilot else "behind"
    x, y, z = (number_words(value, 0) for value in one.focus)
    return (
        f"It reaches {in_words(100 * one.share, PERCENT, 0)} of {one.lens}{through}, from {side}, "
        f"{in_words(one.angle, DEGREES, 0)} off its axis, with {number_words(one.power, 0)} W. Its "
        f"focus lies {in_words(one.focal_length, MM, 0)} behind the lens plane, at {x}, {y}, {z} "
        "(right, forward, up)."
    )


def _table(one: SunOnLens) -> NumbersTable:
    rows = [
        (
            lit.part,
            [
                in_words(100 * lit.share, PERCENT, 0),
                in_words(lit.depth, MM, 0),
                _place_words(lit.before_focus),
                f"{number_words(lit.times, 1)} ×",
                f"{number_words(lit.flux / 1000, 1)} kW/m²",
            ],
        )
        for lit in one.meets
    ]
    headings = ("of the light", "behind lens", "from the focus", "as dense", "flux")
    return NumbersTable(f"What the light through {one.lens} meets", "part", headings, rows)


def _place_words(before: float) -> str:
    return f"{in_words(abs(before), MM, 0)} {'in front' if before >= 0 else 'behind'}"
