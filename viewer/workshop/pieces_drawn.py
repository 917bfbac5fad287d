"""The face of a board or plate as it is drawn, about its middle."""

import numpy as np

from seamsight.scene import polygons
from seamsight.scene.cutting import SIDES, THROUGH, CutPiece, Recess
from seamsight.scene.frames import Array
from seamsight.scene.outlines import Groove
from seamsight.viewer.workshop.sketch import Label, Sketch


def face_sketch(piece: CutPiece) -> Sketch:
    """Return a piece's face: its edge, its holes, and where a bevel ends on the other face."""
    sketch = Sketch()
    for ring in _edges(piece):
        sketch.add_polygon(ring.tolist())
    for recess in piece.notches:
        if not recess.through:
            _add_recess(sketch, piece, recess)
    for hole in piece.holes:
        sketch.add_outline(hole)

    # slots and bevels
    if piece.groove and piece.swept == piece.thin:
        for ring in _slot_rings(piece, piece.groove):
            sketch.add_polygon(ring.tolist(), "SLOTS")
            x, y = ring.mean(axis=0).tolist()
            side = "upper" if piece.groove.above else "lower"
            words = f"slot {piece.groove.depth:g} deep, {side} face"
            sketch.labels.append(Label((x, y - 4), words, 3.5))
    if piece.swept != piece.thin:
        for line in _bevel_lines(piece):
            sketch.add_polygon(line.tolist(), "HIDDEN", closed=False)
    return sketch


def _edges(piece: CutPiece) -> list[Array]:
    """Return what one saws along: the face's edge, less notches that go right through."""
    through = [recess for recess in piece.notches if recess.through]
    if not through:
        return [piece.face]
    face = polygons.region_within([piece.face])
    for recess in through:
        face = face - polygons.region_within([recess.corners])
    return polygons.rings_of(face)


def _add_recess(sketch: Sketch, piece: CutPiece, recess: Recess) -> None:
    """Draw a slot that does not go right through, and how deep it is in which face."""
    sketch.add_polygon(recess.corners.tolist(), "SLOTS")
    half = piece.sides[piece.thin] / 2
    x, y = recess.corners.mean(axis=0).tolist()
    below, above = SIDES[piece.thin]
    if recess.high >= half - THROUGH:
        words = f"{half - recess.low:.1f} deep from {above}"
    elif recess.low <= THROUGH - half:
        words = f"{recess.high + half:.1f} deep from {below}"
    else:
        words = f"from {recess.low + half:.1f} to {recess.high + half:.1f} behind {below}"
    sketch.labels.append(Label((x, y), f"slot for {recess.name}: {words}", 3.5))


def _slot_rings(piece: CutPiece, groove: Groove) -> list[Array]:
    """Return the outline (n, 2) of a slot, as far as the face reaches."""
    reach = float(np.abs(piece.face).max()) + 1
    strip = polygons.rectangle((-reach, groove.near), (reach, groove.far))
    return polygons.rings_of(strip ^ polygons.region_within([piece.face]))


def _bevel_lines(piece: CutPiece) -> list[Array]:
    """Return the lines (2, 2) along which slanting edges leave either face, inside its edge."""
    axes = [axis for axis in range(3) if axis != piece.swept]
    across = axes.index(next(axis for axis in piece.face_axes if axis != piece.swept))
    half = piece.sides[axes[across]] / 2
    length = piece.sides[piece.swept] / 2
    swept_first = piece.face_axes[0] == piece.swept

    places = {round(float(at), 6) for at in piece.outline[:, across]}
    found = []
    for at in sorted(places):
        if abs(abs(at) - half) > 1e-6:
            ends = np.array([(-length, at), (length, at)])
            found.append(ends if swept_first else ends[:, ::-1])
    return found
