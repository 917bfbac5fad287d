"""What `reach` prints for what was found."""

import pytest

from seamsight.cli.reach_report import print_fit
from seamsight.scene import build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.studies.fit import fit

NEAR = {"name": "lever", "at": [0, 300, -200], "want": [0, 0, 0]}
FAR = [{"name": f"switch {n}", "at": [0, 900, -200], "want": [0, 0, 0]} for n in range(1, 6)]


@pytest.fixture
def said(rig_of, capsys, monkeypatch):
    def said(**tables):
        monkeypatch.setenv("COLUMNS", "100")
        rig = rig_of(**tables)
        print_fit(fit(build(rig), eyes_of(rig, rig.heads()["design"])))
        return " ".join(capsys.readouterr().out.split())

    return said


def test_who_reaches_what(said):
    assert "A 5th percentile woman reaches everything." in said(mark=[NEAR])
    text = said(mark=[NEAR, *FAR])
    assert "woman does not reach switch 1, switch 2, switch 3 and 2 more." in text
    assert "Nobody here reaches switch 1, switch 2, switch 3 and 2 more." in text
    assert "There is nothing to reach" in said()


@pytest.mark.parametrize(
    ("seat", "words"),
    [
        (-690, "690 mm above the seat, which suits a 5th percentile woman best"),
        (-900, "900 mm above the seat, which suits a 95th percentile man best"),
        (None, "Seat heights from −860 to −698 fit them all. Add `seat`"),
    ],
)
def test_seat(said, seat, words):
    assert words in said(pilot={"eye_point": [0, 0, 0], "seat": seat})


@pytest.mark.parametrize(("distance", "words"), [(500, "must refocus"), (800, "need not refocus")])
def test_refocusing(said, screen_at, distance, words):
    outside = screen_at("outside", centre=[0, 1000, 0], shows="world")
    inside = screen_at("inside", width=80, height=60, centre=[0, distance, -100])
    assert f"the eyes {words}" in said(screen=[outside, inside])


def test_view(said, screen_at):
    assert "This rig has no screen of the outside view." in said()
    aside = screen_at(centre=[600, 0, 0], yaw=90, shows="world")
    assert "Straight ahead there is no outside image." in said(screen=[aside])
    text = said(screen=[screen_at(shows="world")])
    assert "seen 14.0° down and 14.0° up; below that is screen bezel." not in text
    assert "seen 14.0° down and 14.0° up." in text
    assert "AC 25.773-1, a guideline" in text
