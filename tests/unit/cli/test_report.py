"""Numbers in tables and words."""

import dataclasses

import pytest

from seamsight.cli.report import print_numbers
from seamsight.viewer.numbers.lens_models import LensFigures
from seamsight.viewer.numbers.measures import MarkNumbers, Numbers, ScreenNumbers
from seamsight.viewer.numbers.seams import Lost, Seam

SIDES = ("left", "right", "bottom", "top")
SCREEN = ScreenNumbers(
    outside=True,
    magnification=1.5,
    image_distance=825.4,
    image_dioptres=1.25,
    span={"h": 40.04, "v": 30.06},
    visible={eye: {"h": 38.54, "v": 30.06} for eye in ("left", "right", "both", "either")},
    arcmin_per_px={"h": 1.5, "v": 1.5},
    seen={"left": 0.9, "right": 0.85, "both": 0.8, "either": 0.95},
    through=None,
    unsure={"seen": 0.0, "hidden_by": 0.0},
    margin={side: {"left": 4.0, "right": 3.0, "mid": 4.0} for side in SIDES},
    gap_needed=dict.fromkeys(SIDES, 1.0),
)
NOWHERE = ScreenNumbers(
    outside=True,
    magnification=1.0,
    seen=dict.fromkeys(SCREEN.seen, 0.0),
    through=None,
    unsure=SCREEN.unsure,
)
WHOLE = Lost(0.0, None)
SEAM = Seam(
    between=("a", "b"),
    sides=("right", "left"),
    in_scene=True,
    dark={"left": -0.724, "right": None, "mid": -0.004},
    lost={"left": (WHOLE, WHOLE), "right": None, "mid": (WHOLE, WHOLE)},
    both_whole=True,
    gap_present=-12.04,
    gap_needed=3.5,
    black_px=(0, 0),
    facing=None,
)


@pytest.fixture
def printed(capsys, monkeypatch):
    """Return a function from screens, and other numbers, to what is printed of them."""

    def printed(
        screens,
        hidden_by=None,
        seams=(),
        marks=None,
        cautions=(),
        answer=(),
        whole=True,
        columns=120,
    ):
        hidden_by = {name: (hidden_by or {}).get(name, {}) for name in screens}
        numbers = Numbers("rig", "design", screens, list(seams), hidden_by, marks or {})
        monkeypatch.setenv("COLUMNS", str(columns))
        print_numbers(numbers, list(answer), list(cautions), whole=whole)
        return capsys.readouterr().out

    return printed


def row_of(text, name):
    row = next(line for line in text.splitlines() if line.startswith(f" {name} "))
    return " ".join(row.split())


def test_a_screen_s_row_has_its_numbers_under_their_headings(printed):
    text = printed({"a": SCREEN})
    lines = text.splitlines()
    below = next(number for number, line in enumerate(lines) if "fication" in line)
    above = ["magni-", "viewing", "visible", "pixel", "left", "right", "both"]
    assert lines[below - 1].split() == above
    assert lines[below].split() == (
        ["screen", "fication", "distance", "wide", "×", "high", "size", "sees", "sees", "see"]
    )
    row = "a 1.50 × 800 mm 38.5° × 30.1° 1.50′ 90.0 % 85.0 % 80.0 %"
    assert row_of(text, "a") == row


def test_what_cannot_be_seen_from_here_is_one_dash_in_each_column(printed):
    text = printed({"a": NOWHERE})
    assert row_of(text, "a") == "a 1.00 × – – – 0.0 % 0.0 % 0.0 %"
    assert "a: no numbers from this head position: an eye is beside or behind" in text


def test_minus_signs_are_true_ones_and_zero_has_none(printed):
    margin = {side: {"left": -0.04, "right": -1.25, "mid": 0.0} for side in SIDES}
    text = printed({"a": dataclasses.replace(SCREEN, margin=margin)}, seams=[SEAM])
    assert "+0.0 / −1.2" in text
    assert "−0.72° / – / 0.00°" in text
    assert "-0" not in text and "−0.0 " not in text


