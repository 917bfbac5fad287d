"""A live view kept as a picture file: both eyes' pictures with captions, degree scales and facts."""

from pathlib import Path

from PIL import Image

from seamsight.scene.rig import DESIGN, Head, Rig
from seamsight.scene.writing import write_whole
from seamsight.viewer.live.preview import Look, Preview
from seamsight.viewer.pictures.captions import caption, facts_of, picture_command
from seamsight.viewer.sheet import png, stacked, with_scale


def look_sheet(preview: Preview, look: Look) -> bytes:
    """Return what both eyes see as a PNG file that tells how it was made.

    Raises
    ------
    PoseError
        When an eye is inside a part.
    """
    rig = preview.rig
    head = _head_of(rig, look)

    # Draw both eyes' pictures with their captions
    sheets = []
    for eye, shown in zip(("left", "right"), preview.pictures(look), strict=True):
        above = caption(rig, head, eye, lenses=look.lenses)
        if look.overlap:
            above += " · who sees what"
        sheets.append(with_scale(Image.fromarray(shown), preview.projection, above))

    # No command colours who sees what over both eyes' pictures
    command = None if look.overlap else _command(preview, look, head)
    return png(stacked(sheets), facts_of(rig, head, command))


def save_look(preview: Preview, look: Look) -> Path:
    """Write what both eyes see as RIG-01.png, or the next number that is free, in the current folder.

    Raises
    ------
    OutputError
        When it cannot be written.
    PoseError
        When an eye is inside a part.
    """
    content = look_sheet(preview, look)
    number = 1
    while (path := Path(f"{preview.rig.file.stem}-{number:02}.png")).exists():
        number += 1
    write_whole(path, content)
    return path


def _head_of(rig: Rig, look: Look) -> Head:
    """Return the rig's head where a look's is, or else the look's."""
    return next((head for head in rig.heads().values() if look.is_at(head)), look.head)


def _command(preview: Preview, look: Look, head: Head) -> str:
    rig = preview.rig
    out = Path(f"{rig.file.stem}_eyes.png")
    design = rig.heads()[DESIGN]
    return picture_command(rig, out, "both", design, head, preview.projection, lenses=look.lenses)
