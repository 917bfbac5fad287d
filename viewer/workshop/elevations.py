"""A rig as drawn on paper: plan, front and side elevation, with the dimensions that matter."""

import itertools
import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from seamsight.scene import polygons
from seamsight.scene.assembly import Assembly
from seamsight.scene.closing import shell_of
from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.parts import LAMP_ROLES, Part
from seamsight.viewer.workshop.dimensions import add_dimension
from seamsight.viewer.workshop.sketch import Label, Point, Sketch

LEAST_AREA = 1.0  # mm²; a smaller piece of what is seen is not drawn
BETWEEN = 7.0  # heights of lettering between two views
ASIDE = 3.0  # heights of lettering from a view to its overall dimensions
ANGLE_AT = 0.8  # of the way from the eye point to a seam
NEIGHBOURS = math.radians(75)  # screens whose axes are farther apart have no seam


SCALES = (1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 200, 500)
LETTER = 2.2  # mm on paper
FOOT = 4.0  # heights of lettering below a view, for its title


class Drawing(NamedTuple):
    """Views at some scale.

    Attributes
    ----------
    scale : int
        The drawing is 1 : scale on paper.
    sketch : Sketch
        At 1:1, lettering so large that it is read on paper.
    """

    scale: int
    sketch: Sketch

    @property
    def on_paper(self) -> Sketch:
        """As large as on paper, from its lower left corner."""
        small = self.sketch.scaled(1 / self.scale)
        (left, bottom), _ = small.bounds
        return small.placed((-left, FOOT * LETTER - bottom))


class _View(NamedTuple):
    """From where one looks: axes of the rig that run right and up; and the one towards us."""

    title: str
    across: int
    along: int
    depth: int
    towards_us: float


_PLAN = _View("plan", 0, 1, 2, 1.0)
_FRONT = _View("front, from the seat", 0, 2, 1, -1.0)
_SIDE = _View("side, from the right", 1, 2, 0, 1.0)


def drawing(assembly: Assembly, room: Point) -> Drawing:
    """Return the views of a rig at the largest usual scale at which they fit, width and height mm.

    Raises
    ------
    ChoiceError
        When the rig has nothing that is built, or does not fit at any scale.
    """
    if not _built(assembly):
        msg = "this rig has nothing to draw"
        raise ChoiceError(msg)
    seen = _seen(assembly)
    for scale in SCALES:
        sketch = _laid_out(assembly, seen, LETTER * scale)
        (left, bottom), (right, top) = sketch.bounds
        fits_across = (right - left) / scale <= room[0]
        if fits_across and (top - bottom) / scale + FOOT * LETTER <= room[1]:
            return Drawing(scale, sketch)
    msg = f"this rig is too large to be drawn at 1:{SCALES[-1]}"
    raise ChoiceError(msg)


def elevations(assembly: Assembly, letter: float) -> Sketch:
    """Return plan, front below it and side beside that, 1:1, aligned with each other.

    Parameters
    ----------
    assembly : Assembly
        It has at least one part that is not part of the room.
    letter : float
        Height of the lettering, mm of the rig.
    """
    return _laid_out(assembly, _seen(assembly), letter)


def _seen(assembly: Assembly) -> list[Sketch]:
    """Return what is seen from above, in front and beside, without dimensions."""
    parts = _built(assembly)
    return [_drawn(assembly, parts, view) for view in (_PLAN, _FRONT, _SIDE)]


def _laid_out(assembly: Assembly, seen: list[Sketch], letter: float) -> Sketch:
    """Return the three views with their dimensions, aligned with each other."""
    parts = _built(assembly)
    views = [Sketch() for _ in seen]
    for sketch, view, lines in zip(views, (_PLAN, _FRONT, _SIDE), seen, strict=True):
        sketch.add(lines)
        _add_eye(sketch, assembly, view, letter)
        _add_overall(sketch, parts, view, letter)
    plan, front, side = views
    _add_plan_dimensions(plan, assembly, letter)
    _add_eye_dimensions(side, assembly, parts, letter)

    for sketch, view in zip(views, (_PLAN, _FRONT, _SIDE), strict=True):
        (left, bottom), (right, _) = sketch.bounds
        title = ((left + right) / 2, bottom - 3 * letter)
        sketch.labels.append(Label(title, view.title, 1.3 * letter))

    whole = Sketch()
    whole.add(plan)
    gap = BETWEEN * letter
    down = plan.bounds[0][1] - gap - front.bounds[1][1]
    whole.add(front.placed((0.0, down)))
    whole.add(side.placed((front.bounds[1][0] + gap - side.bounds[0][0], down)))
    return whole


def _built(assembly: Assembly) -> list[Part]:
    """Return the parts that are not part of the room."""
    rig = assembly.rig
    room = {one.name for one in (*rig.board, *rig.plate, *rig.mesh) if one.room}
    return [
        part for part in assembly.parts if part.name not in room and part.role not in LAMP_ROLES
    ]


