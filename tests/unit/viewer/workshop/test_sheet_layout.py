"""Boards on sheets: nothing overlaps, kerf and grain are kept, and little is wasted."""

import itertools
import math
import random

import pytest

from seamsight.scene import ChoiceError, build, read_rig
from seamsight.scene.cutting import cut_pieces
from seamsight.scene.solids import Material
from seamsight.viewer.workshop.sheet_layout import GRAINED, Stock, layouts


def boards_of(rig_of, sizes, material="mdf"):
    table = [
        {"name": f"b{n}", "size": [*size, 18], "centre": [0, 9000, 0], "material": material}
        for n, size in enumerate(sizes)
    ]
    return cut_pieces(build(rig_of(board=table)))


def keeps_its_rules(layout):
    length, width = layout.sheet
    for boards in layout.sheets:
        for one in boards:
            assert all(at >= 0 for at in one.at)
            assert one.at[0] + one.size[0] <= length + 1e-6
            assert one.at[1] + one.size[1] <= width + 1e-6
            assert sorted(one.size, reverse=True) == pytest.approx(one.piece.size[:2])
            if layout.material in GRAINED:
                assert one.size == pytest.approx(one.piece.size[:2])
        for one, other in itertools.combinations(boards, 2):
            between = [
                max(b.at[axis] - a.at[axis] - a.size[axis] for a, b in ((one, other), (other, one)))
                for axis in (0, 1)
            ]
            assert max(between) >= layout.kerf - 1e-6
    return True


def cut_straight(boards):
    """Return whether cuts from edge to edge part all boards of a sheet."""
    if len(boards) < 2:
        return True
    for axis in (0, 1):
        ends = sorted(one.at[axis] + one.size[axis] for one in boards)
        for end in ends[:-1]:
            before = [one for one in boards if one.at[axis] + one.size[axis] <= end + 1e-6]
            behind = [one for one in boards if one.at[axis] >= end - 1e-6]
            if len(before) + len(behind) == len(boards) and behind:
                return cut_straight(before) and cut_straight(behind)
    return False


# three bulkheads 898 long do not fit beside a roof of 1500 in 3050, nor above it
NOT_POSSIBLE = [("two_seats", "plywood", 12)]


def test_samples_are_laid_by_the_rules(sample):
    pieces = cut_pieces(build(read_rig(sample)))
    stock: dict[Material, Stock] = {"plywood": Stock((3050.0, 1525.0))}
    found = layouts(pieces, stock)
    assert found
    for layout in found:
        assert keeps_its_rules(layout)
        assert all(cut_straight(boards) for boards in layout.sheets)
        # as few sheets as their area allows
        least = math.ceil(layout.area / math.prod(layout.sheet))
        spare = (sample.stem, layout.material, layout.thickness) in NOT_POSSIBLE
        assert len(layout.sheets) == least + spare


@pytest.mark.parametrize("material", ["mdf", "plywood"])
def test_many_boards_waste_about_a_tenth(rig_of, material):
    chance = random.Random(3)
    sizes = [(chance.uniform(150, 900), chance.uniform(100, 500)) for _ in range(80)]
    [layout] = layouts(boards_of(rig_of, sizes, material), {})
    assert keeps_its_rules(layout)
    assert all(cut_straight(boards) for boards in layout.sheets)
    assert sum(len(boards) for boards in layout.sheets) == 80
    assert layout.share > 0.89


def test_boards_fill_a_sheet_without_a_kerf_and_not_with_one(rig_of):
    pieces = boards_of(rig_of, [(1220, 610)] * 4)
    assert [len(layouts(pieces, {"mdf": Stock(kerf=kerf)})[0].sheets) for kerf in (0, 3)] == [1, 2]


def test_no_kerf_is_lost_at_the_edge(rig_of):
    [layout] = layouts(boards_of(rig_of, [(2440, 1220)]), {})
    assert layout.share == pytest.approx(1)


def test_the_same_every_time(rig_of):
    pieces = boards_of(rig_of, [(700, 200 + n) for n in range(9)])
    first, again = (layouts(pieces, {})[0] for _ in range(2))
    assert first.sheets == again.sheets


def test_a_board_larger_than_its_sheet_is_refused(rig_of):
    with pytest.raises(ChoiceError, match="b0, 2500 × 300 mm, does not fit on a mdf sheet"):
        layouts(boards_of(rig_of, [(2500, 300)]), {})
    across = boards_of(rig_of, [(1300, 1250)], "plywood")
    with pytest.raises(ChoiceError, match="along the grain"):
        layouts(across, {})


def test_a_board_without_grain_may_be_turned(rig_of):
    [layout] = layouts(boards_of(rig_of, [(1300, 300)]), {"mdf": Stock((1000.0, 1400.0))})
    assert layout.sheets[0][0].size == (300, 1300)


def test_posts_are_not_cut_from_sheets(rig_of):
    rig = rig_of(board=[{"name": "post", "size": [60, 60, 900], "centre": [0, 900, 0]}])
    assert layouts(cut_pieces(build(rig)), {}) == []
