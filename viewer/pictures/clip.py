"""A head movement as a moving picture that runs round without a seam: animated WebP, or MP4."""

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
from seamsight.viewer.casting.view import picture_of
from seamsight.viewer.eye import EYE_WORDS, eyes_of
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.pictures.framing import framed_on_all, framed_on_screens
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import INK, PAPER

FRAMES_PER_SECOND = 20
SWAY = 100.0  # mm to each side
SAMPLES = 2  # rays along each side of a pixel: with one, edges crawl as the head moves


def sway(frames: int) -> list[Head]:
    """Return heads that go from design to the right, to the left and back.

    The next would be the first again.
    """
    angles = (2 * math.pi * number / frames for number in range(frames))
    offsets = (round(SWAY * math.sin(angle), 1) + 0.0 for angle in angles)  # no minus zero
    return [Head(name="swaying", offset=(right, 0.0, 0.0)) for right in offsets]


def path_through(heads: Sequence[Head], frames: int) -> list[Head]:
    """Return heads that go from each of some to the next and back, slowly where they arrive.

    Raises
    ------
    ChoiceError
        When there are fewer than two heads, or all are in one place.
    """
    if len({_pose(head) for head in heads}) < 2:
        msg = "a movement needs at least two different head positions"
        raise ChoiceError(msg)
    return [_between(heads, number * len(heads) / frames) for number in range(frames)]


def refuse_collisions(assembly: Assembly, heads: Sequence[Head]) -> None:
    """Refuse a way round through heads on which an eye would be inside a part, or go through one.

    Raises
    ------
    PoseError
    """
    way = [eyes_of(assembly.rig, head) for head in heads]
    points = np.stack([eyes.rows for eyes in [*way, way[0]]], axis=1)  # eye, head, axis
    refuse_inside(assembly, points[:, 0])

    # Send each eye along the way, from each head to the next
    starts = points[:, :-1].reshape(-1, 3)
    ends = points[:, 1:].reshape(-1, 3)
    met = parts_between(assembly, starts, ends)
    through = np.flatnonzero(met >= 0)
    if len(through):
        part = assembly.parts[met[through[0]]].name
        at = ", ".join(f"{value:.0f}" for value in heads[through[0] % len(heads)].offset)
        msg = f'the head would move through "{part}", near offset {at}'
        raise PoseError(msg)


def framed_on_path(
    assembly: Assembly, heads: Sequence[Head], width: int, height: int
) -> Projection:
    """Return one projection that shows all screens and lenses from every head."""
    way = (eyes_of(assembly.rig, head) for head in heads)
    return framed_on_all(
        [framed_on_screens(assembly, eyes, width, height, SAMPLES) for eyes in way]
    )


def frames_of(
    assembly: Assembly, heads: Sequence[Head], eyes: Sequence[str], projection: Projection
) -> Iterator[Image.Image]:
    """Yield a picture of what eyes see from each head; a head that comes again is not drawn again.

    Parameters
    ----------
    assembly : Assembly
    heads : sequence of Head
    eyes : sequence of str
        "left", "right" or "mid", side by side, or one above the other where pictures are wide.
    projection : Projection
    """
    # Leave room for the longest text, so that all frames are of one size
    by_pose = {_pose(head): head for head in heads}
    texts = {
        pose: _lines(head_words(_in_whole_steps(head)), projection, len(eyes))
        for pose, head in by_pose.items()
    }
    most = max(map(len, texts.values()))

    drawn: dict[tuple[float, ...], Image.Image] = {}
    labels = [EYE_WORDS[eye] for eye in eyes]
    for head in heads:
        pose = _pose(head)
        if pose not in drawn:
            points = map(eyes_of(assembly.rig, head).point, eyes)
            views = [see(assembly, point, projection) for point in points]
            pictures = [Image.fromarray(picture_of(view)) for view in views]
            lines = texts[pose] + [""] * (most - len(texts[pose]))
            drawn[pose] = _sheet(pictures, labels, lines)
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
        msg = "writing .mp4 needs another package: pip install -e '.[mp4]' "
        msg += "(or write .webp, which needs none)"
        raise OutputError(msg) from error

    # The encoder writes to files only
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
    """Return the head at a place on the way round: whole numbers are the heads themselves."""
    number = int(at)
    share = at - number
    first = heads[number]
    if share < 1e-9:
        return first
    second = heads[(number + 1) % len(heads)]

    # Ease in and out by a cubic whose ends are level
    eased = share * share * (3 - 2 * share)
    right, forward, up, turn, nod, tilt = (
        round(start + (end - start) * eased, 2) + 0.0
        for start, end in zip(_pose(first), _pose(second), strict=True)
    )
    return Head.model_construct(
        name=f'"{first.name}" to "{second.name}"',
        offset=(right, forward, up),
        turn=turn,
        nod=nod,
        tilt=tilt,
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


def _lines(words: str, projection: Projection, count: int) -> list[str]:
    """Return the words below a frame of so many pictures, in lines that it is wide enough for."""
    width, height = projection.width, projection.height
    whole = width * count if _beside(width, height, count) else width
    return textwrap.wrap(words, max(16, int(whole / (0.56 * _letter(width, height)))))


def _sheet(pictures: list[Image.Image], labels: list[str], lines: list[str]) -> Image.Image:
    """Return pictures with a label above each and lines of text below.

    Both its sides are even, as MP4 needs it.
    """
    width, height = pictures[0].size
    letter = _letter(width, height)
    bar = 2 * round(0.9 * letter)
    letters = font(letter)

    # Lay the pictures beside each other, or one below the other
    beside = _beside(width, height, len(pictures))
    step = (width + 4, 0) if beside else (0, height + bar)
    last = len(pictures) - 1
    wide = width + step[0] * last
    high = height + bar + step[1] * last
    sheet = Image.new("RGB", (wide, high + bar * len(lines)), PAPER)
    draw = ImageDraw.Draw(sheet)
    for number, (picture, label) in enumerate(zip(pictures, labels, strict=True)):
        x, y = step[0] * number, step[1] * number
        draw.text((x + letter / 2, y + bar / 2), label, fill=INK, font=letters, anchor="lm")
        sheet.paste(picture, (x, y + bar))

    for number, line in enumerate(lines):
        place = (letter / 2, high + bar * (number + 0.5))
        draw.text(place, line, fill=INK, font=letters, anchor="lm")
    return sheet
