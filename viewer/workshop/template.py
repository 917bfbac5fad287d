"""Boards and plates as templates at 1:1: each face with its holes, names and middles."""

from dataclasses import dataclass

from seamsight.scene.assembly import Assembly
from seamsight.scene.cutting import SEEN_FROM, CutPiece
from seamsight.scene.outlines import Circle, Outline
from seamsight.viewer.workshop.cut_list import CutRow
from seamsight.viewer.workshop.fittings import marks, screw_holes
from seamsight.viewer.workshop.pieces_drawn import face_sketch
from seamsight.viewer.workshop.sketch import Label, Sketch

BETWEEN = 60.0  # mm between two templates of a drawing
TITLE = 6.0  # mm, height of a board's name
SMALL = 3.5  # mm, of other words
CROSS = 5.0  # mm that a centre mark reaches each way
LINE = 1.6  # from line to line, heights


@dataclass(frozen=True, eq=False)
class Template:
    """The template of boards or plates that are cut and drilled alike.

    Attributes
    ----------
    names : list of str
    piece : CutPiece
        The first of them.
    sketch : Sketch
        Its face about its middle, at 1:1.
    is_plain : bool
        Whether it is a rectangle without holes, for which one needs no template.
    """

    names: list[str]
    piece: CutPiece
    sketch: Sketch
    is_plain: bool

    @property
    def called(self) -> str:
        """The first of its names, and how many more there are."""
        others = len(self.names) - 1
        return self.names[0] + (f" and {others} more" if others else "")

    @property
    def title(self) -> str:
        """Its names, how it is seen, and its size."""
        length, width, thickness = self.piece.size
        seen = SEEN_FROM[self.piece.thin]
        size = f"{length:.1f} × {width:.1f} × {thickness:g} mm"
        return f"{self.called}: {self.piece.material} {size}, seen from {seen}"


def templates(assembly: Assembly, rows: list[CutRow]) -> list[Template]:
    """Return a template for each kind of board or plate, and for each way it is drilled."""
    found = []
    for row in rows:
        alike: dict[object, list[CutPiece]] = {}
        for piece in row.pieces:
            holes = frozenset(hole.circle for hole in screw_holes(assembly, piece))
            alike.setdefault((holes, piece.holes, *_face(piece)), []).append(piece)
        found += [_template(assembly, pieces) for pieces in alike.values()]
    return found


def whole_sketch(found: list[Template]) -> Sketch:
    """Return templates below each other, each with its title above it."""
    sketch = Sketch()
    top = 0.0
    for template in found:
        (left, bottom), (_, upper) = template.sketch.bounds
        top -= BETWEEN + upper - bottom
        sketch.add(template.sketch.placed((-left, top - bottom)))
        middle = (0.3 * TITLE * len(template.title), top + upper - bottom + 2 * TITLE)
        sketch.labels.append(Label(middle, template.title, TITLE))
    return sketch


def _face(piece: CutPiece) -> tuple[object, ...]:
    """Return what a piece's face looks like as it is drawn; mirror images are drawn themselves."""
    return tuple(map(tuple, piece.outline.round(3).tolist())), piece.swept, piece.thin, piece.groove


def _template(assembly: Assembly, pieces: list[CutPiece]) -> Template:
    piece = pieces[0]
    sketch = face_sketch(piece)
    for mark in marks(assembly, piece):
        if piece.groove and mark.name.endswith(" lens"):
            continue  # its slot shows where it is
        sketch.add_polygon(mark.outline.tolist(), "SCREENS")
        x, y = mark.outline.mean(axis=0)[0], mark.outline[:, 1].max()
        sketch.labels.append(Label((float(x), float(y) + 0.8 * SMALL), mark.name, SMALL))
    screws = list(screw_holes(assembly, piece))
    for hole in screws:
        sketch.add_outline(hole.circle)
        _add_middle(sketch, hole.circle, f"{hole.screw} {hole.screen}")
    for drilled, name in zip(piece.holes, piece.hole_names, strict=True):
        _add_middle(sketch, drilled, name)
    sketch.add_cross((0.0, 0.0), 2 * CROSS)
    is_plain = not (piece.holes or piece.slants or piece.groove or piece.notches or screws)
    return Template([one.name for one in pieces], piece, sketch, is_plain)


def _add_middle(sketch: Sketch, hole: Outline, name: str) -> None:
    """Mark the middle of a hole; below that, its name and its size."""
    x, y = hole.centre
    sketch.add_cross(hole.centre, CROSS)
    if isinstance(hole, Circle):
        size = f"Ø {2 * hole.radius:g}"
    else:
        width, height = hole.size
        size = f"{width:g} × {height:g}"
        size += f", R {hole.radius:g}" if hole.radius else ""
    lines = [name, size] if name else [size]
    for number, words in enumerate(lines):
        place = (x, y - CROSS - LINE * SMALL * (number + 0.5))
        sketch.labels.append(Label(place, words, SMALL))
