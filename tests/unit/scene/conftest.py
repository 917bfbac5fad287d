"""What tests of a rig file share: a right table of each kind as text, and files beside it."""

import io
import json
import struct

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
    "output": '[[output]]\nname = "socket"\nlink = "HDMI 1.4"\nscreens = ["centre"]\n',
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


@pytest.fixture
def file_of(tmp_path):
    """Return a function that writes a file of some name and content; gives its path."""

    def write(name, content):
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        return file

    return write


@pytest.fixture(scope="session")
def glb():
    """Return a function to the bytes of a GLB file of one triangle, some of its tables changed."""

    def make(**changed):
        data = struct.pack("<9f", 0, 0, 0, 9, 0, 0, 0, 9, 0)
        tables = {
            "asset": {"version": "2.0"},
            "buffers": [{"byteLength": 36}],
            "bufferViews": [{"buffer": 0, "byteLength": 36}],
            "accessors": [{"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC3"}],
            "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}],
            "nodes": [{"mesh": 0}],
            "scenes": [{"nodes": [0]}],
        }
        for name, value in changed.items():
            one = {**tables[name][0], **value} if isinstance(value, dict) else None
            kept = one and {key: is_so for key, is_so in one.items() if is_so is not None}
            tables[name] = value if kept is None else [kept]
        text = json.dumps(tables).encode()
        text += b" " * (-len(text) % 4)
        chunks = struct.pack("<I4s", len(text), b"JSON") + text
        chunks += struct.pack("<I4s", len(data), b"BIN\0") + data
        return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks

    return make
