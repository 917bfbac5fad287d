"""What the live views share: fast pictures agree with full ones, and the numbers' short lines."""

import numpy as np
import pytest

from seamsight.scene import PoseError, read_rig
from seamsight.viewer import see
from seamsight.viewer.colour import srgb
from seamsight.viewer.live.preview import HEIGHT, WIDTH, FileWatch, Preview, key_lines
from seamsight.viewer.live.state import LiveState


@pytest.fixture(scope="module")
def preview_of():
    made = {}

    def preview(path):
        if path not in made:
            made[path] = Preview(read_rig(path))
        return made[path]

    return preview


def test_pictures_are_what_each_eye_sees(preview_of, sample):
    preview, state = preview_of(sample), LiveState(x=20, z=-10, turn=5)
    eyes = preview.eyes(state)
    for picture, eye in zip(preview.pictures(state), (eyes.left, eyes.right), strict=True):
        assert picture.shape == (HEIGHT, WIDTH, 3)
        assert (picture == srgb(see(preview.assembly(state), eye, preview.projection).light)).all()


@pytest.mark.parametrize("lenses", [True, False])
def test_fast_pictures_show_the_same_but_for_what_is_narrow(preview_of, sample, lenses):
    preview, state = preview_of(sample), LiveState(x=-35, y=12, lenses=lenses)
    for full, fast in zip(
        preview.pictures(state), preview.pictures(state, moving=True), strict=True
    ):
        differ = np.abs(full.astype(int) - fast).max(-1) > 16
        assert differ.mean() < 0.015  # of a grooved lens its colour fringes


def test_lenses_out_shows_another_picture(preview_of, sample):
    preview = preview_of(sample)
    has_lenses = any(screen.lens for screen in preview.assembly(LiveState()).screens)
    inside, outside = preview.pictures(LiveState())[0], preview.pictures(LiveState(lenses=False))[0]
    assert (inside != outside).any() == has_lenses


def test_the_overlap_colours_only_where_an_eye_sees_a_screen(rig_of, screen_at):
    preview = Preview(rig_of(screen=[screen_at()]))
    state = LiveState(overlap=True)
    plain, coloured = preview.pictures(LiveState()), preview.pictures(state)
    eyes = preview.eyes(state)
    seen = [
        see(preview.assembly(state), eye, preview.projection).parts == 0
        for eye in (eyes.left, eyes.right)
    ]
    changed = (plain[0] != coloured[0]).any(-1)
    assert (changed == (seen[0] | seen[1])).all()
    both, only_left = (seen[0] & seen[1]), (seen[0] & ~seen[1])
    assert len(np.unique(coloured[0][both], axis=0)) == 1
    assert only_left.any() and (coloured[0][only_left][0] != coloured[0][both][0]).any()


def test_an_eye_inside_a_part_is_told(rig_of):
    board = {"name": "shelf", "size": [100, 100, 100], "centre": [0, 200, 0]}
    preview = Preview(rig_of(board=[board]))
    with pytest.raises(PoseError, match='lies inside "shelf"'):
        preview.pictures(LiveState(y=200))


def test_key_lines_tell_the_numbers(preview_of, sample):
    numbers = preview_of(sample).numbers(LiveState())
    lines = key_lines(numbers)
    for name, screen in numbers.screens.items():
        line = next(line for line in lines if line.startswith(f"{name}: "))
        assert f"{100 * screen.seen['left']:.1f} / {100 * screen.seen['right']:.1f} %" in line
    assert sum(line.startswith("seam ") for line in lines) == sum(
        seam.in_scene for seam in numbers.seams
    )


def test_a_save_is_told_once_and_when_the_file_lies_still(tmp_path):
    file = tmp_path / "rig.toml"
    file.write_text("one")
    watch = FileWatch(file)
    assert [watch.is_saved() for _ in range(3)] == [False, False, False]
    file.write_text("other words")
    assert [watch.is_saved() for _ in range(4)] == [False, True, False, False]
    file.write_text("half")
    watch.is_saved()
    file.write_text("the whole")
    assert [watch.is_saved() for _ in range(3)] == [False, True, False]
    file.unlink()
    assert [watch.is_saved() for _ in range(3)] == [False, True, False]
