"""What mirror images are told as, made up by hand."""

import dataclasses

from seamsight.cli.glare_report import UNTOLD, Found, sentences, table
from seamsight.scene import Head
from seamsight.viewer.light.glare import MirrorImage
from seamsight.viewer.light.hoods import Hood

IMAGE = MirrorImage(
    eye="left",
    mirror="a lens",
    of="lamp",
    azimuth=-10.2,
    elevation=5.0,
    width=4.0,
    height=3.0,
    pixels=None,
    share=0.1,
    share_without_hood=0.2,
    reflectance=0.08,
    luminance=160.0,
    of_white=0.5,
    contrast=2.9,
    hood={"top": Hood(80.0, False)},
)
HERE = Head(name="here")


def told(**changes):
    return list(sentences([Found(HERE, [dataclasses.replace(IMAGE, **changes)])]))


def test_the_worst_comes_first():
    first, advice, *_, last = told()
    assert first.startswith("The worst is lamp in a lens, from here: it is 50 % as bright")
    assert "2.9 to 1" in first and advice.startswith("Move the lamp") and last == UNTOLD
    assert not any("Move the lamp" in sentence for sentence in told(of_white=0.3))


def test_what_hoods_keep_away_and_what_is_not_mirrored():
    assert told(share=0.0)[0] == "The rig's hoods keep all of it away."
    assert list(sentences([Found(HERE, [])])) == []


def test_both_eyes_share_a_row():
    right = dataclasses.replace(IMAGE, eye="right", azimuth=-12.0, hood={"top": Hood(95.0, False)})
    [(name, cells)] = table(HERE, [IMAGE, right]).rows
    assert name == "lamp in a lens"
    assert cells[:2] == ["\N{MINUS SIGN}10, 5 / \N{MINUS SIGN}12, 5", "4 × 3"]
    assert cells[-1] == "top 95 mm" and "hoods off: 20" in cells[-2]
