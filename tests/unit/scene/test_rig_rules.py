"""What a rig file must keep beyond single keys: names, lenses, files, where the eye is."""

import pytest

from seamsight.scene import RigError, build, read_rig


def test_a_wrong_key_breaks_no_rule_that_needs_it(problems_of, rig_text):
    (told,) = problems_of(rig_text("screen lens", "distance = -150"))
    assert "distance must be at least" in told


def test_errors_of_one_run_reach_from_keys_to_files_to_the_eye(problems_of, rig_text):
    around = rig_text("board", ("0, 500, -300", "0, 0, 0"))
    lines = problems_of(rig_text("head", "nodd = 1") + rig_text("mesh") + around)
    assert [line.partition(": ")[2][:12] for line in lines] == [
        "pilot: the d",
        'head "left":',
        'mesh "wheel"',
    ]


RULES = {
    "lens of no screen": (
        "screen lens_at_150",
        ('screen = "centre"', 'screen = "x"'),
        12,
        'there is no screen "x"',
    ),
    "lens of nearly a screen": (
        "screen lens_at_150",
        ('screen = "centre"', 'screen = "center"'),
        12,
        '"center" (did you mean "centre"?)',
    ),
    "two lenses": (
        "screen lens_at_150 lens_at_150",
        "",
        18,
        'screen "centre" already has a lens',
    ),
    "reserved head": (
        "head",
        ("left", "design"),
        6,
        'the name "design" is reserved for the head position at the design eye point',
    ),
    "heads of one name": ("head head", "", 8, 'the name "left" is used twice'),
    "marks of one name": ("mark mark", "", 10, 'the name "hub" is used twice'),
    "parts of one name": (
        "screen board",
        ("shelf", "centre"),
        12,
        'the name "centre" is used twice',
    ),
    "a bank's unit": ("bank board", ("shelf", "wall.2"), 11, 'the name "wall.2" is used twice'),
    "missing mesh": (
        "mesh",
        "",
        7,
        'file "wheel.stl" is missing: no such file in this folder',
    ),
    "mesh outside": ("mesh", ("wheel.stl", "../wheel.stl"), 7, "is outside the rig's folder"),
    "mesh elsewhere": ("mesh", ("wheel.stl", "/etc/hosts"), 7, "is outside the rig's folder"),
    "missing picture": ("screen", 'shows = "view.png"', 11, 'picture "view.png" is missing'),
    "content misspelt": ("screen", 'shows = "wrold"', 11, 'did you mean "world"?'),
    "picture outside": ("screen", 'shows = "../view.png"', 11, "is outside the rig's folder"),
    "picture elsewhere": ("screen", 'shows = "/etc/hosts"', 11, "is outside the rig's folder"),
    "wide picture outside": (
        "screen",
        'shows = { wide = "../a.png", part = 1, of = 2 }',
        11,
        "is outside",
    ),
    "picture that is the folder": ("screen", 'shows = "."', 11, "is not a file"),
    "eye in a board": (
        "board",
        ("0, 500, -300", "0, 0, 0"),
        4,
        'the design eye point is inside "shelf"',
    ),
    "eye in a plate": (
        "plate",
        ("0, 500, -300", "0, 0, 0"),
        4,
        'the design eye point is inside "panel"',
    ),
    "eye in a screen": (
        "screen",
        ("0, 600, 0", "0, -20, 0"),
        4,
        'the design eye point is inside "centre"',
    ),
    "eye in a bank": (
        "bank",
        ("radius = 600", "radius = 0.01\naim = [0, 90]\npitch = 180"),
        4,
        'inside "wall.1"',
    ),
}


@pytest.mark.parametrize(("tables", "change", "line", "said"), RULES.values(), ids=RULES.keys())
def test_rule(assert_told, tables, change, line, said):
    assert_told(tables, change, line, said)


@pytest.mark.parametrize("role", ["lens", "bezel", "housing", "lens frame"])
def test_screen_called_like_another_s_part_is_refused_or_measured(
    write_rig, rig_text, numbers_of, role
):
    # "centre lens" is what reports call the lens of the screen "centre"
    other = rig_text("screen", ('"centre"', f'"centre {role}"'))
    other = other.replace("0, 600, 0", "600, 600, 0")
    lens = rig_text("lens_at_150", "frame = { width = 9, depth = 9 }")
    try:
        rig = read_rig(write_rig(rig_text("screen", "bezel = 9") + lens + other))
    except RigError as error:
        assert f'"centre {role}"' in str(error)
    else:
        assert numbers_of(rig).screens[f"centre {role}"].seen["both"] == pytest.approx(1, abs=1e-6)


# ---- names of files ----


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_link_out_of_the_folder_is_not_followed(
    write_rig, rig_text, tetrahedron, tmp_path_factory, kind
):
    outside = tmp_path_factory.mktemp("outside")
    (outside / "wheel.stl").write_bytes(tetrahedron)
    named = "wheel.stl" if kind == "file" else "parts/wheel.stl"
    rig = write_rig(rig_text("mesh", ("wheel.stl", named)))
    link, target = ("wheel.stl", outside / "wheel.stl") if kind == "file" else ("parts", outside)
    (rig.parent / link).symlink_to(target)
    with pytest.raises(RigError, match="is outside the rig's folder"):
        read_rig(rig)


def test_mesh_in_a_folder_beside_the_rig(write_rig, rig_text, tetrahedron):
    rig = write_rig(rig_text("mesh", ("wheel.stl", "parts/wheel.stl")))
    (rig.parent / "parts").mkdir()
    (rig.parent / "parts" / "wheel.stl").write_bytes(tetrahedron)
    assert len(build(read_rig(rig)).triangles) == 4


