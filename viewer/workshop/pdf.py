"""Templates as PDF at 1:1, tiled over sheets of paper; the only door to reportlab."""

import functools
import io
import math
import textwrap
from importlib import resources
from typing import Any

from seamsight.viewer.workshop.sketch import Layer, Path, Point, Sketch, arc_of
from seamsight.viewer.workshop.template import Template
from seamsight.viewer.workshop.tiles import FOOT, MARGIN, OVERLAP, PAPERS, Tile, Tiling, tiling

MM = 72 / 25.4  # points
CHECK_BAR = 100.0  # mm
LINE = 0.2  # mm
WORDS = 2.8  # mm, lettering beside a template
INK: dict[Layer, tuple[tuple[float, float, float], tuple[float, ...]]] = {
    "CUT": ((0, 0, 0), ()),
    "HIDDEN": ((0.5, 0.5, 0.5), (4, 2)),
    "SLOTS": ((0.75, 0.3, 0), (2, 1)),
    "SCREENS": ((0, 0.5, 0.65), (6, 2)),
    "MARKS": ((0.8, 0, 0), ()),
}
"""Colour and dashes, mm, of each layer."""
NAMES = (0.1, 0.2, 0.6)
HOW_TO = (
    "Print at 100 %, without scaling or fitting to the page, and measure the bar below: 100.0 mm. "
    "If it is not, do not use the sheets.",
    "Sheets overlap by 10 mm: lay the crosses of a sheet's left and lower edge on those of its "
    "neighbour, and tape them together. Then measure the longest side again.",
    "Black: cut or drill. Grey, dashed: where a bevel ends on either face. Orange: slots and how "
    "deep. Blue, dashed: screens, images and lenses that come near. Red: middles of holes, and of "
    "the board.",
)


def pdf(title: str, found: list[Template], notes: list[str], paper: str) -> bytes:
    """Return templates as a PDF file: the same bytes for the same templates.

    The first page says how to print it, and what there is.

    Parameters
    ----------
    title : str
    found : list of Template
    notes : list of str
        Sentences on the first page.
    paper : str
        A key of `PAPERS`.
    """
    stream = io.BytesIO()
    canvas = _canvas(stream, title, PAPERS[paper])
    tilings = [tiling(template.sketch, PAPERS[paper]) for template in found]
    _draw_first_page(canvas, title, found, tilings, notes, PAPERS[paper])
    for template, laid in zip(found, tilings, strict=True):
        for tile in laid.tiles:
            _draw_tile(canvas, template, laid, tile)
    canvas.save()
    return stream.getvalue()


def page(title: str, sketch: Sketch, words: str, paper: Point) -> bytes:
    """Return a drawing, in mm on paper from its lower left corner, as one page with a check bar."""
    stream = io.BytesIO()
    canvas = _canvas(stream, title, paper)
    canvas.saveState()
    canvas.translate(MARGIN * MM, (MARGIN + FOOT) * MM)
    _draw(canvas, sketch)
    canvas.restoreState()
    _end_page(canvas, paper, words)
    canvas.save()
    return stream.getvalue()


def _canvas(stream: io.BytesIO, title: str, paper: Point) -> Any:
    """Return an empty document, to be printed as large as it is."""
    from reportlab.pdfgen.canvas import Canvas

    _letters()
    canvas = Canvas(stream, pagesize=(paper[0] * MM, paper[1] * MM), invariant=1)
    canvas.setTitle(title)
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


