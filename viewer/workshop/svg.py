"""Drawings as SVG at 1:1, y down as SVG has it."""

from xml.sax.saxutils import escape

from seamsight.viewer.workshop.sketch import Label, Layer, Path, Point, Sketch, arc_of

MARGIN = 10.0  # mm around the drawing
STROKES: dict[Layer, tuple[str, str]] = {
    "CUT": ("#000000", ""),
    "HIDDEN": ("#808080", "4 2"),
    "SLOTS": ("#c05000", "2 1"),
    "SCREENS": ("#0080a0", "6 2"),
    "MARKS": ("#c00000", ""),
    "SHEET": ("#a0a0a0", ""),
}
"""Colour and dashes, mm, of each layer."""
LINE = 0.2  # mm
NAMES = "#2040a0"


def svg(sketch: Sketch) -> bytes:
    """Return a drawing as an SVG file, 1 unit = 1 mm, a group for each layer."""
    (left, bottom), (right, top) = sketch.bounds
    right = max([right, *(_end(label) for label in sketch.labels)])
    width, height = right - left + 2 * MARGIN, top - bottom + 4 * MARGIN

    def down(point: Point) -> Point:
        return point[0] - left + MARGIN, top - point[1] + 3 * MARGIN

    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm" '
        f'viewBox="0 0 {width:.3f} {height:.3f}" fill="none" stroke-width="{LINE}">'
    ]
    for layer, (colour, dashes) in STROKES.items():
        shapes = [
            f'<path d="{_commands(path, [down(point) for point in path.points])}"/>'
            for path in sketch.paths
            if path.layer == layer
        ]
        for one in sketch.rounds:
            if one.layer == layer:
                x, y = down(one.centre)
                shapes.append(f'<circle cx="{x:.4f}" cy="{y:.4f}" r="{one.radius:.4f}"/>')
        if shapes:
            dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
            lines += [f'<g id="{layer}" stroke="{colour}"{dashed}>', *shapes, "</g>"]

    lines.append(f'<g id="NAMES" fill="{NAMES}" text-anchor="middle" font-family="sans-serif">')
    for label in sketch.labels:
        x, y = down(label.at)
        turn = f' transform="rotate({-label.turn:g} {x:.3f} {y:.3f})"' if label.turn else ""
        place = f'x="{x:.3f}" y="{y:.3f}" dy="0.35em" font-size="{label.height:g}"'
        lines.append(f"<text {place}{turn}>{escape(label.text)}</text>")
    return "\n".join([*lines, "</g>", "</svg>", ""]).encode("utf-8")


def _commands(path: Path, points: list[Point]) -> str:
    """Return the commands of an SVG path; arcs that run anticlockwise have sweep 0."""
    words = [f"M{points[0][0]:.4f} {points[0][1]:.4f}"]
    ends = [*range(1, len(points)), 0] if path.closed else range(1, len(points))
    for start, end in zip(range(len(points)), ends, strict=False):
        x, y = points[end]
        bulge = path.bulges[start]
        if bulge:
            _, radius = arc_of(path.points[start], path.points[end], bulge)
            large, sweep = int(abs(bulge) > 1), int(bulge < 0)
            words.append(f"A{radius:.4f} {radius:.4f} 0 {large} {sweep} {x:.4f} {y:.4f}")
        elif end:
            words.append(f"L{x:.4f} {y:.4f}")
    return " ".join([*words, "Z"] if path.closed else words)


def _end(label: Label) -> float:
    """Return about how far right a label reaches."""
    return label.at[0] + 0.3 * label.height * len(label.text)
