"""What `glare` prints: a table for each head position, then sentences on what it comes to."""

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from seamsight.cli.tables import NumbersTable
from seamsight.scene import Head
from seamsight.viewer.light.glare import MirrorImage
from seamsight.viewer.numbers.units import MM, PERCENT, in_words, number_words
from seamsight.viewer.pictures.captions import head_words

BOTH = ("left", "right")
DISTURBING = 1 / 3
"""Share of a screen's white from which a mirror image leaves a contrast of less than 4: a limit of
3 is common for screens (ISO 9241 family, read in translation)."""
UNTOLD = (
    "A lens's grooved face counts as flat: real lenses mirror less. Screens count as all white."
)


class Found(NamedTuple):
    """What is seen mirrored from a head position, or why nothing can be told."""

    head: Head
    images: list[MirrorImage]
    failure: str | None = None

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON has it."""
        images = [image.as_json() for image in self.images]
        return {"head": self.head.name, "failure": self.failure, "images": images}


def table(head: Head, images: list[MirrorImage]) -> NumbersTable:
    """Return what is seen mirrored from a head, a row for each mirror and source."""
    rows = [(f"{of} in {mirror}", _cells(dict(pairs))) for (mirror, of), pairs in _by_pair(images)]
    title = f"From head position {head_words(head)}; left / right eye where they differ"
    headings = ("direction", "size", "cd/m²", "of white", "covers", "hood needed")
    return NumbersTable(title, "mirrored", headings, rows, worded=True)


def _by_pair(
    images: Iterable[MirrorImage],
) -> Iterator[tuple[tuple[str, str], list[tuple[str, MirrorImage]]]]:
    """Yield each mirror and what is mirrored there, with its images by eye; brightest first."""
    pairs: dict[tuple[str, str], list[tuple[str, MirrorImage]]] = {}
    for image in images:
        pairs.setdefault((image.mirror, image.of), []).append((image.eye, image))
    yield from pairs.items()


def _cells(by_eye: dict[str, MirrorImage]) -> list[str]:
    """Return a row's cells: one value, or one for each eye."""

    def both(words: dict[str, str]) -> str:
        told = [words.get(eye, "–") for eye in BOTH]
        return told[0] if told[0] == told[1] else " / ".join(told)

    def degrees(value: float) -> str:
        return number_words(value, 0)

    images = by_eye.items()
    return [
        both({eye: f"{degrees(one.azimuth)}, {degrees(one.elevation)}" for eye, one in images}),
        both({eye: f"{degrees(one.width)} × {degrees(one.height)}" for eye, one in images}),
        both({eye: number_words(one.luminance, 0) for eye, one in images}),
        both({eye: in_words(100 * one.of_white, PERCENT, 0) for eye, one in images}),
        both({eye: _share_words(one) for eye, one in images}),
        _hood_words(by_eye.values()),
    ]


def _share_words(image: MirrorImage) -> str:
    """Return how much of a lens or screen is covered, and without hoods if that is more."""
    share, without = (
        in_words(100 * value, PERCENT) for value in (image.share, image.share_without_hood)
    )
    return share if share == without else f"{share} (hoods off: {without})"


def _hood_words(images: Iterable[MirrorImage]) -> str:
    """Return how long a hood must be at which side for both eyes."""
    words = []
    sides = dict.fromkeys(side for image in images for side in image.hood)
    for side in sides:
        hoods = [image.hood[side] for image in images if side in image.hood]
        depths = [hood.depth for hood in hoods if hood.depth is not None]
        if len(depths) < len(hoods):
            return "none helps"
        hides = ", which hides part of it" if any(hood.hides_view for hood in hoods) else ""
        words.append(f"{side} {in_words(max(depths), MM, 0)}{hides}")
    return ", ".join(words)


def sentences(found: list[Found]) -> Iterator[str]:
    """Yield what matters most, and how to read the tables; nothing where nothing is mirrored."""
    if not any(one.images for one in found):
        return

    seen = [(one.head, image) for one in found for image in one.images if image.share > 0]
    if seen:
        head, worst = max(seen, key=lambda pair: pair[1].of_white)
        share = in_words(100 * worst.of_white, PERCENT, 0)
        yield (
            f"The worst is {worst.of} in {worst.mirror}, from {head.name}: it is {share} as bright "
            f"as the screen's white, and leaves a contrast of {worst.contrast:.1f} to 1."
        )
        if worst.of_white > DISTURBING:
            yield "Move the lamp, dim it, or add a hood."
    else:
        yield "The rig's hoods keep all of it away."
    yield (
        "Directions and sizes are in degrees, across and up. A hood needed is measured from the "
        "lens, or from a bare screen's surface, towards you."
    )
    yield UNTOLD
