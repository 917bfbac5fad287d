"""What `cut-list` prints: tables of boards and plates, then sentences on what all comes to."""

from collections.abc import Iterator

from seamsight.cli.tables import NumbersTable, console_of_width, print_table, say
from seamsight.scene.carcass import sheets_of
from seamsight.scene.cutting import CutPiece, Slant
from seamsight.scene.mountings import Mounting
from seamsight.scene.outlines import Groove
from seamsight.viewer.numbers.units import number_words
from seamsight.viewer.workshop.cut_list import CutRow
from seamsight.viewer.workshop.cutting_plan import CuttingPlan
from seamsight.viewer.workshop.doorway import Passage
from seamsight.viewer.workshop.sheet_layout import Layout
from seamsight.viewer.workshop.tipping import GRAVITY, Tipping
from seamsight.viewer.workshop.weights import Mounted, lens_sheet

STEEPEST = 45.0  # degrees; most saws tilt no farther (from memory)
MOST_NAMED = 3  # parts of several


def print_plan(plan: CuttingPlan) -> None:
    """Print what is cut, what it weighs and how it stands."""
    console = console_of_width()
    if not plan.rows:
        say(console, f"{plan.assembly.rig.name}: no boards or plates to cut.")
    for table in tables(plan):
        print_table(console, table)
    for sentence in sentences(plan):
        say(console, sentence)
    for caution in plan.cautions:
        say(console, f"Caution: {caution.full}")


def tables(plan: CuttingPlan) -> list[NumbersTable]:
    """Return what is cut, and how its edges are; nothing where nothing is cut."""
    if not plan.rows:
        return []
    count = sum(len(row.pieces) for row in plan.rows)
    title = f"{plan.assembly.rig.name}: {count} boards and plates to cut, mm and kg"
    numbered = [(f"{number} {row.first.name}", row) for number, row in enumerate(plan.rows, 1)]
    headings = ("pieces", "material", "length × width × thickness", "each")
    cut = [(name, _size_cells(row)) for name, row in numbered]
    found = [NumbersTable(title, "board or plate", headings, cut)]

    edges = [(name, [_edge_words(row)]) for name, row in numbered if _edge_words(row)]
    if edges:
        title = "Edges, as seen from the seat before a board is turned"
        found.append(NumbersTable(title, "board or plate", ("edges",), edges, worded=True))
    return found


def _size_cells(row: CutRow) -> list[str]:
    first = row.first
    size = " × ".join(number_words(side, 1) for side in first.size)
    return [str(len(row.pieces)), first.material, size, number_words(first.mass, 2)]


def _edge_words(row: CutRow) -> str:
    """Return how the edges of a board are cut, and what they meet."""
    slants = [_slant_words(slant) for slant in row.first.slants]
    meets = [f"{edge} edge meets {_some(list(names))}" for edge, names in row.meets.items()]
    if row.first.groove:
        slants.append(_slot_words(row.first, row.first.groove))
    if row.first.notches:
        names = [recess.name for recess in row.first.notches]
        slants.append(f"notched for {_some(names)} (see `template`)")
    same = f"also {_some(row.names[1:])}" if len(row.names) > 1 else ""
    return "; ".join([*slants, *meets, *([same] if same else [])])


def _slant_words(slant: Slant) -> str:
    angle = number_words(slant.angle, 1)
    if slant.across == "face":
        return f"{slant.edge} end cut askew by {angle}°"
    words = f"{slant.edge} edge bevelled {angle}° from square"
    if slant.angle > STEEPEST:
        words += f" (board on edge: {number_words(90 - slant.angle, 1)}°)"
    return words


def _slot_words(piece: CutPiece, groove: Groove) -> str:
    words = f"slot {number_words(groove.far - groove.near, 1)} wide and {groove.depth:g} deep in "
    begin = groove.near - float(piece.outline[:, 1].min())
    side = "upper" if groove.above else "lower"
    return f"{words}the {side} face, {number_words(begin, 1)} from the near edge"


def _some(names: list[str]) -> str:
    """Return some names, and how many more there are."""
    more = len(names) - MOST_NAMED
    words = ", ".join(names[:MOST_NAMED] if more > 1 else names)
    return f"{words} and {more} more" if more > 1 else words


