"""How far a head may move, held to closed forms of thin lenses and to `measure`."""

import math

import numpy as np
import pytest

from seamsight.scene import Head, build
from seamsight.viewer import eyes_of, measure
from seamsight.viewer.studies import head_box as module
from seamsight.viewer.studies.head_box import FARTHEST, Asked, head_box, head_room

DESIGN = Head(name="design")
HALF_PUPILS = 31.5


def bank(width=480.0, height=300.0, radius=600.0, frame=400.0, **lens):
    """Return a bank of one screen whose lens nobody looks past."""
    optic = {"focal_length": 450, "distance": 150, "width": 560, "height": 360} | lens
    screen = {"width": width, "height": height, "pixels": [800, 500]}
    return {
        "name": "row",
        "count": 1,
        "radius": radius,
        "screen": screen,
        "lens": optic | {"frame": {"width": frame, "depth": 1}},
    }


def seen_share(eye, table):
    """Return the share of the image that an eye at (x, y, z) sees through the lens, by its law."""
    optic, size = table["lens"], (table["screen"]["width"], table["screen"]["height"])
    f, d, e = optic["focal_length"], optic["distance"], table["radius"] - eye[1]
    share = 1.0
    for place, half, side in zip(
        (eye[0], eye[2]), (optic["width"] / 2, optic["height"] / 2), size, strict=True
    ):
        # where the rays through both edges of the aperture land: a + d ((a - x) / e - a / f)
        ends = [edge + d * ((edge - place) / e - edge / f) for edge in (-half, half)]
        shown = min(ends[1], side / 2) - max(ends[0], -side / 2)
        share *= max(shown, 0.0) / side
    return share


def holds(place, table, seen):
    """Return whether both eyes of a head at a place see as much as asked."""
    pupils = (place + np.array([x, 0, 0]) for x in (-HALF_PUPILS, HALF_PUPILS))
    return all(seen_share(pupil, table) >= seen for pupil in pupils)


def closed_form(table, step, seen):
    """Return how far both eyes may go along a step until one sees less than asked."""
    low, high = 0.0, FARTHEST
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle * np.array(step), table, seen) else (low, middle)
    return low


@pytest.mark.parametrize("seed", range(50))
def test_thin_lenses_by_their_law(rig_of, seed):
    rng = np.random.default_rng(seed)
    table = bank(
        width=rng.uniform(380, 480),
        height=rng.uniform(240, 300),
        radius=rng.uniform(500, 800),
        frame=2000.0,
        focal_length=rng.uniform(350, 700),
        distance=rng.uniform(100, 200),
    )
    table["lens"] |= {"width": rng.uniform(530, 640), "height": rng.uniform(340, 440)}
    box = head_box(build(rig_of(bank=[table])), DESIGN, Asked(0.98))
    if not holds(np.zeros(3), table, 0.98):
        assert box.failure is not None
        return
    ways = {"left": (-1, 0, 0), "up": (0, 0, 1), "down": (0, 0, -1), "right": (1, 0, 0)}
    for way, step in ways.items():
        assert box.travel[way].far == pytest.approx(closed_form(table, step, 0.98), abs=0.5)
        assert box.travel[way].stopped_by == "row.1 lens frame"
    back = closed_form(table, (0, -1, 0), 0.98)
    assert box.travel["back"].far == pytest.approx(back, abs=0.5)


def test_more_magnification_leaves_less_room(rig_of):
    # common practice: at one lens size the head box shrinks as the magnification grows
    rooms = []
    for distance in (100, 150, 200, 250):
        table = bank(distance=distance)
        box = head_box(build(rig_of(bank=[table])), DESIGN, Asked(0.98))
        rooms.append(box.travel["left"].far)
    assert rooms == sorted(rooms, reverse=True)
    assert rooms[0] > rooms[-1] + 20


def test_a_grooved_lens_as_measure_says(rig_of):
    table = bank(model="grooved", thickness=2)
    assembly = build(rig_of(bank=[table]))
    box = head_box(assembly, DESIGN, Asked(0.98))

    def least(far):
        head = DESIGN.model_copy(update={"offset": (0.0, 0.0, far)})
        seen = measure(assembly, eyes_of(assembly.rig, head)).screens["row.1"].seen
        return min(seen["left"], seen["right"])

    far = box.travel["up"].far
    assert least(far) >= 0.98 > least(far + 0.5)


