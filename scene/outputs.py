"""The tables that say which socket of the computer feeds which screens: frozen models.

As in `rig.py`, they are the one source of what a key is called, what it may hold and what it means.
Counts are pixels, as in the file. What a link of each kind can carry is in `viewer/setup/links.py`.
"""

from typing import Annotated, Literal

from pydantic import Field

from seamsight.scene.display import PixelCount
from seamsight.scene.table import Table, described
from seamsight.scene.units import Name

MOST_OUTPUTS = 48  # of a rig; no more than there may be screens
MOST_SPLIT = 16  # sockets of a splitter

LinkKind = Literal[
    "VGA",
    "DVI single link",
    "DVI dual link",
    "HDMI 1.2",
    "HDMI 1.4",
    "HDMI 2.0",
    "HDMI 2.1",
    "HDMI 2.1 FRL1",
    "HDMI 2.1 FRL2",
    "HDMI 2.1 FRL3",
    "HDMI 2.1 FRL4",
    "HDMI 2.1 FRL5",
    "HDMI 2.1 FRL6",
    "DisplayPort RBR",
    "DisplayPort HBR",
    "DisplayPort HBR2",
    "DisplayPort HBR3",
    "DisplayPort UHBR10",
    "DisplayPort UHBR13.5",
    "DisplayPort UHBR20",
]

DesktopPlace = Annotated[int, Field(strict=True, ge=-32768, le=32767)]


class Splitter(Table):
    """A box that takes one wide picture and cuts it into equal parts, one for each screen."""

    outputs: Annotated[int, Field(strict=True, ge=2, le=MOST_SPLIT)] = Field(
        description="number of its sockets for screens"
    )
    link: LinkKind = Field(description="kind of link from each of these sockets to its screen")
    rows: Annotated[int, Field(strict=True, ge=1, le=MOST_SPLIT)] = Field(
        1, description="rows of screens one above the other; 1: all side by side"
    )


class Output(Table):
    """A socket of the computer: through what it feeds which screens, and where on the desktop."""

    model_config = described(
        "A socket of the computer: the kind of its link, an adapter or splitter if there is one, "
        "the screens it feeds, and their place on the desktop."
    )

    name: Name = Field(description="name of the socket; no two may share one")
    link: LinkKind = Field(
        description=(
            "kind of link from the socket: that of the slowest of socket, cable and what is "
            "plugged in"
        )
    )
    adapter: LinkKind | None = Field(
        None, description="kind of link after an adapter, if there is one"
    )
    splitter: Splitter | None = Field(
        None, description="a box that cuts one wide picture into equal parts, one for each screen"
    )
    screens: tuple[Name, ...] = Field(
        min_length=1,
        max_length=MOST_SPLIT,
        description=(
            "names of the screens that it feeds: one, or those of a splitter from the left, the "
            "upper row first"
        ),
    )
    pixels: tuple[PixelCount, PixelCount] | None = Field(
        None,
        description=(
            "pixels of its picture: [across, down]; if left out, the screen's own, or those of "
            "all screens of a splitter together"
        ),
    )
    refresh: Annotated[float, Field(strict=True, ge=10, le=1000, allow_inf_nan=False)] = Field(
        60.0, description="refresh rate, Hz"
    )
    desktop: tuple[DesktopPlace, DesktopPlace] | None = Field(
        None,
        description=(
            "its upper left corner on the desktop: [right, down], pixels; if left out, to the "
            "right of the outputs before it"
        ),
    )

    def broken_rule(self) -> str | None:
        """One screen without a splitter; with one, no more than it has sockets, in whole rows."""
        count = len(self.screens)
        if self.splitter is None:
            if count > 1:
                return f"feeds one screen unless it has a splitter (got {count} screens)"
            return None
        if count > self.splitter.outputs:
            return (
                f"has more screens than its splitter has outputs: {self.splitter.outputs} "
                f"(got {count} screens)"
            )
        if count % self.splitter.rows:
            return (
                f"splitter rows must divide the number of screens, {count} "
                f"(got {self.splitter.rows} rows)"
            )
        return None
