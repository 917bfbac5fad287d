"""What can hurt somebody in such a build: the usual cautions, and which of them a rig calls for.

They do not replace local codes, makers' instructions or licensed practice.
"""

from typing import NamedTuple

from seamsight.scene.assembly import Assembly
from seamsight.scene.display import Bezel
from seamsight.viewer.numbers.measures import Numbers


class Caution(NamedTuple):
    """A caution in one line, and in full."""

    short: str
    full: str


SUN = Caution(
    "Sunlight through a Fresnel lens starts fires: cover every lens not in use.",
    "Sunlight through a Fresnel lens starts fires within seconds: cover every lens whenever it is "
    "not in use, and keep it out of direct sun, low winter sun and reflected sun included, while "
    "you build too.",
)
OPENED = Caution(
    "An opened monitor holds mains and high voltage: leave it to a technician.",
    "A monitor out of its housing holds mains and high-voltage parts that stay charged after "
    "unplugging: leave opening and rewiring to a qualified electronics technician and follow local "
    "electrical rules; keep it earthed and covered.",
)
HEAVY = Caution(
    "Screens and glass above or in front of you must not fall: use a firm frame.",
    "Screens, glass and boards above or in front of a person must not tip or fall: use a frame "
    "that withstands a hard shove, lift with two people, stay within the mount's rated load, and "
    "follow local building codes.",
)
TIPS = Caution(
    "This frame tips too easily: widen its base, or fasten it to the building.",
    "This frame tips by itself, or at a push that it should stand: widen its base, put weight low "
    "down, or have it fastened to the building as local building codes ask, by a licensed person "
    "where they do. Nobody sits before it until that is done.",
)
OVERLOADED = Caution(
    "A screen is heavier than its mounting pattern may carry: hold it otherwise.",
    "A screen that is heavier than its mounting pattern may carry must not hang by it, above or in "
    "front of a person least of all: carry it from below, or use the larger pattern and the "
    "bracket that its maker names.",
)
LIFTING = Caution(
    "Too heavy for one person: lift with two, or take it apart.",
    "What weighs more than 23 kg is too heavy for one person, however it is held (load constant "
    "of the revised NIOSH lifting equation); far from the body or high up much less is: lift with "
    "two people or more, or take it apart.",
)
HEAT = Caution(
    "Screens and the computer need air: keep all vents open.",
    "Screens and the computer need air: keep every vent open behind panels and hoods, and check "
    "for heat in the first hours.",
)
WORKSHOP = Caution(
    "When cutting and drilling, wear eye protection and a dust mask.",
    "Wear eye protection and a dust mask when you cut or drill panels and acrylic.",
)
ESCAPE = Caution(
    "Make sure you can leave the seat quickly.",
    "Make sure you can leave the seat quickly, also in the dark and when the power fails.",
)
EYES = Caution(
    "Images at different distances tire the eyes: take breaks.",
    "Images at different distances, and a focus that differs from where both eyes converge, tire "
    "the eyes: take breaks, and see an eye specialist if strain or double vision persists.",
)
SICKNESS = Caution(
    "A wide moving scene makes some people sick: start with short sessions.",
    "A wide moving scene without motion makes some people sick: start with short sessions, stop at "
    "the first signs, and do not drive afterwards until they are gone.",
)
HEADSET = (
    "Pictures in a headset make some people sick: start with a few minutes, take breaks, and take "
    "the headset off at the first sign of dizziness, nausea, headache or sore eyes.",
    "You do not see the room. Sit down, and keep everything that you could hit out of reach, "
    "people and pets too.",
    "Do not drive, climb or use machines afterwards until you feel well.",
    "Children, pregnant people, and anybody who has had seizures or has a medical implant: follow "
    "what the headset's maker says, and ask a doctor if in doubt.",
)
"""What to know before entering with a headset."""
WIDE_FIELD = 60.0  # degrees of azimuth covered, from which sickness is worth a caution (our choice)
DIOPTRES_APART = 0.5
"""Common practice: the comfort zone for long viewing, from memory (Shibata et al., J. Vision
11(8):11)."""


def cautions(assembly: Assembly, numbers: Numbers) -> list[Caution]:
    """Return the cautions that a rig calls for, most urgent first."""
    rig = assembly.rig
    displays = [screen.display for screen in assembly.screens]
    panels = bool(rig.board or rig.plate)
    called_for = {
        # the rig's own lenses, also where it is seen without them
        SUN: bool(rig.lens) or any(bank.lens for bank in rig.bank),
        OPENED: any(display.bezel == Bezel() for display in displays),
        HEAVY: bool(displays) or panels,
        HEAT: bool(displays),
        WORKSHOP: panels,
        ESCAPE: panels,
        EYES: assembly.has_lenses or _dioptres_apart(numbers) > DIOPTRES_APART,
        SICKNESS: _field_across(numbers) > WIDE_FIELD,
    }
    return [caution for caution, needed in called_for.items() if needed]


def _dioptres_apart(numbers: Numbers) -> float:
    """Return how far the focus of one image is from that of another at most."""
    focus = [
        screen.image_dioptres
        for screen in numbers.screens.values()
        if screen.image_dioptres is not None
    ]
    return max(focus) - min(focus) if focus else 0.0


def _field_across(numbers: Numbers) -> float:
    spans = (screen.span["h"] for screen in numbers.screens.values() if screen.span)
    return sum(span for span in spans if span is not None)
