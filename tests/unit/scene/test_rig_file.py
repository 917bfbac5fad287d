"""Reading a rig file: what is taken, what is refused, on which line and in which words."""

import io
import re

import pytest
from PIL import Image

from seamsight.scene import RigError, build, read_rig
from seamsight.scene.shapes import volume

SCREEN = '[[screen]]\nname = "centre"\nwidth = 400\nheight = 300\npixels = [800, 600]\ncentre = [0, 600, 0]\n'
BY_DIAGONAL = SCREEN.replace("width = 400\nheight = 300", 'diagonal = 500\naspect = "4:3"')
DISPLAY = "{ width = 400, height = 300, pixels = [800, 600] }"
BANK = f'[[bank]]\nname = "wall"\ncount = 2\nradius = 600\nscreen = {DISPLAY}\n'
LENS = '[[lens]]\nscreen = "centre"\nfocal_length = 450\nwidth = 500\nheight = 400\n'
BOARD = '[[board]]\nname = "shelf"\nsize = [100, 100, 20]\ncentre = [0, 500, -300]\n'
PLATE = '[[plate]]\nname = "panel"\nsize = [300, 200]\nthickness = 4\ncentre = [0, 500, -300]\n'
AT_150 = LENS + "distance = 150\n"
MESH = '[[mesh]]\nname = "wheel"\nfile = "wheel.stl"\ncentre = [0, 300, -300]\n'
MARK = '[[mark]]\nname = "hub"\nat = [0, 0, 0]\nwant = [0, 0, 0]\n'
HEAD = '[[head]]\nname = "left"\n'

TETRAHEDRON = b"""solid
facet normal 0 0 0
outer loop
vertex 0 0 0
vertex 0 9 0
vertex 9 0 0
endloop
endfacet
facet normal 0 0 0
outer loop
vertex 0 0 0
vertex 9 0 0
vertex 0 0 9
endloop
endfacet
facet normal 0 0 0
outer loop
vertex 0 0 0
vertex 0 0 9
vertex 0 9 0
endloop
endfacet
facet normal 0 0 0
outer loop
vertex 9 0 0
vertex 0 9 0
vertex 0 0 9
endloop
endfacet
endsolid
"""


@pytest.fixture(scope="session")
def picture():
    stream = io.BytesIO()
    Image.new("RGB", (30, 10), "red").save(stream, "PNG")
    return stream.getvalue()


# ---- what is taken ----


def test_units_and_defaults(write_rig):
    rig = read_rig(write_rig(SCREEN.replace("width = 400", 'width = "40 cm"')))
    assert rig.screen[0].size == (400, 300)
    assert (rig.pilot.pupil_distance, rig.pilot.neck) == (63, 100)
    assert (rig.screen[0].body, rig.screen[0].luminance, rig.screen[0].shows) == (40, 250, "world")


@pytest.mark.parametrize(
    ("aspect", "across"), [("16:9", 16), ("16:10", 16), ("4:3", 4), ("9:16", 9)]
)
def test_diagonal_and_aspect(write_rig, aspect, across):
    text = SCREEN.replace(
        "width = 400\nheight = 300\n", f'diagonal = "20 in"\naspect = "{aspect}"\n'
    )
    width, height = read_rig(write_rig(text)).screen[0].size
    assert (width**2 + height**2) ** 0.5 == pytest.approx(508)
    assert width / height == pytest.approx(across / int(aspect.split(":")[1]))


def test_magnification_gives_the_distance(write_rig):
    rig = read_rig(write_rig(SCREEN + LENS + "magnification = 1.5\n"))
    assert rig.lens[0].separation == pytest.approx(450 * (1 - 1 / 1.5))


@pytest.mark.parametrize(
    "bezel", ["16", '"1.6 cm"', "{ left = 16, right = 16, top = 16, bottom = 16 }"]
)
def test_one_bezel_width_stands_for_four(write_rig, bezel):
    rig = read_rig(write_rig(SCREEN + f"bezel = {bezel}\n"))
    assert set(rig.screen[0].bezel.model_dump().values()) == {16}


