"""The work of `reach`: which controls which pilots reach, seats, refocusing, the view outside."""

import dataclasses
from typing import Any

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced, print_json
from seamsight.cli.reach_report import print_fit
from seamsight.scene import build
from seamsight.viewer.casting.trace import refuse_inside
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.body import SMALLEST, shoulders_of
from seamsight.viewer.studies.fit import Fit, fit


def print_reach(rig_words: RigWords, name: str, *, as_json: bool) -> None:
    """Print how pilots fit into a rig."""
    rig = options.read(rig_words)
    head = options.head(rig, name)
    assembly = build(rig)
    eyes = eyes_of(rig, head)
    refuse_inside(assembly, eyes.rows)

    compile_kernels()
    with announced("measuring reach and view"):
        found = fit(assembly, eyes)
    if as_json:
        print_json(_as_json(found))
    else:
        print_fit(found)


def _as_json(found: Fit) -> dict[str, Any]:
    pilot = found.assembly.rig.pilot
    return {
        "rig": found.assembly.rig.name,
        "head": found.head.name,
        "shoulders": shoulders_of(pilot, found.head, SMALLEST).tolist(),
        "reach": [
            {
                "name": one.target.name,
                "kind": one.target.kind,
                "hand": one.hand,
                "at": one.at,
                "distance": one.distance,
                "reached": one.reached,
                "spare": one.spare,
            }
            for one in found.reaches
        ],
        "eye_height": None if pilot.seat is None else pilot.eye_point[2] - pilot.seat,
        "seats": [
            {
                "pilot": seat.body.name,
                "eye_height": seat.body.eye_height,
                "surface": seat.surface,
                "higher": seat.higher,
            }
            for seat in found.seats
        ],
        "focus": [dataclasses.asdict(one) for one in found.focuses],
        "change": found.change and dataclasses.asdict(found.change),
        "over_the_nose": found.nose and dataclasses.asdict(found.nose),
        "clear_view": {seat: dataclasses.asdict(view) for seat, view in found.views.items()},
    }
