"""What a page lacks of a rig that it draws: those parts and pictures that it does not have yet."""

import hashlib
import math
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.content import coarseness, shown_pixels
from seamsight.scene.files import Picture
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.parts import Part
from seamsight.scene.rig import Rig
from seamsight.viewer.casting.tables import averaged
from seamsight.viewer.casting.world import is_painted, picture_key, picture_on
from seamsight.viewer.live.drawn_rig import part_facts, screen_facts

KEY_BYTES = 8  # two things out of a thousand that change have the same key once in 10^13 times
DRAFT_ACROSS = 320  # pixels along the longer side of a screen's picture that is painted in haste


@dataclass(frozen=True)
class Shown:
    """What a screen shows: its key, how it is made, and whether in haste."""

    key: str
    make: Callable[[], Picture]
    is_draft: bool = False


def lacking(
    assembly: Assembly,
    has: Collection[str],
    most_across: int,
    encode: Callable[[Picture], bytes],
    *,
    draft: bool = False,
) -> tuple[dict[str, Any], list[bytes]]:
    """Return a rig as `page_shapes.js` takes it.

    Parameters
    ----------
    assembly : Assembly
    has : collection of str
        Keys of the parts and pictures that the page has; each is of its content.
    most_across : int
        Pixels along the longer side of a screen's picture; finer ones are averaged.
    encode : callable
        From a picture (h, w, 3) uint8 to a file that browsers know.
    draft : bool
        Paints outside views that the page lacks coarsely.

    Returns
    -------
    facts : dict
        What `screen_facts` says, each image with the key of its `picture`; `parts` are those that
        the page lacks, `keys` those of all parts, in their order.
    binary : list of bytes
        Corners (float32, 3 each) of the parts that the page lacks, and their faces (uint32, 3
        corners each, counted from each part's first), both little-endian; then pictures.

    Raises
    ------
    FileError
        When a picture that a screen shows cannot be read.
    """
    known = set(has)
    keys = [_part_key(part) for part in assembly.parts]
    by_key = dict(zip(keys, assembly.parts, strict=True))
    new = [part for key, part in by_key.items() if key not in known]
    corners, faces = ([part.corners[which] for part in new] for which in (0, 1))
    binary = [_joined(corners, "<f4"), _joined(faces, "<u4")]

    # add the pictures, each once
    shown = list(_shown(assembly, known, most_across, draft=draft))
    for one in shown:
        if one.key not in known:
            known.add(one.key)
            binary.append(encode(one.make()))

    facts = screen_facts(assembly)
    images = zip(facts["images"], shown, strict=True)
    told = {
        "keys": keys,
        "parts": [part_facts(part) for part in new],
        "images": [image | {"picture": one.key} for image, one in images],
        "draft": any(one.is_draft for one in shown),
    }
    return facts | told, binary


def _shown(
    assembly: Assembly, known: Collection[str], most_across: int, *, draft: bool
) -> Iterator[Shown]:
    coarse = coarseness(assembly.screens)
    for screen in assembly.screens:
        fine = _fine(screen, assembly.rig, coarse, most_across)
        if draft and fine.key not in known and is_painted(screen):
            yield _rough(screen, assembly.rig, coarse)
        else:
            yield fine


def _fine(screen: PlacedScreen, rig: Rig, coarse: int, most_across: int) -> Shown:
    factor = math.ceil(max(shown_pixels(screen, coarse)) / most_across)
    key = _key(repr((picture_key(screen, rig, coarse), factor)).encode())
    return Shown(key, lambda: averaged(picture_on(screen, rig, coarse), factor))


def _rough(screen: PlacedScreen, rig: Rig, coarse: int) -> Shown:
    rough = coarse * math.ceil(max(shown_pixels(screen, coarse)) / DRAFT_ACROSS)
    key = _key(repr(picture_key(screen, rig, rough)).encode())
    return Shown(key, lambda: picture_on(screen, rig, rough), is_draft=True)


def _part_key(part: Part) -> str:
    """Return the key of a part: of all that `part_facts` and its corners are made from."""
    words = repr((part.name, part.kind, part.role, part.colour.tolist(), part.triangles.shape))
    return _key(words.encode(), part.triangles.tobytes())


def _key(*content: bytes) -> str:
    made = hashlib.blake2b(digest_size=KEY_BYTES)
    for each in content:
        made.update(each)
    return made.hexdigest()


def _joined(arrays: list[Any], kind: str) -> bytes:
    return b"".join(np.ascontiguousarray(array, kind).tobytes() for array in arrays)
