"""All that `cut-list` tells of a rig, together, and as JSON and CSV."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from seamsight.scene.assembly import Assembly
from seamsight.scene.cutting import CutPiece, cut_pieces
from seamsight.scene.frames import Array
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.outlines import Groove
from seamsight.scene.solids import Material
from seamsight.viewer.numbers.cautions import HEAVY, LIFTING, OVERLOADED, TIPS, WORKSHOP, Caution
from seamsight.viewer.workshop.cut_list import CutRow, cut_rows
from seamsight.viewer.workshop.doorway import Door, Passage, overall_size, passage
from seamsight.viewer.workshop.sheet_layout import Layout, Stock, from_sheets, layouts
from seamsight.viewer.workshop.tipping import Tipping, tipping
from seamsight.viewer.workshop.weights import Weights, lens_sheet, weights

ONE_PERSON = 23.0  # kg; load constant of the revised NIOSH lifting equation
PARTS = ("number", "name", "count", "material", "length", "width", "thickness", "mass")


@dataclass(frozen=True, eq=False)
class CuttingPlan:
    """What is cut, what it weighs, and how it stands.

    Attributes
    ----------
    assembly : Assembly
    rows : list of CutRow
    size : (3,) float64
        Of all together: right, forward, up, mm.
    weights : Weights
    tipping : Tipping or None
        None where nothing is cut, or something has no mass.
    passage : Passage or None
        None where nobody named a door.
    layouts : list of Layout or None
        None where nobody asked for them.
    """

    assembly: Assembly
    rows: list[CutRow]
    size: Array
    weights: Weights
    tipping: Tipping | None
    passage: Passage | None
    layouts: list[Layout] | None

    @property
    def numbers(self) -> dict[str, int]:
        """The number in the list, from 1, of each board and plate by its name."""
        return {name: number for number, row in enumerate(self.rows, start=1) for name in row.names}

    @property
    def too_thick(self) -> list[str]:
        """The names of what is too thick to be cut from a sheet."""
        pieces = [piece for row in self.rows for piece in row.pieces]
        sheets = {piece.name for piece in from_sheets(pieces)}
        return [piece.name for piece in pieces if piece.name not in sheets]

    @property
    def meshes(self) -> list[str]:
        """The names of meshes, which are not weighed: they may be hollow."""
        return [mesh.name for mesh in self.assembly.rig.mesh if not mesh.room]

    @property
    def cautions(self) -> list[Caution]:
        """What to beware of, most urgent first."""
        heaviest = max((load.mass or 0.0 for load in self.weights.known), default=0.0)
        called_for = {
            TIPS: self.tipping is not None and not self.tipping.is_stable,
            OVERLOADED: any(one.within is False for one in self.weights.mounted),
            HEAVY: bool(self.assembly.screens or self.rows),
            LIFTING: heaviest > ONE_PERSON,
            WORKSHOP: bool(self.rows),
        }
        return [caution for caution, needed in called_for.items() if needed]

    @property
    def _lensed(self) -> list[PlacedScreen]:
        return [screen for screen in self.assembly.screens if screen.lens]

    def as_json(self) -> dict[str, Any]:
        """Return all as `cut-list --json` prints it."""
        centre = self.weights.centre_of_gravity
        return {
            "rig": self.assembly.rig.name,
            "parts": [_row(row) for row in self.rows],
            "screens": [{"name": one.name, "mass": one.mass} for one in self.weights.screens],
            "lenses": [
                {
                    "name": load.name,
                    "size": _mm(lens_sheet(self.assembly, screen)),
                    "mass": _kg(load.mass),
                }
                for load, screen in zip(self.weights.lenses, self._lensed, strict=True)
            ],
            "mass": _kg(self.weights.mass),
            "without_mass": [*self.weights.unknown, *self.meshes],
            "size": _mm(self.size),
            "centre_of_gravity": None if centre is None else _mm(centre),
            "mounts": [
                {
                    "screen": one.screen,
                    "pattern": one.mounting,
                    "screw": f"M{one.pattern.screw}",
                    "mass": one.mass,
                    "limit": one.pattern.limit,
                    "within": one.within,
                }
                for one in self.weights.mounted
            ],
            "tipping": self.tipping and _tipping(self.tipping),
            "door": self.passage and _door(self.passage),
            "sheets": self.layouts and [_layout(layout) for layout in self.layouts],
            "cautions": [caution.full for caution in self.cautions],
        }

    def as_csv(self) -> bytes:
        """Return a row for each kind of board or plate."""
        text = io.StringIO(newline="")
        writer = csv.writer(text, lineterminator="\r\n")
        writer.writerow([*PARTS, "names", "slants", "meets"])
        for number, row in enumerate(self.rows, start=1):
            told = _row(row)
            slants = [f"{one['edge']} {one['angle']} ({one['across']})" for one in told["bevels"]]
            meets = [f"{edge}: {', '.join(names)}" for edge, names in told["meets"].items()]
            cells = [number, told["name"], told["count"], told["material"], *told["size"]]
            words = ("; ".join(some) for some in (row.names, slants, meets))
            writer.writerow([*cells, told["mass"], *words])
        return text.getvalue().encode("utf-8")


def cutting_plan(
    assembly: Assembly, stock: dict[Material, Stock] | None, door: Door | None
) -> CuttingPlan:
    """Return what is cut and what it weighs; on sheets of a stock, and through a door, if told.

    Raises
    ------
    ChoiceError
        When a board is larger than its sheet.
    """
    pieces = cut_pieces(assembly)
    loads = weights(assembly, pieces)
    centre = loads.centre_of_gravity
    knows_all = bool(pieces) and centre is not None and not loads.unknown
    return CuttingPlan(
        assembly=assembly,
        rows=cut_rows(assembly, pieces),
        size=overall_size(assembly, pieces),
        weights=loads,
        tipping=tipping(pieces, loads.mass, centre) if knows_all and centre is not None else None,
        passage=passage(assembly, pieces, door) if door else None,
        layouts=None if stock is None else layouts(pieces, stock),
    )


def _row(row: CutRow) -> dict[str, Any]:
    first = row.first
    return {
        "name": first.name,
        "names": row.names,
        "count": len(row.pieces),
        "material": first.material,
        "size": _mm(first.size),
        "bevels": [
            {"edge": slant.edge, "angle": round(slant.angle, 2), "across": slant.across}
            for slant in first.slants
        ],
        "holes": len(first.holes),
        "slot": first.groove and _slot(first, first.groove),
        "notched_for": [recess.name for recess in first.notches],
        "mass": _kg(first.mass),
        "meets": {edge: list(names) for edge, names in row.meets.items()},
    }


def _slot(piece: CutPiece, groove: Groove) -> dict[str, Any]:
    return {
        "face": "top" if groove.above else "bottom",
        "from_near": round(groove.near - float(piece.outline[:, 1].min()), 3),
        "width": round(groove.far - groove.near, 3),
        "depth": groove.depth,
    }


def _tipping(found: Tipping) -> dict[str, Any]:
    return {
        "height": round(found.height, 1),
        "push": {way: round(force, 1) for way, force in found.pushes.items()},
        "front_edge": None if found.front_edge is None else round(found.front_edge, 1),
        "should_stand": round(found.should_stand, 1),
        "stands": found.is_stable,
    }


def _door(found: Passage) -> dict[str, Any]:
    return {
        "size": [found.door.width, found.door.height],
        "passes": found.passes,
        "upright": found.upright,
        "without": found.taken_off,
        "too_large": found.too_large,
    }


def _layout(layout: Layout) -> dict[str, Any]:
    return {
        "material": layout.material,
        "thickness": layout.thickness,
        "sheet": list(layout.sheet),
        "kerf": layout.kerf,
        "used": round(layout.used, 1),
        "sheets": [
            [{"name": one.piece.name, "at": _mm(one.at), "size": _mm(one.size)} for one in boards]
            for boards in layout.sheets
        ],
    }


def _mm(values: Sequence[float] | Array) -> list[float]:
    return [round(float(value), 3) + 0.0 for value in values]


def _kg(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
