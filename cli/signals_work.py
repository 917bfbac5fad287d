"""The work of `signals`: links and desktop, as tables, JSON or a picture."""

import dataclasses
from pathlib import Path
from typing import Any

import typer

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.output import print_json
from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene import Rig
from seamsight.scene.layout import place
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import command_line
from seamsight.viewer.pictures.desktop import desktop_picture
from seamsight.viewer.setup.desktop import Rectangle
from seamsight.viewer.setup.links import LINKS
from seamsight.viewer.setup.signal_advice import advice, size_words
from seamsight.viewer.setup.signals import Signal, Signals, Way, in_edid, signals_of
from seamsight.viewer.setup.timing import STANDARDS
from seamsight.viewer.sheet import png

WIDTH = 1400  # pixels of the picture


def print_signals(rig_words: RigWords, picture: Path | None, *, force: bool, as_json: bool) -> None:
    """Print what the links of a rig's outputs carry, and draw its desktop if that is wanted."""
    if picture:
        options.require_ending(picture, (".png",), "--picture")
    rig = options.read(rig_words)
    if not rig.output:
        msg = "this rig has no [[output]]: say which socket of the computer feeds which screen"
        raise typer.BadParameter(msg, param_hint="RIG")
    if picture:
        refuse_to_overwrite(picture, force)

    found = signals_of(rig.output, place(rig))
    if picture:
        command = command_line("signals", rig, None, {"picture": str(picture)})
        facts = {"Title": rig.name, "Rig": str(rig.file), "Command": command}
        write_whole(picture, png(desktop_picture(found, rig.name, WIDTH), facts))
    if as_json:
        print_json({"rig": rig.name, **_as_json(found)})
    else:
        _print(rig, found)


def _as_json(found: Signals) -> dict[str, Any]:
    desktop = found.desktop
    return {
        "outputs": {signal.output.name: _output_json(found, signal) for signal in found.signals},
        "desktop": {
            "size": [desktop.whole.width, desktop.whole.height],
            "screens": {name: _numbers(place) for name, place in desktop.screens.items()},
        },
        "unfed": list(found.unfed),
        "advice": [dataclasses.asdict(line) for line in advice(found)],
    }


def _output_json(found: Signals, signal: Signal) -> dict[str, Any]:
    return {
        "pixels": list(signal.pixels),
        "refresh": signal.output.refresh,
        "fits": signal.fits,
        "exact": signal.exact,
        "rates": list(signal.rates),
        "desktop": _numbers(found.desktop.outputs[signal.output.name]),
        "links": [_link_json(way) for way in signal.ways],
    }


def _link_json(way: Way) -> dict[str, Any]:
    return {
        "key": way.key,
        "kind": way.kind,
        "screens": list(way.screens),
        "pixels": list(way.pixels),
        "limit": _mhz(LINKS[way.kind].clock),
        "source": LINKS[way.kind].source,
        "timings": [
            {
                "standard": timing.standard,
                "code": timing.code or None,
                "clock": _mhz(timing.clock),
                "total": list(timing.total),
                "rate": timing.rate,
                "fits": timing in way.fitting,
                "edid": in_edid(timing, way.pixels),
            }
            for timing in way.timings
        ],
    }


def _numbers(place: Rectangle) -> list[int]:
    return list(dataclasses.astuple(place))


def _mhz(clock: float) -> float:
    return round(clock / 1000, 3)


def _print(rig: Rig, found: Signals) -> None:
    console = console_of_width()
    say(console, rig.name)
    for sentence in sentences(found):
        say(console, sentence)
    for table in tables(found):
        print_table(console, table)


def sentences(found: Signals) -> list[str]:
    """Return what signals come to: how large the desktop is, what fits, what to change."""
    whole = found.desktop.whole
    told = [f"The desktop has {size_words((whole.width, whole.height))} pixels."]
    if all(signal.fits for signal in found.signals):
        told.append("Every output has a timing that fits all its links.")
    told += [f"{line.output}: {line.text}" if line.output else line.text for line in advice(found)]
    told.append(
        "All this is an upper bound, at 24 bits a pixel: a cable or socket may be worse than its "
        "name, and a screen shows only the modes of its data sheet."
    )
    return told


def tables(found: Signals) -> list[NumbersTable]:
    """Return where screens are on the desktop, what goes over each link, which rates fit."""
    places = [
        (name, [signal.output.name, *map(str, _numbers(found.desktop.screens[name]))])
        for signal in found.signals
        for name in signal.output.screens
    ]
    headings = ("output", "from left", "from top", "width", "height")
    clocks = [
        (_way_words(signal, way), _way_cells(way))
        for signal in found.signals
        for way in signal.ways
    ]
    rates = [(signal.output.name, [_rates_words(signal.rates)]) for signal in found.signals]
    return [
        NumbersTable("On the desktop, pixels", "screen", headings, places),
        NumbersTable(
            "Pixel clock by each standard, MHz; in brackets: more than the link carries",
            "link",
            ("pixels", "carries", *STANDARDS),
            clocks,
        ),
        NumbersTable("Refresh rates that fit", "output", ("Hz",), rates, worded=True),
    ]


def _way_words(signal: Signal, way: Way) -> str:
    place = {"link": "", "adapter": ", adapter", "splitter.link": ", splitter"}[way.key]
    return f"{signal.output.name}{place}: {way.kind}"


def _way_cells(way: Way) -> list[str]:
    clocks: dict[str, list[str]] = {standard: [] for standard in STANDARDS}
    for timing in way.timings:
        clock = f"{timing.clock / 1000:.2f}"
        clocks[timing.standard].append(clock if timing in way.fitting else f"({clock})")
    cells = [" / ".join(dict.fromkeys(found)) or "–" for found in clocks.values()]
    mode = f"{size_words(way.pixels)}, {way.refresh:g} Hz"
    return [mode, f"{LINKS[way.kind].clock / 1000:.2f}", *cells]


def _rates_words(rates: tuple[int, ...]) -> str:
    return ", ".join(map(str, rates)) or "none of the usual ones"
