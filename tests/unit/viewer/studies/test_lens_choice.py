"""Lenses tried in a rig: held to closed forms, and to rigs that have these lenses written out."""

import itertools
import math

import pytest

from seamsight.scene import Head, build
from seamsight.viewer import eyes_of, measure
from seamsight.viewer.numbers.lens_models import LENS_MODELS
from seamsight.viewer.studies.head_box import Asked, head_box
from seamsight.viewer.studies.lens_choice import best, lensed_names, tried, with_optic
from seamsight.viewer.studies.lens_filling import Lens

HEAD = Head(name="here")
LENS = {"focal_length": 450, "distance": 150, "width": 517, "height": 330}


@pytest.fixture(scope="module")
def row(rig_of):
    """Return a function from keys of a lens and a bank to a rig of screens side by side."""

    def make(lens=None, count=2, body=45, bezel=16, **keys):
        screen = {"width": 474, "height": 296, "pixels": [1680, 1050]}
        screen |= {"shows": "black", "bezel": bezel, "body": body}
        bank = {"name": "row", "count": count, "radius": 600, "screen": screen}
        return rig_of(bank=[bank | {"lens": lens or LENS} | keys])

    return make


@pytest.mark.parametrize("size", [(517, 323), (560, 350)])
@pytest.mark.parametrize("kind", LENS_MODELS)
def test_figures_are_what_a_rig_with_that_lens_measures(row, size, kind):
    found = tried(row(), "row", Lens(size, 430), HEAD)
    (figures,) = [each for each in found.kinds if each.lens == kind]
    keys = {"width": size[0], "height": size[1], "focal_length": 430, "distance": found.distance}
    rig = row(lens=keys | LENS_MODELS[kind])
    numbers = measure(build(rig), eyes_of(rig, HEAD)).as_json()
    screens, (seam,) = list(numbers["screens"].values()), numbers["seams"]
    assert found.distance and found.magnification == pytest.approx(430 / (430 - found.distance))
    assert all(screen["magnification"] == pytest.approx(found.magnification) for screen in screens)
    assert figures.dark == pytest.approx(max(seam["dark"][eye] for eye in ("left", "right")))
    margins = [
        by_eye[eye]
        for screen, eye in itertools.product(screens, ("left", "right"))
        for by_eye in screen["margin"].values()
    ]
    assert figures.lost == pytest.approx(max(0, -min(margins)), abs=1e-5)
    if kind == "ideal":
        both = [screen["visible"]["both"] for screen in screens]
        for way in ("h", "v"):
            assert figures.field[way] == pytest.approx(min(one[way] for one in both), abs=0.01)
    else:
        light = min(screen["light"]["corner"] for screen in screens)
        shift = max(screen["distortion"] for screen in screens)
        assert figures.light == pytest.approx(light)
        assert figures.distortion == pytest.approx(shift, abs=1e-6)


def test_head_room_is_what_head_box_finds_in_a_rig_written_out(row):
    rig = row()
    found = tried(rig, "row", Lens((540, 330), 450), HEAD, fill=False)
    same = row(lens=LENS | {"width": 540})
    travel = head_box(build(same), HEAD, Asked(0.98)).travel
    assert found.head_room
    assert found.head_room == {way: travel[way].far for way in found.head_room}
    assert found.head_room["left"] > 0


def test_more_magnification_at_one_size_leaves_less_head_room(row):
    # common practice, from memory: a stronger lens of one size is looked through less freely
    rooms = []
    for enlarged in (1.2, 1.35, 1.5):
        lens = {"focal_length": 450, "magnification": enlarged, "width": 540, "height": 345}
        found = tried(row(lens=lens, count=1), "row", Lens((540, 345), 450), HEAD, fill=False)
        assert found.magnification == pytest.approx(enlarged)
        rooms.append(found.head_room["left"])
    assert rooms[0] > rooms[1] > rooms[2]


@pytest.mark.parametrize("given", [{"distance": 150}, {"magnification": 1.5}])
def test_keep_keeps_what_the_rig_gives(row, given):
    lens = {key: value for key, value in LENS.items() if key != "distance"} | given
    found = tried(row(lens=lens), "row", Lens((517, 330), 500), HEAD, fill=False)
    kept = {"distance": found.distance, "magnification": found.magnification}
    for key, value in given.items():
        assert kept[key] == pytest.approx(value)


