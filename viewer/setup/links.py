"""What a link of each kind can carry: the greatest pixel clock, at 24 bits a pixel.

Each is an upper bound: packets, sound and error correction take a little more, cables and sockets
may be worse than what is printed on them. Dates are from memory.
"""

from dataclasses import dataclass

from seamsight.scene.outputs import LinkKind

BITS = 24  # of a pixel: 8 for each of red, green, blue


@dataclass(frozen=True)
class Link:
    """A kind of link.

    Attributes
    ----------
    clock : float
        Greatest pixel clock, kHz.
    family : str
        Kinds that fit the same sockets or simple adapters.
    source : str
        The standard, its date, and how the limit comes about.
    """

    clock: float
    family: str
    source: str


def _tmds(mhz: float, family: str, source: str) -> Link:
    """Return a link that sends one pixel in each cycle of its clock."""
    return Link(1000 * mhz, family, f"{source}; pixel clock up to {mhz:g} MHz")


def _frl(lanes: int, rate: float, source: str = "HDMI 2.1, 2017") -> Link:
    """Return a link of lanes, Gbit/s each, of which 16 in 18 bits are payload."""
    words = f"{source}; {lanes} lanes of {rate:g} Gbit/s, 16 of 18 bits payload"
    return Link(1e6 * lanes * rate * 16 / 18 / BITS, "HDMI", words)


def _main_link(rate: float, coding: tuple[int, int], source: str) -> Link:
    """Return DisplayPort's four lanes, Gbit/s each, with so many of so many bits payload."""
    payload, sent = coding
    words = f"{source}; 4 lanes of {rate:g} Gbit/s, {payload} of {sent} bits payload"
    return Link(1e6 * 4 * rate * payload / sent / BITS, "DisplayPort", words)


_8B10B, _128B132B = (8, 10), (128, 132)

LINKS: dict[LinkKind, Link] = {
    "VGA": Link(388_000, "VGA", "VGA, 1987; the converter's theory: pixel clock up to 388 MHz"),
    "DVI single link": _tmds(165, "DVI", "DVI 1.0, 1999"),
    "DVI dual link": _tmds(330, "DVI", "DVI 1.0, 1999; two links of 165 MHz"),
    "HDMI 1.2": _tmds(165, "HDMI", "HDMI 1.0 to 1.2, 2002 to 2005"),
    "HDMI 1.4": _tmds(340, "HDMI", "HDMI 1.3 and 1.4, 2006 and 2009"),
    "HDMI 2.0": _tmds(600, "HDMI", "HDMI 2.0, 2013"),
    "HDMI 2.1": _frl(4, 12, "HDMI 2.1, 2017, the fastest: many sockets of that name are slower"),
    "HDMI 2.1 FRL1": _frl(3, 3),
    "HDMI 2.1 FRL2": _frl(3, 6),
    "HDMI 2.1 FRL3": _frl(4, 6),
    "HDMI 2.1 FRL4": _frl(4, 8),
    "HDMI 2.1 FRL5": _frl(4, 10),
    "HDMI 2.1 FRL6": _frl(4, 12),
    "DisplayPort RBR": _main_link(1.62, _8B10B, "DisplayPort 1.0, 2006"),
    "DisplayPort HBR": _main_link(2.7, _8B10B, "DisplayPort 1.0, 2006"),
    "DisplayPort HBR2": _main_link(5.4, _8B10B, "DisplayPort 1.2, 2010"),
    "DisplayPort HBR3": _main_link(8.1, _8B10B, "DisplayPort 1.3, 2014"),
    "DisplayPort UHBR10": _main_link(10, _128B132B, "DisplayPort 2.0, 2019"),
    "DisplayPort UHBR13.5": _main_link(13.5, _128B132B, "DisplayPort 2.0, 2019"),
    "DisplayPort UHBR20": _main_link(20, _128B132B, "DisplayPort 2.0, 2019"),
}
"""From the oldest to the newest of each family. HDMI up to 2.0 and DVI send one pixel a cycle."""

EDID_MOST = 4095
"""Pixels, shown or blank, each way: a detailed timing of EDID 1.4 (2006) has 12 bits for each."""

EDID_CLOCK = 655_350
"""kHz, of the same: 16 bits in steps of 10 kHz."""
