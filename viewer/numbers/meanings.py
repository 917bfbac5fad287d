"""What the README says of each key of the JSON that `check` writes."""

import re

_TABLE = re.compile(r"<!-- numbers -->\n.*?<!-- end -->", re.DOTALL)

MEANINGS: tuple[tuple[tuple[str, ...], str], ...] = (
    (
        ("magnification",),
        "how many times as large the screen looks: f / (f - d) for a lens of focal length f at "
        "distance d",
    ),
    (
        ("image_distance", "image_dioptres"),
        "from the mid-eye square on to the image's plane, mm; what the eyes focus to for the "
        "image's middle, 1000 / mm of the viewing distance: the same distance only seen square on",
    ),
    (("span",), "angle that the image covers across (`h`) and up (`v`), degrees"),
    (("arcmin_per_px",), "how large a pixel looks, arc minutes; a 20/20 eye resolves 1"),
    (
        ("seen",),
        "share of the image that the `left` eye, the `right`, `both`, `either` see, past every "
        "part of the rig",
    ),
    (
        ("through", "unsure"),
        "the same of what is seen through the screen's own lens, not past its edge; by how much "
        "areas may be off: `seen`, and each part's in `hidden_by`",
    ),
    (
        ("margin",),
        "for each side and eye: how far past the image's edge its plane can be seen, mm; "
        "negative: that strip is lost",
    ),
    (
        ("gap_needed",),
        "for each side: the margin beyond the image that the mid-eye must have for both eyes to "
        "see it whole, mm. Negative, as it may be behind a grooved lens: both eyes see farther "
        "past that edge than the mid-eye does, so nothing is needed",
    ),
    (
        ("frustum",),
        "tangents of the image's edges in the screen's own axes, with its yaw, pitch and roll: "
        "the view to set in the simulator",
    ),
    (
        ("angular",),
        "how many times as large the angle across (`h`) and up (`v`) is as without the lens in the "
        "same place; less than `magnification`, since the image stands farther away",
    ),
    (
        ("focus",),
        "what an eye between both must focus to, dioptres: the image's `centre`, and the seen "
        "corner that departs most from it, along the plane with the lens's axis (`tangential`) and "
        "across it (`sagittal`)",
    ),
    (
        ("binocular", "swim"),
        "through a grooved lens, greatest over the image, arc minutes: by what height both eyes' "
        "directions to a point differ (`vertical`); how much more or less than for the ideal "
        "lens's flat image the eyes must turn in (`converge`, `diverge`; `vergence` is the "
        "greater); how far points drift against that image when the head goes 30 mm aside. 0 "
        "without such a lens",
    ),
    (
        ("diffraction", "moire"),
        "how far each groove spreads a point, to its first dark, arc minutes; how often the finer "
        "of pixels and grooves goes into the coarser (`ratio`), and how wide the bands are that "
        "both make together (`period`, arc minutes)",
    ),
    (
        ("reasons",),
        "why those of the screen's numbers that are `null` are so, by their names; empty where "
        "none is",
    ),
    (
        ("f_number",),
        "focal length over the diagonal of the lens's aperture; below about 0.5 (from memory) "
        "hardly any sheet is made",
    ),
    (
        ("lens_models",),
        "a list: what an ideal `lens`, a stock sheet and one cut for the rig, grooves to the pilot "
        "or to the screen, would show in this lens's place, and which is `in_rig`. `field` seen "
        "through the aperture by the mid-eye, degrees; widest strip `lost` to an eye, mm; `light`, "
        "`distortion`, `colour`, `blur` as below; `groove_angle` of the steepest facets, degrees. "
        "`null` without a lens, and outside `check`",
    ),
    (
        ("seams",),
        "for neighbouring images `between` which the seam lies: `dark`, the angle of the dark "
        "strip for each eye, degrees; `both_whole`, whether neither eye loses a strip; "
        "`gap_present` and `gap_needed`, mm; `black_px` to keep black on each side; and the same "
        "with the face turned to it, `facing`. `sides` tells which side of each image faces the "
        "other, `in_scene` whether one scene should run on across it, `clash` how deep the two "
        "screens or their lenses cut into each other, mm",
    ),
    (
        ("distortion", "colour", "light", "blocked", "sharp"),
        "of a grooved lens, in what its aperture shows to the mid-eye: shift of the border against "
        "an ideal lens, degrees; red from blue, arc minutes; share of light that passes, and that "
        "groove walls block; blur of a point over a 4 mm pupil, arc minutes",
    ),
    (("hidden_by",), "for each screen: which part covers how much of its image"),
    (("marks",), "how far each mark is `off`, mm, and whether that is `good`"),
    (
        ("notes",),
        'what to look at before building: of `kind` "clash" the `names` of two parts of '
        "neighbouring screens that cut into each other, the `amount` that one would have to be "
        "moved, mm, and both in words, `text`; `line` of the rig file, if there is one",
    ),
)


def with_number_table(markdown: str) -> str:
    """Return a Markdown text with the table from `<!-- numbers -->` to `<!-- end -->` made anew."""
    rows = ["| number | meaning |", "| --- | --- |"]
    for keys, meaning in MEANINGS:
        rows.append(f"| {', '.join(f'`{key}`' for key in keys)} | {meaning} |")
    table = "\n".join(["<!-- numbers -->", *rows, "<!-- end -->"])
    return _TABLE.sub(lambda _: table, markdown)
