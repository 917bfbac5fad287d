"""The work of `drawing`: plan and elevations with dimensions, as PDF, SVG or DXF."""

from pathlib import Path

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.output import announced
from seamsight.scene import build
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.pictures.captions import change_words
from seamsight.viewer.workshop.dxf import dxf
from seamsight.viewer.workshop.elevations import drawing
from seamsight.viewer.workshop.pdf import page
from seamsight.viewer.workshop.svg import svg
from seamsight.viewer.workshop.tiles import PAPERS, room_on


def write_drawing(rig_words: RigWords, out: Path, paper: str, *, force: bool) -> None:
    """Write a rig's plan and elevations."""
    kind = options.require_ending(out, (".pdf", ".svg", ".dxf"), "FILE")
    options.require_paper(paper)
    refuse_to_overwrite(out, force)
    rig = options.read(rig_words)
    height, width = PAPERS[paper]  # on its side

    with announced("drawing"):
        found = drawing(build(rig), room_on((width, height)))
        words = " · ".join([rig.name, *change_words(rig), f"scale 1:{found.scale}, mm"])
        if kind == ".dxf":
            content = dxf(found.sketch)
        elif kind == ".svg":
            content = svg(found.on_paper)
        else:
            content = page(rig.name, found.on_paper, words, (width, height))
    write_whole(out, content)
    print(out)
    print(f"Scale {'1:1' if kind == '.dxf' else f'1:{found.scale}'}.")
