"""Broken rig files, meshes and pictures: each is refused in located words, or built and measured.

`tests/fuzz/long.py` tries many more.
"""

import shutil

import numpy as np
import pytest
from mutations import MUTATORS, bytes_changed, look, rig_with, taken, whole_files

MUTATIONS = 400  # of each sample rig
OF_FILES = 120  # of each format
MEASURED = 10  # of each sample rig's mutations that are still rigs

FILES = whole_files()


@pytest.fixture
def rig_file(sample, tmp_path):
    """A copy of a sample's folder; its rig file is to be written over."""
    for path in sample.parent.iterdir():
        if path.suffix in (".stl", ".obj", ".ply", ".glb", ".png", ".jpg"):
            shutil.copy(path, tmp_path)
    return tmp_path / "rig.toml"


def test_broken_rigs_are_refused_in_located_words_or_can_be_built(sample, rig_file):
    random, text = np.random.default_rng(11), sample.read_text("utf-8")
    rigs = []
    for number in range(MUTATIONS):
        broken = MUTATORS[number % len(MUTATORS)](random, text)
        content = broken if isinstance(broken, bytes) else broken.encode()
        rig = taken(rig_file, content)
        if rig:
            rigs.append(rig)
    assert MUTATIONS / 10 < len(rigs) < 0.9 * MUTATIONS
    for row in random.permutation(len(rigs))[:MEASURED]:
        look(rigs[row])


@pytest.mark.parametrize("name", FILES)
def test_broken_meshes_and_pictures_are_refused_or_can_be_used(name, tmp_path):
    random = np.random.default_rng(12)
    rigs = []
    for number in range(OF_FILES):
        broken = f"{number}{name}"
        (tmp_path / broken).write_bytes(bytes_changed(random, FILES[name]))
        rig = taken(tmp_path / "rig.toml", rig_with(broken).encode())
        if rig:
            rigs.append(rig)
    assert len(rigs) < OF_FILES
    for rig in rigs[:3]:
        look(rig)
