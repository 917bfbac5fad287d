"""The README's command lines do what it says, and print what it shows."""

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
SHELL_LINES = [
    line
    for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    for line in block.splitlines()
]


def test_the_main_line_writes_the_picture_and_the_numbers(tmp_path):
    # the part after the installation, run on the installed program
    line = next(line for line in SHELL_LINES if "eyes.png" in line)
    commands = [command.strip() for command in line.split("&&") if ".venv/bin/seamsight" in command]
    assert len(commands) == 2
    printed = [_run(command, tmp_path) for command in commands]
    assert (tmp_path / "eyes.png").read_bytes().startswith(b"\x89PNG")
    assert "outside.2" in printed[1]
    assert "1.50 ×" in printed[1]


def test_the_summary_is_what_check_prints(tmp_path, monkeypatch):
    monkeypatch.setenv("COLUMNS", "120")  # a narrow terminal gets fewer sentences
    [shown] = re.findall(r"```text\n(.*?)```", README, re.DOTALL)
    printed = _run(".venv/bin/seamsight check sample_rigs/harbour_floatplane.toml", tmp_path)
    assert " ".join(shown.split()) in " ".join(printed.split())


def test_the_short_rig_is_right(tmp_path):
    [rig] = re.findall(r"```toml\n(.*?)```", README, re.DOTALL)
    (tmp_path / "rig.toml").write_text(rig, "utf-8")
    assert "My cockpit" in _run("seamsight check rig.toml", tmp_path)


ROWS = [line for line in README.splitlines() if line.startswith("| ") and "`seamsight" in line]
START = "seamsight start my_rig.toml --from harbour_floatplane"


@pytest.fixture(scope="module")
def my_rig(tmp_path_factory):
    """Return a folder with the rig that most of the commands are about."""
    folder = tmp_path_factory.mktemp("mine")
    _run(START, folder)
    return folder


def test_there_is_a_row_for_each_question():
    assert len(ROWS) == 36
    assert any(f"`{START}`" in row for row in ROWS)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.split("|")[1].strip())
def test_a_question_s_commands_run(row, my_rig, tmp_path, call):
    shutil.copytree(my_rig, tmp_path, dirs_exist_ok=True)
    for line in re.findall(r"`(seamsight .+?)`", row):
        name, *words = shlex.split(line)[1:]
        # pictures take most of the time, and no less of it tells when they are large
        drawn = name in ("clip", "compare") or "dark" in words
        if name not in ("window", "page"):  # which have tests of their own
            again = " --force" * (line == START)
            # what takes long is done coarsely
            quick = {"hidden": " --step 60", "exact": " --builds 64"}.get(name, "")
            _run(line + " --size 160x90" * drawn + quick + again, tmp_path)
        for word in words:
            if word.endswith((".png", ".webp", ".glb", ".zip", ".html", ".toml", ".pdf")):
                assert (tmp_path / word).is_file()


def test_the_notebooks_lines_give_what_shows_itself():
    developers = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    [block] = re.findall(r"```python\n(.*?)```", developers, re.DOTALL)
    lines = [line.partition("  #")[0] for line in block.splitlines()]
    shown = [line for line in lines if line.startswith(("see(", "compare("))]
    assert len(shown) == 2
    code = [
        f"assert {line}._repr_png_()[1:4] == b'PNG'" if line in shown else line for line in lines
    ]
    _run_python(ROOT, "-c", "\n".join(code))


def _run(command: str, folder: Path) -> str:
    words = shlex.split(command.replace("sample_rigs/", f"{ROOT}/sample_rigs/"))[1:]
    return _run_python(folder, "-m", "seamsight.cli", *words)


def _run_python(folder: Path, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, *words], cwd=folder, capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout
