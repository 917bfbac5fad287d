"""What no eye sees, against similar triangles, and against an own test of random sight lines.

Full shadow (umbra) of a board before a wide source, and what is seen through an opening: similar
triangles, as for shadows and pinholes in introductory optics (OpenStax, University Physics 3,
chapter on the nature of light; from memory). Through a thin lens: checks of similar triangles with
slope' = slope - p / f.
"""

import itertools

import numpy as np
import pytest
from scipy.ndimage import binary_dilation

from seamsight.scene import ChoiceError, Head, PoseError, build
from seamsight.viewer.casting.cells import Cells
from seamsight.viewer.casting.sightlines import directions_through
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.head_region import HeadRegion
from seamsight.viewer.studies.hidden_room import Search, cells_around, ways_through

HEAD = Head(name="design")
PUPILS = 63.0
STEP = 10.0


def room_of(assembly, reach=(0, 0, 0), turn=0.0, step=STEP, heads=(HEAD,)):
    search = Search(assembly, HeadRegion(heads, reach, turn), step)
    done = list(search.run())
    assert done == list(range(1, len(done) + 1))
    assert len(done) <= search.pieces
    return search.room()


def middles(room):
    return room.cells.low + room.cells.step * (np.indices(room.cells.shape).reshape(3, -1).T + 0.5)


def agrees(room, hides, where):
    """Whether cubes are as a function from points to what is hidden by how much, mm, has it."""
    points = middles(room)
    depth = np.where(where(points), hides(points), np.nan)
    hidden = room.hidden.ravel()
    half = np.sqrt(3) / 2 * room.cells.step
    # a hidden cube is so with all of it; one that is hidden with much to spare is found
    return bool((depth[hidden & np.isfinite(depth)] >= half - 0.01).all()) and bool(
        hidden[depth > 5 * half].all()
    )


@pytest.mark.parametrize(("width", "reach"), [(300, 60), (120, 90)])
def test_a_board_hides_its_umbra(rig_of, width, reach):
    """Half the umbra is w/2 + s/d (w/2 - b/2) wide: for b > w it ends in a point."""
    away, high = 500.0, 200.0
    board = {"name": "board", "size": [width, 1, 2 * high], "centre": [0, away, 0]}
    room = room_of(build(rig_of(board=[board])), (reach, 0, 20))
    across = reach + PUPILS / 2

    def hides(points):
        x, y, z = np.abs(points).T
        share = (y - away) / away
        aside = width / 2 + share * (width / 2 - across) - x
        return np.minimum(np.minimum(aside, high + share * (high - 20) - z), y - away)

    behind = agrees(room, hides, lambda points: points[:, 1] > away + 20)
    assert behind
    assert room.hidden.any()
    assert not (room.hidden.ravel() & (middles(room)[:, 1] < away)).any()


def test_an_opening_between_two_boards_shows_a_wedge(rig_of):
    """Two apertures, the eyes' span b and the opening g: g/2 + s/d (g + b)/2 is seen."""
    away, opening, reach = 400.0, 30.0, 20.0
    boards = [
        {"name": name, "size": [300, 1, 600], "centre": [side * (150 + opening / 2), away, 0]}
        for name, side in (("left", -1), ("right", 1))
    ]
    room = room_of(build(rig_of(board=boards)), (reach, 0, 0))
    across = reach + PUPILS / 2

    def hides(points):
        share = (points[:, 1] - away) / away
        return np.abs(points[:, 0]) - opening / 2 - share * (opening / 2 + across)

    def behind(points):
        inner = (np.abs(points[:, 0]) < 200) & (np.abs(points[:, 2]) < 200)
        return inner & (points[:, 1] > away + 20)

    assert agrees(room, hides, behind)


def test_a_lens_hides_a_strip_beside_the_image(rig_of, screen_at):
    """A ray from x0 through the lens's edge a comes to a + s ((a - x0)/e - a/f) at a depth s."""
    focal, before, aperture = 450.0, 600.0, 150.0
    frame = {"width": 100, "depth": 2}
    lens = {"screen": "screen", "focal_length": focal, "distance": 150, "frame": frame}
    lens |= {"width": 2 * aperture, "height": 2 * aperture}
    screen = screen_at(width=280, height=210, centre=[0, before + 150, 0], bezel=60, lip=0)
    room = room_of(build(rig_of(screen=[screen], lens=[lens])), (20, 0, 10), step=15.0)
    across = 20 + PUPILS / 2

    def hides(points):
        depth = points[:, 1] - before
        edge = aperture + depth * ((aperture + across) / before - aperture / focal)
        return np.abs(points[:, 0]) - edge

    def between(points):
        depth = points[:, 1] - before
        return (depth > 30) & (depth < 130) & (np.abs(points[:, 0]) < 200)

    # the same edge runs above and below it: look along the middle
    assert agrees(room, hides, lambda points: between(points) & (np.abs(points[:, 2]) < 90))