def test_ideal_field_is_the_aperture_s_where_the_image_just_fills_it(row):
    found = tried(row(count=1), "row", Lens((517, 330), 450), HEAD)
    # up, both eyes are on the lens's middle line and see it filled
    assert found.kinds[0].field["v"] == pytest.approx(2 * math.degrees(math.atan(165 / 600)))


def test_parts_of_a_bank_that_would_cut_into_each_other(row):
    # a bezel 60 mm wide, close behind lenses hardly wider than the image
    found = tried(row(bezel=60), "row", Lens((517, 323), 350), HEAD)
    assert found.kinds == ()
    assert "row.1" in found.impossible[0] and "run into each other by" in found.impossible[0]


def test_what_a_lens_s_own_rules_refuse(row):
    found = tried(row(), "row", Lens((517, 330), 140), HEAD, fill=False)
    assert "closer to the screen than its focal length, 140" in found.impossible[0]
    behind = Head(name="far ahead", offset=(0, 640, 0))
    found = tried(row(), "row", Lens((517, 330), 450), behind)
    assert 'from head position "far ahead" an eye would be' in found.impossible[0]


def test_screen_of_its_own_and_one_without_outside_view(rig_of, screen_at):
    screen = screen_at(centre=[0, 700, 0])
    rig = rig_of(screen=[screen], lens=[LENS | {"screen": "screen"}])
    assert lensed_names(rig) == ["screen"]
    found = tried(rig, "screen", Lens((410, 308), 450), HEAD)
    assert found.head_room is None and found.kinds[0].dark is None
    optic = rig.lens[0].model_copy(update={"distance": found.distance})
    placed = build(with_optic(rig, "screen", optic)).screens[0]
    assert placed.lens.optic.distance == found.distance
    assert placed.rig_from_screen[1, 3] == 700


def test_other_lenses_stay_as_they_are(rig_of, screen_at):
    screens = [screen_at("one", centre=[-300, 700, 0]), screen_at("two", centre=[300, 700, 0])]
    lenses = [LENS | {"screen": name} for name in ("one", "two")]
    rig = rig_of(screen=screens, lens=lenses)
    changed = with_optic(rig, "two", rig.lens[1].model_copy(update={"width": 333.0}))
    assert [lens.width for lens in changed.lens] == [517, 333]


def test_best_is_the_largest_field_of_a_real_lens_that_is_bright(row):
    found = [tried(row(), "row", Lens(size, 430), HEAD) for size in ((517, 323), (540, 337))]
    chosen = best(found)
    assert chosen
    one, kind = chosen
    assert kind.lens != "ideal" and kind.light >= 0.5
    others = [each for tried_one in found for each in tried_one.kinds if each.lens != "ideal"]
    largest = max(math.prod(each.field.values()) for each in others if each.light >= 0.5)
    assert math.prod(kind.field.values()) == largest and kind in one.kinds
    assert best([]) is None


def test_other_parts_in_the_way_are_named_unless_they_were_before(rig_of, row):
    # the housing reaches from 750 to 795 mm ahead, with this lens from 790 to 835
    bank = row(count=1).bank[0].model_dump(exclude_none=True)
    places = {"before, too": 792, "only now": 815}
    boards = [
        {"name": name, "size": [20, 20, 20], "centre": [0, ahead, 0]}
        for name, ahead in places.items()
    ]
    found = tried(rig_of(bank=[bank], board=boards), "row", Lens((530, 331), 450), HEAD)
    assert found.distance == pytest.approx(190, abs=1)
    assert found.kinds and [set(pair) for pair in found.runs_into] == [{"row.1", "only now"}]


def test_eye_inside_a_part_is_told(rig_of, row):
    bank = row().bank[0].model_dump(exclude_none=True)
    ceiling = {"name": "ceiling", "size": [400, 400, 40], "centre": [0, 0, 200]}
    rig = rig_of(bank=[bank], board=[ceiling])
    high = Head(name="high", offset=(0, 0, 200))
    assert 'inside "ceiling"' in tried(rig, "row", Lens((517, 323), 430), high).impossible[0]


def test_lens_too_thick_for_its_place_has_no_real_one(row):
    lens = LENS | {"distance": 21, "thickness": 30}
    found = tried(row(lens=lens), "row", Lens((517, 330), 450), HEAD, fill=False)
    assert [kind.lens for kind in found.kinds] == ["ideal"]
    assert best([found]) is None
