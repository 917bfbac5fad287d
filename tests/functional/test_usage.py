"""What the command does with wrong words and wrong rigs, and where its text goes."""

import re
import shutil
import subprocess
import sys

import pytest

C_LOCALE = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
COMMANDS = (
    *(
        "check",
        "picture",
        "overlap",
        "seam",
        "compare",
        "lenses",
        "clip",
        "window",
        "page",
        "walk-in",
        "log",
    ),
    *(
        "borders",
        "choose",
        "exact",
        "head-box",
        "head-map",
        "cut-list",
        "template",
        "drawing",
        "hidden",
        "sway",
        "views",
        "panel",
        "reach",
        "signals",
        "glare",
        "sun",
        "sheet",
        "start",
        "samples",
        "heads",
        "parts",
        "export",
        "pack",
        "schema",
    ),
)
WRONG_RIG = """\
format = 1
name = "wrong"

[pilot]
eye_point = [0, 0, 1150]

[[screen]]
name = "[[x]]"
diagonal = "22 inch es"
aspect = "16:10"
pixels = [168, 105]
centre = [0, 750, 1150]

[[lens]]
screen = "[[y]]"
focal_length = 450
distance = 150
width = 517
hieght = 330
"""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["chek", "rig.toml"], "chek"),
        (["check"], "RIG"),
        (["check", "rig.toml", "--jsn"], "--jsn"),
        (["check", "rig.toml", "--head", "leanig"], 'did you mean "leaning"?'),
        (["picture", "rig.toml"], "PICTURE"),
        (["picture", "rig.toml", "out.jpg"], "out.jpg"),
        (["picture", "rig.toml", "out.png", "--head", "leanig"], 'did you mean "leaning"?'),
        (["picture", "rig.toml", "out.png", "--eye", "third"], "third"),
        (["picture", "rig.toml", "out.png", "--room", "dim"], "dim"),
        (["picture", "rig.toml", "out.png", "--size", "160-70"], "160-70"),
        (["picture", "rig.toml", "out.png", "--size", "0x70"], "0x70"),
        (["picture", "rig.toml", "out.png", "--size", "70x0"], "70x0"),
        (["picture", "rig.toml", "out.png", "--size", "99999x70"], "99999x70"),
        (["picture", "rig.toml", "out.png", "--field", "360.5"], "360.5"),
        (["picture", "rig.toml", "out.png", "--field", "0"], "360 degrees"),
        (
            ["picture", "rig.toml", "out.png", "--field", "175", "--projection", "rectilinear"],
            "170 degrees",
        ),
        (["picture", "rig.toml", "out.png", "--aim", "5"], "'5'"),
        (["picture", "rig.toml", "out.png", "--aim", "0,89"], "straight up"),
        (["picture", "rig.toml", "out.png", "--offset", "1,2"], "'1,2'"),
        (["picture", "rig.toml", "out.png", "--offset", "nan,0,0"], "'nan,0,0'"),
        (["picture", "rig.toml", "out.png", "--turn", "nan"], "--turn"),
        (["picture", "rig.toml", "out.png", "--turn", "400"], "--turn"),
        (["picture", "rig.toml", "out.png", "--samples", "9"], "--samples"),
        (["start", "out.toml", "--from", "harbor_floatplane"], "harbour_floatplane"),
    ],
)
def test_wrong_usage_ends_in_2_and_says_what_is_wrong(call, little_rig, tmp_path, words, said):
    done = call(*words, status=2)
    assert said in done.stderr
    assert done.stdout == ""
    assert list(tmp_path.iterdir()) == [little_rig]


