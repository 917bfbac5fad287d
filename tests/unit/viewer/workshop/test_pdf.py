"""PDF, read back by poppler where it is installed: sizes to 0.1 mm, check bar included."""

import re
import shutil
import subprocess
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from seamsight.scene import build
from seamsight.scene.cutting import cut_pieces
from seamsight.viewer.workshop.cut_list import cut_rows
from seamsight.viewer.workshop.pdf import pdf
from seamsight.viewer.workshop.template import templates

MM_PER_POINT = 25.4 / 72
HOLES = [{"shape": "circle", "at": [0, 0], "diameter": 80}]
PLATE = {"name": "p", "size": [230, 120], "thickness": 4, "centre": [0, 900, 0], "holes": HOLES}

needs_poppler = pytest.mark.skipif(
    not (shutil.which("pdftocairo") and shutil.which("pdftotext")), reason="needs poppler"
)


@pytest.fixture(scope="module")
def content(rig_of):
    assembly = build(rig_of(plate=[PLATE], name="Größe"))
    found = templates(assembly, cut_rows(assembly, cut_pieces(assembly)))
    return pdf("Größe", found, ["A note."], "a4")


@pytest.fixture(scope="module")
def lines(content, tmp_path_factory):
    """Return the lines and curves of the second page: corners (n, 2) of each, mm."""
    folder = tmp_path_factory.mktemp("pdf")
    (folder / "a.pdf").write_bytes(content)
    # without -noshrink it makes the page 0.12 % smaller
    words = ["pdftocairo", "-svg", "-noshrink", "-f", "2", "-l", "2", "a.pdf", "a.svg"]
    subprocess.run(words, cwd=folder, check=True)
    found = []
    for path in ET.parse(folder / "a.svg").iter("{http://www.w3.org/2000/svg}path"):
        # the look stands in an attribute of its own since cairo 1.18
        if path.get("stroke") or "stroke-width" in path.get("style", ""):
            numbers = re.findall(r"-?[\d.]+", path.get("d", ""))
            points = np.array(numbers, dtype=float).reshape(-1, 2)
            matrix = [float(word) for word in re.findall(r"-?[\d.]+", path.get("transform", ""))]
            if matrix:
                a, b, c, d, e, f = matrix
                points = points @ [[a, b], [c, d]] + [e, f]
            found.append(points * MM_PER_POINT)
    return found


@needs_poppler
@pytest.mark.parametrize(
    "size", [(230, 120), (80, 80), (100, 0)], ids=["edge", "hole", "check bar"]
)
def test_sizes_come_back(lines, size):
    off = [np.abs(np.ptp(points, axis=0) - size).max() for points in lines]
    assert min(off) < 0.1


@needs_poppler
def test_words_come_back(content, tmp_path):
    (tmp_path / "a.pdf").write_bytes(content)
    words = ["pdftotext", tmp_path / "a.pdf", "-"]
    text = subprocess.run(words, capture_output=True, encoding="utf-8", check=True).stdout
    assert all(some in text for some in ("Größe", "A note.", "Ø 80", "this bar: 100.0 mm"))


def test_it_asks_for_no_scaling_and_is_the_same_every_time(content, rig_of):
    assert b"/PrintScaling /None" in content
    assembly = build(rig_of(plate=[PLATE], name="Größe"))
    found = templates(assembly, cut_rows(assembly, cut_pieces(assembly)))
    assert pdf("Größe", found, ["A note."], "a4") == content