def _drawn(assembly: Assembly, parts: list[Part], view: _View) -> Sketch:
    """Return a view: what hides nothing that matters, nearest first, and what of it is seen."""
    sketch = Sketch()
    covered = polygons.joined([])
    for part in _nearest_first(assembly, parts, view):
        outline = _shadow(part.triangles, view)
        for ring in polygons.rings_of(outline - covered):
            if _area(ring) > LEAST_AREA:
                sketch.add_polygon(ring.tolist())
        covered = covered + outline

    # screens and lenses, whatever is in front of them
    for part in parts:
        if part.kind is not Kind.OPAQUE:
            corners = np.concatenate([part.triangles[0], part.triangles[1, 2:]])
            sketch.add_polygon(corners[:, [view.across, view.along]].tolist(), "SCREENS")
    return sketch


def _add_eye(sketch: Sketch, assembly: Assembly, view: _View, letter: float) -> None:
    eye = _flat(view, np.array(assembly.rig.pilot.eye_point))
    sketch.add_cross(eye, letter)
    sketch.labels.append(Label((eye[0], eye[1] - 1.8 * letter), "eye point", letter))


def _shadow(triangles: Array, view: _View) -> polygons.Region:
    """Return what triangles (n, 3, 3) cover in a view."""
    flat = triangles[:, :, [view.across, view.along]]
    edge, other = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    turns_right = edge[:, 0] * other[:, 1] < edge[:, 1] * other[:, 0]
    if shell_of(triangles).is_closed:  # then one side of it covers as much as both: joined faster
        return polygons.region_within(list(flat[turns_right, ::-1]))
    alike = np.where(turns_right[:, None, None], flat[:, ::-1], flat)
    return polygons.region_within(list(alike))


def _area(ring: Array) -> float:
    x, y = ring.T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


def _nearest_first(assembly: Assembly, parts: list[Part], view: _View) -> Iterator[Part]:
    """Yield opaque parts, without those wholly before the eye point and all screens and lenses."""
    depths = {part.name: part.bounds[:, view.depth] * view.towards_us for part in parts}
    nearest = assembly.rig.pilot.eye_point[view.depth] * view.towards_us
    for part in parts:
        if part.kind is not Kind.OPAQUE:
            nearest = max(nearest, depths[part.name].max())
    opaque = [part for part in parts if part.kind is Kind.OPAQUE]
    for part in sorted(opaque, key=lambda part: -depths[part.name].max()):
        if depths[part.name].min() <= nearest:
            yield part


def _add_overall(sketch: Sketch, parts: list[Part], view: _View, letter: float) -> None:
    """Add how far all reaches, above the view and left of it; nothing where all is flat."""
    bounds = np.array([part.bounds for part in parts])
    low, high = bounds[:, 0].min(axis=0), bounds[:, 1].max(axis=0)
    (left, bottom), (right, top) = _flat(view, low), _flat(view, high)
    across = ((left, top), (right, top))
    along = ((left, bottom), (left, top))
    for ends, size in ((across, right - left), (along, top - bottom)):
        if size > 0:
            add_dimension(sketch, ends, f"{size:.0f}", letter, ASIDE * letter)


def _add_plan_dimensions(sketch: Sketch, assembly: Assembly, letter: float) -> None:
    """Add how far lenses and screens of the outside view are, and the angles at their seams."""
    eye = np.array(assembly.rig.pilot.eye_point)
    for screen in assembly.outside_screens:
        image = screen.rig_from_screen[:3, 3]
        optic = image if screen.lens is None else screen.lens.rig_from_lens[:3, 3]
        _add_true(sketch, eye, optic, letter)
        if screen.lens:
            _add_true(sketch, optic, image, letter)
    for first, second in itertools.pairwise(assembly.outside_screens):
        angle = _angle_between(first, second)
        if 0 < angle < NEIGHBOURS:
            middle = (first.rig_from_screen[:3, 3] + second.rig_from_screen[:3, 3]) / 2
            x, y = _flat(_PLAN, eye + ANGLE_AT * (middle - eye))
            sketch.labels.append(Label((x, y), f"{math.degrees(angle):.1f}°", letter))


def _add_true(sketch: Sketch, start: Array, end: Array, letter: float) -> None:
    """Add a dimension in the plan with the true distance of two places (3,)."""
    ends = (_flat(_PLAN, start), _flat(_PLAN, end))
    if math.dist(*ends) > letter:
        add_dimension(sketch, ends, f"{np.linalg.norm(end - start):.0f}", letter)


def _angle_between(first: PlacedScreen, second: PlacedScreen) -> float:
    axes = (first.rig_from_screen[:3, 1], second.rig_from_screen[:3, 1])
    return math.acos(float(np.clip(axes[0] @ axes[1], -1, 1)))


def _add_eye_dimensions(
    sketch: Sketch, assembly: Assembly, parts: list[Part], letter: float
) -> None:
    """Add the eye point's height above the lowest place."""
    floor = min(float(part.bounds[0, 2]) for part in parts)
    _, forward, up = assembly.rig.pilot.eye_point
    if up - floor > letter:
        ends = ((forward, floor), (forward, up))
        add_dimension(sketch, ends, f"{up - floor:.0f}", letter)


def _flat(view: _View, point: Array) -> Point:
    return float(point[view.across]), float(point[view.along])
