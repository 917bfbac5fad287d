"""A head movement as a moving picture that runs round without a seam: animated WebP, or MP4 with an extra."""

import io
import math
import tempfile
import textwrap
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError, OutputError, PoseError
from seamsight.scene.lettering import font
from seamsight.scene.rig import Head
from seamsight.viewer.casting.trace import parts_between, refuse_inside, see
from seamsight.viewer.colour import srgb
from seamsight.viewer.eye import EYE_WORDS, EYES, eyes_of
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.pictures.framing import framed_on_all, framed_on_screens
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import INK, PAPER

FRAMES_PER_SECOND = 20
SWAY = 100.0  # mm to each side
FORMATS = (".webp", ".mp4")
SAMPLES = 2  # rays along each side of a pixel: with one, edges crawl as the head moves


def sway(frames: int) -> list[Head]:
    """Return heads that go from design to the right, to the left and back; the next would be the first again."""
    offsets = (
        round(SWAY * math.sin(2 * math.pi * number / frames), 1) + 0.0 for number in range(frames)
    )
    return [Head(name="swaying", offset=(right, 0.0, 0.0)) for right in offsets]


def path_through(heads: Sequence[Head], frames: int) -> list[Head]:
    """Return heads that go from each of some to the next and back to the first, slowly where they arrive.

    Raises
    ------
    ChoiceError
        When there are fewer than two heads, or all are in one place.
    """
    if len({_pose(head) for head in heads}) < 2:
        msg = "a movement needs at least two heads that differ"
        raise ChoiceError(msg)
    return [_between(heads, number * len(heads) / frames) for number in range(frames)]


def refuse_collisions(assembly: Assembly, heads: Sequence[Head]) -> None:
    """Raise PoseError when an eye would be inside a part, or go through one, on its way round through heads."""
    way = [eyes_of(assembly.rig, head) for head in heads]
    points = np.array([[eyes.point(eye) for eye in EYES] for eyes in [*way, way[0]]])
    refuse_inside(assembly, points[0])
    starts, ends = (steps.swapaxes(0, 1).reshape(-1, 3) for steps in (points[:-1], points[1:]))
    met = parts_between(assembly, starts, ends)
    through = np.flatnonzero(met >= 0)
    if len(through):
        part = assembly.parts[met[through[0]]].name
        at = ", ".join(f"{value:.0f}" for value in heads[through[0] % len(heads)].offset)
        msg = f'the head would go through "{part}" near the offset {at}'
        raise PoseError(msg)


def framed_on_path(
    assembly: Assembly, heads: Sequence[Head], width: int, height: int
) -> Projection:
    """Return one projection in which all screens and lenses lie from every head."""
    return framed_on_all(
        [
            framed_on_screens(assembly, eyes_of(assembly.rig, head), width, height, SAMPLES)
            for head in heads
        ]
    )


def frames_of(
    assembly: Assembly,
    heads: Sequence[Head],
    eyes: Sequence[str],
    shown: Projection,
) -> Iterator[Image.Image]:
    """Yield a picture of what eyes see from each head; a head that comes again is not drawn again.

    Parameters
    ----------
    assembly : Assembly
    heads : sequence of Head
    eyes : sequence of str
        "left", "right" or "mid", side by side, or one above the other where pictures are wide.
    shown : Projection
    """
    texts = {
        _pose(head): _lines(head_words(_in_whole_steps(head)), shown, len(eyes)) for head in heads
    }
    most = max(map(len, texts.values()))
    drawn: dict[tuple[float, ...], Image.Image] = {}
    for head in heads:
        pose = _pose(head)
        if pose not in drawn:
            seen = eyes_of(assembly.rig, head)
            pictures = [
                Image.fromarray(srgb(see(assembly, seen.point(eye), shown).light)) for eye in eyes
            ]
            lines = texts[pose] + [""] * (most - len(texts[pose]))
            drawn[pose] = _sheet(pictures, [EYE_WORDS[eye] for eye in eyes], lines)
        yield drawn[pose]


def webp(frames: Sequence[Image.Image]) -> bytes:
    """Return frames as an animated WebP that runs without end."""
    stream = io.BytesIO()
    frames[0].save(
        stream,
        "WEBP",
        save_all=True,
        append_images=list(frames[1:]),
        duration=1000 // FRAMES_PER_SECOND,
        loop=0,
        quality=80,
        method=4,
    )
    return stream.getvalue()


