"""Every key of the JSON is explained once, and sample_rigs/NUMBERS.md says the same."""

from pathlib import Path

from seamsight.viewer.numbers.meanings import MEANINGS, with_number_table

PAGE = Path(__file__).parents[4] / "sample_rigs" / "NUMBERS.md"


def test_the_table_of_numbers_is_what_the_numbers_mean(request):
    text = PAGE.read_text("utf-8")
    if request.config.getoption("--regenerate"):
        PAGE.write_text(with_number_table(text), "utf-8")
    assert text.count("<!-- numbers -->") == 1
    assert with_number_table(PAGE.read_text("utf-8")) == PAGE.read_text("utf-8")


def test_every_key_of_the_json_has_one_meaning(whole):
    explained = [key for keys, _ in MEANINGS for key in keys]
    assert len(explained) == len(set(explained))
    of_rig = whole.keys() - {"rig", "head", "screens"}
    assert set(explained) == of_rig | whole["screens"]["left"].keys()
    of_seams = dict(MEANINGS)["seams",]
    assert all(f"`{key}`" in of_seams for key in whole["seams"][0])
