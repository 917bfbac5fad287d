"""One wide view over several screens: its errors by hand, its best field, its steps."""

import math

import numpy as np
import pytest

from seamsight.scene import PoseError, build
from seamsight.scene.frames import azimuth_and_elevation
from seamsight.viewer.casting.frustum import directions_of
from seamsight.viewer.setup.views import greatest_error, seen_at, seen_places
from seamsight.viewer.setup.wide import best_wide, rigs_own_wide

EYE = np.zeros(3)


def parts(of=3, field=120.0, **keys):
    return [
        {"wide": "world", "field": field, "part": part, "of": of} | keys
        for part in range(1, of + 1)
    ]


@pytest.fixture
def hinged(rig_of, screen_at):
    """Return a function that builds three screens, 600 wide at 700, sides turned in by an angle."""

    def make(turn=45.0, shows=("world",) * 3, gap=0.0, names=("a", "b", "c"), shift=0.0):
        angle = math.radians(turn)
        screens = [
            screen_at(
                name,
                width=600,
                height=337.5,
                pixels=[1920, 1080],
                shows=show,
                centre=[
                    shift + side * (300 + gap + 300 * math.cos(angle)) if side else shift,
                    700 - 300 * math.sin(angle) * abs(side),
                    0,
                ],
                yaw=side * turn,
            )
            for name, show, side in zip(names, shows, (-1, 0, 1), strict=True)
        ]
        return build(rig_of(screen=screens))

    return make


@pytest.mark.parametrize(
    ("turn", "expected"),
    [
        # azimuth of the glass minus azimuth drawn there, 0, 150 … 600 mm out from the hinge:
        # atan((300 + s cos T) / (700 - s sin T)) - atan((300 + s) / 700)
        (30, [0, 1.7868, 4.9050, 8.4701, 11.8610]),
        (45, [0, 1.6248, 5.7887, 11.3254, 17.0326]),
        (60, [0, 0.6010, 5.0299, 12.4409, 21.1420]),
    ],
)
def test_a_plane_s_field_on_hinged_screens(hinged, turn, expected):
    # 1800 mm of one plane at 700
    field = 2 * math.degrees(math.atan(900 / 700))
    assert field == pytest.approx(104.250033, abs=1e-6)
    assembly = hinged(turn, parts(field=field))
    own = rigs_own_wide(assembly)
    places = np.stack([np.linspace(0, 1, 5), np.full(5, 0.5)], axis=1)
    azimuths = [
        np.degrees(azimuth_and_elevation(directions)[0])
        for directions in (
            seen_at(assembly.screen("c"), EYE, places),
            directions_of(own.views["c"], places),
        )
    ]
    np.testing.assert_allclose(azimuths[0] - azimuths[1], expected, atol=1e-4)
    assert math.degrees(own.errors["b"]) == pytest.approx(0, abs=1e-9)
    assert math.degrees(own.errors["c"]) >= expected[-1] - 1e-4
    assert own.errors["a"] == pytest.approx(own.errors["c"], abs=1e-12)


def test_screens_in_one_plane_need_only_the_right_field(hinged):
    found = best_wide(hinged(0.0))
    assert math.degrees(found.field) == pytest.approx(104.250033, abs=1e-5)
    assert found.zoom == pytest.approx(700 / 900, abs=1e-6)
    assert max(found.errors.values()) < 1e-8
    assert [step.px for step in found.steps] == [0, 0]


def test_no_other_wide_view_is_better(hinged):
    assembly = hinged(45.0, shift=60.0)
    found = best_wide(assembly)
    seen = [seen_places(screen, EYE) for screen in assembly.screens]
    assert math.degrees(max(found.errors.values())) > 5
    for change in 3e-3 * np.random.default_rng(1).normal(size=(200, 3)):
        others = [
            view._replace(
                yaw=view.yaw + change[0],
                pitch=view.pitch + change[1],
                **{
                    side: getattr(view, side) * (1 + change[2])
                    for side in ("left", "right", "bottom", "top")
                },
            )
            for view in found.views.values()
        ]
        worst = max(greatest_error(view, *each) for view, each in zip(others, seen, strict=True))
        assert worst > max(found.errors.values()) - 1e-6


def test_the_middle_can_be_right_instead(hinged):
    found = best_wide(hinged(45.0), middle_only=True)
    assert math.degrees(found.field) == pytest.approx(104.250033, abs=1e-5)
    assert found.errors["b"] < 1e-8
    assert math.degrees(found.errors["c"]) > 17


def test_a_gap_in_one_plane_is_its_own_width_in_pixels(hinged):
    # 25 mm of 600 mm with 1920 pixels: 80 pixels; the step is the angle that the gap covers
    found = best_wide(hinged(0.0, gap=25.0))
    assert [step.px for step in found.steps] == [80, 80]
    covered = math.atan(325 / 700) - math.atan(300 / 700)
    assert found.steps[0].angle == pytest.approx(covered, abs=1e-9)
    assert [step.between for step in found.steps] == [("a", "b"), ("b", "c")]


def test_parts_are_taken_in_their_order(hinged):
    shuffled = hinged(45.0, [parts()[number] for number in (2, 0, 1)])
    found = rigs_own_wide(shuffled)
    assert list(found.views) == ["b", "c", "a"]
    assert found.steps[1].px is None  # from the right screen's edge on to the left one


@pytest.mark.parametrize(
    ("shows", "said"),
    [
        ([*parts()[:2], "world"], "part 3 of 3"),
        ([*parts()[:2], parts()[1]], 'is on "b" and "c"'),
        ([*parts()[:2], parts(field=100.0)[2]], "is missing"),
    ],
)
def test_a_wide_picture_must_be_whole(hinged, shows, said):
    assembly = hinged(45.0, shows)
    for find in (best_wide, rigs_own_wide):
        with pytest.raises(PoseError, match=said):
            find(assembly)


def test_what_needs_no_wide_view(hinged, rig_of, screen_at):
    assert rigs_own_wide(hinged()) is None
    one = build(rig_of(screen=[screen_at(shows="world")]))
    assert best_wide(one) is None
    pair = [
        screen_at(name, shows="world", centre=[0, y, 0]) for name, y in (("a", 500), ("b", -500))
    ]
    assert best_wide(build(rig_of(screen=pair))) is None  # one from behind


def test_a_picture_file_has_no_field(hinged):
    shows = [{"wide": "shot.png", "part": part, "of": 3} for part in (1, 2, 3)]
    assembly = hinged(45.0, shows)
    assert rigs_own_wide(assembly) is None
    assert list(best_wide(assembly).views) == ["a", "b", "c"]
