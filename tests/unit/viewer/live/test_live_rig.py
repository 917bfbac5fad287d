"""A rig file under sliders: what is seen is what a fresh start shows, and what is written."""

import os
import tomllib

import numpy as np
import pytest

from seamsight.scene import ChoiceError, OutputError, RigError, read_rig
from seamsight.viewer.live.live_rig import LiveRig
from seamsight.viewer.live.preview import FileWatch, Preview, key_lines
from seamsight.viewer.live.state import LiveState

RIG = """\
# a comment
format = 1 # one
name = "little"
pilot = { eye_point = [0, 0, 0] }
board = [{ name = "shelf", size = [200, 200, 40], centre = [0, 0, -400] }]

[[bank]]
name = "wall"   # two
count = 2
radius =   600  # mm
screen = { diagonal = "22 in", aspect = "16:10", pixels = [168, 105], bezel = 16 }
lens = { focal_length = 450, distance = 150, width = 517, height = 330 }
"""
NEAR = {"wall.lens.distance": 140, "wall.radius": 620.5}


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(RIG, "utf-8")
    return path


@pytest.fixture
def live(file):
    return LiveRig(FileWatch(file))


def test_pictures_and_numbers_are_those_of_a_fresh_start(live, file):
    state = LiveState(x=20, turn=5)
    live.preview({}).pictures(state)
    for changes in ({"wall.radius": 640}, NEAR, {}, NEAR):  # whatever was looked at before
        live.preview(changes).pictures(state, moving=True)
        preview, fresh = live.preview(changes), Preview(read_rig(file, changes))
        assert preview.rig == fresh.rig and preview.rig.changes == changes
        for shown in (state, LiveState(lenses=False)):
            pairs = zip(preview.pictures(shown), fresh.pictures(shown), strict=True)
            assert all((one == other).all() for one, other in pairs)
            assert preview.numbers(shown) == fresh.numbers(shown)


@pytest.mark.parametrize("path", ["outside.radius", "outside.lens.magnification"])
def test_so_it_is_with_the_main_sample(sample_rigs, path):
    file = sample_rigs / "harbour_floatplane.toml"
    live, state = LiveRig(FileWatch(file)), LiveState()
    value = live.reading.numbers[path].value
    for factor in (1.01, 1.02):
        live.preview({path: value * factor}).pictures(state, moving=True)
    changes = {path: value * 1.02}
    fresh = Preview(read_rig(file, changes))
    pairs = zip(live.preview(changes).pictures(state), fresh.pictures(state), strict=True)
    assert all((one == other).all() for one, other in pairs)
    lines = [key_lines(one.numbers(state)) for one in (live.preview(changes), fresh)]
    assert lines[0] == lines[1]


def test_a_wrong_number_is_told_with_its_line(live):
    with pytest.raises(RigError, match=r'rig.toml:12: bank "wall": lens must be closer'):
        live.preview({"wall.lens.distance": 500})
    assert live.preview({}).rig.name == "little"


@pytest.mark.parametrize("path", ["wall.count", "format", "wall.lens.offset.1", "nothing.radius"])
def test_only_numbers_of_the_file_can_be_changed(live, file, path):
    for change in (
        lambda: live.preview({path: 3}),
        lambda: live.write({path: 3}, live.reading.version),
        lambda: live.save_as("new", {path: 3}),
    ):
        with pytest.raises(ChoiceError, match="has no number"):
            change()
    assert file.read_text("utf-8") == RIG and len(list(file.parent.iterdir())) == 1


def test_writing_changes_the_numbers_alone(live, file):
    os.chmod(file, 0o640)
    live.write(NEAR | {"wall.screen.diagonal": 609.6}, live.reading.version)
    wanted = RIG.replace("  600 ", "  620.5 ").replace("distance = 150", "distance = 140")
    assert file.read_text("utf-8") == wanted.replace("22 in", "24 in")
    assert live.reading.numbers["wall.radius"].value == 620.5
    assert live.preview({}).rig == read_rig(file)
    assert file.stat().st_mode & 0o777 == 0o640
    assert list(file.parent.iterdir()) == [file]
    # our own writing is no news, and more can be written at once
    assert not any(live.is_saved() for _ in range(3))
    live.write({"wall.radius": 600}, live.reading.version)
    assert "radius =   600  # mm" in file.read_text("utf-8")


