"""What users and editors are told of the rig file is what the models say."""

import json
import tomllib

import jsonschema
import pytest

from seamsight.scene.samples import SCHEMA, sample_files
from seamsight.scene.schema import rig_schema, with_key_tables

PILOT = {"eye_point": [0, 0, 0]}
RIG = {"format": 1, "name": "rig", "pilot": PILOT}
DISPLAY = {"width": 400, "height": 300, "pixels": [800, 600]}


@pytest.fixture(scope="module")
def validator():
    return jsonschema.Draft202012Validator(rig_schema())


def test_schema_is_a_valid_2020_12_schema():
    assert rig_schema()["$schema"] == jsonschema.Draft202012Validator.META_SCHEMA["$id"]
    jsonschema.Draft202012Validator.check_schema(rig_schema())


def test_schema_survives_json():
    assert json.loads(json.dumps(rig_schema())) == rig_schema()


def test_every_sample_is_accepted(validator, sample):
    assert [
        error.message for error in validator.iter_errors(tomllib.loads(sample.read_text("utf-8")))
    ] == []


@pytest.mark.parametrize(
    "tables",
    [
        {},
        {"screen": [DISPLAY | {"name": "a", "centre": ["1 m", 0, "2 ft"], "bezel": "2 cm"}]},
        {"screen": [DISPLAY | {"name": "a", "centre": [0, 0, 0], "bezel": {"left": 3}}]},
        {
            "screen": [
                DISPLAY
                | {"name": "a", "centre": [0, 0, 0], "shows": {"wide": "x.png", "part": 1, "of": 3}}
            ]
        },
        {"bank": [{"name": "b", "count": 3, "radius": "60 cm", "toe": 30.5, "screen": DISPLAY}]},
        {
            "bank": [
                {
                    "name": "b",
                    "count": 3,
                    "radius": 600,
                    "toe": "touch",
                    "gap": 3,
                    "screen": DISPLAY,
                }
            ]
        },
    ],
)
def test_accepted(validator, tables):
    assert list(validator.iter_errors(RIG | tables)) == []


@pytest.mark.parametrize(
    "wrong",
    [
        {"sreen": []},
        {"format": 2},
        {"pilot": {}},
        {"pilot": PILOT | {"neckk": 3}},
        {"pilot": {"eye_point": [0, 0]}},
        {"pilot": PILOT | {"pupil_distance": -3}},
        {"pilot": PILOT | {"pupil_distance": "wide"}},
        {"pilot": PILOT | {"pupil_distance": True}},
        {"screen": [DISPLAY | {"name": "a"}]},
        {"screen": [DISPLAY | {"name": "a", "centre": [0, 0, 0], "bezel": {"lft": 3}}]},
        {
            "screen": [
                DISPLAY | {"name": "a", "centre": [0, 0, 0], "shows": {"wide": "x.png", "part": 1}}
            ]
        },
        {"bank": [{"name": "b", "count": 3, "radius": 600, "toe": "tuch", "screen": DISPLAY}]},
        {"board": [{"name": "b", "size": [1, 2, 3], "centre": [0, 0, 0], "material": "oak"}]},
        {
            "plate": [
                {
                    "name": "p",
                    "size": [1, 2],
                    "thickness": 1,
                    "centre": [0, 0, 0],
                    "holes": [{"shape": "oval"}],
                }
            ]
        },
    ],
)
def test_rejected(validator, wrong):
    assert list(validator.iter_errors(RIG | wrong)) != []


def test_the_reference_s_tables_and_the_schema_file_follow_the_models(request):
    # `pytest --regenerate` writes them anew
    folder = next(iter(sample_files().values())).parent
    reference, schema = folder / "README.md", folder / SCHEMA
    text = reference.read_text("utf-8")
    fresh = {reference: with_key_tables(text), schema: json.dumps(rig_schema(), indent=2) + "\n"}
    if request.config.getoption("--regenerate"):
        for file, content in fresh.items():
            file.write_text(content, "utf-8")
    assert text.count("<!-- keys of ") == 25
    assert {
        file.name for file, content in fresh.items() if file.read_text("utf-8") != content
    } == set()
