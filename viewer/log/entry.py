"""What goes into a new entry of a build log: rig files, pictures, numbers, words and photos."""

import dataclasses
import datetime
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path, PurePosixPath

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.files import beside
from seamsight.scene.rig import Head, Rig
from seamsight.scene.rig_text import with_values
from seamsight.scene.samples import named_files
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import framed
from seamsight.viewer.eye import EYE_WORDS, Eyes, eyes_of
from seamsight.viewer.light.mirrored_view import with_mirror_images
from seamsight.viewer.log.camera_notes import without_camera_notes
from seamsight.viewer.log.store import FACTS, NUMBERS, Entry, Facts, OwnPicture, eye_file
from seamsight.viewer.numbers.cautions import cautions
from seamsight.viewer.numbers.measures import measure
from seamsight.viewer.pictures.captions import caption, head_words
from seamsight.viewer.pictures.framing import AROUND, framed_on_screens
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import png

WIDTH = 1200  # pixels of what each eye sees
HEIGHT = 525
SAMPLES = 2  # rays along each side of a pixel


@dataclass(frozen=True)
class Words:
    """What the builder says of an entry.

    Attributes
    ----------
    date : datetime.date
    title, text : str
        The text is Markdown.
    pictures : sequence of (Path, str)
        Photos with their captions.
    keeps_notes : bool
        Whether photos are stored with what their cameras noted: place, time and so on.
    """

    date: datetime.date
    title: str
    text: str
    pictures: Sequence[tuple[Path, str]] = ()
    keeps_notes: bool = False


def entry_files(rig: Rig, head: Head, words: Words, last: Entry | None) -> dict[str, bytes]:
    """Return the files of a new entry: name to content.

    Parameters
    ----------
    rig : Rig
        As read from its file.
    head : Head
    words : Words
    last : Entry or None
        The entry before. Where the screens lie in its pictures' directions, these are drawn in
        the same, to be held together.

    Raises
    ------
    FileError
        When a picture or mesh of the rig cannot be used, or not any more.
    OSError
        When the rig file or a picture cannot be copied.
    PoseError
        When an eye is inside a part.
    ChoiceError
        When a value that was set is not written in the rig file.
    """
    # Copy first: measuring and drawing take a while in which an editor may save the files
    rig_file = f"rig/{rig.file.name.encode('utf-8', 'replace').decode()}"
    photos = [
        OwnPicture(file=f"pictures/{_plain(number, path)}", caption=caption)
        for number, (path, caption) in enumerate(words.pictures, start=1)
    ]
    named = sorted(named_files(rig))
    sources = {rig_file: rig.file}
    sources |= {f"rig/{PurePosixPath(name)}": beside(rig.file, name) for name in named}
    sources |= {own.file: path for own, (path, _) in zip(photos, words.pictures, strict=True)}
    copied = {name: path.read_bytes() for name, path in sources.items()}
    if not words.keeps_notes:
        copied = {name: without_camera_notes(sources[name], copied[name]) for name in copied}
    copied[rig_file] = with_values(copied[rig_file], rig.changes)

    # Measure, and write down what the entry needs to be shown
    assembly = build(rig)
    eyes = eyes_of(rig, head)
    numbers = measure(assembly, eyes)
    projection = _directions(assembly, eyes, last)
    facts = Facts(
        seamsight=version("seamsight"),
        date=words.date,
        title=words.title,
        text=words.text,
        rig=rig_file,
        rig_name=rig.name,
        head=head.name,
        head_words=head_words(head),
        lenses=assembly.has_lenses,
        field=projection.field,
        azimuth=projection.azimuth,
        elevation=projection.elevation,
        cautions=tuple(caution.full for caution in cautions(assembly, numbers)),
        pictures=tuple(photos),
    )
    stored = {"seamsight": facts.seamsight, **numbers.as_json()}

    return {
        FACTS: facts.model_dump_json(indent=2).encode(),
        NUMBERS: json.dumps(stored, indent=2, allow_nan=False).encode(),
        **_eye_pictures(assembly, eyes, projection),
        **copied,
    }


def _plain(number: int, path: Path) -> str:
    """Return a file name for a picture that every system takes."""
    stem, ending = (re.sub(r"[^\w-]+", "_", text) for text in (path.stem, path.suffix[1:].lower()))
    return f"{number:02d}_{stem[:50]}{ending and '.'}{ending[:8]}"


def _eye_pictures(assembly: Assembly, eyes: Eyes, projection: Projection) -> dict[str, bytes]:
    """Return what both eyes see, with lenses and, if there are any, without; file name to PNG."""
    rig = assembly.rig
    built = {True: assembly}
    if assembly.has_lenses:
        built[False] = build(rig, lenses=False)

    found = {}
    for lenses, seen in built.items():
        facts = {"Title": rig.name, "Lenses": "in their places" if lenses else "left out"}
        for eye in ("left", "right"):
            above = f"{caption(rig, eyes.head)} · {EYE_WORDS[eye]}"
            sheet = framed(with_mirror_images(see(seen, eyes.point(eye), projection)), above)
            found[eye_file(eye, lenses)] = png(sheet, facts)
    return found


def _directions(assembly: Assembly, eyes: Eyes, last: Entry | None) -> Projection:
    """Return what the pictures show: what the last entry's do, if all screens lie well in it."""
    usual = framed_on_screens(assembly, eyes, WIDTH, HEIGHT, SAMPLES)
    if last is None:
        return usual
    field, azimuth, elevation = last.facts.directions
    before = dataclasses.replace(usual, field=field, azimuth=azimuth, elevation=elevation)

    # See whether the screens lie within it, and are not too small there
    half = usual.field / AROUND / 2
    across = abs(usual.azimuth - before.azimuth) + half
    up = abs(usual.elevation - before.elevation) + half * HEIGHT / WIDTH
    lie_within = across <= before.field / 2 and up <= before.field / 2 * HEIGHT / WIDTH
    return before if lie_within and usual.field > before.field / 2 else usual
