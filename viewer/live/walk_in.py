"""A rig as one page that anyone can look around in: geometry, pictures and code in one file."""

import base64
import gzip
import json
from collections.abc import Sequence
from dataclasses import asdict
from importlib.resources import files
from typing import Any

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import PoseError
from seamsight.scene.rig import DESIGN, Head
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.live.drawn_rig import drawn_rig, pilot_facts, without_loss
from seamsight.viewer.live.page_messages import packed
from seamsight.viewer.live.preview import key_lines
from seamsight.viewer.live.state import HEAD_AXES, state_at
from seamsight.viewer.numbers.cautions import Caution, cautions
from seamsight.viewer.numbers.measures import measure

MODULES = ("drawing", "rig_shapes", "wide_drawing")
MOST_ACROSS = 2048  # pixels of a screen's picture; what is finer is averaged
ABOUT = (
    "Your browser draws these pictures, with ideal lenses. The numbers were measured by tracing "
    "rays through the lenses that the rig file names. Nothing is loaded from elsewhere."
)


def walk_in_page(assemblies: Sequence[Assembly]) -> bytes:
    """Return a page, HTML, in which to look around in a rig, or in two to compare them.

    Parameters
    ----------
    assemblies : sequence of Assembly
        One or two, with their lenses.

    Raises
    ------
    FileError
        When a picture that a screen shows cannot be read.
    """
    # what the page shows, packed
    told: dict[str, None] = {}  # cautions in order, each once
    rigs: list[dict[str, Any]] = []
    binary: list[bytes] = []
    for assembly in assemblies:
        shapes, parts = drawn_rig(assembly, MOST_ACROSS, without_loss)
        rigs.append(_rig_facts(assembly) | {"shapes": shapes})
        binary += parts
        told |= dict.fromkeys(caution.full for caution in _cautions(assembly))
    facts = {
        "rigs": rigs,
        "headAxes": [asdict(axis) for axis in HEAD_AXES],
        "about": ABOUT,
        "cautions": list(told),
    }
    data = base64.b64encode(gzip.compress(packed(facts, binary), mtime=0)).decode()

    # put it into the page, with styles and code
    modules = {name: f"data:text/javascript;base64,{_in_base64(name)}" for name in MODULES}
    pieces = {
        "styles": _text("walk_in.css"),
        "modules": json.dumps({"imports": modules}),
        "data": data,
        "script": _text("walk_in.js"),
    }
    page = _text("walk_in.html")
    for name, text in pieces.items():
        page = page.replace(f"/* {name} */", text, 1)
    return page.encode()


def _rig_facts(assembly: Assembly) -> dict[str, Any]:
    rig = assembly.rig
    return {
        "name": rig.name,
        "pilot": pilot_facts(rig.pilot),
        "heads": [_head_facts(assembly, head) for head in rig.heads().values()],
    }


def _head_facts(assembly: Assembly, head: Head) -> dict[str, Any]:
    try:
        numbers = key_lines(measure(assembly, eyes_of(assembly.rig, head)))
    except PoseError as error:
        numbers = [str(error)]
    return {"name": head.name, "state": asdict(state_at(head)), "numbers": numbers}


def _cautions(assembly: Assembly) -> list[Caution]:
    numbers = measure(assembly, eyes_of(assembly.rig, assembly.rig.heads()[DESIGN]))
    return cautions(assembly, numbers)


def _text(name: str) -> str:
    return files("seamsight.viewer.live").joinpath(name).read_text("utf-8")


def _in_base64(module: str) -> str:
    return base64.b64encode(_text(f"{module}.js").encode()).decode()
