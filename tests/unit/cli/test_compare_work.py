"""What `compare` prints fits any width, and loses no name."""

import pytest
from rich.cells import cell_len

from seamsight.cli.compare_work import print_comparison
from seamsight.scene import build, read_rig
from seamsight.viewer import Seen, compare, eyes_of, head_named


@pytest.fixture(scope="module")
def comparison(sample):
    rig = read_rig(sample)
    eyes = eyes_of(rig, head_named(rig, "design"))
    items = [
        Seen(f"{rig.name} · lenses {word}", build(rig, lenses=word == "in"), eyes)
        for word in ("in", "out")
    ]
    return compare([*items, *items[:1]], ["mid"], 60, 30)


@pytest.mark.parametrize("columns", [60, 80, 100, 120])
def test_any_width(comparison, monkeypatch, capsys, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    print_comparison(comparison)
    text = capsys.readouterr().out
    assert max(cell_len(line.rstrip()) for line in text.splitlines()) <= columns
    # names may be wrapped, and none of their words is cut
    words = set(text.split())
    shown = comparison.table(len(comparison.rows))
    for row in shown.rows:
        assert set(" ".join(cell.text for cell in row[:2]).split()) <= words
    for item in comparison.items:
        assert set(item.caption.split()) <= words
