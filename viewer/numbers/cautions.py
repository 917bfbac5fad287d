"""What can hurt somebody in such a build: the usual cautions, and which of them a rig calls for.

They do not replace local codes, makers' instructions or licensed practice.
"""

from seamsight.scene.assembly import Assembly
from seamsight.scene.display import Bezel
from seamsight.viewer.numbers.measures import Numbers

SUN = (
    "Sunlight through a Fresnel lens starts fires within seconds: cover every lens whenever it is "
    "not in use, keep it out of direct sun, low winter sun and mirrored sun included, during the "
    "build too."
)
OPENED = (
    "A monitor out of its housing holds mains and high-voltage parts that stay charged after "
    "unplugging: leave opening and rewiring to a licensed person, follow local electrical codes, "
    "and keep it earthed and covered."
)
HEAVY = (
    "Displays, glass and boards before or above a person must not tip or fall: fix them to a frame "
    "that stands a hard push, lift with two persons, and follow the mounting's rated load and "
    "local codes."
)
HEAT = (
    "Screens and the computer need air: keep every vent open behind panels and hoods, and look for "
    "heat in the first hours."
)
WORKSHOP = (
    "Wear eye protection and a dust mask when cutting or drilling panels and acrylic, and keep a "
    "quick way out of the seat."
)
EYES = (
    "Images at different distances, and a focus that differs from where both eyes converge, tire "
    "the eyes: take breaks, and see an eye specialist if strain or double vision stays."
)
SICKNESS = (
    "A wide moving scene without motion makes some people sick: start with short sessions, stop at "
    "the first signs, and do not drive afterwards until they are gone."
)
WIDE_FIELD = 60.0  # degrees of azimuth covered, from which sickness is worth a caution (our choice)
DIOPTRES_APART = 0.5
"""Common practice: the comfort zone for long viewing, from memory (Shibata et al., J. Vision
11(8):11)."""


def cautions(assembly: Assembly, numbers: Numbers) -> list[str]:
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
