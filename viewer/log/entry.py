"""What goes into a new entry of a build log: the rig's files, what both eyes see of it, numbers, words and photos."""

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
from seamsight.scene.samples import named_files
from seamsight.viewer.casting.trace import see
from seamsight.viewer.casting.view import framed
from seamsight.viewer.eye import Eyes, eyes_of
from seamsight.viewer.log.store import FACTS, NUMBERS, Entry, Facts, OwnPicture, eye_file
from seamsight.viewer.numbers.cautions import cautions
from seamsight.viewer.numbers.measures import measure
from seamsight.viewer.pictures.captions import head_words
from seamsight.viewer.pictures.framing import AROUND, framed_on_screens
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import png

WIDTH, HEIGHT, SAMPLES = 1200, 525, 2  # of what each eye sees


@dataclass(frozen=True)
class Words:
    """What the builder says of an entry: date, title, Markdown text, pictures with their captions."""

    date: datetime.date
    title: str
    text: str
    pictures: Sequence[tuple[Path, str]] = ()


def entry_files(rig: Rig, head: Head, words: Words, last: Entry | None) -> dict[str, bytes]:
    """Return the files of a new entry: name to content.

    Parameters
    ----------
    rig : Rig
        As read from its file.
    head : Head
    words : Words
    last : Entry or None
        The entry before; pictures are drawn in its directions where the screens lie there, to be held together.

    Raises
    ------
    FileError
        When a picture or mesh of the rig cannot be used, or not any more.
    OSError
        When the rig file or a picture cannot be copied.
    PoseError
        When an eye is inside a part.
    """
    own = {
        f"pictures/{_plain(number, path)}": path
        for number, (path, _) in enumerate(words.pictures, start=1)
    }
    rig_file = f"rig/{rig.file.name.encode('utf-8', 'replace').decode()}"
    needed = {
        f"rig/{PurePosixPath(name)}": beside(rig.file, name) for name in sorted(named_files(rig))
    }
    # now, as measuring and drawing take a while in which an editor may save them
    copied = {
        name: path.read_bytes() for name, path in {rig_file: rig.file, **needed, **own}.items()
    }
    assembly, eyes = build(rig), eyes_of(rig, head)
    numbers = measure(assembly, eyes)
    lenses = assembly.has_lenses
    shown = _directions(assembly, eyes, last)
    facts = Facts(
        seamsight=version("seamsight"),
        date=words.date,
        title=words.title,
        text=words.text,
        rig=rig_file,
        rig_name=rig.name,
        head=head.name,
        head_words=head_words(head),
        lenses=lenses,
        field=shown.field,
        azimuth=shown.azimuth,
        elevation=shown.elevation,
        cautions=tuple(cautions(assembly, numbers)),
        pictures=tuple(
            OwnPicture(file=file, caption=caption)
            for file, (_, caption) in zip(own, words.pictures, strict=True)
        ),
    )
    stored = {"seamsight": facts.seamsight, **numbers.as_json()}
    return {
        FACTS: facts.model_dump_json(indent=2).encode(),
        NUMBERS: json.dumps(stored, indent=2, allow_nan=False).encode(),
        **_eye_pictures(assembly, eyes, shown, f"{rig.name} · {head_words(head)}", lenses),
        **copied,
    }


def _plain(number: int, path: Path) -> str:
    """Return a file name for a picture that every system takes."""
    stem, ending = (re.sub(r"[^\w-]+", "_", text) for text in (path.stem, path.suffix[1:].lower()))
    return f"{number:02d}_{stem[:60]}{ending and '.'}{ending[:8]}"


def _eye_pictures(
    assembly: Assembly, eyes: Eyes, shown: Projection, caption: str, has_lenses: bool
) -> dict[str, bytes]:
    """Return what both eyes see, with lenses and, where there are any, without; file name to PNG."""
    seen = {True: assembly}
    if has_lenses:
        seen[False] = build(assembly.rig, lenses=False)
    found = {}
    for lenses, built in seen.items():
        for eye in ("left", "right"):
            sheet = framed(see(built, eyes.point(eye), shown), f"{caption} · {eye} eye")
            facts = {
                "Title": assembly.rig.name,
                "Lenses": "in their places" if lenses else "left out",
            }
            found[eye_file(eye, lenses)] = png(sheet, facts)
    return found


def _directions(assembly: Assembly, eyes: Eyes, last: Entry | None) -> Projection:
    """Return what the pictures show: what the last entry's show, if all screens are there and not too small."""
    usual = framed_on_screens(assembly, eyes, WIDTH, HEIGHT, SAMPLES)
    if last is None:
        return usual
    field, azimuth, elevation = last.facts.directions
    before = Projection(
        "equirectangular", WIDTH, HEIGHT, field, azimuth, elevation, samples=SAMPLES
    )
    half = usual.field / AROUND / 2
    across = abs(usual.azimuth - before.azimuth) + half
    up = abs(usual.elevation - before.elevation) + half * HEIGHT / WIDTH
    fits = (
        across <= before.field / 2
        and up <= before.field / 2 * HEIGHT / WIDTH
        and usual.field > before.field / 2
    )
    return before if fits else usual
