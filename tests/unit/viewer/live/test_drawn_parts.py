"""What a page lacks of a rig: only what changed is sent, and what it has then is the whole rig."""

import io
from typing import Any

import numpy as np
import pytest
from PIL import Image

from seamsight.scene import build, read_rig
from seamsight.viewer.live.drawn_parts import lacking
from seamsight.viewer.live.drawn_rig import drawn_rig, without_loss

LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 517, "height": 330}
ACROSS = 200
NAMED = ("one", 0), ("two", 900)


@pytest.fixture
def rig(rig_of, screen_at):
    """Return a function that builds a rig with two screens and a board, something of it changed."""

    def rig(shelf=100, away=900, shows="world"):
        screens = [screen_at(shows="card"), screen_at(name="other", centre=[700, away, 0])]
        screens[1] |= {"shows": shows, "pixels": [1680, 1050]}
        boards = [
            {"name": name, "size": [shelf if name == "shelf" else 50, 200, 10], "centre": centre}
            for name, centre in (("shelf", [0, 300, -400]), ("top", [0, 300, 400]))
        ]
        return build(rig_of(screen=screens, lens=[LENS], board=boards))

    return rig


class Page:
    """What a page has."""

    def __init__(self):
        self.has = {}

    def take(self, assembly, **options):
        """Take what it lacks of a rig; return how many parts and pictures that were."""
        facts, binary = lacking(assembly, list(self.has), ACROSS, without_loss, **options)
        corners = np.frombuffer(binary[0], "<f4").reshape(-1, 3)
        faces = np.frombuffer(binary[1], "<u4").reshape(-1, 3)
        pictures = iter(binary[2:])
        new = iter(facts["parts"])
        now: dict[str, Any] = {}
        for key in facts["keys"]:
            if key not in self.has:
                part = next(new)
                now[key] = part, corners[faces[: part["count"]]]
                corners, faces = corners[part["corners"] :], faces[part["count"] :]
            else:
                now[key] = self.has[key]
        for image in facts["images"]:
            key = image["picture"]
            if key not in now:
                now[key] = self.has[key] if key in self.has else next(pictures)
        assert not len(corners) and not len(faces)
        assert next(new, None) is None and next(pictures, None) is None
        self.facts, self.has = facts, now
        return len(facts["parts"]), len(binary) - 2


def assert_whole(page, assembly):
    """Hold what a page has to what the whole rig is."""
    facts, binary = drawn_rig(assembly, ACROSS, without_loss)
    parts = [page.has[key] for key in page.facts["keys"]]
    firsts = [told.pop("first") for told in facts["parts"]]
    assert [told for told, _ in parts] == facts["parts"] and firsts[0] == 0
    triangles = np.concatenate([shape for _, shape in parts])
    np.testing.assert_allclose(triangles, assembly.triangles, atol=1e-3)
    pictures = [page.has[image["picture"]] for image in page.facts["images"]]
    assert pictures == binary[2:]
    assert page.facts["lenses"] == facts["lenses"]


def test_all_comes_first_and_nothing_twice(rig):
    page = Page()
    assert page.take(rig()) == (len(rig().parts), 2)
    assert_whole(page, rig())
    assert page.take(rig()) == (0, 0)
    assert_whole(page, rig())


def test_a_board_that_changes_is_sent_alone(rig):
    page = Page()
    page.take(rig())
    assert page.take(rig(shelf=140)) == (1, 0)
    assert [part["name"] for part in page.facts["parts"]] == ["shelf"]
    page.take(rig(shelf=140))
    assert page.facts["parts"] == []


def test_a_screen_that_moves_brings_its_parts_and_its_outside_view(rig):
    page = Page()
    page.take(rig())
    parts, pictures = page.take(rig(away=950))
    assert {part["name"].split()[0] for part in page.facts["parts"]} == {"other"}
    assert 1 <= parts < len(rig().parts) and pictures == 1


def test_a_draft_paints_what_is_lacking_coarsely_and_the_fine_picture_follows(rig):
    page = Page()
    page.take(rig(), draft=False)
    assert page.take(rig(away=950), draft=True)[1] == 1 and page.facts["draft"]
    rough = page.has[page.facts["images"][1]["picture"]]
    assert page.take(rig(away=950), draft=True)[1] == 0
    assert page.take(rig(away=950)) == (0, 1) and not page.facts["draft"]
    assert_whole(page, rig(away=950))
    fine = page.has[page.facts["images"][1]["picture"]]
    assert Image.open(io.BytesIO(rough)).size == (280, 175)
    assert Image.open(io.BytesIO(fine)).size == (186, 116)
    # what is there in full is no draft
    assert page.take(rig(shelf=90, away=950), draft=True) == (1, 0) and not page.facts["draft"]


def test_equal_pictures_are_sent_once(write_rig):
    screen = '[[screen]]\nwidth = 400\nheight = 300\npixels = [80, 60]\nshows = "red.png"\n'
    places = [f'{screen}name = "{name}"\ncentre = [{x}, 900, 0]\n' for name, x in NAMED]
    picture = io.BytesIO()
    Image.new("RGB", (8, 6), "red").save(picture, "PNG")
    page = Page()
    rig = read_rig(write_rig("".join(places), red__png=picture.getvalue()))
    assert page.take(build(rig))[1] == 1
    first, second = page.facts["images"]
    assert first["picture"] == second["picture"]
