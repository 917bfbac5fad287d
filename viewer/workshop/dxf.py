"""Drawings as DXF (R2010, mm); the only door to ezdxf."""

import io

from seamsight.viewer.workshop.sketch import Layer, Sketch

# of the AutoCAD colour index
COLOURS: dict[Layer, int] = {
    "CUT": 7,
    "HIDDEN": 8,
    "SLOTS": 30,
    "SCREENS": 4,
    "MARKS": 1,
    "NAMES": 5,
    "SHEET": 9,
}


def dxf(sketch: Sketch) -> bytes:
    """Return a drawing as a DXF file: the same bytes for the same drawing."""
    import ezdxf
    from ezdxf import enums, units

    ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no random names
    document = ezdxf.new("R2010", units=units.MM)
    for name, colour in COLOURS.items():
        document.layers.add(name, color=colour)
    space = document.modelspace()

    for path in sketch.paths:
        corners = [(*point, bulge) for point, bulge in zip(path.points, path.bulges, strict=True)]
        look = {"layer": path.layer}
        space.add_lwpolyline(corners, format="xyb", close=path.closed, dxfattribs=look)
    for one in sketch.rounds:
        space.add_circle(one.centre, one.radius, dxfattribs={"layer": one.layer})
    for label in sketch.labels:
        text = space.add_text(
            label.text, height=label.height, rotation=label.turn, dxfattribs={"layer": "NAMES"}
        )
        text.set_placement(label.at, align=enums.TextEntityAlignment.MIDDLE_CENTER)

    stream = io.StringIO(newline="\n")
    document.write(stream)
    return stream.getvalue().encode(document.output_encoding, "dxfreplace")