def mp4(frames: Sequence[Image.Image]) -> bytes:
    """Return frames, of even width and height, as an MP4 (H.264).

    Raises
    ------
    OutputError
        When the extra that encodes it is missing or fails.
    """
    try:
        import imageio_ffmpeg
    except ImportError as error:
        msg = "writing .mp4 needs an extra: pip install -e '.[mp4]' (or write .webp, which needs none)"
        raise OutputError(msg) from error
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "clip.mp4"
        try:
            writer = imageio_ffmpeg.write_frames(
                str(file),
                frames[0].size,
                fps=FRAMES_PER_SECOND,
                macro_block_size=2,
                ffmpeg_log_level="error",
            )
            writer.send(None)
            for frame in frames:
                writer.send(np.ascontiguousarray(frame))
            writer.close()
            return file.read_bytes()
        except (OSError, RuntimeError) as error:
            reason = (str(error).splitlines() or ["no reason given"])[0]
            msg = f"the MP4 could not be encoded ({reason})"
            raise OutputError(msg) from error


def heads_for(stops: Sequence[Head], frames: int) -> list[Head]:
    """Return the whole movement: through the stops, or swaying where there is none."""
    return path_through(stops, frames) if stops else sway(frames)


def _pose(head: Head) -> tuple[float, ...]:
    return (*head.offset, head.turn, head.nod, head.tilt)


def _between(heads: Sequence[Head], at: float) -> Head:
    """Return the head at a place on the way round: whole numbers are the heads, in between they are eased."""
    number = int(at)
    first, second = heads[number], heads[(number + 1) % len(heads)]
    share = at - number
    if share < 1e-9:
        return first
    eased = share * share * (3 - 2 * share)
    values = [
        round(a + (b - a) * eased, 2) + 0.0
        for a, b in zip(_pose(first), _pose(second), strict=True)
    ]
    right, forward, up, turn, nod, tilt = values
    name = f'"{first.name}" to "{second.name}"'
    return Head.model_construct(
        name=name, offset=(right, forward, up), turn=turn, nod=nod, tilt=tilt
    )


def _in_whole_steps(head: Head) -> Head:
    """Return a head with whole millimetres and degrees: text that flickers cannot be read."""
    right, forward, up, *angles = (round(value) for value in _pose(head))
    turned = dict(zip(("turn", "nod", "tilt"), angles, strict=True))
    return head.model_copy(update={"offset": (right, forward, up), **turned})


def _letter(width: int, height: int) -> int:
    return max(11, round(min(width, 2 * height) / 45))


def _beside(width: int, height: int, count: int) -> bool:
    return count > 1 and width <= 2 * height


def _lines(words: str, shown: Projection, count: int) -> list[str]:
    """Return what stands below a frame of so many pictures in lines that it is wide enough for."""
    width, height = shown.width, shown.height
    whole = width * count if _beside(width, height, count) else width
    return textwrap.wrap(words, max(16, int(whole / (0.56 * _letter(width, height)))))


def _sheet(pictures: list[Image.Image], labels: list[str], lines: list[str]) -> Image.Image:
    """Return pictures with a label above each and lines of text below; both sides even, as MP4 needs it."""
    width, height = pictures[0].size
    letter = _letter(width, height)
    bar = 2 * round(0.9 * letter)
    beside = _beside(width, height, len(pictures))
    across, down = (len(pictures), 1) if beside else (1, len(pictures))
    gap = 4 if beside else 0
    high = down * (height + bar)
    sheet = Image.new("RGB", (across * width + gap * (across - 1), high + bar * len(lines)), PAPER)
    draw, letters = ImageDraw.Draw(sheet), font(letter)
    for number, (picture, label) in enumerate(zip(pictures, labels, strict=True)):
        x, y = (number * (width + gap), 0) if beside else (0, number * (height + bar))
        draw.text((x + letter / 2, y + bar / 2), label, fill=INK, font=letters, anchor="lm")
        sheet.paste(picture, (x, y + bar))
    for number, line in enumerate(lines):
        draw.text(
            (letter / 2, high + bar * (number + 0.5)), line, fill=INK, font=letters, anchor="lm"
        )
    return sheet
