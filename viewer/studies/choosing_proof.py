"""A chosen rig looked at once more with everything in its place, as the search did not.

Lenses are ideal ones, as in the search: through grooves the same would take minutes.
"""

from dataclasses import dataclass

from seamsight.scene.assembly import Assembly, build
from seamsight.scene.rig import Rig
from seamsight.viewer.eye import head_named
from seamsight.viewer.numbers.clashes import clashes
from seamsight.viewer.numbers.lens_models import with_lens_model
from seamsight.viewer.studies.choosing_figures import Views
from seamsight.viewer.studies.head_box import WAYS, Asked, failure_at, head_room


@dataclass(frozen=True)
class Proof:
    """What a chosen rig comes to with all parts in place.

    Attributes
    ----------
    in_the_way : dict
        {head position: what is not seen there, and which part is in the way}.
    head_room : float
        How far the head may move each way alone, the least, mm.
    stopped_by : str or None
        The part that ends it; None where nothing does within 1 m.
    runs_into : tuple of (str, str)
        Pairs of parts that run into each other, and did not before.
    """

    in_the_way: dict[str, str]
    head_room: float
    stopped_by: str | None
    runs_into: tuple[tuple[str, ...], ...]


def proof(before: Rig, chosen: Rig, views: Views) -> Proof:
    """Return what a chosen rig comes to with all parts in place.

    Parameters
    ----------
    before : Rig
        As it was.
    chosen : Rig
    views : Views
    """
    assembly = build(with_lens_model(chosen, "ideal"))
    asked = Asked(views.seen)
    failures = {name: failure_at(assembly, head_named(chosen, name), asked) for name in views.heads}
    room = head_room(assembly, head_named(chosen, views.head), asked, WAYS)
    least = min(room.values(), key=lambda travel: travel.far)
    return Proof(
        {name: failure.text for name, failure in failures.items() if failure},
        least.far,
        least.stopped_by,
        _new_clashes(build(before), build(chosen)),
    )


def _new_clashes(before: Assembly, after: Assembly) -> tuple[tuple[str, ...], ...]:
    known = {note.names for note in clashes(before)}
    found = (note.names for note in clashes(after) if note.kind == "clash")
    return tuple(names for names in found if names not in known)