def blocked(boards, eyes, points):
    """Return whether boxes (centre, size) are between eyes and points (n, 3), by their slabs."""
    hit = np.zeros(len(points), bool)
    ways = points - eyes
    for centre, size in boards:
        with np.errstate(divide="ignore", invalid="ignore"):
            low = (centre - size / 2 - eyes) / ways
            high = (centre + size / 2 - eyes) / ways
        first = np.minimum(low, high).max(axis=1)
        last = np.maximum(low, high).min(axis=1)
        hit |= (first <= last) & (last > 0) & (first < 1)
    return hit


def test_no_random_sight_line_reaches_a_hidden_place(rig_of):
    """Also through a gap of 2 mm, and with turned heads; places just outside are seen."""
    chance = np.random.default_rng(5)
    shapes = [
        (np.array([-151.0, 500.0, 0.0]), np.array([300.0, 12.0, 400.0])),
        (np.array([151.0, 500.0, 0.0]), np.array([300.0, 12.0, 400.0])),
        (np.array([0.0, 420.0, -150.0]), np.array([200.0, 100.0, 20.0])),
    ]
    boards = [
        {"name": str(number), "size": size.tolist(), "centre": centre.tolist()}
        for number, (centre, size) in enumerate(shapes)
    ]
    rig = rig_of(board=boards)
    room = room_of(build(rig), (60, 40, 40), 20)

    def places(cubes, count):
        at = np.argwhere(cubes)
        chosen = at[chance.integers(len(at), size=count)]
        return room.cells.low + room.cells.step * (chosen + chance.random((count, 3)))

    eyes = []
    corners = np.array(list(itertools.product((-1, 1), repeat=4)))
    moves = np.concatenate([corners, chance.uniform(-1, 1, (60, 4))]) * [60, 40, 40, 20]
    for x, y, z, turn in moves:
        pair = eyes_of(rig, HEAD.moved((x, y, z), turn))
        eyes += [pair.left, pair.right]
    inside = places(room.hidden, 3000)
    assert all(blocked(shapes, np.broadcast_to(eye, inside.shape), inside).all() for eye in eyes)

    # what is just outside has a place that is seen within the margin
    near = places(~room.hidden & _grown(room.hidden), 300)
    around = near[:, None] + chance.uniform(-2 * STEP, 2 * STEP, (300, 60, 3))
    around = around.reshape(-1, 3)
    seen = np.zeros(len(around), bool)
    for eye in eyes:
        seen |= ~blocked(shapes, np.broadcast_to(eye, around.shape), around)
    assert seen.reshape(300, 60).any(axis=1).mean() > 0.95


def _grown(cubes):
    return binary_dilation(cubes, np.ones((3, 3, 3)))


def test_the_same_room_every_time(rig_of):
    board = {"name": "board", "size": [300, 12, 300], "centre": [0, 500, 0]}
    rooms = [room_of(build(rig_of(board=[board])), (20, 20, 20), 10, 20) for _ in range(2)]
    assert np.array_equal(rooms[0].hidden, rooms[1].hidden)
    assert rooms[0].rays == rooms[1].rays > 10_000
    assert rooms[0].volume == pytest.approx(rooms[0].hidden.sum() * 8e-3)


def test_what_cannot_be_looked_at_is_refused(rig_of):
    board = {"name": "board", "size": [300, 300, 300], "centre": [0, 0, 0]}
    assembly = build(rig_of(board=[board]))
    with pytest.raises(ChoiceError, match="use a step of about") as told:
        cells_around(assembly, 0.5)
    finest = float(str(told.value).split("about ")[1].split()[0])
    assert isinstance(cells_around(assembly, finest), Cells)
    with pytest.raises(PoseError, match="board"):
        Search(assembly, HeadRegion((HEAD,), (20, 20, 20), 0), 20)


def test_lamps_do_not_widen_the_room(rig_of):
    board = {"name": "board", "size": [300, 10, 300], "centre": [0, 500, 0]}
    lamp = {"name": "lamp", "centre": [0, 500, 2000], "size": [50, 50], "luminance": 900}
    alone = cells_around(build(rig_of(board=[board])), STEP)
    beside = cells_around(build(rig_of(board=[board], lamp=[lamp])), STEP)
    assert (beside.low == alone.low).all() and beside.shape == alone.shape
    assert cells_around(build(rig_of(lamp=[lamp])), STEP).high[2] > 2000


def test_ways_through_grooves_are_all_found(rig_of, screen_at):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "model": "grooved"}
    lens |= {"width": 400, "height": 300}
    assembly = build(rig_of(screen=[screen_at(centre=[0, 750, 0])], lens=[lens]))
    chance = np.random.default_rng(2)
    points = chance.uniform([-400, 620, -300], [400, 900, 300], (2000, 3))
    eyes = chance.uniform(-60, 60, (2000, 3))
    placed = assembly.screens[0].lens
    exact = directions_through(placed, eyes, points, within=True)
    found = ways_through(placed, eyes, points)
    assert 200 < np.isfinite(exact[:, 0]).sum() < 1900
    assert np.array_equal(exact, found, equal_nan=True)
    straight = ways_through(None, eyes, points)
    assert np.allclose(np.linalg.norm(straight, axis=1), 1)