def test_rays_are_counted_where_they_leave_no_doubt(rig_of, monkeypatch):
    def never(*words):
        raise AssertionError

    # it sees all of the image, then as good as nothing of it: never between
    table = bank(model="grooved", thickness=2, width=560, height=360)
    wall = {"name": "wall", "size": [2000, 10, 2000], "centre": [1050, 100, 0]}
    assembly = build(rig_of(bank=[table], board=[wall]))
    monkeypatch.setattr(module, "seen_places", never)
    look = module._Look(assembly, Asked(0.9))
    here, aside = (DESIGN.moved((x, 0, 0)) for x in (-200, 300))
    assert look.fault(aside, here).by > 0.5
    with pytest.raises(AssertionError):
        look.fault(aside)


def test_what_is_nearest_stops_the_head(rig_of, screen_at):
    roof = {"name": "roof", "size": [2000, 2000, 20], "centre": [0, 0, 250]}
    table = {"name": "row", "count": 1, "radius": 600, "screen": bank()["screen"]}
    box = head_box(build(rig_of(bank=[table], board=[roof])), DESIGN, Asked(0.98))
    assert box.travel["up"].far == pytest.approx(240, abs=0.5)
    assert box.travel["up"].stopped_by == "roof"
    assert box.travel["back"].far == FARTHEST
    assert box.travel["back"].stopped_by is None
    assert box.travel["turn_left"].far == 60
    # a screen of its own that shows a test card is none of the outside view
    panel = screen_at("panel", centre=[0, 300, -400])
    again = head_box(build(rig_of(bank=[table], board=[roof], screen=[panel])), DESIGN, Asked(0.98))
    assert again.travel["left"].far == box.travel["left"].far


def test_a_head_where_it_does_not_hold_is_led_to_where_it_does(rig_of):
    assembly = build(rig_of(bank=[bank()]))
    head = Head(name="aside", offset=(160, 0, 20))
    box = head_box(assembly, head, Asked(0.98))
    assert box.failure is not None
    assert box.failure.part == "row.1 lens frame"
    assert "eye sees" in box.failure.text
    assert all(travel.far == 0 for travel in box.travel.values())
    assert box.nearby is not None
    there = Head(name="there", offset=tuple(np.add(head.offset, box.nearby).tolist()))
    assert head_box(assembly, there, Asked(0.98)).failure is None
    assert np.linalg.norm(box.nearby) < 160


def test_strips_and_parts_between_images_may_be_asked_for(rig_of):
    wall = bank() | {"count": 2}
    wall["lens"] = wall["lens"] | {"frame": None, "width": 520, "height": 330}
    wall["screen"] = wall["screen"] | {"bezel": 12, "lip": 0}
    assembly = build(rig_of(bank=[wall]))
    assert head_box(assembly, DESIGN, Asked(0.9)).failure is None
    whole = head_box(assembly, DESIGN, Asked(0.9, whole=True)).failure
    assert whole is not None and whole.part.endswith(" lens")
    hidden = head_box(assembly, DESIGN, Asked(0.9, hide=("bezel",))).failure
    assert hidden is not None and hidden.part.endswith(" bezel")
    assert head_box(assembly, DESIGN, Asked(0.9, hide=("bracket",))).failure is None


def test_nothing_stops_a_turn_about_the_eyes_themselves(rig_of):
    pilot = {"eye_point": [0, 0, 0], "neck": 0, "pupil_distance": 0.02}
    box = head_box(build(rig_of(pilot=pilot, bank=[bank()])), DESIGN, Asked(0.98))
    assert (box.travel["turn_left"].far, box.travel["turn_right"].far) == (60, 60)
    assert math.isclose(box.travel["left"].far, box.travel["right"].far, abs_tol=0.5)


@pytest.mark.parametrize(("seen", "holds"), [(0.9, True), (1.0, False)])
def test_some_ways_alone_are_as_in_the_whole_box(rig_of, seen, holds):
    assembly = build(rig_of(bank=[bank(width=500.0)]))
    whole = head_box(assembly, DESIGN, Asked(seen))
    assert (whole.failure is None) == holds
    found = head_room(assembly, DESIGN, Asked(seen), ("right", "forward"))
    assert found == {way: whole.travel[way] for way in ("right", "forward")}
    assert all((travel.far > 0) == holds for travel in found.values())
