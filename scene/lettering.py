"""The letters of everything drawn: Noto Sans (SIL Open Font License).

It knows accents, Greek and Cyrillic.
"""

import functools
from importlib import resources

from PIL import ImageFont


# A live view asks for the same few sizes hundreds of times a second, to measure its words; a window
# of another size brings others.
@functools.lru_cache(maxsize=16)
def font(size: float) -> ImageFont.FreeTypeFont:
    """Return the font at a height in pixels."""
    with resources.as_file(
        resources.files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf"
    ) as file:
        return ImageFont.truetype(str(file), size)
