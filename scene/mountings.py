"""Patterns of threaded holes in the backs of screens, and how much each may carry.

Flat Display Mounting Interface (FDMI) of the Video Electronics Standards Association, as articles
quote it; limits of 75x75, 200x200 and larger ones, and the pattern 75x35, from memory.
"""

from typing import Literal, NamedTuple

Mounting = Literal[
    "50x20",
    "75x35",
    "75x75",
    "100x100",
    "200x100",
    "280x150",
    "200x200",
    "400x400",
    "600x200",
    "600x400",
    "800x400",
]


class Pattern(NamedTuple):
    """Four holes about a screen's middle.

    Attributes
    ----------
    across, up : float
        From hole to hole, mm.
    limit : float
        The most that it may carry, kg.
    screw : int
        Nominal diameter of its screws, mm: 4 is M4. Where the interface leaves a choice, the
        larger one.
    """

    across: float
    up: float
    limit: float
    screw: int

    @property
    def holes(self) -> list[tuple[float, float]]:
        """The holes' middles, right of and above the pattern's."""
        x, y = self.across / 2, self.up / 2
        return [(-x, -y), (x, -y), (x, y), (-x, y)]

    @property
    def clearance_hole(self) -> float:
        """The diameter of holes that its screws pass freely, mm (ISO 273, medium; from memory)."""
        return {4: 4.5, 8: 9.0}[self.screw]


PATTERNS: dict[Mounting, Pattern] = {
    "50x20": Pattern(50, 20, 2.0, 4),
    "75x35": Pattern(75, 35, 4.5, 4),
    "75x75": Pattern(75, 75, 8.0, 4),
    "100x100": Pattern(100, 100, 14.0, 4),
    "200x100": Pattern(200, 100, 22.7, 4),
    "280x150": Pattern(280, 150, 50.0, 8),
    "200x200": Pattern(200, 200, 50.0, 8),
    "400x400": Pattern(400, 400, 113.6, 8),
    "600x200": Pattern(600, 200, 113.6, 8),
    "600x400": Pattern(600, 400, 113.6, 8),
    "800x400": Pattern(800, 400, 113.6, 8),
}
