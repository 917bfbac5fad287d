"""Whether the links of a rig can carry what its outputs send: judged as an upper bound.

Pixel clocks of a mode by each standard are held to the limits of each link on the way. What a
screen, a splitter or a graphics card can do besides is on its data sheet, not here.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from seamsight.scene.layout import PlacedScreen
from seamsight.scene.outputs import LinkKind, Output
from seamsight.viewer.setup.desktop import Desktop, desktop_of, whole_size
from seamsight.viewer.setup.links import EDID_CLOCK, EDID_MOST, LINKS
from seamsight.viewer.setup.timing import CTA, DMT, Pixels, Timing, timings

RATES = (24, 25, 30, 48, 50, 60, 75, 85, 100, 120, 144, 165, 240)
"""Refresh rates in use, Hz, of which is told whether they fit."""

LISTED = (DMT, CTA)  # announced by a number of their own, not as a detailed timing


@dataclass(frozen=True)
class Way:
    """A link, or like ones, on the way from an output to its screens, and what it carries.

    Attributes
    ----------
    key : str
        Where the rig file says its kind: "link", "adapter" or "splitter.link".
    kind : str
    pixels : (int, int)
        Across and down.
    refresh : float
        Hz.
    timings : tuple of Timing
        By all standards.
    screens : tuple of str
        To which it leads.
    """

    key: str
    kind: LinkKind
    pixels: Pixels
    refresh: float
    timings: tuple[Timing, ...]
    screens: tuple[str, ...]

    @property
    def fitting(self) -> tuple[Timing, ...]:
        """The timings that it can carry."""
        return tuple(one for one in self.timings if one.clock <= LINKS[self.kind].clock)


@dataclass(frozen=True)
class Signal:
    """What an output sends, and over which links.

    Attributes
    ----------
    output : Output
    screens : tuple of PlacedScreen
        That it feeds.
    ways : tuple of Way
        From the socket on.
    rates : tuple of int
        The usual refresh rates that fit, Hz.
    """

    output: Output
    screens: tuple[PlacedScreen, ...]
    ways: tuple[Way, ...]
    rates: tuple[int, ...]

    @property
    def pixels(self) -> Pixels:
        """What it sends: across and down."""
        return self.ways[0].pixels

    @property
    def fits(self) -> bool:
        """Whether each link can carry one timing or more, and those before a splitter the same."""
        return _fit(self.ways)

    @property
    def exact_pixels(self) -> Pixels:
        """What it would have to send for that its screens scale nothing: an exact multiple."""
        return _exact(self.output, self.screens)

    @property
    def has_equal_screens(self) -> bool:
        """Whether its screens have all as many pixels."""
        return len({screen.display.pixels for screen in self.screens}) == 1

    @property
    def exact(self) -> bool:
        """Whether each pixel that it sends is one of a screen's: nothing is scaled."""
        allowed = (self.exact_pixels, self.exact_pixels[::-1])
        turned = self.output.splitter is None  # the computer can turn a picture, a splitter cannot
        return self.has_equal_screens and self.pixels in allowed[: 1 + turned]


@dataclass(frozen=True)
class Signals:
    """All outputs of a rig.

    Attributes
    ----------
    signals : tuple of Signal
    desktop : Desktop
    unfed : tuple of str
        Screens that no output feeds.
    """

    signals: tuple[Signal, ...]
    desktop: Desktop
    unfed: tuple[str, ...]


def signals_of(outputs: Sequence[Output], screens: Sequence[PlacedScreen]) -> Signals:
    """Return what a rig's outputs, one or more, send to its screens."""
    named = {screen.name: screen for screen in screens}
    found = []
    for output in outputs:
        fed = tuple(named[name] for name in output.screens)
        rates = (rate for rate in RATES if _fit(ways(output, fed, rate)))
        found.append(Signal(output, fed, ways(output, fed, output.refresh), tuple(rates)))
    desktop = desktop_of(outputs, screens)
    unfed = tuple(name for name in named if name not in desktop.screens)
    return Signals(tuple(found), desktop, unfed)


def ways(output: Output, screens: Sequence[PlacedScreen], refresh: float) -> tuple[Way, ...]:
    """Return the links from an output to its screens at a refresh rate, Hz."""
    names = output.screens
    size = output.pixels or _exact(output, screens)
    found = [_way("link", output.link, size, refresh, names)]
    if output.adapter:
        found.append(_way("adapter", output.adapter, size, refresh, names))
    if output.splitter:
        # like screens share a way
        sizes = {screen.name: _lying(screen.display.pixels) for screen in screens}
        for own in dict.fromkeys(sizes.values()):
            like = tuple(name for name in names if sizes[name] == own)
            found.append(_way("splitter.link", output.splitter.link, own, refresh, like))
    return tuple(found)


def in_edid(timing: Timing, pixels: Pixels) -> bool:
    """Return whether a screen or splitter can announce a timing in a plain EDID.

    Listed modes have numbers for that; others need a detailed timing, in whose fields they must
    fit (EDID 1.4, 2006: 4095 pixels each way, shown or blank, and 655.35 MHz).
    """
    if timing.standard in LISTED:
        return True
    blank = (total - shown for total, shown in zip(timing.total, pixels, strict=True))
    return max(*pixels, *blank) <= EDID_MOST and timing.clock <= EDID_CLOCK


def _way(key: str, kind: LinkKind, pixels: Pixels, refresh: float, screens: tuple[str, ...]) -> Way:
    return Way(key, kind, pixels, refresh, timings(pixels, refresh), screens)


def _fit(found: Sequence[Way]) -> bool:
    """Return whether links can carry a mode; an adapter passes on the timing that it gets."""
    passed = [set(way.fitting) for way in found if way.key != "splitter.link"]
    split = [way.fitting for way in found if way.key == "splitter.link"]
    return bool(set.intersection(*passed)) and all(split)


def _exact(output: Output, screens: Sequence[PlacedScreen]) -> Pixels:
    """Return the pixels that an output's screens have together; lying, where it is one upright."""
    if output.splitter:
        return whole_size(output, {screen.name: screen.display.pixels for screen in screens})
    return _lying(screens[0].display.pixels)


def _lying(pixels: Pixels) -> Pixels:
    """Return pixels with the longer side across: the computer or a splitter turns the picture."""
    return max(pixels), min(pixels)
