"""Random rigs of a few screens, as text: banks and boards, lenses before lenses, extreme lenses.

For tests that hold two ways of drawing to each other, such as
`tests/functional/test_browser_drawing.py`. Nobody would build most of these rigs.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from seamsight.scene import Assembly, PoseError, RigError, build, read_rig
from seamsight.viewer import Projection, View, see

Random = np.random.Generator
FIELD = 100.0  # degrees across what the eye sees
EYE = (0.0, 0.0, 1200.0)
KINDS = ("bank", "bank", "extreme lens", "lens before lens")  # each in turn
HEAD = f"""format = 1
name = "random"
[pilot]
eye_point = {[*EYE]}
"""


@dataclass(frozen=True)
class Drawn:
    """A rig, from where it is seen, and what rays see of it."""

    text: str
    assembly: Assembly
    eye: npt.NDArray[np.float64]
    projection: Projection
    view: View


def random_views(seed: int, count: int, folder: Path, width: int, height: int) -> Iterator[Drawn]:
    """Give so many rigs that can be built, each seen from one place, with no eye inside a part."""
    random = np.random.default_rng(seed)
    given = 0
    while given < count:
        kind = KINDS[given % len(KINDS)]
        text = rig_text(random, kind)
        eye = np.array(EYE) + random.uniform(-120, 120, 3)
        turn, nod, tilt = (random.uniform(-most, most) for most in (25, 15, 10))
        projection = Projection("rectilinear", width, height, FIELD, turn, nod, tilt)
        file = folder / "random.toml"
        file.write_text(text, "utf-8")
        try:
            assembly = build(read_rig(file))
            view = see(assembly, eye, projection)
        except (RigError, PoseError):
            continue
        given += 1
        yield Drawn(text, assembly, eye, projection, view)


def rig_text(random: Random, kind: str) -> str:
    """Return a rig file of one of `KINDS`."""
    tables = [HEAD]
    if kind == "lens before lens":
        tables += [_screen(random, number) for number in range(2)]
    else:
        tables.append(_bank(random, extreme=kind == "extreme lens"))
    tables += [_board(random, number) for number in range(random.integers(0, 7))]
    return "\n".join(tables)


def _bank(random: Random, *, extreme: bool) -> str:
    """Return screens in a row, most of them behind lenses."""
    width = random.uniform(200, 600)
    height = width * random.uniform(0.5, 0.9)
    has_lens = extreme or random.random() < 0.8
    lens = _lens(random, width, height, extreme=extreme) if has_lens else ""
    return f"""[[bank]]
name = "row"
count = {random.integers(1, 5)}
radius = {random.uniform(400, 900):.1f}
gap = {random.uniform(0, 30):.1f}
pitch = {random.uniform(-8, 8):.1f}
aim = [{random.uniform(-20, 20):.1f}, {random.uniform(-10, 10):.1f}]
screen = {_display(random, width, height)}
{lens}
"""


def _display(random: Random, width: float, height: float) -> str:
    size = f"width = {width:.1f}, height = {height:.1f}, pixels = [160, 100]"
    rim = f"bezel = {random.uniform(0, 20):.1f}, lip = {random.uniform(0, 4):.1f}"
    return f'{{ {size}, {rim}, shows = "world" }}'


def _lens(random: Random, width: float, height: float, *, extreme: bool) -> str:
    """Return a bank's lens; an extreme one is short, or its image far away and large."""
    focal_length = random.uniform(80, 160) if extreme else random.uniform(250, 700)
    magnification = random.uniform(3, 12) if extreme else random.uniform(1.15, 2)
    across, up = (side * random.uniform(0.8, 1.5) for side in (width, height))
    words = [
        f"focal_length = {focal_length:.1f}, magnification = {magnification:.2f}",
        f"width = {across:.1f}, height = {up:.1f}",
        f"offset = [{random.uniform(-15, 15):.1f}, {random.uniform(-15, 15):.1f}]",
    ]
    if random.random() < 0.5:
        rim, depth = random.uniform(2, 15, 2)
        words.append(f"frame = {{ width = {rim:.1f}, depth = {depth:.1f} }}")
    return f"lens = {{ {', '.join(words)} }}"


def _screen(random: Random, number: int) -> str:
    """Return one of two screens behind each other, each with a lens."""
    width = random.uniform(150, 350)
    height = width * random.uniform(0.6, 0.9)
    centre = [random.uniform(-80, 80), 550 + 320 * number, 1200 + random.uniform(-160, 160)]
    focal_length = random.uniform(200, 600)
    distance = random.uniform(60, 190)
    return f"""[[screen]]
name = "s{number}"
width = {width:.1f}
height = {height:.1f}
pixels = [160, 100]
bezel = {random.uniform(0, 12):.1f}
shows = "world"
centre = {[round(value, 1) for value in centre]}
yaw = {random.uniform(-25, 25):.1f}
pitch = {random.uniform(-25, 25):.1f}

[[lens]]
screen = "s{number}"
focal_length = {focal_length:.1f}
distance = {distance:.1f}
width = {width * random.uniform(0.9, 1.6):.1f}
height = {height * random.uniform(0.9, 1.6):.1f}
"""


def _board(random: Random, number: int) -> str:
    size = [random.uniform(5, most) for most in (500, 300, 400)]
    ways = ((-900, 900), (250, 2200), (600, 1800))
    centre = [random.uniform(*ends) for ends in ways]
    return f"""[[board]]
name = "b{number}"
size = {[round(value, 1) for value in size]}
centre = {[round(value, 1) for value in centre]}
yaw = {random.uniform(-90, 90):.1f}
pitch = {random.uniform(-60, 60):.1f}
"""
