"""DXF, read again by the library that others read it with."""

import io

import ezdxf
import pytest
from ezdxf import bbox

from seamsight.scene.outlines import Circle, Rectangle
from seamsight.viewer.workshop.dxf import dxf
from seamsight.viewer.workshop.sketch import Label, Sketch


@pytest.fixture(scope="module")
def content():
    sketch = Sketch(labels=[Label((5, 6), "höhe ≤ 3", 4, 90)])
    sketch.add_outline(Rectangle((0, 0), (600, 300), 10))
    sketch.add_outline(Circle((12.345, -7), 39.75))
    sketch.add_cross((12.345, -7), 5)
    return dxf(sketch)


@pytest.fixture(scope="module")
def document(content):
    return ezdxf.read(io.StringIO(content.decode("utf-8")))


def test_it_is_sound_and_in_millimetres(document):
    assert not document.audit().has_errors
    assert document.units == ezdxf.units.MM
    assert document.header["$INSUNITS"] == 4


def test_sizes_come_back(document):
    space = document.modelspace()
    [circle] = space.query("CIRCLE")
    assert (circle.dxf.center.x, circle.dxf.radius) == pytest.approx((12.345, 39.75), abs=1e-6)
    path = space.query('LWPOLYLINE[layer=="CUT"]').first
    assert path.closed
    box = bbox.extents([path])
    assert tuple(box.size)[:2] == pytest.approx((600, 300), abs=1e-3)


def test_words_are_on_a_layer_of_their_own(document):
    [text] = document.modelspace().query("TEXT")
    assert (text.dxf.layer, text.dxf.text, text.dxf.rotation) == ("NAMES", "höhe ≤ 3", 90)


def test_the_same_bytes_every_time(content):
    sketch = Sketch()
    sketch.add_outline(Circle((0, 0), 5))
    assert dxf(sketch) == dxf(sketch)
    assert content.startswith(b"  0")
