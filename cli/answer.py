"""The answer that `check` gives first: what is seen, what is lost where, what to do about it."""

import itertools
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from seamsight.scene import Assembly, PoseError
from seamsight.scene.notes import Note
from seamsight.viewer.numbers.margins import SIDES
from seamsight.viewer.numbers.measures import Numbers, ScreenNumbers
from seamsight.viewer.numbers.seams import Seam, black_border
from seamsight.viewer.numbers.units import DEGREES, DIOPTRES, MM, PERCENT, in_words, number_words
from seamsight.viewer.setup.wide import rigs_own_wide

INCH = 25.4
ACUITY = 1.0  # arcmin: what a 20/20 eye resolves, one stroke of a Snellen letter
SOFT = 3.0  # arcmin per pixel from which text and far runways look coarse (our choice)
WORTH_A_BORDER = 0.5  # mm; about two pixels of a usual monitor; a narrower strip is no matter
WORTH_TELLING = 0.01  # share of an image that a part must hide to be named first
MOST_HIDERS = 3  # parts named first
MOST_NOTES = 3  # told of first

Screens = Mapping[str, ScreenNumbers]
Losses = dict[tuple[str, str, str | None], dict[str, float]]
"""From eye, side and the part behind which it is lost to the widths, mm, by the screens' names."""


def answer(assembly: Assembly, numbers: Numbers) -> list[str]:
    """Return what the numbers of a rig come to, a sentence each, what matters most first."""
    seen = {name: each for name, each in numbers.screens.items() if each.image_dioptres is not None}
    outside = {name: each for name, each in seen.items() if each.outside} or seen
    sentences = _from_behind(numbers.screens.keys() - seen.keys(), numbers)
    if outside:
        sentences += [
            _lost_words(numbers, outside),
            *_black_words(assembly, numbers, outside),
            *_dark_words(numbers),
            *_wide_words(assembly),
            _field_words(outside),
            *_size_words(assembly, outside),
            *_pixel_words(outside),
        ]

    sentences += _hidden_words(numbers)
    sentences += _refocus_words(outside, {name: seen[name] for name in seen.keys() - outside})
    sentences += _mark_words(numbers)
    if any(each.f_number is not None and each.sheet is None for each in seen.values()):
        sentences.append(
            'Lenses are ideal (model "thin"): real ones add blur, fringes, dim corners.'
        )
    return sentences


def note_words(notes: Sequence[Note], *, whole: bool) -> list[str]:
    """Return what is to be told of a rig before cutting: all of it, or the first three notes."""
    shown = notes if whole else notes[:MOST_NOTES]
    words = []
    for note in shown:
        place = "" if note.line is None else f"Line {note.line}: "
        text = note.text if place else f"{note.text[0].upper()}{note.text[1:]}"
        words.append(f"{place}{text}{'' if text.endswith('?') else '.'}")
    if len(shown) < len(notes):
        words.append(f"And {len(notes) - len(shown)} more: see --all.")
    return words


def names_words(names: Iterable[str]) -> str:
    """Return names in a row; units of a bank that follow each other as "a.1 to a.5"."""
    told = []
    for stem, group in itertools.groupby(names, lambda name: re.sub(r"\.\d+$", "", name)):
        units = list(group)
        numbers = [int(unit.rpartition(".")[2]) for unit in units if unit != stem]
        follows = numbers == list(range(numbers[0], numbers[0] + len(units))) if numbers else False
        told += [f"{units[0]} to {units[-1]}"] if follows and len(units) > 2 else units
    return _listed(told)


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _from_behind(names: set[str], numbers: Numbers) -> list[str]:
    if not names:
        return []
    told = names_words(name for name in numbers.screens if name in names)
    return [f"{told}: an eye is beside or behind it, so most of its numbers are missing."]


