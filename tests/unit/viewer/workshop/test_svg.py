"""SVG: sizes and places come back from the file."""

import re
import xml.etree.ElementTree as ET

import pytest

from seamsight.scene.outlines import Circle, Rectangle
from seamsight.viewer.workshop.sketch import Label, Sketch
from seamsight.viewer.workshop.svg import svg


@pytest.fixture(scope="module")
def root():
    sketch = Sketch(labels=[Label((0, 0), "a < b & ü", 4, 90)])
    sketch.add_outline(Rectangle((0, 0), (600, 300), 20))
    sketch.add_outline(Circle((100, 50), 39.75))
    return ET.fromstring(svg(sketch))


def test_one_unit_is_a_millimetre(root):
    _, _, width, height = map(float, root.get("viewBox").split())
    assert (root.get("width"), root.get("height")) == (f"{width:.3f}mm", f"{height:.3f}mm")


def test_places(root):
    cut = root.find("{*}g[@id='CUT']")
    circle = cut.find("{*}circle")
    path = cut.find("{*}path").get("d")
    ends = re.findall(r"[MLA](?:[\d.]+ [\d.]+ 0 0 0 )?([\d.]+) ([\d.]+)", path)
    x, y = zip(*((float(a), float(b)) for a, b in ends), strict=True)
    assert (max(x) - min(x), max(y) - min(y)) == (600, 300)
    middle = ((max(x) + min(x)) / 2, (max(y) + min(y)) / 2)
    # right of the middle, and above it, which is less y
    assert float(circle.get("cx")) - middle[0] == 100
    assert float(circle.get("cy")) - middle[1] == -50
    assert float(circle.get("r")) == 39.75


def test_words_are_in_a_group_of_their_own(root):
    [words] = root.find("{*}g[@id='NAMES']")
    assert words.text == "a < b & ü"
    assert words.get("transform").startswith("rotate(-90")
