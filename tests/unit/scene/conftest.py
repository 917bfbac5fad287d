"""What tests of a rig file share: a right table of each kind as text, and files beside it."""

import io

import pytest
from PIL import Image

DISPLAY = "{ width = 400, height = 300, pixels = [800, 600] }"
LENS = '[[lens]]\nscreen = "centre"\nfocal_length = 450\nwidth = 500\nheight = 400\n'
TABLES = {
    "screen": (
        '[[screen]]\nname = "centre"\nwidth = 400\nheight = 300\npixels = [800, 600]\n'
        "centre = [0, 600, 0]\n"
    ),
    "bank": f'[[bank]]\nname = "wall"\ncount = 2\nradius = 600\nscreen = {DISPLAY}\n',
    "lens": LENS,
    "lens_at_150": f"{LENS}distance = 150\n",
    "board": '[[board]]\nname = "shelf"\nsize = [100, 100, 20]\ncentre = [0, 500, -300]\n',
    "plate": (
        '[[plate]]\nname = "panel"\nsize = [300, 200]\nthickness = 4\ncentre = [0, 500, -300]\n'
    ),
    "mesh": '[[mesh]]\nname = "wheel"\nfile = "wheel.stl"\ncentre = [0, 300, -300]\n',
    "mark": '[[mark]]\nname = "hub"\nat = [0, 0, 0]\nwant = [0, 0, 0]\n',
    "head": '[[head]]\nname = "left"\n',
}

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
def rig_text():
    """Return a function from names of tables to their text, a line added or (old, new) changed."""

    def text(names, change=""):
        tables = "".join(TABLES[name] for name in names.split())
        if isinstance(change, str):
            return f"{tables}{change}\n"
        old, new = change
        assert tables.count(old) == 1
        return tables.replace(old, new)

    return text


@pytest.fixture
def assert_told(problems_of, rig_text):
    """Return a function that holds such a text to one problem, its line and its words."""

    def check(names, change, line, said):
        told = problems_of(rig_text(names, change))
        assert len(told) == 1
        assert told[0].startswith(f"rig.toml:{line}: ")
        assert said in told[0]

    return check


@pytest.fixture(scope="session")
def tetrahedron():
    """Return the bytes of a mesh file: a closed solid in a corner of the axes, 9 mm along each."""
    return TETRAHEDRON


@pytest.fixture(scope="session")
def picture():
    """Return the bytes of a picture file."""
    stream = io.BytesIO()
    Image.new("RGB", (30, 10), "red").save(stream, "PNG")
    return stream.getvalue()
