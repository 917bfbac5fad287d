"""A live view kept as a picture file: both eyes' pictures, captions, degree scales and facts."""

from pathlib import Path

from PIL import Image

from seamsight.scene.rig import DESIGN, Head, Rig
from seamsight.scene.writing import write_whole
from seamsight.viewer.live.preview import Preview
from seamsight.viewer.live.state import LiveState
from seamsight.viewer.pictures.captions import caption, facts_of, picture_command
from seamsight.viewer.sheet import png, stacked, with_scale


def picture_file(preview: Preview, state: LiveState) -> bytes:
    """Return what both eyes see as a PNG file that tells how it was made.

    Raises
    ------
    PoseError
        When an eye is inside a part.
    """
    rig = preview.rig
    head = _head_of(rig, state)

    # Draw both eyes' pictures with their captions
    sheets = []
    for eye, shown in zip(("left", "right"), preview.pictures(state), strict=True):
        above = caption(rig, head, eye, lenses=state.lenses)
        if state.overlap:
            above += " · colour by eye"
        sheets.append(with_scale(Image.fromarray(shown), preview.projection, above))

    # No command colours both eyes' pictures by eye
    command = None if state.overlap else _command(preview, state, head)
    return png(stacked(sheets), facts_of(rig, head, command))


def save_picture(preview: Preview, state: LiveState) -> Path:
    """Write what both eyes see into the current folder: RIG-01.png, or the next free number.

    Raises
    ------
    OutputError
        When it cannot be written.
    PoseError
        When an eye is inside a part.
    """
    content = picture_file(preview, state)
    number = 1
    while (path := Path(f"{preview.rig.file.stem}-{number:02}.png")).exists():
        number += 1
    write_whole(path, content)
    return path


def _head_of(rig: Rig, state: LiveState) -> Head:
    """Return the rig's head where a state's is, or else the state's."""
    return next((head for head in rig.heads().values() if state.is_at(head)), state.head)


def _command(preview: Preview, state: LiveState, head: Head) -> str:
    rig = preview.rig
    out = Path(f"{rig.file.stem}_eyes.png")
    design = rig.heads()[DESIGN]
    return picture_command(rig, out, "both", design, head, preview.projection, lenses=state.lenses)