def test_a_strip_behind_a_part_is_lost_whatever_the_openings_show(printed):
    whole = printed({"a": SCREEN}, seams=[SEAM])
    lost: dict[str, tuple[Lost, Lost] | None] = {"mid": None, "right": None}
    lost |= {"left": (WHOLE, Lost(12.44, "post"))}
    assert "a strip is lost" not in whole
    assert "a strip is lost" in printed({"a": SCREEN}, seams=[dataclasses.replace(SEAM, lost=lost)])


def test_the_first_ten_lines_hold_the_answer(printed):
    answer = [f"{number}: " + "word " * 20 for number in range(9)]  # two lines each
    text = printed({"a": SCREEN}, answer=answer, whole=False, columns=80)
    lines = text.splitlines()
    assert all(f"{number}: word" in text for number in range(5))
    assert "5: word" not in text
    assert lines.index("") == 11  # the title, and ten lines
    assert "Add --all" in text and "In words" not in text
    assert "8: word" in printed({"a": SCREEN}, answer=answer, columns=80)


def test_a_strip_that_both_eyes_lose_alike_is_told_once(printed):
    margin = {side: {"left": 1.0, "right": 1.0, "mid": 1.0} for side in SIDES}
    margin["left"] = {"left": -2.0, "right": -2.02, "mid": -2.0}
    margin["top"] = {"left": -3.0, "right": 1.0, "mid": -1.0}
    text = printed({"a": dataclasses.replace(SCREEN, margin=margin)})
    assert "both eyes lose 2.0 mm at the left, the left eye loses 3.0 mm at the top." in text
    keep = "to lose nothing, keep a black border of 2.0 mm at the left, 3.0 mm at the top, or use a"
    assert f"{keep} larger bezel opening if there is room." in " ".join(text.split())


def test_what_hides_an_image_is_named_and_its_own_lens_by_its_edge(printed):
    hiders = {"a lens": 0.1, "post": 0.0251, "dust": 0.0004}
    text = printed({"a": SCREEN}, {"a": hiders})
    assert "the edge of its own lens hides 10.0 % of the image area" in text
    assert "post hides 2.5 % of the image area" in text
    assert "dust" not in text


def test_screens_with_the_same_to_say_say_it_together(printed):
    assert "a and b: a pixel looks 1.50′ wide, 1.5 times the 1′" in printed(
        {"a": SCREEN, "b": SCREEN}
    )


def figures_of(lens, *, lost=5.0, corner=0.9, in_rig=False, angle=30.0):
    """Return the figures of a lens; 92 % of the light in its middle, and so much in its corners."""
    light = {"centre": 0.92, "corner": corner}
    blur: dict[str, float | None] = {"centre": 0.0, "corner": 2.0}
    field = {"h": 46.6, "v": 30.1}
    distortion = 0.0 if lens == "ideal" else 1.25
    return LensFigures(lens, in_rig, field, lost, light, distortion, 1.0, blur, angle)


IDEAL = figures_of("ideal", corner=1.0, in_rig=True, angle=0.0)
STOCK, TURNED = "stock, grooves to the pilot", "stock, grooves to the screen"


def test_an_ideal_lens_is_told_and_what_sheets_would_do_in_its_place(printed):
    models = (IDEAL, figures_of(STOCK, corner=0.08))
    wider = tuple(dataclasses.replace(each, lost=7.84) for each in models)
    screens = {
        name: dataclasses.replace(SCREEN, f_number=0.73, lens_models=each)
        for name, each in {"a": models, "b": wider}.items()
    }
    text = printed(screens)
    assert 'a and b: the lens is ideal (model = "thin"): the table of lenses shows' in text
    title = "in front of a and b (*: this rig's; lost strip: the widest of all screens)"
    assert " ".join(text.split()).count(title) == 1
    assert row_of(text, "ideal *") == "ideal * 46.6° × 30.1° 7.8 mm 100 % 0.00° 2.0′"
    assert row_of(text, STOCK) == f"{STOCK} 46.6° × 30.1° 7.8 mm 8 % 1.25° 2.0′"