def _lost_words(numbers: Numbers, outside: Screens) -> str:
    """Return which eye loses how much of which outside screen, at which side, behind what."""
    losses: Losses = {}
    at_seams = set()
    for seam in numbers.seams:
        if seam.in_scene:
            at_seams |= set(zip(seam.between, seam.sides, strict=True))
            _add_lost_at(losses, seam)
    for name, screen in outside.items():
        for side, by_eye in (screen.margin or {}).items():
            for eye in ("left", "right") if (name, side) not in at_seams else ():
                if by_eye[eye] < -WORTH_A_BORDER:
                    losses.setdefault((eye, side, None), {})[name] = -by_eye[eye]

    if not losses:
        return f"Both eyes see {names_words(outside)} to the edges."
    order = list(numbers.screens)
    sorted_losses = {
        key: dict(sorted(widths.items(), key=lambda item: order.index(item[0])))
        for key, widths in losses.items()
    }
    words = "; ".join(_loss_words(sorted_losses))
    return f"{words[0].upper()}{words[1:]}."


def _add_lost_at(losses: Losses, seam: Seam) -> None:
    for eye in ("left", "right"):
        strips = zip(seam.between, seam.sides, seam.lost[eye] or (), strict=False)
        for name, side, strip in strips:
            if strip.width > WORTH_A_BORDER:
                losses.setdefault((eye, side, strip.behind), {})[name] = strip.width


def _loss_words(losses: Losses) -> Iterator[str]:
    """Yield a phrase for each eye, side and part; one for both eyes where they lose of the same."""
    for (eye, side, behind), widths in losses.items():
        other = losses.get(("right" if eye == "left" else "left", side, behind), {})
        shared = other.keys() == widths.keys()
        if shared and eye == "right":
            continue
        whose = "both eyes lose" if shared else f"the {eye} eye loses"
        most = max([*widths.values(), *(other.values() if shared else ())])
        width = in_words(most, MM)
        upto = "up to " if shared or len(widths) > 1 else ""
        where = f"at the {side} of {names_words(widths)}" + (f" behind {behind}" if behind else "")
        yield f"{whose} {upto}{width} {where}"


def _black_words(assembly: Assembly, numbers: Numbers, outside: Screens) -> list[str]:
    """Return how many pixels to keep black so that both eyes see all the rest."""
    told: dict[str, list[str]] = {}
    most = 0.0
    for name, screen in outside.items():
        placed = assembly.screen(name)
        lost = {
            side: -min(by_eye["left"], by_eye["right"])
            for side, by_eye in (screen.margin or {}).items()
        }
        pixels = {
            side: black_border(placed, side, lost[side])
            for side in SIDES
            if lost.get(side, 0.0) > WORTH_A_BORDER
        }
        if pixels:
            sides = _listed([f"{count} {side}" for side, count in pixels.items()])
            told.setdefault(sides, []).append(name)
            angle = (screen.arcmin_per_px or {}).get("h") or 0.0
            most = max(most, *(count * angle / 60 for count in pixels.values()))

    if not told:
        return []
    keep = "; ".join(f"{names_words(names)} {sides}" for sides, names in told.items())
    words = f"To lose nothing, keep these pixels black: {keep}"
    if any(seam.in_scene for seam in numbers.seams):
        words += f"; dark strips then look up to {in_words(most, DEGREES, 1)} wider"
    return [f"{words}."]


def _dark_words(numbers: Numbers) -> list[str]:
    """Return how wide the dark strips are from the point between the eyes, and for one eye."""
    seams = [seam for seam in numbers.seams if seam.in_scene]
    between = [width for seam in seams if (width := seam.dark["mid"]) is not None]
    eyes = [
        width
        for seam in seams
        for eye in ("left", "right")
        if (width := seam.dark[eye]) is not None
    ]
    if not between or not eyes:
        return []

    worst = max(between, key=abs)
    words = f"the dark strips between images look up to {in_words(max(between), DEGREES, 1)} wide"
    if abs(worst) < DEGREES.within:
        words = "the images meet"
    elif max(between) < 0:
        words = f"images repeat by up to {in_words(-worst, DEGREES, 1)}"
    if max(eyes) >= DEGREES.within:
        words += f"; one eye sees dark strips up to {in_words(max(eyes), DEGREES, 1)} wide"
    return [f"Seen from the point between the eyes {words}."]