@functools.cache
def _letters() -> str:
    """Return the name of the font, known to the library from now on."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    file = resources.files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf"
    with resources.as_file(file) as path:
        pdfmetrics.registerFont(TTFont("Noto Sans", str(path)))
    return "Noto Sans"


def _draw_first_page(
    canvas: Any,
    title: str,
    found: list[Template],
    tilings: list[Tiling],
    notes: list[str],
    paper: Point,
) -> None:
    width, height = paper
    lines = [title, ""]
    rows = [
        f"{template.title}: {len(laid.tiles)} sheets"
        for template, laid in zip(found, tilings, strict=True)
    ]
    letters = int((width - 2 * MARGIN) / (0.52 * WORDS))
    for sentence in (*HOW_TO, "", *notes, "", *rows):
        lines += textwrap.wrap(sentence, letters) or [""]

    # go on to another page where one is full
    y = height - MARGIN
    for line in lines:
        if y < MARGIN + FOOT + WORDS:
            _end_page(canvas, paper, title)
            y = height - MARGIN
        y -= 1.6 * WORDS
        _write(canvas, (MARGIN, y), line)
    _end_page(canvas, paper, title)


def _draw_tile(canvas: Any, template: Template, laid: Tiling, tile: Tile) -> None:
    canvas.setPageSize((laid.paper[0] * MM, laid.paper[1] * MM))
    low = (MARGIN, MARGIN + FOOT)

    # draw what is in the tile, clipped, in mm of the template
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(low[0] * MM, low[1] * MM, laid.shown[0] * MM, laid.shown[1] * MM)
    canvas.clipPath(window, stroke=0, fill=0)
    canvas.translate((low[0] - tile.corner[0]) * MM, (low[1] - tile.corner[1]) * MM)
    _draw(canvas, template.sketch)
    canvas.restoreState()

    _draw_overlaps(canvas, laid, tile)
    where = f"{template.title}. Column {tile.column} of {laid.columns}, row {tile.row} of "
    _end_page(canvas, laid.paper, f"{where}{laid.rows} (from below)")


def _draw_overlaps(canvas: Any, laid: Tiling, tile: Tile) -> None:
    """Draw crosses where neighbours overlap: the same places of the template on both."""
    canvas.setStrokeColorRGB(0, 0.6, 0)
    canvas.setLineWidth(LINE * MM)
    canvas.setDash([])
    half = OVERLAP / 2
    left, bottom = MARGIN, MARGIN + FOOT
    right, top = left + laid.shown[0], bottom + laid.shown[1]

    # three crosses along each side where another sheet joins
    heights = [bottom + half, (bottom + top) / 2, top - half]
    widths = [left + half, (left + right) / 2, right - half]
    places = []
    if tile.column > 1:
        places += [(left + half, y) for y in heights]
    if tile.column < laid.columns:
        places += [(right - half, y) for y in heights]
    if tile.row > 1:
        places += [(x, bottom + half) for x in widths]
    if tile.row < laid.rows:
        places += [(x, top - half) for x in widths]

    for x, y in places:
        canvas.line((x - half) * MM, y * MM, (x + half) * MM, y * MM)
        canvas.line(x * MM, (y - half) * MM, x * MM, (y + half) * MM)


def _end_page(canvas: Any, paper: Point, words: str) -> None:
    """Draw the check bar and what the page is, and end it."""
    y = MARGIN + FOOT / 2
    canvas.setStrokeColorRGB(0, 0, 0)
    canvas.setLineWidth(LINE * MM)
    canvas.setDash([])
    canvas.line(MARGIN * MM, y * MM, (MARGIN + CHECK_BAR) * MM, y * MM)
    for x in (MARGIN, MARGIN + CHECK_BAR):
        canvas.line(x * MM, (y - 2) * MM, x * MM, (y + 2) * MM)
    _write(canvas, (MARGIN + CHECK_BAR + 3, y - WORDS / 3), "this bar: 100.0 mm")
    letters = int((paper[0] - 2 * MARGIN) / (0.5 * WORDS))
    shown = words if len(words) <= letters else f"{words[: letters - 1]}…"
    _write(canvas, (MARGIN, MARGIN), shown)
    canvas.showPage()


def _draw(canvas: Any, sketch: Sketch) -> None:
    canvas.setLineWidth(LINE * MM)
    for layer, (colour, dashes) in INK.items():
        canvas.setStrokeColorRGB(*colour)
        canvas.setDash([length * MM for length in dashes])
        for path in sketch.paths:
            if path.layer == layer:
                canvas.drawPath(_path(canvas, path), stroke=1, fill=0)
        for one in sketch.rounds:
            if one.layer == layer:
                x, y = one.centre
                canvas.circle(x * MM, y * MM, one.radius * MM, stroke=1, fill=0)
    for label in sketch.labels:
        canvas.saveState()
        canvas.translate(label.at[0] * MM, label.at[1] * MM)
        canvas.rotate(label.turn)
        canvas.setFillColorRGB(*NAMES)
        canvas.setFont(_letters(), label.height * MM)
        canvas.drawCentredString(0, -0.35 * label.height * MM, label.text)
        canvas.restoreState()


def _path(canvas: Any, path: Path) -> Any:
    drawn = canvas.beginPath()
    drawn.moveTo(path.points[0][0] * MM, path.points[0][1] * MM)
    ends = [*range(1, len(path.points)), 0] if path.closed else range(1, len(path.points))
    for start, end in enumerate(ends):
        if path.bulges[start]:
            _add_arc(drawn, path.points[start], path.points[end], path.bulges[start])
        else:
            drawn.lineTo(path.points[end][0] * MM, path.points[end][1] * MM)
    if path.closed:
        drawn.close()
    return drawn


def _add_arc(drawn: Any, start: Point, end: Point, bulge: float) -> None:
    (x, y), radius = arc_of(start, end, bulge)
    first = math.degrees(math.atan2(start[1] - y, start[0] - x))
    box = [(at + side * radius) * MM for side in (-1, 1) for at in (x, y)]
    drawn.arcTo(*box, startAng=first, extent=math.degrees(4 * math.atan(bulge)))


def _write(canvas: Any, at: Point, words: str) -> None:
    canvas.setFillColorRGB(0, 0, 0)
    canvas.setFont(_letters(), WORDS * MM)
    canvas.drawString(at[0] * MM, at[1] * MM, words)