def sentences(plan: CuttingPlan) -> Iterator[str]:
    """Yield what all comes to: mass, what carries it, how it stands, whether it passes a door."""
    weights = plan.weights
    kinds = {
        "boards and plates": weights.boards,
        "screens": weights.screens,
        "lenses": weights.lenses,
    }
    sums = {name: sum(load.mass or 0.0 for load in loads) for name, loads in kinds.items()}
    shares = ", ".join(f"{name} {number_words(mass, 1)}" for name, mass in sums.items() if mass)
    yield f"Mass: {number_words(weights.mass, 1)} kg" + (f" ({shares})." if shares else ".")
    if weights.unknown:
        yield f"Not weighed, as the rig says no mass: {', '.join(weights.unknown)}."
    if plan.meshes:
        yield f"Not weighed, as meshes may be hollow: {', '.join(plan.meshes)}."

    centre = weights.centre_of_gravity
    if centre is not None:
        x, y, z = (number_words(at, 0) for at in centre)
        yield f"Centre of gravity of what is weighed: ({x}, {y}, {z}) (right, forward, up)."
    yield from _sheet_of_lens_words(plan)
    yield from _mount_words(weights.mounted)
    yield from _tipping_words(plan)

    size = " × ".join(number_words(side, 0) for side in plan.size)
    yield f"Overall size, without meshes: {size} mm (right × forward × up)."
    if plan.passage:
        yield _door_words(plan.passage)
    if plan.layouts is not None:
        yield from (_sheet_words(layout) for layout in plan.layouts)
        if plan.too_thick:
            yield f"Too thick for a sheet, so of solid wood or built up: {_some(plan.too_thick)}."


def _sheet_of_lens_words(plan: CuttingPlan) -> Iterator[str]:
    """Yield how large the sheets of lenses in slots are."""
    for screen in plan.assembly.screens:
        if screen.lens and screen.name in sheets_of(plan.assembly.rig):
            size = " × ".join(number_words(side, 1) for side in lens_sheet(plan.assembly, screen))
            yield f"{screen.name} lens: a sheet of {size} mm, with what stands in the slots."


def _mount_words(mounted: list[Mounted]) -> Iterator[str]:
    """Yield what hangs on mounting patterns, equal ones together."""
    alike: dict[tuple[Mounting, float | None], list[Mounted]] = {}
    for one in mounted:
        alike.setdefault((one.mounting, one.mass), []).append(one)
    for (mounting, mass), those in alike.items():
        pattern = those[0].pattern
        within = those[0].within
        weighs = "mass not given" if mass is None else f"{mass:g} kg"
        verdict = {None: "not checked", True: "fits", False: "TOO HEAVY"}[within]
        yield (
            f"{', '.join(one.screen for one in those)}: {weighs} on pattern {mounting}, which may "
            f"carry {pattern.limit:g} kg (VESA FDMI; screws M{pattern.screw}): {verdict}."
        )


def _tipping_words(plan: CuttingPlan) -> Iterator[str]:
    found = plan.tipping
    if found is None:
        if plan.rows:
            yield "How hard a push it stands is not known before everything has a mass."
        return

    least = min(found.pushes.values())
    if least == 0:
        yield (
            "It falls by itself if nothing else holds it: its centre of gravity is not above the "
            "boards on which it stands (its lowest ones)."
        )
        return

    pushes = ", ".join(f"{way} {_force(force)}" for way, force in found.pushes.items())
    yield (
        "Tipping, if all is joined stiffly and stands loose on its lowest boards: pushed level at "
        f"its top, {number_words(found.height, 0)} mm up, it tips at: {pushes}."
    )
    yield _front_words(found)
    verdict = "stands" if found.is_stable else "does NOT stand"
    yield (
        f"It {verdict} a push of {_force(found.should_stand)}, a fifth of its weight and at most "
        f"250 N, as IEC 62368-1 asks of products; the least that tips it is {_force(least)}. A "
        "person who stumbles pushes harder."
    )


def _front_words(found: Tipping) -> str:
    if found.front_edge is None:
        return "No weight on its front edge tips it."
    return f"Weight on its front edge tips it from {_force(found.front_edge)}."


def _force(newtons: float) -> str:
    return f"{number_words(newtons, 0)} N ({number_words(newtons / GRAVITY, 1)} kg)"


def _door_words(found: Passage) -> str:
    words = f"Door of {found.door.width:g} × {found.door.height:g} mm: "
    if found.passes:
        how = "as it stands" if found.upright else "when it is laid on a side"
        words += f"it passes in one piece, {how}."
    elif found.taken_off:
        words += f"it passes without {', '.join(found.taken_off)}."
    elif found.too_large:
        words += "it does not pass in one piece."
    else:
        words += "it does not pass in one piece; each of its boards, plates and screens does."
    if found.too_large:
        words += f" Too large by themselves: {', '.join(found.too_large)}."
    return words


def _sheet_words(layout: Layout) -> str:
    count = len(layout.sheets)
    length, width = layout.sheet
    sheets = "1 sheet" if count == 1 else f"{count} sheets"
    return (
        f"{layout.material} {layout.thickness:g} mm: {sheets} of {length:g} × {width:g} mm, the "
        f"last one used to {number_words(layout.used, 0)} mm of its length; kerf {layout.kerf:g} "
        "mm."
    )
