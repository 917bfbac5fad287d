"""What does not fit about a rig's outputs, and what to change, in a builder's words."""

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from seamsight.scene.outputs import LinkKind
from seamsight.viewer.setup.desktop import Rectangle
from seamsight.viewer.setup.links import EDID_CLOCK, EDID_MOST, LINKS
from seamsight.viewer.setup.signals import Signal, Signals, Way, in_edid
from seamsight.viewer.setup.timing import Pixels


@dataclass(frozen=True)
class Advice:
    """Something about an output that does not fit, or to know.

    Attributes
    ----------
    output : str
        Its name; "" where it is about the whole desktop.
    kind : str
        "rate", "blanking", "edid", "scaled", "overlap", "apart" or "unfed".
    text : str
        A sentence or more.
    """

    output: str
    kind: str
    text: str


def advice(found: Signals) -> tuple[Advice, ...]:
    """Return what does not fit, and what to know, output by output; the desktop last."""
    lines: list[Advice] = []
    for signal in found.signals:
        name = signal.output.name
        about = (("rate", _too_fast), ("blanking", _blanking), ("edid", _edid), ("scaled", _scaled))
        lines += [Advice(name, kind, text) for kind, of in about for text in of(signal)]
    lines += _desktop_advice(found.desktop.outputs)
    lines += [Advice("", "unfed", f"No output feeds {name}.") for name in found.unfed]
    return tuple(lines)


def size_words(pixels: Pixels) -> str:
    """Return pixels in words: "1920 × 1080"."""
    return f"{pixels[0]} × {pixels[1]}"


def link_words(way: Way) -> str:
    """Return which link is meant."""
    place = {"link": "", "adapter": " after the adapter", "splitter.link": " after the splitter"}
    return f"{way.kind}{place[way.key]}"


def _too_fast(signal: Signal) -> Iterator[str]:
    """Yield what no timing fits, with what to change."""
    if signal.fits:
        return
    tight = [way for way in signal.ways if not way.fitting]
    for way in tight:
        yield (
            f"{size_words(way.pixels)} at {way.refresh:g} Hz does not fit {link_words(way)}: it "
            f"needs at least {_least(way) / 1000:.2f} MHz, and the link carries "
            f"{LINKS[way.kind].clock / 1000:.2f} MHz.{_cures(signal, [way])}"
        )
    if not tight:
        yield f"No one timing fits both the socket's link and the adapter's.{_cures(signal, [])}"


def _cures(signal: Signal, tight: list[Way]) -> str:
    """Return what would make a signal fit, with the links that are too slow for it."""
    cures = []
    for way in tight:
        enough = _enough(way.kind, _least(way))
        if enough:
            cures.append(f'use {way.key} = "{enough}" or faster')
    lower = [rate for rate in signal.rates if rate < signal.output.refresh]
    if lower:
        cures.append(f"lower refresh to {lower[-1]} Hz")
    if len(signal.output.screens) > 1 and not signal.ways[0].fitting:
        cures.append("share the screens out between two outputs")
    words = ", or ".join(cures)
    return f" {words[0].upper()}{words[1:]}." if words else ""


def _least(way: Way) -> int:
    """Return the slowest pixel clock with which a way's mode can be sent, kHz."""
    return min(timing.clock for timing in way.timings)


def _enough(kind: LinkKind, least: int) -> LinkKind | None:
    """Return the oldest kind of link that carries a clock, kHz; of the same family, if any."""
    family = LINKS[kind].family
    enough = [one for one, link in LINKS.items() if link.clock >= least and link.family != "VGA"]
    same = [one for one in enough if LINKS[one].family == family]
    return next(iter(same or enough), None)


def _blanking(signal: Signal) -> Iterator[str]:
    """Yield for each link that not all timings fit which do."""
    for way in signal.ways if signal.fits else ():
        fitting = way.fitting
        if len(fitting) < len(way.timings):
            *first, last = (f"{one.standard} {one.clock / 1000:.2f}" for one in fitting)
            these = f"{', '.join(first)} or {last}" if first else last
            yield (
                f"{size_words(way.pixels)} at {way.refresh:g} Hz fits {link_words(way)} "
                f"({LINKS[way.kind].clock / 1000:.2f} MHz) only with the timing {these} MHz. "
                "Choose that in the computer's settings if the screen stays black."
            )


def _edid(signal: Signal) -> Iterator[str]:
    """Yield what a plain EDID cannot announce."""
    for way in signal.ways:
        fitting = way.fitting
        if not fitting or any(in_edid(timing, way.pixels) for timing in fitting):
            continue
        if max(way.pixels) > EDID_MOST:
            beyond = f"it has more than {EDID_MOST} pixels one way"
        else:
            beyond = f"its pixel clock is above {EDID_CLOCK / 1000:.2f} MHz"
        yield (
            f"A plain EDID cannot announce {size_words(way.pixels)} at {way.refresh:g} Hz, as "
            f"{beyond}. What is plugged in must announce it in an extension (DisplayID), or you "
            "must enter it as a custom mode."
        )
        return


def _scaled(signal: Signal) -> Iterator[str]:
    """Yield that pixels sent are not the screens' own, so that the picture is blurred."""
    output = signal.output
    if not signal.has_equal_screens:
        sizes = ", ".join(
            f"{screen.name} {size_words(screen.display.pixels)}" for screen in signal.screens
        )
        yield f"A splitter cuts equal parts, but its screens are not alike: {sizes}."
    elif not signal.exact:
        width, height = signal.exact_pixels
        what = "is not an exact multiple of its screens" if output.splitter else "is not its own"
        yield (
            f"{size_words(signal.pixels)} {what}: the picture is scaled and blurred. Write pixels "
            f"= [{width}, {height}], or leave pixels out."
        )


def _desktop_advice(outputs: Mapping[str, Rectangle]) -> Iterator[Advice]:
    """Yield which outputs' places overlap, and which is apart from the others."""
    for (one, place), (other, second) in itertools.combinations(outputs.items(), 2):
        if place.overlaps(second):
            yield Advice(
                other,
                "overlap",
                f"It overlaps {one} on the desktop: both show the same picture there. Move it, or "
                "leave desktop out.",
            )
    joined = _joined(outputs)
    for name in outputs:
        if name not in joined:
            yield Advice(
                name,
                "apart",
                "It touches no edge of the desktop's other outputs: most systems allow no gaps, "
                "and would move it.",
            )


def _joined(outputs: Mapping[str, Rectangle]) -> set[str]:
    """Return the outputs that are in one piece with the first."""
    joined: set[str] = set()
    waiting = list(outputs)[:1]
    while waiting:
        name = waiting.pop()
        joined.add(name)
        waiting += [
            other
            for other, place in outputs.items()
            if other not in joined and place.touches(outputs[name])
        ]
    return joined
