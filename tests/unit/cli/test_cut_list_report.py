"""What `cut-list` prints, in words."""

import pytest

from seamsight.cli.cut_list_report import print_plan
from seamsight.scene import build
from seamsight.viewer.workshop.cutting_plan import cutting_plan
from seamsight.viewer.workshop.doorway import Door

POST = {"name": "post", "size": [90, 90, 1500], "centre": [0, 900, 750]}


@pytest.fixture
def told(rig_of, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")

    def words(door=None, **tables):
        print_plan(cutting_plan(build(rig_of(**tables)), {}, door))
        text = capsys.readouterr().out
        assert all(len(line) <= 80 for line in text.splitlines())
        return " ".join(text.split())

    return words


def test_a_post_that_tips(told):
    text = told(board=[POST])
    assert "1 post 1 plywood 1500.0 × 90.0 × 90.0 7.90" in text
    assert "does NOT stand a push of 15 N (1.6 kg)" in text
    assert "Caution: This frame tips" in text
    assert "Too thick for a sheet, so of solid wood or built up: post." in text


def test_what_falls_by_itself(told):
    assert "falls by itself" in told(board=[POST | {"roll": 30}])


def test_mounts_alike_are_told_together(told, screen_at):
    screens = [screen_at(n, mass=9, mounting="75x75", centre=[500 * n, 600, 0]) for n in (0, 1)]
    named = [screen | {"name": name} for screen, name in zip(screens, "ab", strict=True)]
    text = told(screen=named)
    assert "a, b: 9 kg on pattern 75x75, which may carry 8 kg" in text
    assert "TOO HEAVY" in text


def test_a_door(told):
    door = Door(800, 2000)
    assert "it passes in one piece, as it stands" in told(board=[POST], door=door)
    beam = POST | {"name": "beam", "size": [2500, 900, 90], "centre": [0, 900, 2500]}
    assert "passes without" in told(board=[POST, beam], door=door)


def test_a_screen_without_a_mass_is_said(told, screen_at):
    text = told(board=[POST], screen=[screen_at()])
    assert "Not weighed, as the rig says no mass: screen." in text
    assert "not known before everything has a mass" in text
