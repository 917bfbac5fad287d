"""A drawing as data, at 1:1 in mm, x right and y up: what `dxf`, `svg` and `pdf` write."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

import numpy as np

from seamsight.scene.outlines import Circle, Outline, Rectangle

Layer = Literal["CUT", "HIDDEN", "SLOTS", "SCREENS", "MARKS", "NAMES", "SHEET"]
Point = tuple[float, float]

QUARTER = math.tan(math.pi / 8)  # bulge of a quarter of a circle


class Path(NamedTuple):
    """Lines and arcs from point to point.

    Attributes
    ----------
    points : tuple of (float, float)
    bulges : tuple of float
        For each point, the tangent of a quarter of the angle of the arc to the next one: 0 is a
        line, above 0 the arc runs anticlockwise.
    layer : str
    closed : bool
    """

    points: tuple[Point, ...]
    bulges: tuple[float, ...]
    layer: Layer
    closed: bool = True


class Round(NamedTuple):
    """A full circle."""

    centre: Point
    radius: float
    layer: Layer


class Label(NamedTuple):
    """Words in one line about a point: how high, mm, and turned anticlockwise, degrees."""

    at: Point
    text: str
    height: float
    turn: float = 0.0


@dataclass
class Sketch:
    """What is drawn."""

    paths: list[Path] = field(default_factory=list)
    rounds: list[Round] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)

    def add_polygon(
        self, points: Iterable[Point], layer: Layer = "CUT", *, closed: bool = True
    ) -> None:
        """Add straight lines from point to point."""
        corners = tuple((float(x), float(y)) for x, y in points)
        self.paths.append(Path(corners, (0.0,) * len(corners), layer, closed))

    def add_outline(self, outline: Outline, layer: Layer = "CUT") -> None:
        """Add an outline, its arcs as arcs."""
        if isinstance(outline, Circle):
            self.rounds.append(Round(outline.centre, outline.radius, layer))
        else:
            self.paths.append(_rectangle(outline, layer))

    def add_cross(self, at: Point, reach: float) -> None:
        """Add a cross that marks a middle."""
        x, y = at
        self.add_polygon([(x - reach, y), (x + reach, y)], "MARKS", closed=False)
        self.add_polygon([(x, y - reach), (x, y + reach)], "MARKS", closed=False)

    def placed(self, at: Point, *, turned: bool = False) -> "Sketch":
        """Return it moved to a place, and if need be first turned left by a quarter."""

        def to(point: Point) -> Point:
            x, y = (-point[1], point[0]) if turned else point
            return x + at[0], y + at[1]

        turn = 90.0 if turned else 0.0
        return Sketch(
            [path._replace(points=tuple(map(to, path.points))) for path in self.paths],
            [one._replace(centre=to(one.centre)) for one in self.rounds],
            [one._replace(at=to(one.at), turn=one.turn + turn) for one in self.labels],
        )

    def scaled(self, factor: float) -> "Sketch":
        """Return it so many times as large, lettering too."""

        def to(point: Point) -> Point:
            return point[0] * factor, point[1] * factor

        return Sketch(
            [path._replace(points=tuple(map(to, path.points))) for path in self.paths],
            [
                one._replace(centre=to(one.centre), radius=one.radius * factor)
                for one in self.rounds
            ],
            [one._replace(at=to(one.at), height=one.height * factor) for one in self.labels],
        )

    def add(self, other: "Sketch") -> None:
        """Add all of another one."""
        self.paths += other.paths
        self.rounds += other.rounds
        self.labels += other.labels

    @property
    def bounds(self) -> tuple[Point, Point]:
        """The lower left and the upper right corner of all lines and arcs."""
        points = np.array([*self._extremes()]).reshape(-1, 2)
        (x, y), (right, top) = points.min(axis=0), points.max(axis=0)
        return (float(x), float(y)), (float(right), float(top))

    def _extremes(self) -> Iterator[Point]:
        """Yield places among which are the outermost; arcs here never reach past their corners."""
        for path in self.paths:
            yield from path.points
        for one in self.rounds:
            for way in (-one.radius, one.radius):
                yield one.centre[0] + way, one.centre[1] + way


def arc_of(start: Point, end: Point, bulge: float) -> tuple[Point, float]:
    """Return centre and radius of the arc from a point to another.

    The chord c stands over the angle 4 atan(b): radius c (1 + b²) / (4 |b|), the centre at
    c (1 - b²) / (4 b) left of the chord's middle (DXF reference: LWPOLYLINE, group code 42).
    """
    (x, y), (to_x, to_y) = start, end
    across, along = to_x - x, to_y - y
    chord = math.hypot(across, along)
    left = (1 - bulge**2) / (4 * bulge)
    centre = ((x + to_x) / 2 - along * left, (y + to_y) / 2 + across * left)
    return centre, chord * (1 + bulge**2) / (4 * abs(bulge))


def _rectangle(outline: Rectangle, layer: Layer) -> Path:
    x, y = outline.centre
    width, height = outline.size
    radius = outline.radius
    left, right = x - width / 2, x + width / 2
    bottom, top = y - height / 2, y + height / 2
    if radius == 0:
        corners = ((left, bottom), (right, bottom), (right, top), (left, top))
        return Path(corners, (0.0,) * 4, layer)

    ends = [
        ((left + radius, bottom), (right - radius, bottom)),
        ((right, bottom + radius), (right, top - radius)),
        ((right - radius, top), (left + radius, top)),
        ((left, top - radius), (left, bottom + radius)),
    ]
    points: list[Point] = []
    bulges: list[float] = []
    for start, end in ends:  # each side, then the quarter to the next one
        if start != end:
            points.append(start)
            bulges.append(0.0)
        points.append(end)
        bulges.append(QUARTER)
    return Path(tuple(points), tuple(bulges), layer)
