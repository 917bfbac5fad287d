import gc
import tracemalloc

import numpy as np
import pytest
import trimesh

from seamsight.scene import build, read_rig
from seamsight.scene.parts import ITSELF
from seamsight.scene.shapes import volume


def test_hole_larger_than_its_plate_leaves_nothing(write_rig, rig_text):
    hole = 'holes = [ { shape = "rect", at = [0, 0], size = [400, 400] } ]'
    (part,) = build(read_rig(write_rig(rig_text("plate", hole)))).parts or [None]
    assert part is None or volume(part.triangles) == 0


POSE = {"centre": [120, 500, -80], "yaw": 37, "pitch": -21, "roll": 64}


def test_size_is_along_a_part_s_own_axes(rig_of, screen_at):
    screen = screen_at(bezel=10, lip=4, body=30) | POSE
    lens = {"screen": "screen", "focal_length": 450, "distance": 100, "width": 420, "height": 330}
    rig = rig_of(
        screen=[screen],
        lens=[lens | {"frame": {"width": 8, "depth": 12}}],
        board=[{"name": "board", "size": [1200, 400, 18], **POSE}],
        plate=[{"name": "plate", "size": [620, 300], "thickness": 4, **POSE}],
    )
    expected = {
        "screen": (400, 0, 300),
        "screen bezel": (420, 4, 320),
        "screen housing": (420, 34, 320),
        "screen lens": (420, 0, 330),
        "screen lens frame": (436, 12, 346),
        "board": (1200, 400, 18),
        "plate": (620, 4, 300),
    }
    found = {part.name: part.size for part in build(rig).parts}
    assert found.keys() == expected.keys()
    for name, size in expected.items():
        assert found[name] == pytest.approx(size, abs=1e-9)


def test_size_of_a_mesh_is_along_the_axes_of_its_file(write_rig, rig_text):
    box = trimesh.creation.box((40, 70, 110)).export(file_type="stl")
    text = 'name = "box"\nfile = "box.stl"\nyaw = 30\npitch = 20\ncentre = [0, 500, 0]\n'
    file = write_rig(f"[[mesh]]\n{text}", box__stl=box)
    (part,) = build(read_rig(file)).parts
    assert part.size == pytest.approx((40, 70, 110), abs=1e-5)


def test_what_a_change_leaves_as_it_was_is_not_made_anew(sample_rigs):
    file = sample_rigs / "harbour_floatplane.toml"
    before, after = (build(read_rig(file, {"sill left.yaw": yaw})) for yaw in (-46.62, -40))
    kept = {part.name: part for part in before.parts}
    boards = [part for part in after.parts if not part.screen]
    assert [part.name for part in boards if kept[part.name] is not part] == [
        "sill left",
        "sill right",
    ]
    assert (kept["sill left"].triangles != after.parts[after.part_id("sill left")].triangles).any()


def test_a_mesh_saved_anew_is_made_anew(write_rig, rig_text, tetrahedron):
    file = write_rig(rig_text("mesh"), wheel__stl=tetrahedron)
    before = build(read_rig(file)).parts[0]
    (file.parent / "wheel.stl").write_bytes(tetrahedron.replace(b"9", b"8"))
    after = build(read_rig(file)).parts[0]
    assert (np.ptp(before.triangles), np.ptp(after.triangles)) == (609, 608)


def test_what_a_small_part_takes_in_memory_is_no_more_than_counts(rig_of):
    def traced(width):
        board = {"centre": [0, 900, 0]}
        tables = [board | {"name": f"b{k}", "size": [width, 10 + k, 10]} for k in range(20)]
        for part in build(rig_of(board=tables)).parts:
            _ = part.normals, part.corners, part.bounds
        gc.collect()
        return tracemalloc.get_traced_memory()[0]

    traced(100)
    tracemalloc.start()
    try:
        before = traced(101)
        after = [traced(width) for width in (102, 103)]
    finally:
        tracemalloc.stop()
    in_triangles = 12 * 9 * 8
    assert 0.4 < (after[-1] - before) / (2 * 20) / (ITSELF + in_triangles) < 1
