"""Who sees a screen where: every direction marked for both eyes, one, or neither."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly
from seamsight.scene.files import Picture
from seamsight.scene.lettering import font
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import View
from seamsight.viewer.eye import Eyes
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import INK, PAPER, letter_of, noted, with_scale

Mask = npt.NDArray[np.bool_]
Texture = Callable[[npt.NDArray[np.int64], npt.NDArray[np.int64]], Mask]

# Colours that the colour-blind tell apart, in grey too (after Okabe and Ito's set, from memory),
# and textures where no eye sees a screen.
SEEN = {
    "both eyes": (168, 218, 250),
    "left eye only": (230, 159, 0),
    "right eye only": (0, 114, 78),
}
_DARK = (58, 60, 66)
_LIGHT = (176, 178, 184)
_TEXTURES: dict[str, Texture] = {
    "neither: bezel": lambda row, column: (row + column) % 8 < 3,
    "neither: bracket or frame": lambda row, column: (row // 5 + column // 5) % 2 == 0,
    "neither: hood": lambda row, column: row % 8 < 3,
    "neither: another part": lambda row, column: (row % 8 < 2) & (column % 8 < 2),
    "neither: nothing there (void)": lambda row, column: np.zeros_like(row, bool),
}
_GROUPS = {"bezel": 0, "bracket": 1, "frame": 1, "lens frame": 1, "hood": 2}
_OTHER = 3
_VOID = 4
_IN_ROW = 4  # meanings beside each other in the key


def overlap_picture(
    assembly: Assembly, eyes: Eyes, projection: Projection, caption: str
) -> Image.Image:
    """Return a picture of who sees a screen in each direction, with its key and a degree scale.

    Raises
    ------
    PoseError
        When an eye is inside a part.
    """
    views = [see(assembly, point, projection) for point in (eyes.left, eyes.right, eyes.mid)]
    left, right, middle = (view.parts for view in views)
    by_left, by_right, by_middle = (_sees_screen(view) for view in views)

    # Where neither eye sees a screen, show what the mid-eye meets, else the left eye, or the right
    there = np.where(by_middle | (middle < 0), np.where(left < 0, right, left), middle)
    picture = _textured(_groups(assembly, there))
    _colour(picture, by_left, by_right)

    sheet = _with_key(with_scale(Image.fromarray(picture), projection, caption))
    note = "Directions count from each eye, so near things stand twice, side by side."
    return noted(sheet, [note])


def tinted(pictures: tuple[Picture, Picture], left: View, right: View) -> tuple[Picture, Picture]:
    """Return both eyes' pictures (h, w, 3), coloured where both eyes or one see a screen."""
    by_left = _sees_screen(left)
    by_right = _sees_screen(right)
    colours = np.zeros_like(pictures[0])
    _colour(colours, by_left, by_right)
    seen = (by_left | by_right)[:, :, None]
    first, second = (np.where(seen, picture // 2 + colours // 2, picture) for picture in pictures)
    return first, second


def _colour(picture: Picture, by_left: Mask, by_right: Mask) -> None:
    """Paint the places of a picture (h, w, 3) where both eyes or one see a screen (h, w)."""
    masks = (by_left & by_right, by_left & ~by_right, by_right & ~by_left)
    for mask, colour in zip(masks, SEEN.values(), strict=True):
        picture[mask] = colour


def _sees_screen(view: View) -> Mask:
    # the last is the void's
    is_image = np.array([*(part.role == "image" for part in view.assembly.parts), False])
    return np.asarray(is_image[view.parts])


def _groups(assembly: Assembly, parts: npt.NDArray[np.int32]) -> npt.NDArray[np.int64]:
    """Return which texture each pixel (h, w) gets."""
    of_part = np.array([*(_GROUPS.get(part.role, _OTHER) for part in assembly.parts), _VOID])
    return np.asarray(of_part[np.where(parts < 0, len(assembly.parts), parts)])


def _textured(groups: npt.NDArray[np.int64]) -> npt.NDArray[np.uint8]:
    rows, columns = (np.asarray(index, np.int64) for index in np.indices(groups.shape))
    picture = np.empty((*groups.shape, 3), np.uint8)
    picture[:] = _DARK
    for number, texture in enumerate(_TEXTURES.values()):
        picture[(groups == number) & texture(rows, columns)] = _LIGHT
    return picture


def _with_key(sheet: Image.Image) -> Image.Image:
    """Return a sheet with the meaning of its colours and textures below."""
    # Paint a sample of each
    letter = letter_of(sheet.width)
    size = (letter, 2 * letter)
    samples = [np.full((*size, 3), colour, np.uint8) for colour in SEEN.values()]
    samples += [_textured(np.full(size, number)) for number in range(len(_TEXTURES))]
    names = [*SEEN, *_TEXTURES]

    # Put them in rows, each with its meaning
    rows = -(-len(names) // _IN_ROW)
    whole = Image.new("RGB", (sheet.width, sheet.height + round((1.7 * rows + 1) * letter)), PAPER)
    whole.paste(sheet, (0, 0))
    draw = ImageDraw.Draw(whole)
    letters = font(letter)
    for number, (name, sample) in enumerate(zip(names, samples, strict=True)):
        row, column = divmod(number, _IN_ROW)
        x = letter + column * (sheet.width - 2 * letter) // _IN_ROW
        y = sheet.height + round((0.4 + 1.7 * row) * letter)
        whole.paste(Image.fromarray(sample), (x, y))
        draw.rectangle([x, y, x + 2 * letter, y + letter], outline=INK)
        draw.text((x + 2.5 * letter, y + letter / 2), name, fill=INK, font=letters, anchor="lm")
    return whole
