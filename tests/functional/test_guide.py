"""The guide's rig grows as it says, its commands run, and they print the figures it quotes."""

import itertools
import re
import shlex
from pathlib import Path

import pytest
from PIL import Image

from seamsight.cli import sheet_sections

FOLDER = Path(__file__).parents[2] / "sample_rigs"
GUIDE = (FOLDER / "GUIDE.md").read_text("utf-8")
STEPS = [step.split("\n", 1) for step in GUIDE.split("\n## ")[1:]]
PICTURES = re.findall(r"!\[.+?\]\((guide_\w+\.png)\)", GUIDE)
LINES = [
    line
    for block in re.findall(r"```sh\n(.*?)```", GUIDE, re.DOTALL)
    for line in block.splitlines()
]
SMALL = ("picture", "overlap", "compare")  # which take --size: few pixels are quick to draw


@pytest.fixture
def _as_quoted(monkeypatch, small_log_pictures):
    monkeypatch.setenv("COLUMNS", "100")
    for name, value in {"WIDTH": 330, "HEIGHT": 140, "SAMPLES": 1}.items():
        monkeypatch.setattr(sheet_sections, name, value)


@pytest.mark.usefixtures("_as_quoted")
def test_its_commands_print_what_it_quotes(call, tmp_path):
    rig = tmp_path / "cockpit.toml"
    for title, text in STEPS:
        printed = ""
        for kind, block in re.findall(r"```(\w+)\n(.*?)```", text, re.DOTALL):
            if kind == "toml":
                rig.write_text(changed(rig, block), "utf-8")
            elif kind == "sh":
                printed += " ".join(run(call, line) for line in block.splitlines())
            else:
                assert squeezed(block) in squeezed(printed), title
        assert "run into each other" not in printed, title
        for figure in figures(text):
            assert re.search(rf"(?<![\d.,]){re.escape(figure)}(?!\d)", squeezed(printed)), (
                title,
                figure,
            )
    missing = [word for word in written() if not (tmp_path / word).exists()]
    assert not missing


def test_every_step_quotes_figures_and_says_what_it_decided():
    assert [title.split()[0] for title, _ in STEPS] == [str(n) for n in range(1, 13)]
    for title, text in STEPS:
        assert text.count("**Decided:**") == 1, title
        assert text.count("**Without") == 1, title
    assert sum(len(figures(text)) for _, text in STEPS) > 40


def test_its_pictures_are_made_by_its_commands():
    size = 0
    for name in PICTURES:
        path = FOLDER / name
        size += path.stat().st_size
        with Image.open(path) as picture:
            made = shlex.split(picture.info["Command"])
        plain = name.removeprefix("guide_")
        [line] = [line for line in LINES if plain in shlex.split(line)]
        assert made[:4] == shlex.split(line)[:4]  # the command, the rig, the file
    assert len(PICTURES) == 4
    assert size < 600_000


def test_its_contents_lead_to_its_headings():
    headings = {re.sub(r"[^\w ]", "", title).lower().replace(" ", "-") for title, _ in STEPS}
    links = set(re.findall(r"\]\(#(.+?)\)", GUIDE))
    assert links == headings
    readme = (FOLDER.parent / "README.md").read_text("utf-8")
    assert "sample_rigs/GUIDE.md" in readme


def changed(rig: Path, block: str) -> str:
    """Return the rig's text with a block as a reader enters it: all, tables added, or one line."""
    if block.startswith("format"):
        return block
    text = rig.read_text("utf-8")
    if block.startswith("[["):
        return f"{text}\n{block}"
    lines = text.splitlines(keepends=True)
    of_key = [i for i, line in enumerate(lines) if line.startswith(block.split("=")[0])]
    if of_key:
        lines[of_key[-1]] = block
    else:
        after = next(i for i, line in enumerate(lines) if line.startswith("lens ="))
        lines.insert(after + 1, block)
    return "".join(lines)


def run(call, line: str) -> str:
    words = shlex.split(line)
    assert words[0] == "seamsight"
    small = ["--size", "160x90"] if words[1] in SMALL else []
    return call(*words[1:], *small).stdout


def figures(text: str) -> list[str]:
    """Return what is bold and has a figure: what the step's commands print."""
    bold = re.findall(r"\*\*(.+?)\*\*", text, re.DOTALL)
    return [squeezed(words) for words in bold if re.search(r"\d", words)]


def squeezed(text: str) -> str:
    return " ".join(text.split())


def written() -> list[str]:
    """Return the files and folders that the commands write."""
    words = itertools.chain.from_iterable(shlex.split(line) for line in LINES)
    ends = (".png", ".html", ".pdf", "build_log")
    return [word for word in words if word.endswith(ends)]
