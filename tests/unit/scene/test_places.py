"""Things on other things and mirror images, held to rigs written out by trigonometry."""

import math

import numpy as np
import pytest
import trimesh

from seamsight.scene import ChoiceError, Rig, build
from seamsight.scene.frames import angles, move
from seamsight.scene.places import settled

LENS = {"focal_length": 450, "distance": 150, "width": 520, "height": 340}
BANK = {
    "name": "row",
    "count": 3,
    "radius": 600,
    "screen": {"width": 480, "height": 300, "pixels": [800, 600], "bezel": 10, "body": 40},
    "lens": LENS,
}
HALF_TOE = math.atan(260 / 600)


def board(name="b", **keys):
    return {"name": name, "size": [10, 20, 30], "centre": [0, 0, 0]} | keys


def only(rig, table="board"):
    return getattr(settled(rig), table)[-1]


def pose(one):
    return (*one.centre, one.yaw, one.pitch, one.roll)


def test_a_rig_in_which_nothing_stands_on_anything_is_left_as_it_is(rig_of):
    rig = rig_of(board=[board()])
    assert settled(rig) is rig


def test_on_a_pitched_plate_as_a_sine_and_a_cosine_say(rig_of):
    plate = {"name": "panel", "size": [600, 300], "thickness": 4, "centre": [0, 550, 796]}
    rig = rig_of(plate=[plate | {"pitch": -8}], board=[board(on="panel", centre=[165, 5, 18])])
    s, c = math.sin(math.radians(-8)), math.cos(math.radians(-8))
    expected = (165, 550 - 18 * s + 5 * c, 796 + 18 * c + 5 * s, 0, -8, 0)
    assert pose(only(rig)) == pytest.approx(expected, abs=1e-9)


def test_on_the_pilot_and_on_a_bank(rig_of):
    rig = rig_of(
        pilot={"eye_point": [10, 20, 1150]},
        bank=[BANK | {"aim": [30, 0]}],
        board=[board(on="pilot", centre=[1, 2, 3]), board("c", on="row", centre=[0, 100, 0])],
    )
    first, second = settled(rig).board
    assert pose(first) == pytest.approx((11, 22, 1153, 0, 0, 0))
    ahead = (10 + 100 * math.sin(math.radians(30)), 20 + 100 * math.cos(math.radians(30)), 1150)
    assert pose(second) == pytest.approx((*ahead, 30, 0, 0))


@pytest.mark.parametrize(("on", "distance"), [("row.1", 750), ("row.1 lens", 600)])
def test_on_a_unit_and_on_its_lens(rig_of, on, distance):
    rig = rig_of(bank=[BANK], board=[board(on=on)])
    angle = -2 * HALF_TOE
    expected = (distance * math.sin(angle), distance * math.cos(angle), 0)
    assert pose(only(rig)) == pytest.approx((*expected, math.degrees(angle), 0, 0), abs=1e-9)


def test_on_a_seam_half_way_between_two_lenses(rig_of):
    rig = rig_of(bank=[BANK], board=[board(on="row.2 | row.3", centre=[0, 100, 7])])
    far = math.hypot(600, 260) + 100
    expected = (far * math.sin(HALF_TOE), far * math.cos(HALF_TOE), 7)
    assert pose(only(rig)) == pytest.approx((*expected, math.degrees(HALF_TOE), 0, 0), abs=1e-9)
    # either way round
    other = rig_of(bank=[BANK], board=[board(on="row.3 | row.2", centre=[0, 100, 7])])
    assert pose(only(other)) == pytest.approx(pose(only(rig)), abs=1e-9)


def test_on_a_seam_between_bare_screens_one_above_the_other(rig_of, screen_at):
    screens = [
        screen_at("low", centre=[0, 600, 0], bezel=10, lip=4),
        screen_at("high", centre=[0, 600, 324], bezel=10, lip=4, pitch=10),
    ]
    rig = rig_of(screen=screens, board=[board(on="low | high")])
    placed = only(rig)
    assert placed.pitch == pytest.approx(5)
    # upper edge of the low bezel at 160, lower one of the high at 324 - 160 cos 10 - 4 sin 10
    up = (160 + 324 - 160 * math.cos(math.radians(10)) - 4 * math.sin(math.radians(10))) / 2
    assert placed.centre[2] == pytest.approx(up)
    assert placed.centre[0] == 0


def test_chains_and_boards_of_a_carcass(rig_of):
    rig = rig_of(
        bank=[BANK | {"carcass": {"thickness": 12}}],
        board=[
            board("c", on="b", centre=[0, 0, 10]),
            board("b", on="row.2 carcass top", centre=[0, 0, 6], yaw=90),
        ],
    )
    assert pose(settled(rig).board[0]) == pytest.approx((0, 695, 170 + 6 + 6 + 10, 90, 0, 0))


def test_a_screen_with_its_lens_on_a_seam(rig_of, screen_at):
    lens = {"screen": "small", **LENS}
    rig = rig_of(
        bank=[BANK],
        screen=[screen_at("small", on="row.1 | row.2", centre=[0, 300, 0])],
        lens=[lens],
        board=[board(on="small lens")],
    )
    far = math.hypot(600, 260) + 300 - 150
    assert np.linalg.norm(only(rig).centre) == pytest.approx(far)


def test_marks_and_heads_on_things(rig_of):
    rig = rig_of(
        pilot={"eye_point": [0, 0, 1000]},
        board=[board(centre=[100, 500, 900], yaw=90)],
        mark=[{"name": "m", "on": "b", "at": [10, 5, 1], "want": [0, 0, 0]}],
        head=[{"name": "h", "on": "b", "offset": [0, -200, 0], "turn": 10, "nod": -5}],
    )
    [mark], [head] = settled(rig).mark, settled(rig).head
    # at yaw 90 its right is the rig's back, its away the rig's right
    assert mark.at == pytest.approx((105, 490, 901))
    assert head.offset == pytest.approx((100 - 200, 500, -100))
    assert (head.turn, head.nod, head.tilt) == pytest.approx((100, -5, 0))


