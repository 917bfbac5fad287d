"""The plan and side elevation: lengths to scale, things where they are, odd rigs and odd text."""

import numpy as np
import pytest

from seamsight.scene import build, read_rig
from seamsight.scene.plan import EYE, IMAGE, LENS, plan_picture, rig_html


def _places(picture, colour, columns=slice(None)):
    """Return rows and columns of the pixels of a colour, without the legend below."""
    found = (np.asarray(picture)[: picture.height - 30, columns] == colour).all(-1)
    return np.nonzero(found)


def test_distances_are_to_one_scale(rig_of, screen_at):
    """To a screen 600 mm ahead, 400 mm wide, it is 1.5 times its width, both ways of looking."""
    picture = plan_picture(build(rig_of(screen=[screen_at()])), 1000)
    plan, side = slice(0, 440), slice(440, 1000)
    rows, columns = _places(picture, IMAGE, plan)
    eye_rows, eye_columns = _places(picture, EYE, plan)
    width = np.ptp(columns) - 3
    assert (eye_rows.mean() - rows.mean()) / width == pytest.approx(1.5, rel=0.02)
    assert eye_columns.mean() == pytest.approx(columns.mean(), abs=1.5)
    rows, columns = _places(picture, IMAGE, side)
    eye_rows, eye_columns = _places(picture, EYE, side)
    assert (columns.mean() - eye_columns.mean()) / width == pytest.approx(1.5, rel=0.02)
    assert (np.ptp(rows) - 3) / width == pytest.approx(0.75, rel=0.02)  # 300 mm high
    assert eye_rows.mean() == pytest.approx(rows.mean(), abs=1.5)


def test_a_thing_on_the_right_is_on_the_right(rig_of, screen_at):
    picture = plan_picture(build(rig_of(screen=[screen_at(centre=[500, 600, 0])])), 900)
    assert (
        _places(picture, IMAGE, slice(0, 450))[1].mean()
        > _places(picture, EYE, slice(0, 450))[1].mean() + 50
    )


def test_a_lens_is_drawn_between_eye_and_screen(rig_of, screen_at):
    lens = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 517, "height": 330}
    picture = plan_picture(build(rig_of(screen=[screen_at()], lens=[lens])), 900)
    image, lens, eye = (
        _places(picture, colour, slice(0, 400))[0].mean() for colour in (IMAGE, LENS, EYE)
    )
    assert image < lens < eye
    assert (lens - image) / (eye - image) == pytest.approx(150 / 600, abs=0.02)


def test_a_roof_hides_nothing(rig_of, screen_at):
    under = {"name": "desk", "size": [800, 400, 20], "centre": [0, 300, -300], "colour": "#ff0000"}
    roof = {"name": "roof", "size": [2000, 2000, 20], "centre": [0, 0, 900], "colour": "#00ff00"}
    without = plan_picture(build(rig_of(screen=[screen_at()], board=[under])), 600)
    roofed = plan_picture(build(rig_of(screen=[screen_at()], board=[under, roof])), 600)
    assert np.array_equal(np.asarray(roofed), np.asarray(without))


def test_every_sample_has_a_plan(sample):
    picture = plan_picture(build(read_rig(sample)), 640)
    assert picture.width == 640
    assert len(_places(picture, EYE)[0]) > 40


def test_a_rig_with_nothing_in_it_has_one_too(rig_of):
    assert "no screen" in rig_html(rig_of())


def test_names_and_notes_are_text_in_html(rig_of, screen_at):
    html = rig_html(rig_of(screen=[screen_at("<b>&")], name="</h3><script>", note='"quoted" <i>'))
    assert "<script>" not in html and "<i>" not in html and "<b>" not in html
    assert "&lt;/h3&gt;&lt;script&gt;" in html and "&lt;b&gt;&amp;" in html