def _wide_words(assembly: Assembly) -> list[str]:
    """Return how wrong a wide outside view is that screens share."""
    try:
        wide = rigs_own_wide(assembly)
    except PoseError as lack:
        return [f"The wide outside view is not whole: {lack}."]
    if wide is None:
        return []
    worst, error = max(wide.errors.items(), key=lambda item: item[1])
    told = f"The wide outside view of {in_words(math.degrees(wide.field), DEGREES, 0)}"
    if error < math.radians(DEGREES.within):
        return [f"{told} is right from the design eye point."]
    wrong = in_words(math.degrees(error), DEGREES, 1)
    words = f"{told} is up to {wrong} wrong on {worst}"
    jump = max((math.degrees(step.angle) for step in wide.steps), default=0.0)
    if jump >= DEGREES.within:
        words += f", and lines jump by up to {in_words(jump, DEGREES, 1)} at its seams"
    return [f"{words}: see `seamsight views`."]


def _field_words(outside: Screens) -> str:
    """Return the field that both eyes see of all outside screens."""
    both = [(screen.visible or {}).get("both", {}) for screen in outside.values()]
    across = sum(field.get("h") or 0.0 for field in both)
    up = min(field.get("v") or 0.0 for field in both)
    summed = " in all" if len(both) > 1 else ""
    least = "at least " if len(both) > 1 else ""
    return (
        f"Field of view seen by both eyes: {in_words(across, DEGREES, 1)} wide{summed}, "
        f"{least}{in_words(up, DEGREES, 1)} high."
    )


def _size_words(assembly: Assembly, outside: Screens) -> Iterator[str]:
    """Yield what size of screen each looks like, how far away."""
    told: dict[tuple[str, str, str], list[str]] = {}
    for name, screen in outside.items():
        assert screen.image_dioptres is not None
        inches = math.hypot(*assembly.screen(name).size) / INCH
        looks = f"{inches * screen.magnification:.0f}" if screen.f_number is not None else ""
        away = in_words(1000 / screen.image_dioptres, MM, 0)
        focus = f"{away} away ({number_words(screen.image_dioptres, DIOPTRES.digits)} dioptres)"
        told.setdefault((f"{inches:.0f}", looks, focus), []).append(name)

    for (inches_across, looks, focus), names in told.items():
        screens = f"{inches_across}-inch screen{'s' if len(names) > 1 else ''}"
        if looks and len(names) > 1:
            screens += f" that look like {looks}-inch ones"
        elif looks:
            screens += f" that looks like one of {looks} inches"
        yield f"{names_words(names)}: {screens} {focus}."


def _pixel_words(outside: Screens) -> list[str]:
    sizes = [size for screen in outside.values() if (size := (screen.arcmin_per_px or {}).get("h"))]
    if not sizes:
        return []
    verdict = "small text and far detail look coarse"
    if max(sizes) <= ACUITY:
        verdict = "finer than a 20/20 eye resolves (1′)"
    elif max(sizes) <= SOFT:
        verdict = "a 20/20 eye resolves 1′, so you can make out single pixels"
    return [f"A pixel looks up to {number_words(max(sizes), 2)}′ wide: {verdict}."]


def _hidden_words(numbers: Numbers) -> list[str]:
    """Return which parts hide most of which screens; the edges of their own lenses apart."""
    by_part: dict[str, dict[str, float]] = {}
    for name, hidden in numbers.hidden_by.items():
        for part, share in hidden.items():
            if share > WORTH_TELLING and part not in (name, f"{name} lens"):
                by_part.setdefault(part, {})[name] = share
    worst = sorted(by_part.items(), key=lambda item: -max(item[1].values()))[:MOST_HIDERS]
    told = [
        f"{part} hides "
        + _listed([f"{in_words(100 * share, PERCENT)} of {name}" for name, share in shares.items()])
        for part, shares in worst
    ]
    return [f"{'; '.join(told)}."] if told else []


def _refocus_words(outside: Screens, inside: Screens) -> list[str]:
    """Return by how much the eyes refocus between the outside screens and the others."""
    far, near = (
        [screen.image_dioptres for screen in screens.values() if screen.image_dioptres]
        for screens in (outside, inside)
    )
    if not far or not near:
        return []
    change = max(abs(one - other) for one in far for other in near)
    dioptres = number_words(change, DIOPTRES.digits)
    return [
        f"Between the outside screens and the others the eyes refocus by up to {dioptres} dioptres."
    ]


def _mark_words(numbers: Numbers) -> list[str]:
    off = [
        f"{name} ({in_words(mark.off, MM)})"
        for name, mark in numbers.marks.items()
        if not mark.good
    ]
    return [f"Reference points off by more than their tolerance: {_listed(off)}."] if off else []
