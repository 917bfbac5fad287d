"""Every sample rig looks as it did, with and without its lenses.

What each pixel shows is compared by the part's name first, then by colour. `pytest tests/golden
--regenerate` writes the references anew: look at them before they are committed.
"""

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, PngImagePlugin

from seamsight.scene import build, read_rig
from seamsight.viewer import View, eyes_of, head_named, see
from seamsight.viewer.colour import srgb
from seamsight.viewer.pictures.framing import framed_on_screens

HERE = Path(__file__).parent
WIDTH = 320
HEIGHT = 140
RAYS = 2
FAR = 8  # sRGB codes by which a colour counts as changed
MOST_PARTS = 0.001  # share of pixels that may change: edges fall differently on other processors
MOST_COLOURS = 0.002
WIDEST_PATCH = 4  # pixels; what changes over more than that, both ways, is no edge


@dataclass
class Shown:
    """A picture as colours (h, w, 3) uint8, and each pixel's part (h, w), a place in `names`."""

    colours: np.ndarray
    parts: np.ndarray
    names: list[str]

    @property
    def names_seen(self) -> np.ndarray:
        return np.array(self.names)[self.parts]


@pytest.mark.parametrize("lenses", [True, False], ids=["lenses_in", "lenses_out"])
def test_a_sample_looks_as_it_did(sample, lenses, request):
    now = drawn(sample, lenses)
    has_lenses = build(read_rig(sample)).has_lenses
    name = sample.stem if lenses or not has_lenses else f"{sample.stem}-without_lenses"
    if request.config.getoption("--regenerate", default=False):
        write_reference(name, now)
    before = reference(name)
    changed = now.names_seen != before.names_seen
    assert only_edges(changed, MOST_PARTS), told(changed, now, before)
    assert only_edges(differ(now.colours, before.colours), MOST_COLOURS)


@pytest.fixture(scope="module")
def usual(sample_rigs):
    return drawn(sample_rigs / "harbour_floatplane.toml", lenses=True)


@pytest.mark.parametrize("axis", [0, 1])
def test_a_shift_by_one_pixel_is_noticed(usual, axis):
    assert not only_edges(np.roll(usual.parts, 1, axis) != usual.parts, MOST_PARTS)
    assert not only_edges(differ(np.roll(usual.colours, 1, axis), usual.colours), MOST_COLOURS)


def test_a_small_new_object_is_noticed(usual):
    parts = usual.parts.copy()
    colours = usual.colours.copy()
    parts[60:66, 100:106] = len(usual.names)
    colours[60:66, 100:106] ^= 64
    assert not only_edges(parts != usual.parts, MOST_PARTS)
    assert not only_edges(differ(colours, usual.colours), MOST_COLOURS)


def test_scattered_pixels_are_let_pass(usual):
    places = np.random.default_rng(4).permutation(usual.parts.size)
    colours = usual.colours.reshape(-1, 3).copy()
    colours[places[: usual.parts.size // 1000]] += 128
    assert only_edges(differ(colours.reshape(usual.colours.shape), usual.colours), MOST_COLOURS)


def test_parts_are_compared_by_name(usual):
    backwards = Shown(usual.colours, len(usual.names) - 1 - usual.parts, usual.names[::-1])
    assert (backwards.parts != usual.parts).mean() > 0.5
    assert (backwards.names_seen == usual.names_seen).all()


def drawn(rig_file: Path, lenses: bool) -> Shown:
    rig = read_rig(rig_file)
    eyes = eyes_of(rig, head_named(rig, "design"))
    projection = framed_on_screens(build(rig), eyes, WIDTH, HEIGHT, RAYS)
    return shown(see(build(rig, lenses=lenses), eyes.mid, projection))


def shown(view: View) -> Shown:
    ids, parts = np.unique(view.parts, return_inverse=True)
    names = [view.assembly.parts[number].name if number >= 0 else "nothing" for number in ids]
    return Shown(srgb(view.light), parts.reshape(view.parts.shape), names)


def differ(colours: np.ndarray, before: np.ndarray) -> np.ndarray:
    return np.abs(colours.astype(int) - before).max(-1) > FAR


def only_edges(changed: np.ndarray, most: float) -> bool:
    """Whether few pixels have changed (h, w), in no patch wider than `WIDEST_PATCH` all ways."""
    kept = changed
    for _ in range(WIDEST_PATCH // 2):
        padded = np.pad(kept, 1)
        kept = kept & padded[:-2, 1:-1] & padded[2:, 1:-1] & padded[1:-1, :-2] & padded[1:-1, 2:]
    return bool(changed.mean() <= most and not kept.any())


def told(changed: np.ndarray, now: Shown, before: Shown) -> str:
    pairs, counts = np.unique(
        np.stack([before.names_seen[changed], now.names_seen[changed]]), axis=1, return_counts=True
    )
    order = np.argsort(-counts)[:10]
    rows = [f"  {counts[at]:6} pixels: {pairs[0, at]} is now {pairs[1, at]}" for at in order]
    return "\n".join([f"{changed.mean():.2%} of the pixels show another part", *rows])


def write_reference(name: str, picture: Shown) -> None:
    Image.fromarray(picture.colours).save(HERE / "references" / f"{name}.png", optimize=True)
    facts = PngImagePlugin.PngInfo()
    facts.add_itxt("parts", json.dumps(picture.names))
    parts = Image.fromarray(picture.parts.astype(np.uint8), "L")
    parts.save(HERE / "references" / f"{name}-parts.png", optimize=True, pnginfo=facts)


def reference(name: str) -> Shown:
    with Image.open(HERE / "references" / f"{name}.png") as colours:
        seen = np.asarray(colours)
    with Image.open(HERE / "references" / f"{name}-parts.png") as parts:
        return Shown(seen, np.asarray(parts), json.loads(parts.info["parts"]))
