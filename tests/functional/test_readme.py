"""The README's command lines do what it says."""

import re
import shlex
import subprocess
import sys
from pathlib import Path

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


def test_the_lines_for_a_rig_of_ones_own_run_in_order(tmp_path):
    after = README.index("## Your own rig")
    block = README[after : README.index("\n```\n", after)]
    lines = [line.partition("#")[0] for line in block.splitlines() if line.startswith("seamsight ")]
    assert len(lines) == 11
    for line in lines:
        # the clip takes most of the time, and no less of it tells when it is large
        small = " --size 160x90" if line.startswith("seamsight clip") else ""
        _run(line + small, tmp_path)
    assert {path.name for path in tmp_path.iterdir()} >= {
        "my_rig.toml",
        "before.png",
        "after.png",
        "overlap.png",
        "seam.png",
        "compared.png",
        "sway.webp",
        "build_log",
        "build_log.html",
        "rig.schema.json",
    }


def test_the_notebooks_lines_give_what_shows_itself():
    [block] = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
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
