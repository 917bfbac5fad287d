"""How much of each image the eyes see, and what covers the rest, as shares of its area."""

from dataclasses import dataclass

from seamsight.scene.assembly import Assembly
from seamsight.scene.polygons import Region
from seamsight.viewer.numbers.areas import ImageAreas

TOLD = 1e-9  # share that polygons can tell from none
NAMED = 1e-7  # share that a part must hide to be named


@dataclass(frozen=True)
class Shares:
    """How much of one image is seen, 0..1.

    Attributes
    ----------
    left, right, both, either : float
        Seen by each eye; by both, and by either, of the same places of the image.
    hidden_by : dict
        From a part's name to the share that it covers, mean of both eyes; the worst first.
    through : dict or None
        "left", "right", "both", "either": share seen through the screen's own lens, and not past
        its edge; None for a screen without one.
    unsure : dict
        "seen", "hidden_by": by how much shares of the one or the other kind may be wrong at most. 0
        where polygons tell them all; below 1e-4 for what is seen through grooved lenses; more where
        rays had to be counted.
    """

    left: float
    right: float
    both: float
    either: float
    hidden_by: dict[str, float]
    through: dict[str, float] | None
    unsure: dict[str, float]


def image_shares(assembly: Assembly, areas: ImageAreas) -> Shares:
    """Return how much of an image each eye sees, of which the places are known."""
    left, right = areas.left, areas.right
    whole = areas.screen.size[0] * areas.screen.size[1]
    hidden_by = {
        part.name: sum(eye.hidden[number].area() for eye in (left, right) if number in eye.hidden)
        / whole
        / 2
        for number, part in enumerate(assembly.parts)
        if number in left.hidden or number in right.hidden
    }
    ranked = sorted(hidden_by.items(), key=lambda item: -item[1])
    through = None
    if left.through is not None and right.through is not None:
        through = _by_eyes(left.through, right.through, whole)
    return Shares(
        **_by_eyes(left.seen, right.seen, whole),
        hidden_by={name: share for name, share in ranked if share > NAMED},
        through=through,
        unsure={
            "seen": max(left.unsure, right.unsure) / whole,
            "hidden_by": (left.hidden_unsure + right.hidden_unsure) / whole / 2,
        },
    )


def _by_eyes(left: Region, right: Region, whole: float) -> dict[str, float]:
    """Return the shares that one eye, both, and either see of the same places."""
    one, other, common = (_share(region, whole) for region in (left, right, left ^ right))
    both = min(one, other, common)
    either = max(one, other, one + other - both)
    return {"left": one, "right": other, "both": both, "either": either}


def _share(region: Region, whole: float) -> float:
    """Return a region's share of an area; within what polygons tell, none and all are exact."""
    share = float(region.area()) / whole
    return 0.0 if share < TOLD else 1.0 if share > 1 - TOLD else share
