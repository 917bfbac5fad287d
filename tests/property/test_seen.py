"""What must hold of shares, lenses and rays in any rig."""

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from seamsight.scene import build
from seamsight.scene.frames import rotation
from seamsight.viewer.casting.sightlines import directions_through, thin_lens_intercepts
from seamsight.viewer.casting.trace import trace

few = settings(
    max_examples=25, phases=[Phase.explicit, Phase.generate]
)  # making a rig smaller takes minutes
places = st.tuples(st.floats(-300, 300), st.floats(-100, 100), st.floats(-200, 200)).map(list)
angles = st.floats(-40, 40)
boards = st.fixed_dictionaries(
    {
        "size": st.tuples(st.floats(5, 400), st.floats(5, 40), st.floats(5, 200)).map(list),
        "centre": st.tuples(st.floats(-300, 300), st.floats(200, 420), st.floats(-200, 200)).map(
            list
        ),
        "yaw": angles,
        "roll": st.floats(-180, 180),
    }
)
LENS = {"screen": "screen", "focal_length": 450, "distance": 150, "width": 360, "height": 280}


def named(rows):
    """Give boards names, and turns of their own: of two faces in one plane either may be met."""
    return [
        row | {"name": f"b{number}", "yaw": row["yaw"] + 0.7 * number}
        for number, row in enumerate(rows)
    ]


@few
@given(
    mid=places, rows=st.lists(boards, max_size=3), lens=st.sampled_from([[], [LENS]]), tilt=angles
)
def test_order_of_the_shares(rig_of, screen_at, numbers_of, mid, rows, lens, tilt):
    rig = rig_of(screen=[screen_at(bezel=15, lip=5)], lens=lens, board=named(rows))
    numbers = numbers_of(rig, offset=mid, tilt=tilt)
    seen = numbers.screens["screen"].seen
    few_rays = 2e-6  # sums of many small shares
    assert -few_rays <= seen["both"] <= min(seen["left"], seen["right"]) + few_rays
    assert max(seen["left"], seen["right"]) - few_rays <= seen["either"] <= 1 + few_rays
    # each eye sees what it does not lose: the four shares fit each other, and what is lost has a
    # name
    assert seen["both"] + seen["either"] == pytest.approx(seen["left"] + seen["right"], abs=1e-5)
    lost = sum(numbers.hidden_by["screen"].values())
    assert lost == pytest.approx(1 - (seen["left"] + seen["right"]) / 2, abs=1e-4)


@few
@given(mid=places, rows=st.lists(boards, max_size=2), focal_length=st.floats(1e9, 1e12), yaw=angles)
def test_all_but_flat_lens_changes_nothing(
    rig_of, screen_at, numbers_of, mid, rows, focal_length, yaw
):
    tables = {"screen": [screen_at(yaw=yaw)], "board": named(rows)}
    sheet = LENS | {"focal_length": focal_length, "distance": 100, "width": 3000, "height": 3000}
    bare, covered = (numbers_of(rig_of(**tables, lens=lens), offset=mid) for lens in ([], [sheet]))
    before, after = bare.screens["screen"], covered.screens["screen"]
    assert after.seen == pytest.approx(before.seen, abs=2e-5)
    assert covered.hidden_by["screen"] == pytest.approx(bare.hidden_by["screen"], abs=2e-5)
    assert after.image_distance == pytest.approx(before.image_distance, rel=1e-6)
    assert after.span == pytest.approx(before.span, rel=1e-6)
    assert after.frustum == pytest.approx(before.frustum, rel=1e-6, abs=1e-6)


@given(
    eye=places,
    point=places,
    before=st.floats(150, 900),
    behind=st.floats(10, 400),
    f=st.floats(100, 2000),
)
def test_crossing_of_a_lens_is_the_same_both_ways(eye, point, before, behind, f):
    eye, point = np.array([eye[0], -before, eye[2]]), np.array([point[0], behind, point[2]])
    there, back = (
        thin_lens_intercepts(eye, point[None], f),
        thin_lens_intercepts(point, eye[None], f),
    )
    np.testing.assert_allclose(there, back, rtol=1e-6, atol=1e-6 * np.abs(there).max())


@few
@given(
    eye=places,
    yaw=st.floats(-60, 60),
    roll=st.floats(-180, 180),
    f=st.floats(120, 900),
    share=st.floats(0.1, 0.95),
)
def test_rays_run_back_through_a_lens_as_they_came(rig_of, screen_at, eye, yaw, roll, f, share):
    # a second screen, where the eyes would be, catches what the first one sends back
    axes = rotation(*np.radians([yaw, 0, roll]))
    pose = {"yaw": yaw, "roll": roll}
    front = screen_at("front", centre=list(axes @ [0, 600, 0]), **pose)
    back = screen_at("back", width=5000, height=5000, centre=[0, 0, 0], yaw=yaw + 180, body=1)
    lens = {
        "screen": "front",
        "focal_length": f,
        "distance": share * min(f, 400),
        "width": 5000,
        "height": 5000,
    }
    assembly = build(rig_of(screen=[front, back], lens=[lens]))
    optic = assembly.screens[0].lens
    start = axes @ [eye[0], 0, eye[2]]
    points = np.random.default_rng(4).uniform([-195, 600, -145], [195, 600, 145], (40, 3)) @ axes.T
    there = directions_through(optic, start, points)
    arrived = trace(assembly, start + 0.5 * there, there)
    np.testing.assert_allclose(arrived.points, points, atol=1e-4)
    home = directions_through(optic, points, np.tile(start, (40, 1)))
    returned = trace(assembly, points + 0.5 * home, home)
    assert (returned.parts == assembly.part_id("back")).all()
    np.testing.assert_allclose(returned.points, np.tile(start, (40, 1)), atol=1e-3)
