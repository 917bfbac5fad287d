"""`seamsight sway`: what a moving head loses, and what it refuses."""

import json

import pytest


def test_a_wider_sway_loses_more(call, bank_rig):
    shares = [
        json.loads(call("sway", bank_rig, "--by", by, "--json").stdout)["share"]
        for by in ("5,0,0", "60,0,0", "200,0,0")
    ]
    assert shares[0] == 0
    assert shares == sorted(shares)
    assert shares[2] > 0.5


def test_people_get_a_sentence_and_a_table(call, bank_rig, tmp_path):
    (tmp_path / "moves.csv").write_text("time,x\n0,0\n5,0\n10,300\n", "utf-8")
    text = call("sway", bank_rig, "--path", "moves.csv").stdout
    assert "For 25.0 % of 10 s an eye sees less than 98 % of an outside screen." in text
    assert "row.1" in text


def test_a_wrong_file_is_told_in_a_line(call, bank_rig, tmp_path):
    (tmp_path / "moves.csv").write_text("time,x\n0,0\n5,\n", "utf-8")
    told = call("sway", bank_rig, "--path", "moves.csv", status=1).stderr
    assert told == "moves.csv line 3: x is not a number (got '')\n"


@pytest.mark.parametrize("words", [("--by", "1"), ("--seen", "2"), ("--head", "nobody")])
def test_wrong_usage(call, bank_rig, words):
    call("sway", bank_rig, *words, status=2)
