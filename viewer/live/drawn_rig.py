"""A rig as a browser draws it: its parts, screens and lenses, its faces and pictures in binary."""

import io
from collections.abc import Sequence
from typing import Any

from PIL import Image

from seamsight.scene.assembly import Assembly
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedScreen

KINDS = {Kind.OPAQUE: "opaque", Kind.IMAGE: "image", Kind.LENS: "lens"}


def drawn_rig(
    assembly: Assembly, pictures: Sequence[Picture]
) -> tuple[dict[str, Any], list[bytes]]:
    """Return a rig as `drawing.js` takes it.

    Parameters
    ----------
    assembly : Assembly
    pictures : sequence of (h, w, 3) uint8
        What each of its screens shows.

    Returns
    -------
    facts : dict
        Parts, images and lenses, for JSON.
    binary : list of bytes
        Corners (float32, 3 each), faces (uint32, 3 corners each), both little-endian; then each
        screen's picture, WebP without loss.
    """
    corners, faces = assembly.corners
    brightest = max((screen.display.luminance for screen in assembly.screens), default=1.0)
    facts = {
        "parts": _parts(assembly),
        "images": [_image(assembly, screen, brightest) for screen in assembly.screens],
        "lenses": [_lens(assembly, screen) for screen in assembly.screens if screen.lens],
    }
    shapes = [corners.astype("<f4").tobytes(), faces.astype("<u4").tobytes()]
    return facts, shapes + [_encoded(picture) for picture in pictures]


def _parts(assembly: Assembly) -> list[dict[str, Any]]:
    found = []
    first = 0
    for part in assembly.parts:
        low, high = part.bounds
        found.append(
            {
                "name": part.name,
                "kind": KINDS[part.kind],
                "role": part.role,
                "colour": [round(value, 5) for value in part.colour.tolist()],
                "first": first,
                "count": len(part.triangles),
                "corners": len(part.corners[0]),
                "low": low.tolist(),
                "high": high.tolist(),
            }
        )
        first += len(part.triangles)
    return found


def _image(assembly: Assembly, screen: PlacedScreen, brightest: float) -> dict[str, Any]:
    return {
        "part": assembly.part_id(screen.name),
        **_axes(screen.rig_from_screen),
        "size": list(screen.size),
        "gain": screen.display.luminance / brightest,
    }


def _lens(assembly: Assembly, screen: PlacedScreen) -> dict[str, Any]:
    assert screen.lens is not None
    optic = screen.lens.optic
    return {
        "part": assembly.lens_id(screen),
        **_axes(screen.lens.rig_from_lens),
        "size": [optic.width, optic.height],
        "focalLength": optic.focal_length,
        "grooved": optic.model == "grooved",
    }


def _axes(rig_from_part: Array) -> dict[str, list[float]]:
    right, away, up, middle = rig_from_part[:3].T.tolist()
    return {"right": right, "away": away, "up": up, "middle": middle}


def _encoded(picture: Picture) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(picture).save(stream, "WEBP", lossless=True)
    return stream.getvalue()
