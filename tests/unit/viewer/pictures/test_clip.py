"""Head movements: where they go, that they close, what is in their way, and the files."""

import gc
import io
import sys

import numpy as np
import pytest
from PIL.WebPImagePlugin import WebPImageFile

from seamsight.scene import ChoiceError, Head, OutputError, PoseError, build
from seamsight.viewer import eyes_of
from seamsight.viewer.pictures import clip
from seamsight.viewer.pictures.framing import framed_on_screens


def _places(heads):
    return np.array([head.offset for head in heads])


def test_swaying_goes_100_mm_to_each_side_and_closes():
    places = _places(clip.sway(80))
    assert places[0].tolist() == [0, 0, 0]
    assert places[:, 0].max() == 100 and places[:, 0].min() == -100
    assert not places[:, 1:].any()
    steps = np.abs(np.diff(places[:, 0], append=places[0, 0]))  # round to the first again
    assert steps.max() < 2 * np.pi * 100 / 80 + 0.2  # the speed of a sine in its middle


def test_a_path_goes_to_each_head_and_back_slowly_where_it_arrives():
    stops = [
        Head(name="a"),
        Head(name="b", offset=(60, 0, 0), turn=20),
        Head(name="c", offset=(0, 90, 0)),
    ]
    heads = clip.path_through(stops, 60)
    assert [heads[number] for number in (0, 20, 40)] == stops
    places = _places(heads)
    steps = np.linalg.norm(np.diff(places, axis=0, append=places[:1]), axis=1)
    assert all(steps[number] < 0.1 * steps.max() for number in (0, 19, 20, 39, 40, 59))
    assert heads[10].offset[0] == pytest.approx(30) and heads[10].turn == pytest.approx(10)
    assert heads[10].name == '"a" to "b"'


def test_heads_in_one_place_are_no_movement():
    for stops in ([Head(name="a")], [Head(name="a"), Head(name="b")]):
        with pytest.raises(ChoiceError, match="two different head positions"):
            clip.path_through(stops, 20)


@pytest.fixture
def rig_with(rig_of, screen_at):
    return lambda **tables: rig_of(screen=[screen_at()], **tables)


def _board(name, size, centre):
    return {"name": name, "size": size, "centre": centre}


def test_a_thin_board_between_two_frames_is_in_the_way(rig_with):
    board = _board("thin", [1, 200, 200], [70.3, 0, 0])
    heads = clip.sway(20)
    with pytest.raises(PoseError, match='move through "thin"') as told:
        clip.refuse_collisions(build(rig_with(board=[board])), heads)
    assert "\n" not in str(told.value)
    beside = _board("thin", [1, 200, 200], [140, 0, 0])  # the right eye comes to 131.5
    clip.refuse_collisions(build(rig_with(board=[beside])), heads)


def test_a_start_inside_a_part_is_refused(rig_with):
    with pytest.raises(PoseError, match='inside "box"'):
        clip.refuse_collisions(
            build(rig_with(board=[_board("box", [900, 900, 900], [0, 0, 0])])), clip.sway(20)
        )


def test_one_projection_holds_the_screens_from_every_head(rig_with):
    rig = rig_with()
    heads = [Head(name="a", offset=(-300, 0, 0)), Head(name="b", offset=(300, 0, 50))]
    shown = clip.framed_on_path(build(rig), heads, 320, 180)
    for head in heads:
        own = framed_on_screens(build(rig), eyes_of(rig, head), 320, 180, 1)
        assert shown.azimuth - shown.field / 2 <= own.azimuth - own.field / 2 + 1e-9
        assert shown.azimuth + shown.field / 2 >= own.azimuth + own.field / 2 - 1e-9


@pytest.fixture
def frames(rig_with):
    """A black screen before a white wall: frames differ by as much as the screen moves."""
    rig = rig_with(board=[_board("wall", [6000, 20, 6000], [0, 900, 0]) | {"colour": "#ffffff"}])
    heads = clip.sway(20)
    shown = clip.framed_on_path(build(rig), heads, 128, 72)
    return list(clip.frames_of(build(rig), heads, ("left", "right"), shown))


def test_a_clip_read_back_has_every_frame_and_closes(frames):
    with WebPImageFile(io.BytesIO(clip.webp(frames))) as read:
        assert (read.format, read.n_frames, read.info["loop"]) == ("WEBP", 20, 0)
        pictures = []
        times = []
        for number in range(read.n_frames):
            read.seek(number)
            read.load()
            pictures.append(np.asarray(read.convert("RGB"), np.float64))
            times.append(read.info["duration"])
    assert times == [50] * 20
    differences = [
        np.abs(a - b).mean() for a, b in zip(pictures, [*pictures[1:], pictures[0]], strict=True)
    ]
    assert min(differences[:4]) > 0.1
    assert differences[-1] < 1.5 * max(
        differences[:-1]
    )  # from the last to the first as between neighbours
    assert np.abs(pictures[0] - pictures[5]).mean() > 2 * differences[-1]
    original = np.asarray(frames[7], np.float64)
    assert np.abs(pictures[7] - original).mean() < 6


def test_both_eyes_lie_side_by_side_or_above_each_other(rig_with, frames):
    assert frames[0].size[0] == 2 * 128 + 4
    rig = rig_with()
    shown = clip.framed_on_path(build(rig), clip.sway(4), 192, 64)
    (wide, *_) = clip.frames_of(build(rig), clip.sway(4), ("left", "right"), shown)
    assert wide.size[0] == 192
    assert wide.size[1] > 2 * 64
    assert all(side % 2 == 0 for side in (*wide.size, *frames[0].size))


@pytest.mark.filterwarnings(
    "ignore::pytest.PytestUnraisableExceptionWarning"
)  # its reader leaves pipes open
def test_an_mp4_read_back_has_every_frame(frames, tmp_path):
    """Decoded by ffmpeg itself."""
    imageio_ffmpeg = pytest.importorskip("imageio_ffmpeg")
    file = tmp_path / "clip.mp4"
    file.write_bytes(clip.mp4(frames))
    reader = imageio_ffmpeg.read_frames(str(file))
    facts = next(reader)
    pictures = [
        np.frombuffer(frame, np.uint8).reshape(*frames[0].size[::-1], 3) for frame in reader
    ]
    assert facts["size"] == frames[0].size and facts["fps"] == 20
    assert len(pictures) == 20
    assert np.abs(pictures[7].astype(float) - np.asarray(frames[7])).mean() < 8
    del reader
    gc.collect()  # so that its pipes are spoken of here and not in a later test


def test_without_the_extra_a_line_tells_how_to_get_it(frames, monkeypatch):
    monkeypatch.setitem(sys.modules, "imageio_ffmpeg", None)
    with pytest.raises(OutputError, match=r"pip install -e '.\[mp4\]'"):
        clip.mp4(frames)
