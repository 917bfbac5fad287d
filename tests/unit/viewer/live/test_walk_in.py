"""The page that holds a whole rig: small, and safe whatever a rig is called."""

import base64
import gzip
import json
import re

import pytest

from seamsight.scene import build, read_rig
from seamsight.viewer.live.walk_in import MOST_ACROSS, walk_in_page
from seamsight.viewer.numbers.cautions import HEADSET

HOSTILE = "</script><script>alert(1)</script>"


@pytest.fixture
def page_of(rig_of, screen_at):
    def page(name, **keys):
        return walk_in_page([build(rig_of(name=name, screen=[screen_at(**keys)]))]).decode()

    return page


def data_of(page):
    (data,) = re.findall(r'id="data">([A-Za-z0-9+/=]+)</script>', page)
    packed = gzip.decompress(base64.b64decode(data))
    length = int.from_bytes(packed[:4], "big")
    return json.loads(packed[4 : 4 + length]), packed[4 + length :]


def test_the_page_holds_the_rig_its_heads_numbers_and_cautions(page_of):
    facts, binary = data_of(page_of("cab"))
    (rig,) = facts["rigs"]
    assert rig["name"] == "cab"
    assert [head["name"] for head in rig["heads"]] == ["design"]
    assert rig["heads"][0]["numbers"][0].startswith("screen: seen by left / right eye 100.0")
    assert facts["headsetCautions"] == list(HEADSET)
    assert any("mains" in caution for caution in facts["cautions"])
    assert len(binary) == sum(facts["sizes"])


def test_names_run_no_script(page_of):
    plain, hostile = (page_of(name) for name in ("cab", HOSTILE))
    assert hostile.count("<script") == plain.count("<script")
    assert data_of(hostile)[0]["rigs"][0]["name"] == HOSTILE


def test_large_pictures_are_averaged(page_of):
    small, large = (
        len(data_of(page_of("cab", pixels=[across, across // 2], shows="card"))[1])
        for across in (MOST_ACROSS, 3 * MOST_ACROSS)
    )
    assert large < 4 * small  # of nine times as many pixels


def test_the_main_sample_is_a_page_of_less_than_two_megabytes(sample_rigs):
    page = walk_in_page([build(read_rig(sample_rigs / "harbour_floatplane.toml"))])
    assert len(page) < 2_000_000
