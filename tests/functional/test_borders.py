"""`seamsight borders`: pixels to keep black for all head positions."""

import json


def test_all_heads_of_the_rig_are_served(call, sample_rigs):
    rig = sample_rigs / "harbour_floatplane.toml"
    told = json.loads(call("borders", rig, "--json").stdout)
    assert told["heads"][0] == "design" and len(told["heads"]) == 5
    one = json.loads(call("borders", rig, "--head", "design", "--json").stdout)
    # as `check` says of this head alone: 28 pixels at each side of the middle screen
    assert one["screens"]["outside.2"]["px"] == {"left": 28, "right": 28, "bottom": 0, "top": 0}
    for name, border in told["screens"].items():
        assert all(border["px"][side] >= px for side, px in one["screens"][name]["px"].items())
        assert border["left"]["h"] < border["field"]["h"]


def test_people_get_a_table_and_sentences(run, sample_rigs):
    text = run("borders", sample_rigs / "harbour_floatplane.toml", env={"COLUMNS": "60"}).stdout
    assert "outside.2" in text
    assert '"leaning left" needs these borders: left of outside.1' in " ".join(text.split())
    assert all(len(line) <= 60 for line in text.splitlines())


def test_wrong_usage(call, little_rig):
    assert "no head" in call("borders", little_rig, "--head", "nobody", status=2).stderr
    # its one screen shows a test card
    assert "no screen of the outside view" in call("borders", little_rig, status=2).stderr