@pytest.mark.parametrize("name", ["check", "heads", "parts", "picture"])
def test_a_wrong_rig_ends_in_1_with_a_line_for_each_problem(call, tmp_path, name):
    (tmp_path / "rig.toml").write_text(WRONG_RIG, "utf-8")
    out = ["out.png"] if name == "picture" else []
    done = call(name, "rig.toml", *out, status=1)
    lines = done.stderr.splitlines()
    assert [re.match(r"rig\.toml:(\d+): ", line)[1] for line in lines] == ["9", "14", "15", "19"]
    said = [
        '"22 inch es"',
        "height is missing",
        'no screen "[[y]]" (did you mean "[[x]]"?)',
        'mean "height"?',
    ]
    assert all(words in line for words, line in zip(said, lines, strict=True))
    assert lines[0].startswith('rig.toml:9: screen "[[x]]": ')
    assert done.stdout == ""
    assert not (tmp_path / "out.png").exists()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "no such file"),
        (b"", "format"),
        (b"\xff\xfe\0", "UTF-8"),
        (b"\nformat = ", "toml:2"),
        (b"\0\0", "toml:1"),
    ],
)
def test_a_file_that_is_no_rig_is_one_line_or_more(call, tmp_path, content, said):
    if content is not None:
        (tmp_path / "rig.toml").write_bytes(content)
    done = call("check", "rig.toml", status=1)
    assert said in done.stderr
    assert all(
        line.startswith("rig.toml") and "  " not in line for line in done.stderr.splitlines()
    )


@pytest.mark.parametrize("words", [["check"], ["picture", "out.png"]])
def test_an_eye_inside_a_part_ends_in_1_with_one_line(run, little_rig, tmp_path, words):
    done = run(words[0], little_rig, *words[1:], "--head", "in the ceiling", status=1)
    told = [line for line in done.stderr.splitlines() if not line.startswith("seamsight: ")]
    assert len(told) == 1  # beside a word on what takes long, on a busy machine
    assert 'inside "höhe [bold]"' in told[0]
    assert done.stdout == ""
    assert list(tmp_path.iterdir()) == [little_rig]


@pytest.mark.parametrize("words", [["check"], ["check", "--json"], ["heads"], ["parts"]])
def test_piped_text_has_no_escape_codes(run, little_rig, words):
    done = run(words[0], little_rig, *words[1:])
    assert "\x1b" not in done.stdout + done.stderr
    assert done.stdout


@pytest.mark.parametrize(
    "words", [["check"], ["check", "--json"], ["heads"], ["parts"], ["picture", "größe.png"]]
)
def test_a_terminal_without_umlauts_gets_all_but_those(run, little_rig, tmp_path, words):
    done = run(words[0], little_rig, *words[1:], env=C_LOCALE, encoding="ascii")
    assert done.stdout
    assert (tmp_path / "größe.png").exists() == (words[0] == "picture")


def test_a_wrong_rig_is_told_of_in_ascii_too(run, tmp_path):
    (tmp_path / "rig.toml").write_text('format = 1\n"höhe" = 3\n', "utf-8")
    assert "h?he" in run("check", "rig.toml", status=1, env=C_LOCALE, encoding="ascii").stderr


def test_help_names_every_command(run):
    text = run("--help").stdout
    assert all(f"\n  {name} " in text for name in COMMANDS)
    assert "Usage" in run(status=2).stderr  # no words at all


@pytest.mark.parametrize("words", [["--help"], ["log", "--help"]])
def test_a_list_of_commands_cuts_no_summary(run, words):
    assert "..." not in run(*words, env={"COLUMNS": "80"}).stdout.partition("Commands:")[2]


@pytest.mark.parametrize("name", COMMANDS)
def test_help_of_a_command_ends_in_an_example(call, name):
    assert f"Example: seamsight {name}" in call(name, "--help").stdout


@pytest.mark.skipif(not shutil.which("sh"), reason="a system without sh")
@pytest.mark.parametrize("ending", [">&-", ">&- 2>&-", "| true", "2>&1 | true"])
def test_a_closed_standard_output_is_no_news(little_rig, tmp_path, ending):
    line = f"'{sys.executable}' -m seamsight.cli heads '{little_rig}' {ending}"
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_starting_loads_no_heavy_library():
    heavy = (
        "numpy",
        "numba",
        "pydantic",
        "trimesh",
        "embreex",
        "PIL",
        "rich.table",
        "pyvista",
        "starlette",
        "jinja2",
    )
    code = (
        f"import sys, seamsight.cli.main; print([name for name in {heavy} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
