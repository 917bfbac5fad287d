"""Whatever rig `start` writes is right, and shows no bezel from the design eye point."""

import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from seamsight.scene import Head, build, read_rig
from seamsight.scene.starting import Measures, best, usual_focal_length, usual_pixels
from seamsight.scene.starting_choice import choose
from seamsight.scene.starting_text import rig_text
from seamsight.viewer import eyes_of, measure

thirty = settings(max_examples=30, phases=[Phase.explicit, Phase.generate])
screens: st.SearchStrategy[dict[str, Any]] = st.builds(
    dict,
    count=st.integers(1, 6),
    diagonal=st.floats(300, 1400).map(lambda mm: round(mm, 1)),
    aspect=st.sampled_from([(16, 9), (16, 10), (4, 3), (21, 9), (9, 16)]),
    bezel=st.sampled_from([0.0, 3.0, 10.0, 16.0, 25.0]),
    eye_height=st.floats(1150, 1500).map(round),
)


def measured(measures):
    """Return the numbers of the rig for some measures, as seen from the design eye point."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "rig.toml")
        file.write_text(rig_text(measures, choose(measures)), "utf-8")
        rig = read_rig(file)  # any error in it is raised
    numbers = measure(build(rig), eyes_of(rig, Head(name="here")))
    # odd measures are told of, but nothing is in the way of anything
    assert all(note.kind == "misfit" for note in numbers.notes)
    suits = measures.lens is None or (measures.f_number > 1 and choose(measures).lost < 1e-6)
    assert not (suits and numbers.notes)
    return numbers


@thirty
@given(
    screen=screens,
    across=st.floats(0.95, 1.3),
    up=st.floats(0.95, 1.3),
    strength=st.floats(0.8, 1.4),
)
def test_bezels_vanish_from_the_design_eye_point(screen, across, up, strength):
    pixels = usual_pixels(screen["aspect"])
    width, height = Measures(pixels=pixels, **screen).image
    lens = (round(width * across), round(height * up))
    focal_length = round(usual_focal_length(lens) * strength)
    measures = Measures(pixels=pixels, lens=lens, focal_length=focal_length, **screen)
    assume(best(measures))
    kept = choose(measures).kept

    numbers = measured(measures)
    outside = {name: one for name, one in numbers.screens.items() if one.outside}
    assert len(outside) == measures.count
    for one in outside.values():
        # nothing beyond the image's edge is seen from the point between the eyes
        assert all(side["mid"] <= 0.01 for side in one.margin.values())
        # what is lost to it is what was said
        assert -one.margin["left"]["mid"] == pytest.approx(width * (1 - kept[0]) / 2, abs=0.05)
        assert -one.margin["top"]["mid"] == pytest.approx(height * (1 - kept[1]) / 2, abs=0.05)

    dark = {tuple(sorted(seam.between)): seam.dark["mid"] for seam in numbers.seams}
    for number in range(1, measures.count):
        assert abs(dark[f"outside.{number}", f"outside.{number + 1}"]) < 0.001


@thirty
@given(screen=screens)
def test_bare_screens_are_seen_whole(screen):
    numbers = measured(Measures(pixels=usual_pixels(screen["aspect"]), **screen))
    outside = [one for one in numbers.screens.values() if one.outside]
    assert all(one.seen["both"] > 0.9999 for one in outside)
