"""How a comparison looks: what is marked, where pictures stand, and the words of its table."""

import io

import numpy as np
import pytest
from PIL import Image

from seamsight.viewer.pictures.compare import compare
from seamsight.viewer.pictures.comparison_sheet import marked_picture


def test_marks_leave_the_picture_visible():
    picture = Image.fromarray(np.random.default_rng(1).integers(0, 256, (120, 160, 3), np.uint8))
    mask = np.zeros((120, 160), bool)
    mask[30:90, 40:120] = True
    marked = np.asarray(marked_picture(picture, mask))
    touched = (marked != np.asarray(picture)).any(axis=2)
    assert 0.05 < touched[mask].mean() < 0.1
    grown = np.zeros_like(mask)
    grown[28:92, 38:122] = True
    assert touched[grown & ~mask].all() and not touched[~grown].any()


def test_a_sheet_has_a_picture_for_each_item_and_eye_and_shows_itself(comparison):
    sheet = comparison.sheet()
    assert sheet.width > 2 * 300 and sheet.height > 2 * 150
    with Image.open(io.BytesIO(comparison._repr_png_())) as shown:
        assert shown.size == sheet.size
    # the mark's colour stands only in the second row of pictures, and in the key
    pink = (np.asarray(sheet) == (255, 70, 160)).all(axis=2)
    assert not pink[:170].any() and pink[200:330, :310].any() and pink[200:330, 330:].any()


@pytest.mark.parametrize(
    ("count", "looks", "across", "down"),
    [(3, ["mid"], 1, 3), (5, ["mid"], 2, 3), (2, ["left", "right"], 2, 2)],
)
def test_many_single_pictures_stand_in_pairs(bare, seen_of, count, looks, across, down):
    sheet = compare([seen_of(bare)] * count, looks, 700, 350, samples=1).sheet()
    assert across * 700 < sheet.width < across * 700 + 200
    assert down * 350 < sheet.height < down * 350 + 600


def test_the_page_of_a_notebook_has_picture_and_words(comparison):
    text = comparison._repr_html_()
    assert text.startswith('<img src="data:image/png;base64,')
    assert "&lt;left&gt;" in text and "<left>" not in text
    assert " (worse)</td>" in text
