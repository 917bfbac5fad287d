"""Numbers in tables and words."""

import dataclasses

import pytest

from seamsight.cli.report import print_numbers
from seamsight.viewer.numbers.measures import MarkNumbers, Numbers, ScreenNumbers
from seamsight.viewer.numbers.seams import Seam

SIDES = ("left", "right", "bottom", "top")
SCREEN = ScreenNumbers(
    magnification=1.5,
    image_distance=825.4,
    image_dioptres=1.25,
    span={"h": 40.04, "v": 30.06},
    arcmin_per_px={"h": 1.5, "v": 1.5},
    seen={"left": 0.9, "right": 0.85, "both": 0.8, "either": 0.95},
    through=None,
    unsure={"seen": 0.0, "hidden_by": 0.0},
    margin={side: {"left": 4.0, "right": 3.0, "mid": 4.0} for side in SIDES},
    gap_needed=dict.fromkeys(SIDES, 1.0),
)
NOWHERE = ScreenNumbers(
    magnification=1.0, seen=dict.fromkeys(SCREEN.seen, 0.0), through=None, unsure=SCREEN.unsure
)
SEAM = Seam(
    between=("a", "b"),
    sides=("right", "left"),
    in_scene=True,
    dark={"left": -0.724, "right": None, "mid": -0.004},
    both_whole=True,
    gap_present=-12.04,
    gap_needed=3.5,
    black_px=(0, 0),
    facing=None,
)


@pytest.fixture
def printed(capsys):
    """Return a function from screens, and other numbers, to what is printed of them."""

    def printed(screens, hidden_by=None, seams=(), marks=None, cautions=()):
        hidden_by = {name: (hidden_by or {}).get(name, {}) for name in screens}
        numbers = Numbers("rig", "design", screens, list(seams), hidden_by, marks or {})
        print_numbers(numbers, list(cautions))
        return capsys.readouterr().out

    return printed


def row_of(text, name):
    row = next(line for line in text.splitlines() if line.startswith(f" {name} "))
    return " ".join(row.split())


def test_a_screen_s_row_has_its_numbers_under_their_headings(printed):
    text = printed({"a": SCREEN})
    heading = next(line for line in text.splitlines() if "looks larger" in line)
    words = ["looks larger", "image at", "focus", "across × up", "one pixel", "left sees"]
    words += ["right sees", "both see"]
    places = [heading.index(word) for word in words]
    assert places == sorted(places)
    row = "a 1.50 × 825 mm 1.25 D 40.0° × 30.1° 1.50′ 90.0 % 85.0 % 80.0 %"
    assert row_of(text, "a") == row


def test_what_cannot_be_seen_from_here_is_one_dash_in_each_column(printed):
    text = printed({"a": NOWHERE})
    assert row_of(text, "a") == "a 1.00 × – – – – 0.0 % 0.0 % 0.0 %"
    assert "a: an eye is not before its lens" in text


def test_minus_signs_are_true_ones_and_zero_has_none(printed):
    margin = {side: {"left": -0.04, "right": -1.25, "mid": 0.0} for side in SIDES}
    text = printed({"a": dataclasses.replace(SCREEN, margin=margin)}, seams=[SEAM])
    assert "+0.0 / −1.2" in text
    assert "−0.72° / – / 0.00°" in text
    assert "−12.0 mm" in text
    assert "-0" not in text and "−0.0 " not in text


def test_a_strip_that_both_eyes_lose_alike_is_told_once(printed):
    margin = {side: {"left": 1.0, "right": 1.0, "mid": 1.0} for side in SIDES}
    margin["left"] = {"left": -2.0, "right": -2.02, "mid": -2.0}
    margin["top"] = {"left": -3.0, "right": 1.0, "mid": -1.0}
    text = printed({"a": dataclasses.replace(SCREEN, margin=margin)})
    assert "both eyes lose 2.0 mm at the left, the left eye loses 3.0 mm at the top." in text
    assert "keep a black border of 2.0 mm left, 3.0 mm top inside the image" in text


def test_what_hides_an_image_is_named_and_its_own_lens_by_its_edge(printed):
    hiders = {"a lens": 0.1, "post": 0.0251, "dust": 0.0004}
    text = printed({"a": SCREEN}, {"a": hiders})
    assert "10.0 % of the image is hidden by the edge of its own lens" in text
    assert "2.5 % of the image is hidden by post" in text
    assert "dust" not in text


def test_screens_with_the_same_to_say_say_it_together(printed):
    assert "a, b: a pixel spans 1.50 arcmin, 1.5 times" in printed({"a": SCREEN, "b": SCREEN})


def test_marks_and_cautions_are_told_without_a_screen(printed):
    marks = {"hub": MarkNumbers(3.04, True), "foot": MarkNumbers(9.0, False)}
    text = printed({}, marks=marks, cautions=["Wear gloves."])
    assert "There is no screen in this rig." in text
    assert 'The mark "hub" is 3.0 mm from where it should be, within its tolerance.' in text
    assert 'The mark "foot" is 9.0 mm from where it should be, OUTSIDE its tolerance.' in text
    assert "Wear gloves." in text