def test_a_file_that_was_changed_meanwhile_is_left_alone(live, file):
    version = live.reading.version
    file.write_text(RIG + "# theirs\n", "utf-8")
    for _ in range(2):  # also when it was read since
        with pytest.raises(OutputError, match="changed by another program; nothing was written"):
            live.write(NEAR, version)
        assert file.read_text("utf-8") == RIG + "# theirs\n"
        live.read()
    live.write(NEAR, live.reading.version)
    assert file.read_text("utf-8").endswith("# theirs\n")


def test_a_wrong_rig_is_not_written(live, file):
    with pytest.raises(RigError, match="must be closer"):
        live.write({"wall.lens.distance": 500}, live.reading.version)
    with pytest.raises(RigError, match="must be closer"):
        live.save_as("new", {"wall.lens.distance": 500})
    assert file.read_text("utf-8") == RIG and list(file.parent.iterdir()) == [file]


def test_a_missing_file_is_told(live, file):
    file.unlink()
    with pytest.raises(OutputError, match="cannot be read"):
        live.write(NEAR, live.reading.version)
    assert not file.exists()


def test_a_linked_rig_file_is_written_where_it_is(live, file, tmp_path_factory):
    link = tmp_path_factory.mktemp("links") / "link.toml"
    link.symlink_to(file)
    linked = LiveRig(FileWatch(link))
    linked.write({"wall.radius": 650}, linked.reading.version)
    assert link.is_symlink() and "650" in file.read_text("utf-8")
    assert linked.save_as("new", {}).parent == file.parent


def test_saving_under_a_new_name(live, file):
    path = live.save_as(" wider ", NEAR)
    assert path == file.parent / "wider.toml" and file.read_text("utf-8") == RIG
    assert read_rig(path).bank[0].radius == 620.5
    assert path.read_text("utf-8").count("#") == RIG.count("#")
    for name in ("wider", "wider.toml", "rig.toml"):
        with pytest.raises(OutputError, match="exists: choose another name"):
            live.save_as(name, {})
    assert len(list(file.parent.iterdir())) == 2


BAD_NAMES = ["", " ", ".", "..", "../new", "a/b", "a\\b", "/tmp/new", "C:new", "C:\\new", "a\0b"]
BAD_NAMES += [".hidden", ".toml", "a\nb", "nul", "COM1.old", "x" * 200, "a\u202eb", "a*", "~/../x/"]


@pytest.mark.parametrize("name", BAD_NAMES, ids=range(len(BAD_NAMES)))
def test_a_new_name_cannot_lead_elsewhere(live, file, name):
    with pytest.raises(ChoiceError, match="plain name"):
        live.save_as(name, NEAR)
    assert list(file.parent.iterdir()) == [file]


def test_values_set_at_the_start_are_sliders_where_the_file_has_them(file):
    live = LiveRig(FileWatch(file), {"wall.radius": 650, "wall.screen.shows": "card"})
    assert live.start == {"wall.radius": 650}
    assert live.preview({}).rig.changes == {"wall.screen.shows": "card"}
    assert live.preview(live.start).rig.bank[0].radius == 650
    live.write(live.start, live.reading.version)
    assert tomllib.loads(file.read_text("utf-8"))["bank"][0]["radius"] == 650
    assert "card" not in file.read_text("utf-8")


def test_a_file_read_again_counts_at_once(live, file):
    before = live.preview(NEAR)
    file.write_text(RIG.replace("16:10", "16:9"), "utf-8")
    live.read()
    after = live.preview(NEAR)
    assert after is not before and after is live.preview(NEAR)
    assert np.not_equal(before.pictures(LiveState()), after.pictures(LiveState())).any()
