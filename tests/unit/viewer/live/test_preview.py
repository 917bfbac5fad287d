"""What the live views share: fast pictures agree with full ones, and the numbers' short lines."""

import numpy as np
import pytest

from seamsight.scene import PoseError, read_rig
from seamsight.viewer import see
from seamsight.viewer.casting.view import picture_of
from seamsight.viewer.light.mirrored_view import with_mirror_images
from seamsight.viewer.live.preview import HEIGHT, WIDTH, FileWatch, Preview, key_lines
from seamsight.viewer.live.state import LiveState
from seamsight.viewer.pictures.places import BOTH, COLOURS, LEFT, RIGHT


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
        view = with_mirror_images(see(preview.assembly(state), eye, preview.projection))
        assert (picture == picture_of(view)).all()


@pytest.mark.parametrize("lenses", [True, False])
def test_fast_pictures_show_the_same_but_for_what_is_narrow(preview_of, sample, lenses):
    # but for what lamps add when the head rests
    rig = read_rig(sample)
    preview = preview_of(sample) if not rig.lamp else Preview(rig.model_copy(update={"lamp": ()}))
    state = LiveState(x=-35, y=12, lenses=lenses)
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


@pytest.mark.parametrize("moving", [False, True])
def test_the_overlap_tints_screens_by_who_sees_each_place(rig_of, screen_at, moving):
    # half way to a screen, a post 40 wide: each eye has a strip of it that the other does not see
    post = {"name": "post", "size": [40, 1, 500], "centre": [0, 300, 0]}
    preview = Preview(rig_of(screen=[screen_at()], board=[post]))
    state = LiveState(overlap=True)
    plain = preview.pictures(LiveState(), moving=moving)
    coloured = preview.pictures(state, moving=moving)
    eyes = preview.eyes(state)
    tints = []
    for eye, before, after in zip((eyes.left, eyes.right), plain, coloured, strict=True):
        parts = see(preview.assembly(state), eye, preview.projection).parts
        on_screen = parts == preview.assembly(state).part_id("screen")
        assert ((before != after).any(-1) == on_screen).all()
        tints.append({tuple(colour) for colour in after[on_screen].tolist()})
    both = tuple(COLOURS[BOTH] // 2)
    assert tints == [{both, tuple(COLOURS[LEFT] // 2)}, {both, tuple(COLOURS[RIGHT] // 2)}]


def test_an_eye_inside_a_part_is_told(rig_of):
    board = {"name": "shelf", "size": [100, 100, 100], "centre": [0, 200, 0]}
    preview = Preview(rig_of(board=[board]))
    with pytest.raises(PoseError, match='would be inside "shelf"'):
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


def test_smaller_pictures_show_the_same_in_fewer_pixels(preview_of, sample):
    preview, state = preview_of(sample), LiveState(x=20)
    pairs = zip(preview.pictures(state), preview.pictures(state, width=WIDTH // 2), strict=True)
    for full, half in pairs:
        assert half.shape == (HEIGHT // 2, WIDTH // 2, 3)
        blocks = full.reshape(HEIGHT // 2, 2, WIDTH // 2, 2, 3).mean(axis=(1, 3))
        assert np.median(np.abs(blocks - half)) < 3


@pytest.mark.parametrize(("width", "height"), [(320, 180), (875, 492), (1001, 563)])
def test_a_picture_of_any_size_covers_the_same_field(rig_of, screen_at, width, height):
    preview = Preview(rig_of(screen=[screen_at()]))
    picture, _ = preview.pictures(LiveState(), width=width)
    assert picture.shape == (height, width, 3)
    whole, _ = preview.pictures(LiveState())
    places = [(np.arange(side) + 0.5) / side for side in (HEIGHT, WIDTH)]
    rows, columns = (place * side for place, side in zip(places, picture.shape, strict=False))
    there = picture[rows.astype(int)[:, None], columns.astype(int)]
    assert (np.abs(there.astype(int) - whole).max(-1) > 60).mean() < 0.01


def test_our_own_saving_is_no_news(tmp_path):
    file = tmp_path / "rig.toml"
    file.write_text("a", "utf-8")
    watch = FileWatch(file)
    file.write_text("ab", "utf-8")
    watch.keep()
    assert not any(watch.is_saved() for _ in range(3))
    file.write_text("abc", "utf-8")
    assert [watch.is_saved() for _ in range(3)] == [False, True, False]
