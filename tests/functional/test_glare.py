"""`seamsight glare`: tables for people, JSON for programs, and what it refuses."""

import json

import pytest

LAMP = """
[[lamp]]
name = "lamp [1]"
centre = [0, -600, 1150]
yaw = 180
size = [400, 300]
luminance = 2000
"""


@pytest.fixture
def lit_rig(little_rig):
    little_rig.write_text(little_rig.read_text("utf-8") + LAMP, "utf-8")
    return little_rig


def test_json_has_its_fixed_names(call, lit_rig):
    told = json.loads(call("glare", lit_rig, "--json").stdout)
    assert told["rig"] == "Größe [[x]]"
    assert [head["head"] for head in told["heads"]] == ["design", "leaning", "in the ceiling"]
    design, _, inside = told["heads"]
    assert inside == {
        "head": "in the ceiling",
        "failure": 'at this head position an eye would be inside "höhe [bold]" (-32, 0, 1400)',
        "images": [],
    }
    image = design["images"][0]
    assert list(image) == [
        *("eye", "mirror", "of", "azimuth", "elevation", "width", "height", "pixels", "share"),
        *("share_without_hood", "reflectance", "luminance", "of_white", "contrast", "hood"),
    ]
    assert (image["mirror"], image["of"]) == ("[[x]] lens", "lamp [1]")
    assert image["luminance"] == pytest.approx(2000 * image["reflectance"])
    assert set(image["hood"]) <= {"left", "right", "bottom", "top"}


def test_people_get_a_table_for_each_head_position(run, lit_rig):
    text = run("glare", lit_rig, env={"COLUMNS": "80"}).stdout
    assert "lamp [1] in" in text
    assert "The worst is lamp [1] in [[x]] lens" in text
    assert "in the ceiling: at this head position an eye would be inside" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_a_lamp_may_be_tried_out_with_set(call, lit_rig):
    words = ("--set", "lamp [1].luminance=20", "--head", "design", "--json")
    told = json.loads(call("glare", lit_rig, *words).stdout)
    [design] = told["heads"]
    assert all(image["of_white"] < 0.02 for image in design["images"])


def test_without_lamps(call, little_rig):
    text = call("glare", little_rig, "--head", "design").stdout
    assert "no [[lamp]], so only screens" in text
    assert "Nothing is seen mirrored from: design." in text


def test_wrong_usage_and_an_eye_in_a_part(call, lit_rig):
    assert "leaning" in call("glare", lit_rig, "--head", "leanig", status=2).stderr
    done = call("glare", lit_rig, "--head", "in the ceiling", status=1)
    assert 'inside "höhe [bold]"' in done.stderr


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        ("size = [400, 300]", "size = [0, 300]", "size item 1 must be at least 0.01 (got 0)"),
        ("-600, 1150", "0, 1400", 'the face of "lamp [1]" is inside "höhe [bold]"'),
        ("luminance = 2000", "", "needs either luminance or lumens, not both"),
    ],
)
def test_wrong_lamps(call, lit_rig, was, becomes, said):
    lit_rig.write_text(lit_rig.read_text("utf-8").replace(was, becomes), "utf-8")
    done = call("glare", lit_rig, status=1)
    assert said in done.stderr
    assert 'lamp "lamp [1]"' in done.stderr
    assert done.stdout == ""
