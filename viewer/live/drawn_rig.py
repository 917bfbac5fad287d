"""A rig as a browser draws it: its parts, screens and lenses, its faces and pictures in binary."""

import io
import itertools
import math
from collections.abc import Callable, Iterator
from typing import Any

from PIL import Image

from seamsight.scene.assembly import Assembly
from seamsight.scene.closing import shell_of
from seamsight.scene.content import coarseness
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.parts import Part
from seamsight.scene.rig import Pilot
from seamsight.viewer.casting.tables import averaged
from seamsight.viewer.casting.world import picture_on
from seamsight.viewer.live.stage_shapes import ball_around, image_corners
from seamsight.viewer.pictures.places import SEEN

# of images, by who sees them
TINTS = {
    name: [code / 255 for code in SEEN[words]]
    for name, words in (
        ("both", "both eyes"),
        ("left", "left eye only"),
        ("right", "right eye only"),
    )
}
KINDS = {Kind.OPAQUE: "opaque", Kind.IMAGE: "image", Kind.LENS: "lens"}


def drawn_rig(
    assembly: Assembly, most_across: int, encode: Callable[[Picture], bytes]
) -> tuple[dict[str, Any], list[bytes]]:
    """Return a rig as `drawing.js` and `stage_drawing.js` take it.

    Parameters
    ----------
    assembly : Assembly
    most_across : int
        Pixels along the longer side of a screen's picture; finer ones are averaged.
    encode : callable
        From a picture (h, w, 3) uint8 to a file that browsers know.

    Returns
    -------
    facts : dict
        Parts, images, lenses, colours by who sees an image, and a ball around what a view from
        outside shows, for JSON.
    binary : list of bytes
        Corners (float32, 3 each), faces (uint32, 3 corners each), both little-endian; then each
        screen's picture.

    Raises
    ------
    FileError
        When a picture that a screen shows cannot be read.
    """
    corners, faces = assembly.corners
    shapes = [corners.astype("<f4").tobytes(), faces.astype("<u4").tobytes()]
    pictures = [encode(picture) for picture in _pictures(assembly, most_across)]
    return {"parts": _parts(assembly), **screen_facts(assembly)}, shapes + pictures


def screen_facts(assembly: Assembly) -> dict[str, Any]:
    """Return what `drawn_rig` says of a rig, but for its parts."""
    screens = assembly.screens
    brightest = max((screen.display.luminance for screen in screens), default=1.0)
    middle, radius = ball_around(assembly)
    return {
        "images": [_image(assembly, screen, brightest) for screen in screens],
        "lenses": [_lens(assembly, at) for at, screen in enumerate(screens) if screen.lens],
        "ball": {"middle": middle.tolist(), "radius": radius},
        "tints": TINTS,
    }


def pilot_facts(pilot: Pilot) -> dict[str, Any]:
    """Return a pilot as `eyesOf` of `rig_shapes.js` takes it."""
    return {
        "eyePoint": list(pilot.eye_point),
        "pupilDistance": pilot.pupil_distance,
        "neck": pilot.neck,
    }


def without_loss(picture: Picture) -> bytes:
    """Return a picture as a WebP file without loss."""
    stream = io.BytesIO()
    Image.fromarray(picture).save(stream, "WEBP", lossless=True)
    return stream.getvalue()


def _pictures(assembly: Assembly, most_across: int) -> Iterator[Picture]:
    coarse = coarseness(assembly.screens)
    for screen in assembly.screens:
        shown = picture_on(screen, assembly.rig, coarse)
        yield averaged(shown, math.ceil(max(shown.shape[:2]) / most_across))


def part_facts(part: Part) -> dict[str, Any]:
    """Return what `drawn_rig` says of a part, but where its faces stand among all."""
    low, high = part.bounds
    return {
        "name": part.name,
        "kind": KINDS[part.kind],
        "role": part.role,
        "colour": [round(value, 5) for value in part.colour.tolist()],
        "count": len(part.triangles),
        "outward": shell_of(part.triangles).is_outward,
        "corners": len(part.corners[0]),
        "low": low.tolist(),
        "high": high.tolist(),
    }


def _parts(assembly: Assembly) -> list[dict[str, Any]]:
    counts = [len(part.triangles) for part in assembly.parts]
    firsts = [0, *itertools.accumulate(counts)]
    return [
        part_facts(part) | {"first": first}
        for part, first in zip(assembly.parts, firsts, strict=False)
    ]


def _image(assembly: Assembly, screen: PlacedScreen, brightest: float) -> dict[str, Any]:
    return {
        "part": assembly.part_id(screen.name),
        **_axes(screen.rig_from_screen),
        "size": list(screen.size),
        "gain": screen.display.luminance / brightest,
    }


def _lens(assembly: Assembly, number: int) -> dict[str, Any]:
    """Return the lens of a screen, by the screen's number."""
    screen = assembly.screens[number]
    assert screen.lens is not None
    optic = screen.lens.optic
    return {
        "part": assembly.lens_id(screen),
        **_axes(screen.lens.rig_from_lens),
        "size": [optic.width, optic.height],
        "focalLength": optic.focal_length,
        "grooved": optic.model == "grooved",
        "image": number,
        "virtualImage": image_corners(screen, virtual=True).tolist(),
    }


def _axes(rig_from_part: Array) -> dict[str, list[float]]:
    right, away, up, middle = rig_from_part[:3].T.tolist()
    return {"right": right, "away": away, "up": up, "middle": middle}
