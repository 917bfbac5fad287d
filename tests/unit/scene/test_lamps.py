"""What a lamp is when little is said of it, how bright it is, and what is refused."""

import math

import pytest
from pydantic import ValidationError

from seamsight.scene import build, read_rig
from seamsight.scene.lamps import Lamp

LAMP = {"name": "lamp", "centre": [0, 0, 2400], "size": [600, 300]}
TEXT = '[[lamp]]\nname = "lamp"\ncentre = [0, 600, 900]\npitch = 90\nsize = [200, 100]\n'


def test_what_is_left_out():
    lamp = Lamp.model_validate(LAMP | {"luminance": 5000})
    assert (lamp.kind, lamp.depth, lamp.yaw, lamp.brightness) == ("lamp", 20, 0, 5000)


def test_lumens_of_a_face_that_is_equally_bright_from_all_sides():
    # its luminous exitance is pi times its luminance (Lambert's law; any textbook of photometry)
    lamp = Lamp.model_validate(LAMP | {"lumens": 3600})
    assert lamp.brightness * math.pi * 0.6 * 0.3 == pytest.approx(3600)


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({}, "either luminance or lumens"),
        ({"luminance": 100, "lumens": 100}, "either luminance or lumens"),
        ({"luminance": 0}, "0.01"),
        ({"luminance": 100, "size": [0, 300]}, "0.01"),
        ({"luminance": 100, "kind": "sun"}, "window"),
    ],
)
def test_what_is_refused(keys, told):
    with pytest.raises(ValidationError, match=told):
        Lamp.model_validate(LAMP | keys)


def test_a_lamp_is_a_face_before_a_housing_and_both_have_names(write_rig):
    assembly = build(read_rig(write_rig(TEXT + "luminance = 900\n")))
    face, housing = (assembly.parts[assembly.part_id(f"lamp{of}")] for of in ("", " housing"))
    assert face.bounds[:, 2] == pytest.approx(900)
    assert face.normals[:, 2].tolist() == pytest.approx([-1, -1])
    assert housing.bounds[:, 2] == pytest.approx([900.1, 920.1])


def test_one_on_another_thing_and_its_mirror_image(write_rig):
    board = '[[board]]\nname = "roof"\nsize = [900, 900, 12]\ncentre = [0, 600, 910]\n'
    lamp = '[[lamp]]\nname = "a"\nmirror = "b"\non = "roof"\nin = "roof"\npitch = 90\n'
    keys = "centre = [300, 0, -7]\nsize = [100, 100]\nluminance = 900\n"
    assembly = build(read_rig(write_rig(board + lamp + keys)))
    assert [one.centre for one in assembly.rig.lamp] == [(300, 600, 903), (-300, 600, 903)]


def test_a_lamp_inside_a_board_is_told_with_its_line(problems_of):
    board = '[[board]]\nname = "beam"\nsize = [900, 900, 60]\ncentre = [0, 600, 900]\n'
    assert problems_of(board + TEXT + "luminance = 900\n") == [
        'rig.toml:11: lamp "lamp": the face of "lamp" is inside "beam"'
    ]


def test_lamps_of_one_name_or_none_to_stand_on(problems_of):
    twice = problems_of(2 * (TEXT + "luminance = 900\n"))
    assert [line.partition(": ")[2] for line in twice] == [
        'lamp "lamp": the name "lamp" is used twice'
    ]
    told = problems_of(TEXT + 'luminance = 900\non = "roof"\n')
    assert "there is nothing called" in told[0]
