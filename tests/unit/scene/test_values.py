"""The rig's own numbers by path, formulas worked out, values set from outside."""

import math

import pytest

from seamsight.scene.errors import ChoiceError
from seamsight.scene.values import computed, in_words, key_path, numbers_of, with_changes


@pytest.fixture
def data():
    return {
        "format": 1,
        "name": "= no formula",
        "values": {"lens_width": 517, "board": "18 mm", "half": "= lens_width / 2"},
        "pilot": {"eye_point": [0, 0, "= 1 m + 15 cm"]},
        "bank": [
            {
                "name": "outside",
                "count": 3,
                "radius": 600,
                "screen": {"diagonal": "22 in", "aspect": "16:10", "pixels": [1680, 1050]},
                "lens": {
                    "focal_length": 450,
                    "magnification": 1.5,
                    "width": "= lens_width",
                    "height": 330,
                },
            }
        ],
        "screen": [{"name": "a.b", "width": 400}],
        "lens": [
            {"screen": "a.b", "distance": 100},
            {
                "screen": "b",
                "focal_length": 450,
                "magnification": 1.5,
                "width": 500,
                "height": 400,
            },
        ],
        "board": [
            {"name": "glare shield", "size": [1, "= 2 * board", 3], "yaw": "24.6 deg"},
            {"name": "sill", "size": ["= glare_shield.size.2", 1, 1], "note": "= text"},
        ],
    }


def test_formulas_are_replaced_by_their_results(data):
    results = computed(data)
    assert results.wrong == []
    assert results.data["values"] == {"lens_width": 517, "board": "18 mm", "half": 258.5}
    assert results.data["pilot"]["eye_point"] == [0, 0, 1150]
    assert results.data["bank"][0]["lens"]["width"] == 517
    assert [board["size"] for board in results.data["board"]] == [[1, 36, 3], [36, 1, 1]]
    # names and notes are text, whatever they begin with
    assert results.data["name"] == "= no formula"
    assert data["board"][0]["size"][1] == "= 2 * board"


def test_a_rig_without_formulas_is_left_as_it_is():
    data = {"board": [{"name": "a", "size": [1, 2, 3]}]}
    assert computed(data).data is data


@pytest.mark.parametrize(
    ("formula", "result"),
    [
        ("= outside.radius", 600),
        ("= outside.lens.width", 517),
        ("= outside.lens.distance", 150),
        ("= outside.lens.thickness", 2),
        ("= outside.toe", 2 * math.degrees(math.atan(258.5 / 600))),
        ("= glare_shield.yaw", 24.6),
        ("= pilot.eye_point.3", 1150),
        ("= pilot.pupil_distance", 63),
        ("= outside.screen.diagonal", 558.8),
        ("= b_lens.distance", 150),
        ("= values.half", 258.5),
    ],
)
def test_numbers_of_other_tables(data, formula, result):
    data["board"][1]["yaw"] = formula
    results = computed(data)
    assert results.wrong == []
    assert results.data["board"][1]["yaw"] == pytest.approx(result, rel=1e-12)


@pytest.mark.parametrize(
    ("formula", "words"),
    [
        ("= lens_widht", 'there is no value "lens_widht" (did you mean "lens_width"?)'),
        ("= outsid.radius", 'nothing called "outsid" in the rig (did you mean "outside"?)'),
        ("= outside.radios", 'there is no key "radios" (did you mean "radius"?)'),
        ("= sill.yaw", "goes round in a circle: sill.yaw -> sill.yaw"),
        ("= glare_shield.size.4", "must be a number from 1 to 3"),
        ("= glare_shield.roll / 0", "divides by zero"),
        ("= outside.screen.aspect", "is not a number"),
    ],
)
def test_what_cannot_be_worked_out_is_told_with_its_place(data, formula, words):
    data["board"][1]["yaw"] = formula
    [wrong] = computed(data).wrong
    assert wrong.path == ("board", 1, "yaw")
    assert words in wrong.text
    assert formula in wrong.text


def test_circles_of_values_are_told(data):
    data["values"] |= {"a": "= b + 1", "b": "= c", "c": "= a"}
    wrong = computed(data).wrong
    assert [finding.path[1] for finding in wrong] == ["a", "b", "c"]
    assert all("circle: values." in finding.text for finding in wrong)


def test_a_long_chain_of_values_ends_in_words(data):
    data["values"] |= {f"v{n}": f"= v{n + 1}" for n in range(300)} | {"v300": 1}
    wrong = computed(data).wrong
    assert any("one upon the other" in finding.text for finding in wrong)


def test_paths_in_words_lead_to_places_and_back(data):
    paths = {
        "outside.lens.width": ("bank", 0, "lens", "width"),
        "a.b.width": ("screen", 0, "width"),
        "a.b lens.distance": ("lens", 0, "distance"),
        "glare shield.size.2": ("board", 0, "size", 1),
        "pilot.eye_point.3": ("pilot", "eye_point", 2),
        "values.board": ("values", "board"),
    }
    for words, path in paths.items():
        assert key_path(data, words) == path
        assert in_words(data, path) == words
    assert key_path(data, "glare_shield.size.2") == ("board", 0, "size", 1)
    # a key that is left out may be set
    assert key_path(data, "outside.gap") == ("bank", 0, "gap")


def test_every_number_can_be_named(data):
    numbers = numbers_of(data)
    assert numbers["outside.screen.diagonal"] == ("bank", 0, "screen", "diagonal")
    assert numbers["pilot.eye_point.3"] == ("pilot", "eye_point", 2)
    assert numbers["glare shield.yaw"] == ("board", 0, "yaw")
    assert not {"outside.count", "outside.screen.pixels.1", "outside.screen.aspect"} & set(numbers)
    for words, path in numbers.items():
        assert key_path(data, words) == path


def test_a_head_called_as_a_part_is_told_from_it(data):
    data["head"] = [{"name": "sill", "turn": 5}, {"name": "tall", "nod": 1}]
    assert key_path(data, "sill.size.1") == ("board", 1, "size", 0)
    assert key_path(data, "head sill.turn") == ("head", 0, "turn")
    assert in_words(data, ("head", 0, "turn")) == "head sill.turn"
    assert key_path(data, "tall.nod") == ("head", 1, "nod")


def test_values_are_set_in_a_copy(data):
    changed = with_changes(data, {"outside.lens.width": 600, "glare shield.size.1": "2 in"})
    assert changed["bank"][0]["lens"]["width"] == 600
    assert changed["board"][0]["size"][0] == "2 in"
    assert data["bank"][0]["lens"]["width"] == "= lens_width"


def test_a_distance_goes_in_place_of_a_magnification(data):
    lens = with_changes(data, {"outside.lens.distance": 120})["bank"][0]["lens"]
    assert lens["distance"] == 120 and "magnification" not in lens
    lens = with_changes(data, {"a.b lens.magnification": 2})["lens"][0]
    assert lens["magnification"] == 2 and "distance" not in lens
    both = {"outside.lens.distance": 120, "outside.lens.magnification": 2}
    lens = with_changes(data, both)["bank"][0]["lens"]
    assert (lens["distance"], lens["magnification"]) == (120, 2)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("nothing.width", "nothing called"),
        ("outside", "is a table: name one of its keys"),
        ("outside.lens.widht", 'did you mean "width"'),
        ("outside.carcass.depth", "is not written in the rig file"),
        ("sill.size.0", "must be a number from 1 to 3"),
        ("", "nothing called"),
    ],
)
def test_paths_that_lead_nowhere(data, words, told):
    with pytest.raises(ChoiceError, match=told.replace("(", "\\(")):
        with_changes(data, {words: 1})
