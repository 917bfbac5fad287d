"""A rig as one page that anyone can look around in: geometry, pictures and code in one file."""

import base64
import gzip
import json
import re
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
from seamsight.viewer.numbers.cautions import HEADSET, cautions
from seamsight.viewer.numbers.measures import Numbers, measure

MODULES = (
    "drawing",
    "headset",
    "headset_controls",
    "page_parts",
    "picture_textures",
    "rig_shapes",
    "watch",
    "wide_drawing",
)
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
        at_design = measure(assembly, eyes_of(assembly.rig, assembly.rig.heads()[DESIGN]))
        shapes, parts = drawn_rig(assembly, MOST_ACROSS, without_loss)
        rigs.append(_rig_facts(assembly, at_design) | {"shapes": shapes})
        binary += parts
        told |= dict.fromkeys(caution.full for caution in cautions(assembly, at_design))
    facts = {
        "rigs": rigs,
        "headAxes": [asdict(axis) for axis in HEAD_AXES],
        "about": ABOUT,
        "cautions": list(told),
        "headsetCautions": list(HEADSET),
    }
    data = base64.b64encode(gzip.compress(packed(facts, binary), mtime=0)).decode()

    # put it into the page, with styles and code
    pieces = {
        "styles": _text("base.css") + _text("walk_in.css"),
        "modules": import_map(MODULES),
        "data": data,
        "script": _text("walk_in.js"),
    }
    page = _text("walk_in.html")
    for name, text in pieces.items():
        page = page.replace(f"/* {name} */", text, 1)
    return page.encode()


def import_map(modules: Sequence[str]) -> str:
    """Return an import map, JSON, that holds modules of this folder, by name."""
    found = {}
    for name in modules:
        # a module that is held so knows others by their names only
        code = re.sub(r'from "\./(\w+)\.js"', r'from "\1"', _text(f"{name}.js"))
        found[name] = f"data:text/javascript;base64,{base64.b64encode(code.encode()).decode()}"
    return json.dumps({"imports": found})


def _rig_facts(assembly: Assembly, at_design: Numbers) -> dict[str, Any]:
    rig = assembly.rig
    lines = {DESIGN: key_lines(at_design)}
    lines |= {name: _lines(assembly, head) for name, head in rig.heads().items() if name != DESIGN}
    return {
        "name": rig.name,
        "pilot": pilot_facts(rig.pilot),
        "heads": [
            {"name": name, "state": asdict(state_at(head)), "numbers": lines[name]}
            for name, head in rig.heads().items()
        ],
    }


def _lines(assembly: Assembly, head: Head) -> list[str]:
    """Return the main numbers at a head position, or why there are none."""
    try:
        return key_lines(measure(assembly, eyes_of(assembly.rig, head)))
    except PoseError as error:
        return [str(error)]


def _text(name: str) -> str:
    return files("seamsight.viewer.live").joinpath(name).read_text("utf-8")
