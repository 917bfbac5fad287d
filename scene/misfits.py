"""What does not suit each other in a rig, or looks as if its unit had been forgotten.

None of it makes a rig wrong: it can be meant. So it is told in notes, each with what to do.
"""

import contextlib
import math
from collections.abc import Iterator

import numpy as np

from seamsight.scene import files
from seamsight.scene.assembly import Assembly
from seamsight.scene.display import Wide
from seamsight.scene.errors import FileError
from seamsight.scene.frames import Array, inverse, move
from seamsight.scene.layout import PlacedLens, PlacedScreen, rig_from_pose
from seamsight.scene.notes import Note, Where
from seamsight.scene.optics import magnification
from seamsight.scene.rig import Rig

DIAGONALS = (100.0, 2500.0)  # mm, of screens; a smaller or larger one is asked about
PUPIL_DISTANCES = (50.0, 80.0)  # mm, of grown-ups
STRETCHED = 0.02  # share from which a circle looks like an egg
FASTEST = 1.0  # f-number; flat lenses that are faster have dark corners
TOUCHING = 0.05  # mm

_UNITS = ((25.4, "in"), (10.0, "cm"))
_ASPECTS = ("16:9", "16:10", "4:3", "5:4", "5:3", "3:2", "21:9", "32:9")


def misfits(assembly: Assembly) -> list[Note]:
    """Return the notes on a rig that need no look at how its parts stand to each other."""
    rig = assembly.rig
    found = list(_pupil_notes(rig))
    for screen in assembly.screens:
        # units of a bank are alike, and so are mirror images
        if screen.number <= 1 and screen.name not in rig.images:
            found += _size_notes(screen)
            found += _pixel_notes(screen)
            found += _wide_notes(screen, rig)
            found += _plate_notes(screen, rig)
            found += _lens_notes(screen, np.array(rig.pilot.eye_point)) if screen.lens else ()
    return found


def _called(screen: PlacedScreen) -> str:
    return screen.bank or screen.name


def _screen_table(screen: PlacedScreen) -> Where:
    return ("bank", screen.bank, "screen") if screen.bank else ("screen", screen.name)


def _lens_table(screen: PlacedScreen) -> Where:
    return ("bank", screen.bank, "lens") if screen.bank else ("lens", screen.name)


def _meant(value: float, usual: tuple[float, float]) -> str:
    """Return a question after the length that was probably meant, or nothing."""
    low, high = usual
    for scale, unit in _UNITS:
        if low <= value * scale <= high:
            return f'; a number without a unit is mm: did you mean "{value:g} {unit}"?'
    for scale, _ in _UNITS:
        if value > high and low <= value / scale <= high:
            return f": did you mean {value / scale:.4g} mm?"
    return ": is that right?"


def _pupil_notes(rig: Rig) -> Iterator[Note]:
    value = rig.pilot.pupil_distance
    low, high = PUPIL_DISTANCES
    if not low <= value <= high:
        text = f"a pupil distance of {value:g} mm is not between {low:g} and {high:g}"
        text += _meant(value, PUPIL_DISTANCES)
        yield Note("unit", ("pilot",), text, value, ("pilot", "pupil_distance"))


def _size_notes(screen: PlacedScreen) -> Iterator[Note]:
    low, high = DIAGONALS
    if low <= math.hypot(*screen.size) <= high:
        return
    display = screen.display
    given = display.diagonal if display.diagonal is not None else screen.size[0]
    key = "diagonal" if display.diagonal is not None else "width"
    odd = "small" if math.hypot(*screen.size) < low else "large"
    text = f"{_called(screen)} has a {key} of {given:g} mm, very {odd} for a screen"
    text += _meant(given, DIAGONALS)
    yield Note("unit", (_called(screen),), text, given, (*_screen_table(screen), key))


def _pixel_notes(screen: PlacedScreen) -> Iterator[Note]:
    (width, height), (across, down) = screen.size, screen.display.pixels
    shape = (width / across) / (height / down)
    if _is_alike(shape):
        return
    cure = f"if they are square, height = {width * down / across:.1f} fits this width"
    if _is_alike((width / down) / (height / across)):
        cure = f"write pixels = [{down}, {across}] for a screen that is turned by 90 degrees"
    elif screen.display.aspect is not None:
        cure = f'if they are square, aspect = "{_aspect_words(across, down)}" fits'
    wider = "wider than high" if shape > 1 else "higher than wide"
    text = (
        f"the pixels of {_called(screen)}, {across} × {down}, do not fit its image area, "
        f"{width:.1f} × {height:.1f} mm: each would be {_off(shape)} {wider}; {cure}"
    )
    yield Note("misfit", (_called(screen),), text, shape, (*_screen_table(screen), "pixels"))