def test_unlike_lenses_have_tables_of_their_own(printed):
    screens = {
        name: dataclasses.replace(SCREEN, f_number=0.73, lens_models=(each,))
        for name, each in {"a": IDEAL, "b": figures_of("ideal", angle=0.0)}.items()
    }
    text = printed(screens)
    assert "in front of a (*: this rig's)" in text and "in front of b (*: this rig's)" in text


@pytest.mark.parametrize(
    ("f_number", "own", "others", "told"),
    [
        (0.73, figures_of(STOCK, in_rig=True), [], None),
        (0.73, IDEAL, [figures_of(STOCK, corner=0.1), figures_of(TURNED)], None),
        (0.41, IDEAL, [figures_of(STOCK)], "f/0.41 to its corners, and hardly any Fresnel lens is"),
        (0.73, IDEAL, [figures_of(STOCK, corner=0.1)], "every real lens in the table leaves"),
        (
            0.73,
            figures_of(STOCK, corner=0.08, in_rig=True, angle=56),
            [figures_of(TURNED, corner=0.83)],
            f"56° steep in the corners, where total reflection and groove walls leave 8 % of the "
            f'light; "{TURNED}" would pass 83 %.',
        ),
        (
            0.73,
            figures_of(STOCK, corner=0.0, in_rig=True, angle=56),
            [figures_of(TURNED, corner=0.1)],
            "leave 0 % of the light; use a longer focal length",
        ),
    ],
)
def test_a_lens_faster_than_it_can_bear_gets_a_cure(printed, f_number, own, others, told):
    screen = dataclasses.replace(SCREEN, f_number=f_number, lens_models=(own, *others))
    text = " ".join(printed({"a": screen}).split())
    if told is None:
        assert "longer focal length" not in text and "too fast" not in text
    else:
        assert told in text


def test_what_grooves_leave_dark_is_told_with_the_reason(printed):
    reason = "the lens's grooves let nothing through"
    dark = dataclasses.replace(
        SCREEN,
        span={"h": None, "v": 30.06},
        visible=SCREEN.visible and SCREEN.visible | {"both": {"h": None, "v": 30.06}},
        frustum=None,
        reasons={"span": reason, "frustum": reason},
    )
    text = " ".join(printed({"a": dark}).split())
    assert "– × 30.1°" in text
    expected = "no value for image field of view or off-axis view"
    assert f"a: {expected}: {reason}." in text


def test_negative_margins_needed_are_explained(printed):
    needed = dict.fromkeys(SIDES, 1.0) | {"top": -0.17}
    text = " ".join(printed({"a": dataclasses.replace(SCREEN, gap_needed=needed)}).split())
    assert "a 1.0 1.0 1.0 −0.2" in text
    assert "minus: both eyes see farther there than the point between them; none is needed" in text
    assert "minus: both eyes" not in printed({"a": SCREEN})


def test_clashing_screens_are_told_instead_of_their_seam(printed):
    meeting = dataclasses.replace(SEAM, dark=dict.fromkeys(SEAM.dark, 0.0))
    text = printed({"a": SCREEN, "b": SCREEN}, seams=[meeting])
    assert "images meet" in text
    clash = dataclasses.replace(meeting, clash=86.9)
    text = printed({"a": SCREEN, "b": SCREEN}, seams=[clash])
    assert "images meet" not in text and "the screens clash" in text


def test_marks_and_cautions_are_told_without_a_screen(printed):
    marks = {"hub": MarkNumbers(3.04, True), "foot": MarkNumbers(9.0, False)}
    text = printed({}, marks=marks, cautions=["Wear gloves."])
    assert "There is no screen in this rig." in text
    assert 'Reference point "hub": 3.0 mm off, within its tolerance.' in text
    assert 'Reference point "foot": 9.0 mm off, OUTSIDE its tolerance.' in text
    assert "Wear gloves." in text
