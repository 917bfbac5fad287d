"""All that a cut list tells, together."""

import pytest

from seamsight.scene import build
from seamsight.viewer.numbers.cautions import LIFTING, OVERLOADED, TIPS, WORKSHOP
from seamsight.viewer.workshop.cutting_plan import cutting_plan
from seamsight.viewer.workshop.doorway import Door

BOX = {"name": "box", "size": [400, 200, 30], "centre": [0, 900, 0]}


def plan_of(rig, **options):
    return cutting_plan(build(rig), options.get("stock"), options.get("door"))


def test_json_has_its_fixed_names(rig_of, screen_at):
    rig = rig_of(board=[BOX], screen=[screen_at(mass=3, mounting="75x75")])
    told = plan_of(rig, stock={}, door=Door(800, 2000)).as_json()
    assert {"parts", "mass", "size", "centre_of_gravity"} <= told.keys()
    [part] = told["parts"]
    assert {"name", "material", "size", "bevels", "mass"} <= part.keys()
    assert part["size"] == [400, 200, 30]
    assert part["mass"] == pytest.approx(0.4 * 0.2 * 0.03 * 650)
    assert told["mass"] == pytest.approx(3 + part["mass"])
    assert told["mounts"][0]["within"]
    assert told["door"]["passes"]
    assert told["sheets"][0]["sheets"][0][0]["name"] == "box"


def test_csv_has_a_row_for_each_kind(rig_of):
    head, row = plan_of(rig_of(board=[BOX])).as_csv().decode().splitlines()
    assert head.startswith("number,name,count,material,length,width,thickness,mass")
    assert row.startswith("1,box,1,plywood,400.0,200.0,30.0,1.56,")


def test_tipping_is_not_told_before_everything_has_a_mass(rig_of, screen_at):
    plan = plan_of(rig_of(board=[BOX], screen=[screen_at()]))
    assert plan.tipping is None
    assert plan.as_json()["without_mass"] == ["screen"]


def test_cautions(rig_of, screen_at):
    tall = BOX | {"size": [100, 100, 1500]}
    assert TIPS in plan_of(rig_of(board=[tall])).cautions
    flat = plan_of(rig_of(board=[BOX])).cautions
    assert TIPS not in flat
    assert WORKSHOP in flat
    heavy = plan_of(rig_of(screen=[screen_at(mass=24, mounting="100x100")])).cautions
    assert {OVERLOADED, LIFTING} <= set(heavy)


def test_a_rig_of_nothing(rig_of):
    plan = plan_of(rig_of(), stock={}, door=Door(800, 2000))
    told = plan.as_json()
    assert (told["parts"], told["mass"], told["centre_of_gravity"]) == ([], 0, None)
    assert told["sheets"] == []
