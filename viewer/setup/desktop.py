"""The desktop: where each output's picture and each screen is on it, in pixels."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from seamsight.scene.layout import PlacedScreen
from seamsight.scene.outputs import Output
from seamsight.viewer.setup.timing import Pixels


@dataclass(frozen=True)
class Rectangle:
    """A rectangle of the desktop, pixels; x to the right and y down, as computers count."""

    x: int
    y: int
    width: int
    height: int

    @property
    def right(self) -> int:
        """First column beyond it."""
        return self.x + self.width

    @property
    def bottom(self) -> int:
        """First row beyond it."""
        return self.y + self.height

    def overlaps(self, other: "Rectangle") -> bool:
        """Return whether both share a pixel."""
        return max(self.x, other.x) < min(self.right, other.right) and max(self.y, other.y) < min(
            self.bottom, other.bottom
        )

    def touches(self, other: "Rectangle") -> bool:
        """Return whether both share a pixel, or an edge at least one pixel long."""
        across = min(self.right, other.right) - max(self.x, other.x)
        down = min(self.bottom, other.bottom) - max(self.y, other.y)
        return min(across, down) >= 0 and max(across, down) > 0


@dataclass(frozen=True)
class Desktop:
    """Where things are on the desktop.

    Attributes
    ----------
    outputs : dict
        Rectangles by the names of outputs, in the rig's order.
    screens : dict
        Rectangles by the names of screens that an output feeds.
    """

    outputs: Mapping[str, Rectangle]
    screens: Mapping[str, Rectangle]

    @property
    def whole(self) -> Rectangle:
        """The smallest rectangle around all of it; there is at least one output."""
        return around(self.outputs.values())


def desktop_of(outputs: Sequence[Output], screens: Iterable[PlacedScreen]) -> Desktop:
    """Return the desktop of a rig's outputs; each screen's rectangle has its share of the picture.

    Raises
    ------
    KeyError
        When an output feeds a screen that is not there; a rig file's rules refuse that.
    """
    sizes = {screen.name: screen.display.pixels for screen in screens}
    on_desktop: dict[str, Rectangle] = {}
    of_screens: dict[str, Rectangle] = {}
    for output in outputs:
        width, height = picture_size(output, sizes)
        x, y = output.desktop or _beside(on_desktop.values())
        on_desktop[output.name] = Rectangle(x, y, width, height)
        of_screens |= _cut(output, on_desktop[output.name])
    return Desktop(on_desktop, of_screens)


def picture_size(output: Output, sizes: Mapping[str, Pixels]) -> Pixels:
    """Return an output's pixels on the desktop, across and down; upright where its screen is."""
    width, height = output.pixels or whole_size(output, sizes)
    if not output.splitter:
        own = sizes[output.screens[0]]
        if (own[0] < own[1]) != (width < height):
            return height, width
    return width, height


def whole_size(output: Output, sizes: Mapping[str, Pixels]) -> Pixels:
    """Return the pixels of all screens of an output together, as many as the first has each."""
    width, height = sizes[output.screens[0]]
    columns, rows = grid(output)
    return columns * width, rows * height


def grid(output: Output) -> tuple[int, int]:
    """Return how many screens an output feeds side by side, and one above the other."""
    rows = output.splitter.rows if output.splitter else 1
    return len(output.screens) // rows, rows


def around(rectangles: Iterable[Rectangle]) -> Rectangle:
    """Return the smallest rectangle around some, at least one."""
    found = list(rectangles)
    x = min(one.x for one in found)
    y = min(one.y for one in found)
    right = max(one.right for one in found)
    bottom = max(one.bottom for one in found)
    return Rectangle(x, y, right - x, bottom - y)


def _beside(before: Iterable[Rectangle]) -> Pixels:
    """Return the upper left corner of what stands to the right of some rectangles, or of none."""
    found = list(before)
    if not found:
        return 0, 0
    whole = around(found)
    return whole.right, whole.y


def _cut(output: Output, place: Rectangle) -> dict[str, Rectangle]:
    """Return the rectangles of an output's screens: equal parts of its own, in whole pixels."""
    columns, rows = grid(output)
    parts = {}
    for number, name in enumerate(output.screens):
        row, column = divmod(number, columns)
        left, right = (place.width * edge // columns for edge in (column, column + 1))
        top, bottom = (place.height * edge // rows for edge in (row, row + 1))
        parts[name] = Rectangle(place.x + left, place.y + top, right - left, bottom - top)
    return parts
