"""What users and editors are told of the rig file is what the models say; `pytest --regenerate` writes it anew."""

import json

from seamsight.scene.samples import SCHEMA, sample_files
from seamsight.scene.schema import rig_schema, with_key_tables


def test_the_reference_s_tables_and_the_schema_file_follow_the_models(request):
    folder = next(iter(sample_files().values())).parent
    reference, schema = folder / "README.md", folder / SCHEMA
    text = reference.read_text("utf-8")
    fresh = {reference: with_key_tables(text), schema: json.dumps(rig_schema(), indent=2) + "\n"}
    if request.config.getoption("--regenerate"):
        for file, content in fresh.items():
            file.write_text(content, "utf-8")
    assert text.count("<!-- keys of ") == 16
    assert {
        file.name for file, content in fresh.items() if file.read_text("utf-8") != content
    } == set()