def test_design_head_comes_first(write_rig):
    assert list(read_rig(write_rig(HEAD)).heads()) == ["design", "left"]


@pytest.mark.parametrize("start", ["", "\ufeff"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_byte_order_mark_and_windows_newlines(write_rig, start, newline):
    text = start + 'format = 1\nname = "Möwe"\n[pilot]\neye_point = [0, 0, 0]\n' + BOARD
    assert read_rig(write_rig(text.replace("\n", newline).encode())).name == "Möwe"


def test_files_beside_the_rig(write_rig, picture):
    wide = BANK.replace("}", ', shows = { wide = "view.png", part = 1, of = 3 } }')
    rig = read_rig(
        write_rig(
            MESH + SCREEN + 'shows = "view.png"\n' + wide, wheel__stl=TETRAHEDRON, view__png=picture
        )
    )
    assert len(build(rig).screens) == 3


# ---- the message's form ----


def test_message_tells_file_line_table_name_rule_and_value(problems_of):
    assert problems_of(BOARD.replace("100, 100, 20", "100, -100, 20")) == [
        'rig.toml:7: board "shelf": size item 2 must be at least 0.01 (got -100)'
    ]


def test_file_is_called_as_the_user_wrote_it(write_rig, monkeypatch):
    file = write_rig(HEAD + "x = 1\n")
    monkeypatch.chdir(file.parent)
    with pytest.raises(RigError, match=r'^rig\.toml:7: head "left": unknown key "x"$'):
        read_rig("rig.toml")


@pytest.mark.parametrize("text", [SCREEN, "\n\n" + SCREEN, "# note\n" + BOARD + SCREEN])
def test_table_without_a_name_is_counted(problems_of, text):
    lines = problems_of(text.replace('name = "centre"\n', ""))
    line = 4 + text.split("\n").index("[[screen]]") + 1
    assert lines == [f"rig.toml:{line}: screen #1: name is missing"]


def test_all_errors_of_a_file_are_told_in_the_order_of_their_lines(problems_of):
    lines = problems_of(
        BOARD.replace("size", "sise")
        + SCREEN.replace("[800, 600]", "[800]")
        + LENS
        + 'distance = 150\nscrew = "m4"\n'
    )
    assert lines == [
        'rig.toml:5: board "shelf": size is missing',
        'rig.toml:7: board "shelf": unknown key "sise" (did you mean "size"?)',
        'rig.toml:13: screen "centre": item 2 of pixels is missing',
        'rig.toml:21: lens "centre": unknown key "screw" (did you mean "screen"?)',
    ]


def test_errors_of_one_run_reach_from_keys_to_files_to_the_eye(problems_of):
    around = BOARD.replace("0, 500, -300", "0, 0, 0")
    lines = problems_of(HEAD + "nodd = 1\n" + MESH + around)
    assert [line.partition(": ")[2][:12] for line in lines] == [
        "pilot: the e",
        'head "left":',
        'mesh "wheel"',
    ]


def test_problem_in_a_list_over_several_lines_has_its_own_line(problems_of):
    holes = 'holes = [\n  { shape = "circle", at = [0, 0], diameter = 9 },\n  { shape = "circle", at = [0, 0] } ]\n'
    assert problems_of(PLATE + holes) == [
        'rig.toml:12: plate "panel": holes item 2 diameter is missing'
    ]


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_lines_count_the_same_with_any_newline(problems_of, newline):
    text = f"format = 1\nname = 5\n[pilot]\neye_point = [0, 0, 0]\n{HEAD}turn = inf\n".replace(
        "\n", newline
    )
    assert [line.split(": ")[0] for line in problems_of(text.encode())] == [
        "rig.toml:2",
        "rig.toml:7",
    ]


# ---- rules, one a row: text, line, what must be said ----

RULES = {
    "missing format": (b'name = "x"\n[pilot]\neye_point = [0, 0, 0]\n', 1, "format is missing"),
    "format 2": (b'format = 2\nname = "x"\n[pilot]\neye_point = [0, 0, 0]\n', 1, "format must be 1 (got 2)"),
    "missing pilot": (b'format = 1\nname = "x"\n', 1, "pilot is missing"),
    "missing eye point": (b'format = 1\nname = "x"\n[pilot]\nneck = 3\n', 3, "pilot: eye_point is missing"),
    "unknown table": ("[[bord]]\n", 5, 'unknown key "bord" (did you mean "board"?)'),
    "unknown key": (BOARD + "yow = 3\n", 9, 'unknown key "yow" (did you mean "yaw"?)'),
    "unknown key far from any": (BOARD + "zzz = 3\n", 9, 'unknown key "zzz"'),
    "single brackets": (BOARD.replace("[[board]]", "[board]"), 5, "board must be a list; an array of tables"),
    "text for a number": (BOARD + 'yaw = "steep"\n', 9, 'yaw must be a number (got "steep")'),
    "number for text": (BOARD.replace('"shelf"', "7"), 6, "name must be text in quotes (got 7)"),
    "true for a length": (SCREEN + "lip = true\n", 11, "lip is not a length"),
    "nan": (BOARD + "yaw = nan\n", 9, "yaw must be a finite number"),
    "inf": (BOARD.replace("0, 500", "0, inf"), 8, "centre item 2 must be"),
    "unit unknown": (BOARD.replace("[100,", '["100 px",'), 7, 'size item 1 is not a length: write 610'),
    "negative size": (BOARD.replace("[100,", "[-100,"), 7, "size item 1 must be at least 0.01 (got -100)"),
    "no size": (BOARD.replace("[100,", "[0,"), 7, "size item 1 must be at least 0.01 (got 0)"),
    "too far": (BOARD.replace("0, 500", "0, 5e8"), 8, "centre item 2 must be at most 100000"),
    "too many items": (BOARD.replace("20]", "20, 30]"), 7, "size must have at most 3 items"),
    "too few items": (BOARD.replace(", 20]", "]"), 7, "item 3 of size is missing"),
    "not a list": (BOARD.replace("[100, 100, 20]", "100"), 7, "size must be a list (got 100)"),
    "unknown material": (BOARD + 'material = "steal"\n', 9, '(got "steal") (did you mean "steel"?)'),
    "unknown role": (BOARD + 'role = "hud"\n', 9, 'role must be "hood", "bracket"'),
    "bad colour": (BOARD + 'colour = "red"\n', 9, 'colour must be a colour such as "#334455" (got "red")'),
    "empty name": (BOARD.replace("shelf", ""), 6, "name must"),
    "name of several lines": (BOARD.replace("shelf", r"a\nb"), 6, "name must be one line of printable text"),
    "pupil distance": ("pupil_distance = 6300\n", 5, "pilot: pupil_distance must be at most 200 (got 6300)"),
    "screen sized twice": (SCREEN + 'diagonal = "22 in"\n', 5, "give either diagonal and aspect, or width and height"),
    "screen not sized": (SCREEN.replace("width = 400\n", ""), 5, "give either diagonal and aspect"),
    "aspect": (BY_DIAGONAL.replace("4:3", "wide"), 8, 'aspect is not an aspect ratio: write "16:9"'),
    "pixels not whole": (SCREEN.replace("800", "800.5"), 9, "pixels item 1 must be a whole number (got 800.5)"),
    "pixels none": (SCREEN.replace("800", "0"), 9, "pixels item 1 must be at least 1 (got 0)"),
    "lip without bezel": (SCREEN + "lip = 4\n", 5, "a lip stands on a bezel"),
    "bezel side unknown": (SCREEN + "bezel = { lft = 3 }\n", 11, 'unknown key "lft" (did you mean "left"?)'),
    "bezel negative": (SCREEN + "bezel = -3\n", 11, "must be at least 0 (got -3)"),
    "luminance": (SCREEN + "luminance = 0\n", 11, "luminance must be at least 1 (got 0)"),
    "lens of no screen": (SCREEN + AT_150.replace("centre", "x"), 12, 'there is no screen "x"'),
    "lens of nearly a screen": (SCREEN + AT_150.replace("centre", "center"), 12, '"center" (did you mean "centre"?)'),
    "two lenses": (SCREEN + AT_150 + AT_150, 18, 'screen "centre" has a lens already'),
    "lens at its focal length": (SCREEN + LENS + "distance = 450\n", 11, "makes no upright image"),
    "lens beyond its focal length": (SCREEN + LENS + "distance = 500\n", 11, "below focal_length 450 (got 500)"),
    "distance and magnification": (SCREEN + LENS + "distance = 150\nmagnification = 1.5\n", 11, "only one of them"),
    "neither": (SCREEN + LENS, 11, "give either distance or magnification"),
    "magnification 1": (SCREEN + LENS + "magnification = 1\n", 16, "magnification must be above 1 (got 1)"),
    "magnification below 1": (SCREEN + LENS + "magnification = 0.5\n", 16, "magnification must be above 1 (got 0.5)"),
    "focal length negative": (SCREEN + AT_150.replace("450", "-450"), 13, "must be at least 1 (got -450)"),
    "bank without units": (BANK.replace("2", "0", 1), 7, "count must be at least 1 (got 0)"),
    "bank's toe": (BANK + 'toe = "tuch"\n', 10, 'toe must be "touch" (got "tuch") (did you mean "touch"?)'),
    "bank's screen": (BANK.replace(", pixels = [800, 600]", ""), 9, "screen pixels is missing"),
    "bank's lens": (BANK + "lens = {focal_length = 9, distance = 9, width = 9, height = 9}\n", 10, "no upright image"),
    "hole of no shape": (PLATE + "holes = [ { at = [0, 0], diameter = 9 } ]\n", 10, "holes item 1 shape is missing"),
    "hole of unknown shape": (PLATE + 'holes = [{ shape = "oval" }]\n', 10, 'must be "circle" or "rect"'),
    "hole outside": (PLATE + 'holes = [{ shape = "circle", at = [200, 0], diameter = 9 }]\n', 5, "hole 1 lies outside"),
    "hole's corners": (PLATE + 'holes = [{ shape = "rect", at = [0, 0], size = [9, 8], radius = 5}]\n', 10, "half"),
    "mark's tolerance": (MARK + "within = 0\n", 9, "within must be at least 0.01"),
    "reserved head": (HEAD.replace("left", "design"), 6, 'name "design" is kept for the head at the design eye point'),
    "heads of one name": (HEAD + HEAD, 8, 'name is used twice (got "left")'),
    "marks of one name": (MARK + MARK, 10, 'name is used twice (got "hub")'),
    "parts of one name": (SCREEN + BOARD.replace("shelf", "centre"), 12, 'name is used twice (got "centre")'),
    "a bank's unit": (BANK + BOARD.replace("shelf", "wall.2"), 11, 'name is used twice (got "wall.2")'),
    "missing mesh": (MESH, 7, 'file "wheel.stl" is missing: there is no such file beside the rig'),
    "mesh outside": (MESH.replace("wheel.stl", "../wheel.stl"), 7, "lies outside the rig's folder"),
    "mesh elsewhere": (MESH.replace("wheel.stl", "/etc/hosts"), 7, "lies outside the rig's folder"),
    "missing picture": (SCREEN + 'shows = "view.png"\n', 11, 'picture "view.png" is missing'),
    "content misspelt": (SCREEN + 'shows = "wrold"\n', 11, 'did you mean "world"?'),
    "picture outside": (SCREEN + 'shows = "../view.png"\n', 11, "lies outside the rig's folder"),
    "picture elsewhere": (SCREEN + 'shows = "/etc/hosts"\n', 11, "lies outside the rig's folder"),
    "wide picture outside": (SCREEN + 'shows = { wide = "../a.png", part = 1, of = 2 }\n', 11, "lies outside"),
    "picture that is the folder": (SCREEN + 'shows = "."\n', 11, "is missing"),
    "not TOML": ("this is not TOML\n", 5, "is not valid TOML"),
    "key twice": (BOARD + "yaw = 1\nyaw = 2\n", 10, "is not valid TOML"),
    "text without an end": (BOARD + 'material = "ply\n', 9, "is not valid TOML"),
    "eye in a board": (BOARD.replace("0, 500, -300", "0, 0, 0"), 4, 'the eye point lies inside "shelf"'),
    "eye in a plate": (PLATE.replace("0, 500, -300", "0, 0, 0"), 4, 'the eye point lies inside "panel"'),
    "eye in a screen": (SCREEN.replace("0, 600, 0", "0, -20, 0"), 4, 'the eye point lies inside "centre"'),
    "eye in a bank": (BANK.replace("600", "0.01", 1) + "aim = [0, 90]\npitch = 180\n", 4, 'inside "wall.1"'),
}  # fmt: skip


@pytest.mark.parametrize(("text", "line", "said"), RULES.values(), ids=RULES.keys())
def test_rule(problems_of, text, line, said):
    told = problems_of(text)
    assert len(told) == 1
    assert told[0].startswith(f"rig.toml:{line}: ")
    assert said in told[0]


# ---- files as a whole ----


@pytest.mark.parametrize("content", [b"", b"\n", b"# nothing\n", b"\xef\xbb\xbf"])
def test_empty_file(problems_of, content):
    assert problems_of(content) == [
        f"rig.toml:1: {key} is missing" for key in ("format", "name", "pilot")
    ]


@pytest.mark.parametrize(
    "content", [b'format = 1\nname = "\xe4"\n', b"a = 1\n\x80\x81", b"x = 1\n\xff\xfe\x00\x00"]
)
def test_not_utf8(problems_of, content):
    assert problems_of(content) == ["rig.toml:2: is not UTF-8 text"]


@pytest.mark.parametrize("content", [b"\x00" * 100, bytes(range(128)), b"\x7fELF\x01\x00"])
def test_binary(problems_of, content):
    assert re.fullmatch(r"rig.toml:\d+: is not valid TOML: .*", problems_of(content)[0])


def test_missing_file(tmp_path):
    with pytest.raises(RigError, match=r"no\.toml: is missing: there is no such file"):
        read_rig(tmp_path / "no.toml")


def test_folder(tmp_path):
    with pytest.raises(RigError, match="is a folder, not a rig file"):
        read_rig(tmp_path)


def test_too_large_a_file(problems_of):
    assert problems_of(b"# " + b"x" * 5 * 2**20) == [
        "rig.toml: is too large for a rig file: at most 4 MB"
    ]


@pytest.mark.parametrize(
    "text", [b"a = " + b"[" * 9999, b"a = " + b"[" * 9999 + b"]" * 9999, b"a = " + b"9" * 9999]
)
def test_nested_or_long_beyond_reason(problems_of, text):
    assert "is not valid TOML" in problems_of(text)[0]


# ---- names of files ----


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_link_out_of_the_folder_is_not_followed(write_rig, tmp_path_factory, kind):
    outside = tmp_path_factory.mktemp("outside")
    (outside / "wheel.stl").write_bytes(TETRAHEDRON)
    rig = write_rig(MESH if kind == "file" else MESH.replace("wheel.stl", "parts/wheel.stl"))
    link, target = ("wheel.stl", outside / "wheel.stl") if kind == "file" else ("parts", outside)
    (rig.parent / link).symlink_to(target)
    with pytest.raises(RigError, match="lies outside the rig's folder"):
        read_rig(rig)


def test_mesh_in_a_folder_beside_the_rig(write_rig):
    rig = write_rig(MESH.replace("wheel.stl", "parts/wheel.stl"))
    (rig.parent / "parts").mkdir()
    (rig.parent / "parts" / "wheel.stl").write_bytes(TETRAHEDRON)
    assert len(build(read_rig(rig)).triangles) == 4


@pytest.mark.parametrize(
    "name", ["wheel.stl\\u0000", "a" * 79, "con:/x.stl", "~/x.stl", "wheel.stl/"]
)
def test_odd_file_names_are_problems(problems_of, name):
    told = problems_of(MESH.replace("wheel.stl", name))
    assert {line.split(": ")[0] for line in told} == {"rig.toml:7"}


def test_picture_that_is_none(problems_of):
    told = problems_of(SCREEN + 'shows = "view.png"\n', view__png=b"not a picture")
    assert told[0].startswith(
        'rig.toml:11: screen "centre": picture "view.png" is not a readable picture'
    )


def test_mesh_that_is_none(problems_of):
    told = problems_of(MESH.replace("stl", "glb"), wheel__glb=b"not a mesh")
    assert told[0].startswith(
        'rig.toml:7: mesh "wheel": file "wheel.glb" is not a readable GLB mesh'
    )


def test_mesh_of_an_unknown_unit(problems_of):
    (told,) = problems_of(MESH + 'unit = "px"\n', wheel__stl=TETRAHEDRON)
    assert told.startswith('rig.toml:9: mesh "wheel": unit must be "mm"')


def test_part_of_a_wide_picture_that_it_does_not_have(problems_of, picture):
    text = SCREEN + 'shows = { wide = "view.png", part = 4, of = 3 }\n'
    (told,) = problems_of(text, view__png=picture)
    assert told == 'rig.toml:11: screen "centre": shows part must be at most of (got part 4 of 3)'


# ---- where the eye may be ----


def test_eye_in_a_plate_s_hole_is_free(write_rig):
    hole = 'holes = [ { shape = "circle", at = [0, 0], diameter = 40 } ]\n'
    assert read_rig(write_rig(PLATE.replace("0, 500, -300", "0, 0, 0") + hole)).plate[0].holes


def test_eye_in_a_closed_mesh(problems_of):
    told = problems_of(MESH.replace("0, 300, -300", "-1, -1, -1"), wheel__stl=TETRAHEDRON)
    assert told == ['rig.toml:4: pilot: the eye point lies inside "wheel"']


def test_eye_beside_a_mesh_within_its_box(write_rig):
    assert read_rig(
        write_rig(MESH.replace("0, 300, -300", "-8, -8, -8"), wheel__stl=TETRAHEDRON)
    ).mesh


def test_eye_between_lens_and_screen_is_free(write_rig):
    assert read_rig(
        write_rig(SCREEN.replace("0, 600, 0", "0, 50, 0") + LENS + "distance = 150\n")
    ).lens


def test_hole_larger_than_its_plate_leaves_nothing(write_rig):
    hole = 'holes = [ { shape = "rect", at = [0, 0], size = [400, 400] } ]\n'
    (part,) = build(read_rig(write_rig(PLATE + hole))).parts or [None]
    assert part is None or volume(part.triangles) == 0


@pytest.mark.parametrize("role", ["lens", "bezel", "housing", "lens frame"])
def test_screen_called_like_another_s_part_is_refused_or_measured(write_rig, numbers_of, role):
    # "centre lens" is what reports call the lens of the screen "centre"
    other = SCREEN.replace("centre", f"centre {role}", 1).replace("0, 600, 0", "600, 600, 0")
    lens = AT_150 + "frame = { width = 9, depth = 9 }\n"
    try:
        rig = read_rig(write_rig(SCREEN + "bezel = 9\n" + lens + other))
    except RigError as error:
        assert f'"centre {role}"' in str(error)
    else:
        assert numbers_of(rig).screens[f"centre {role}"].seen["both"] == pytest.approx(1, abs=1e-6)


def test_a_table_s_own_rule_is_told_beside_its_wrong_keys(problems_of):
    told = problems_of(
        SCREEN + LENS.replace("height = 400\n", "") + 'distance = 550\ngroves = "pilot"\n'
    )
    assert [line.split(": ", 2)[2][:24] for line in told] == [
        "height is missing",
        "makes no upright image: ",
        'unknown key "groves" (di',
    ]


def test_a_wrong_key_breaks_no_rule_that_needs_it(problems_of):
    (told,) = problems_of(SCREEN + LENS + "distance = -150\n")
    assert "distance must be at least" in told
