"""The letters of everything drawn: Noto Sans (SIL Open Font License), which knows accents, Greek and Cyrillic."""

import functools
from importlib import resources

from PIL import ImageFont


@functools.lru_cache(maxsize=64)
def font(size: float) -> ImageFont.FreeTypeFont:
    """Return the font at a height in pixels."""
    with resources.as_file(
        resources.files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf"
    ) as file:
        return ImageFont.truetype(str(file), size)