def test_a_mirror_image_stands_on_the_other_side_of_the_eye_point(rig_of):
    rig = rig_of(
        pilot={"eye_point": [25, 0, 0]},
        board=[board(centre=[125, 300, 50], yaw=20, pitch=5, roll=-7, mirror="c")],
    )
    first, second = settled(rig).board
    assert (first.name, second.name) == ("b", "c")
    assert pose(second) == pytest.approx((-75, 300, 50, -20, 5, 7))
    corners = {part.name: part.triangles.reshape(-1, 3) for part in build(rig).parts}
    turned = corners["b"] * [-1, 1, 1] + [50, 0, 0]
    assert {tuple(p) for p in turned.round(6)} == {tuple(p) for p in corners["c"].round(6)}


def test_holes_and_bezels_are_mirrored_too(rig_of, screen_at):
    hole = {"shape": "circle", "at": [30, 10], "diameter": 5}
    plate = {"name": "p", "size": [100, 80], "thickness": 4, "centre": [200, 400, 0], "yaw": 30}
    screen = screen_at("s", centre=[-300, 600, 0], bezel={"left": 5, "right": 9}, mirror="t")
    lens = {"screen": "s", **LENS, "offset": [12, 3]}
    rig = rig_of(plate=[plate | {"holes": [hole], "mirror": "q"}], screen=[screen], lens=[lens])
    found = settled(rig)
    assert found.plate[1].holes[0].at == (-30, 10)
    assert (found.screen[1].bezel.left, found.screen[1].bezel.right) == (9, 5)
    assert [(lens.screen, lens.offset) for lens in found.lens] == [("s", (12, 3)), ("t", (-12, 3))]
    parts = {part.name: part for part in build(rig).parts}
    for one, other in (("p", "q"), ("s bezel", "t bezel"), ("s lens", "t lens")):
        here, there = (parts[name].triangles.reshape(-1, 3) for name in (one, other))
        mirrored = {tuple(p) for p in (here * [-1, 1, 1]).round(5) + 0.0}
        # holes are polygons, of which not every corner has a mirror image
        shared = mirrored & {tuple(p) for p in there.round(5) + 0.0}
        assert len(shared) >= 4


def test_a_mesh_is_mirrored_in_itself(tmp_path):
    wedge = trimesh.convex.convex_hull([(0, 0, 0), (40, 0, 0), (0, 10, 0), (0, 0, 20)])
    wedge.export(tmp_path / "wedge.stl")
    tables = {
        "format": 1,
        "name": "rig",
        "pilot": {"eye_point": [0, 0, 0]},
        "mesh": [
            {
                "name": "m",
                "file": "wedge.stl",
                "centre": [100, 300, 0],
                "yaw": 25,
                "mirror": "n",
            }
        ],
    }
    rig = Rig.model_validate(tables).read_from(tmp_path / "rig.toml")
    parts = {part.name: part for part in build(rig).parts}
    here, there = (trimesh.Trimesh(*trimesh.triangles.to_kwargs(parts[name].triangles).values())
                   for name in "mn")  # fmt: skip
    assert here.volume == pytest.approx(there.volume)
    assert there.volume > 0
    mirrored = {tuple(p) for p in (here.vertices * [-1, 1, 1]).round(4) + 0.0}
    assert mirrored == {tuple(p) for p in there.vertices.round(4) + 0.0}


def test_things_can_stand_on_mirror_images(rig_of):
    rig = rig_of(
        board=[
            board(centre=[100, 300, 0], yaw=30, mirror="c"),
            board("d", on="c", centre=[0, 10, 0], mirror="e"),
        ]
    )
    placed = {one.name: one for one in settled(rig).board}
    assert placed["d"].yaw == pytest.approx(-30)
    assert pose(placed["e"]) == pytest.approx(
        (-placed["d"].centre[0], *placed["d"].centre[1:], 30, 0, 0)
    )


def test_any_chain_is_the_product_of_its_transforms(rig_of):
    rng = np.random.default_rng(8)
    tables = []
    for number in range(6):
        turns = rng.uniform(-80, 80, 3)
        keys = dict(zip(("yaw", "pitch", "roll"), turns.tolist(), strict=True))
        on = {"on": f"b{number - 1}"} if number else {}
        tables.append(board(f"b{number}", centre=rng.uniform(-50, 50, 3).tolist(), **keys, **on))
    rig = rig_of(board=tables)
    by_hand = np.eye(4)
    for table, part in zip(tables, build(rig).parts, strict=True):
        alone = build(rig_of(board=[table | {"on": None}])).parts[0].rig_from_part
        by_hand = by_hand @ alone
        np.testing.assert_allclose(part.rig_from_part, by_hand, atol=1e-9)
    assert angles(by_hand[:3, :3]) == pytest.approx(angles(part.rig_from_part[:3, :3]))
    assert move(by_hand, np.zeros(3)) == pytest.approx(part.rig_from_part[:3, 3])


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ([board(on="nothing")], 'nothing called "nothing"'),
        ([board(on="b")], "circle"),
        ([board(on="c"), board("c", on="b")], "circle"),
        ([board(on="a | c")], 'no screen "a"'),
    ],
)
def test_what_is_not_there_and_circles_are_told(rig_of, tables, words):
    with pytest.raises(ChoiceError, match=words):
        build(rig_of(board=tables))
