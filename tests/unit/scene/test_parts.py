from seamsight.scene import build, read_rig
from seamsight.scene.shapes import volume


def test_hole_larger_than_its_plate_leaves_nothing(write_rig, rig_text):
    hole = 'holes = [ { shape = "rect", at = [0, 0], size = [400, 400] } ]'
    (part,) = build(read_rig(write_rig(rig_text("plate", hole)))).parts or [None]
    assert part is None or volume(part.triangles) == 0
