"""How pilots fit into a rig, all in one: reach, seat, refocusing, and the view outside."""

from dataclasses import dataclass

from seamsight.scene.assembly import Assembly
from seamsight.scene.rig import Head
from seamsight.viewer.eye import Eyes
from seamsight.viewer.studies.body import Seat, seats
from seamsight.viewer.studies.clear_view import (
    SEATS,
    ClearView,
    OverTheNose,
    clear_view,
    over_the_nose,
)
from seamsight.viewer.studies.reach import Reach, reaches
from seamsight.viewer.studies.refocus import Change, Focus, focuses, greatest_change


@dataclass(frozen=True)
class Fit:
    """What was found from a head position.

    Attributes
    ----------
    assembly : Assembly
    head : Head
    reaches : list of Reach
    seats : list of Seat
        For each body, smallest first.
    focuses : list of Focus
    change : Change or None
    nose : OverTheNose or None
        None where no outside image is straight ahead.
    views : dict
        For a left and a right seat, the aircraft's clear view; empty without an outside view.
    """

    assembly: Assembly
    head: Head
    reaches: list[Reach]
    seats: list[Seat]
    focuses: list[Focus]
    change: Change | None
    nose: OverTheNose | None
    views: dict[str, ClearView]


def fit(assembly: Assembly, eyes: Eyes) -> Fit:
    """Return how pilots with these eyes, none of them inside a part, fit into a rig."""
    found = focuses(assembly, eyes)
    views = {}
    if assembly.outside_screens:
        views = {seat: clear_view(assembly, eyes.mid, seat) for seat in SEATS}
    return Fit(
        assembly,
        eyes.head,
        reaches(assembly, eyes),
        seats(assembly.rig.pilot),
        found,
        greatest_change(found),
        over_the_nose(assembly, eyes.mid),
        views,
    )