def _wide_notes(screen: PlacedScreen, rig: Rig) -> Iterator[Note]:
    shows = screen.shows
    if not isinstance(shows, Wide) or shows.wide == "world":
        return
    with contextlib.suppress(FileError):  # told where it is drawn
        down, across = files.read_picture(files.beside(rig.file, shows.wide)).shape[:2]
        shape = screen.size[0] / screen.size[1] / (across / shows.of / down)
        if not _is_alike(shape):
            fits = round(down * shows.of * screen.size[0] / screen.size[1])
            text = (
                f"{shows.wide}, {across} × {down} pixels in {shows.of} parts, is stretched by "
                f"{_off(shape)} {'sideways' if shape > 1 else 'upwards'} on {_called(screen)}: one "
                f"of {fits} × {down} pixels fits"
            )
            where = (*_screen_table(screen), "shows")
            yield Note("misfit", (_called(screen),), text, shape, where)


def _plate_notes(screen: PlacedScreen, rig: Rig) -> Iterator[Note]:
    """Yield that a screen is in front of the plate that it is on, and runs through it."""
    plate = next((one for one in rig.plate if one.name == rig.stands.get(screen.name)), None)
    if plate is None or getattr(screen.display, "let_into", None) == plate.name:
        return
    centre = move(inverse(rig_from_pose(plate)), screen.rig_from_screen[:3, 3])
    away = float(centre[1])
    front = -plate.thickness / 2
    if away < front - TOUCHING and away + screen.display.body > front + TOUCHING:
        text = (
            f"{screen.name} is in front of {plate.name} and runs through it: away is positive "
            f"behind it, so did you mean {-away:g}? If it is let in there, say "
            f'in = "{plate.name}"'
        )
        where = ("screen", screen.name, "centre")
        yield Note("misfit", (screen.name, plate.name), text, away, where)


def _lens_notes(screen: PlacedScreen, eye: Array) -> Iterator[Note]:
    assert screen.lens is not None
    name = _called(screen)
    optic = screen.lens.optic
    lip = screen.display.lip
    table = _lens_table(screen)
    if lip > optic.separation:
        text = (
            f"the lip of {name}, {lip:g} mm, reaches past the lens, which is "
            f"{optic.separation:.4g} mm from the screen: make lip smaller, or distance larger"
        )
        yield Note("misfit", (name,), text, lip, (*_screen_table(screen), "lip"))

    crossed = lens_crossings(screen, screen.lens, eye)
    if crossed is None:
        return
    sides = zip(("width", "height"), (optic.width, optic.height), screen.size, strict=True)
    for axis, (key, lens, image) in enumerate(sides):
        if lens < image - TOUCHING and np.abs(crossed[:, axis]).max() > lens / 2 + TOUCHING:
            text = (
                f"the {key} of the lens of {name}, {lens:g} mm, is less than the image area's, "
                f"{image:.1f} mm, and cuts it off as seen from the design eye point: take a larger "
                "lens or a smaller screen"
            )
            yield Note("misfit", (name,), text, lens, (*table, key))

    half = np.array([optic.width, optic.height]) / 2
    radius = float(np.linalg.norm(np.clip(crossed, -half, half), axis=1).max())
    if radius > 0 and optic.focal_length / (2 * radius) < FASTEST:
        fast = optic.focal_length / (2 * radius)
        see = 'try model = "grooved" to see them, or' if optic.model == "thin" else "take"
        text = (
            f"the lens of {name} works at f/{fast:.2f} over the part that is used; real lenses "
            f"faster than f/1 have dark, blurred corners: {see} a longer focal_length"
        )
        yield Note("misfit", (name,), text, fast, (*table, "focal_length"))


def lens_crossings(screen: PlacedScreen, lens: PlacedLens, eye: Array) -> Array | None:
    """Return where lines from an eye point (3,) to an image's corners cross the lens, (4, 2).

    Right and up from its middle, mm, in the aperture or not. An ideal lens lets an object at
    (x, d, z) from its middle look as if at M times that. None where the point is not in front.
    """
    own_eye = move(inverse(lens.rig_from_lens), eye)
    if own_eye[1] >= 0:
        return None
    across, up = np.array(screen.size) / 2
    corners = np.array([(x, 0.0, z) for x in (-across, across) for z in (-up, up)])
    lens_from_screen = inverse(lens.rig_from_lens) @ screen.rig_from_screen
    enlarged = magnification(lens.optic.focal_length, lens.optic.separation)
    image = move(lens_from_screen, corners) * enlarged

    share = own_eye[1] / (own_eye[1] - image[:, 1])
    return np.asarray((own_eye + share[:, None] * (image - own_eye))[:, [0, 2]])


def _is_alike(shape: float) -> bool:
    return max(shape, 1 / shape) <= 1 + STRETCHED


def _off(shape: float) -> str:
    return f"{100 * (max(shape, 1 / shape) - 1):.1f} %"


def _aspect_words(across: int, down: int) -> str:
    """Return a number of pixels as the usual aspect ratio, or else as small numbers."""
    for words in _ASPECTS:
        wide, high = (int(side) for side in words.split(":"))
        if abs(across * high / (down * wide) - 1) < STRETCHED / 2:
            return words
    common = math.gcd(across, down)
    return f"{across // common}:{down // common}"