@pytest.mark.parametrize(
    "name", ["wheel.stl\\u0000", "a" * 79, "con:/x.stl", "~/x.stl", "wheel.stl/"]
)
def test_odd_file_names_are_problems(problems_of, rig_text, name):
    told = problems_of(rig_text("mesh", ("wheel.stl", name)))
    assert {line.split(": ")[0] for line in told} == {"rig.toml:7"}


def test_picture_that_is_none(problems_of, rig_text):
    told = problems_of(rig_text("screen", 'shows = "view.png"'), view__png=b"not a picture")
    assert told[0].startswith(
        'rig.toml:11: screen "centre": picture "view.png" is not a readable picture'
    )


def test_mesh_that_is_none(problems_of, rig_text):
    told = problems_of(rig_text("mesh", ("stl", "glb")), wheel__glb=b"not a mesh")
    assert told[0].startswith(
        'rig.toml:7: mesh "wheel": file "wheel.glb" is not a readable GLB mesh'
    )


def test_mesh_of_an_unknown_unit(problems_of, rig_text, tetrahedron):
    (told,) = problems_of(rig_text("mesh", 'unit = "px"'), wheel__stl=tetrahedron)
    assert told.startswith('rig.toml:9: mesh "wheel": unit must be "mm"')


# ---- where the eye may be ----


def test_eye_in_a_plate_s_hole_is_free(write_rig, rig_text):
    hole = 'holes = [ { shape = "circle", at = [0, 0], diameter = 40 } ]\n'
    text = rig_text("plate", ("0, 500, -300", "0, 0, 0")) + hole
    assert read_rig(write_rig(text)).plate[0].holes


def test_eye_in_a_closed_mesh(problems_of, rig_text, tetrahedron):
    told = problems_of(rig_text("mesh", ("0, 300, -300", "-1, -1, -1")), wheel__stl=tetrahedron)
    assert told == ['rig.toml:4: pilot: the design eye point is inside "wheel"']


def test_eye_beside_a_mesh_within_its_box(write_rig, rig_text, tetrahedron):
    text = rig_text("mesh", ("0, 300, -300", "-8, -8, -8"))
    assert read_rig(write_rig(text, wheel__stl=tetrahedron)).mesh


def test_eye_between_lens_and_screen_is_free(write_rig, rig_text):
    text = rig_text("screen lens_at_150", ("0, 600, 0", "0, 50, 0"))
    assert read_rig(write_rig(text)).lens


def test_too_many_tables_are_one_problem(write_rig):
    keys = "width = 9\nheight = 9\npixels = [9, 9]"
    text = "".join(
        f'[[screen]]\nname = "s{n}"\n{keys}\ncentre = [{20 * n}, 900, 0]\n' for n in range(65)
    )
    with pytest.raises(RigError, match="screen must have at most 48 items"):
        read_rig(write_rig(text))


def test_a_gap_needs_touching_units(problems_of):
    screen = "screen = { width = 9, height = 9, pixels = [9, 9] }"
    (told,) = problems_of(
        f'[[bank]]\nname = "b"\ncount = 2\nradius = 600\ntoe = 40\ngap = 3\n{screen}\n'
    )
    assert 'gap needs toe = "touch"' in told


def test_a_gap_wider_than_the_arc_is_refused(problems_of):
    screen = "screen = { width = 9, height = 9, pixels = [9, 9] }"
    (told,) = problems_of(f'[[bank]]\nname = "b"\ncount = 2\nradius = 600\ngap = 5000\n{screen}\n')
    assert "gap must be below twice the radius, 1200 (got 5000)" in told


def banks(*counts):
    return "".join(
        f'[[bank]]\nname = "b{number}"\ncount = {count}\nradius = {600 + 100 * number}\n'
        "screen = { width = 40, height = 30, pixels = [80, 60] }\n"
        for number, count in enumerate(counts)
    )


def test_a_rig_has_48_screens_with_those_of_banks(problems_of, write_rig, rig_text):
    assert len(build(read_rig(write_rig(rig_text("screen") + banks(24, 23)))).screens) == 48
    told = problems_of(rig_text("screen") + banks(24, 24, 24))
    assert told == [
        'rig.toml:19: bank "b1": a rig may have 48 screens in all, those of banks and '
        "mirrored ones too (got 49 with this bank)"
    ]


def plates(*counts):
    hole = '{ shape = "circle", at = [0, 0], diameter = 5 }'
    return "".join(
        f'[[plate]]\nname = "p{number}"\nsize = [300, 200]\nthickness = 4\n'
        f"centre = [0, 500, -300]\nholes = [{', '.join([hole] * count)}]\n"
        for number, count in enumerate(counts)
    )


def test_the_plates_of_a_rig_have_1000_holes(problems_of, write_rig):
    assert len(read_rig(write_rig(plates(500, 400, 100))).plate) == 3
    told = problems_of(plates(500, 500, 1, 500, 500))
    assert told == [
        'rig.toml:22: plate "p2": a rig may have 1,000 holes in all plates '
        "(got 1,001 with this plate)"
    ]


def test_mirror_images_count_too(problems_of, rig_text):
    half = plates(500).replace("holes", 'mirror = "other"\nholes')
    (told,) = problems_of(half.replace("0, 500", "200, 500") + plates(1).replace("p0", "last"))
    assert 'plate "last"' in told and "got 1,001" in told
