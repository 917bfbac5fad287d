"""Pieces kept in a folder: found again whole, and never taken for those of another question."""

import numpy as np
import pytest

from seamsight.scene.errors import OutputError
from seamsight.viewer.studies.unfinished import Unfinished

ONE, OTHER = "0123456789abcdef", "fedcba9876543210"
VALUES = np.random.default_rng(5).uniform(size=(4, 3, 2))


@pytest.fixture
def kept(tmp_path):
    return Unfinished(tmp_path / "map.csv.unfinished", ONE)


def test_a_piece_is_found_again_to_the_last_bit(kept):
    assert kept.piece(7, VALUES.shape) is None
    kept.keep(7, VALUES)
    found = Unfinished(kept.folder, ONE).piece(7, VALUES.shape)
    assert found.tobytes() == VALUES.tobytes()
    assert kept.piece(8, VALUES.shape) is None


@pytest.mark.parametrize("damage", ["cut", "empty", "flipped", "text", "renamed"])
def test_a_damaged_piece_is_none(kept, damage):
    kept.keep(0, VALUES)
    [file] = kept.folder.iterdir()
    content = file.read_bytes()
    if damage == "renamed":
        kept.keep(1, VALUES + 1)
        file.write_bytes(next(kept.folder.glob("*-00001.npz")).read_bytes())
    elif damage == "flipped":
        middle = content.index(VALUES.tobytes()[:8]) + 100
        file.write_bytes(content[:middle] + bytes([content[middle] ^ 1]) + content[middle + 1 :])
    else:
        file.write_bytes({"cut": content[:-50], "empty": b"", "text": b"hello"}[damage])
    assert kept.has(0)
    assert kept.piece(0, VALUES.shape) is None


def test_a_piece_of_another_shape_or_kind_is_none(kept):
    kept.keep(0, VALUES)
    assert kept.piece(0, (4, 2, 3)) is None
    kept.keep(0, VALUES.astype(np.float32))
    assert kept.piece(0, VALUES.shape) is None


def test_pieces_of_another_question_are_told_and_not_used(kept):
    assert not kept.has_others()
    Unfinished(kept.folder, OTHER).keep(0, VALUES)
    assert kept.has_others()
    assert kept.piece(0, VALUES.shape) is None


def test_all_pieces_are_removed_but_nothing_else(kept):
    kept.remove()  # nothing there
    kept.keep(0, VALUES)
    Unfinished(kept.folder, OTHER).keep(3, VALUES)
    own = kept.folder / "notes.txt"
    own.write_text("mine")
    kept.remove()
    assert list(kept.folder.iterdir()) == [own]
    own.unlink()
    kept.keep(0, VALUES)
    kept.remove()
    assert not kept.folder.exists()


def test_a_folder_that_cannot_be_made_is_told(kept):
    kept.folder.write_text("a file")
    with pytest.raises(OutputError, match="cannot be made"):
        kept.keep(0, VALUES)
