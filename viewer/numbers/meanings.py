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
        "from the mid-eye, square on, to the image's plane, mm; what the eyes focus to for the "
        "image's middle: 1000 / viewing distance in mm. Both distances are the same only where the "
        "eyes look at the image square on",
    ),
    (
        ("outside",),
        "whether it is one of the screens of the outside scene: a unit of a bank, or one that "
        'shows "world" or part of a wide picture',
    ),
    (("span",), "angle between the image's edges across (`h`) and up (`v`), degrees"),
    (
        ("visible",),
        "angle really seen across (`h`) and up (`v`), past every part of the rig: between the "
        "outermost places that the `left` eye, the `right`, `both`, `either` see on the image's "
        "middle row and column, through its own lens; degrees",
    ),
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
        "see it whole, mm. A grooved lens can make it negative: both eyes then see farther past "
        "that edge than the mid-eye does, and nothing is needed",
    ),
    (
        ("frustum",),
        "tangents of the image's edges in the screen's own axes, with its yaw, pitch and roll: "
        "the view to set in the simulator",
    ),
    (
        ("angular",),
        "how many times as large the angle across (`h`) and up (`v`) is as without the lens; less "
        "than `magnification`, because the image is also farther away",
    ),
    (
        ("focus",),
        "what the eyes must focus to, dioptres: for the image's `centre`, and for the visible "
        "corner that differs most from it, in the plane through the lens's axis (`tangential`) and "
        "at right angles to it (`sagittal`)",
    ),
    (
        ("binocular", "swim"),
        "through a grooved lens, the greatest over the image, arc minutes: how much higher one eye "
        "sees a point than the other (`vertical`); how much more (`converge`) or less (`diverge`) "
        "the eyes must turn in than for a flat image, and the larger of both (`vergence`); how far "
        "points drift when the head moves 30 mm sideways (`swim`). 0 with an ideal lens or none",
    ),
    (
        ("diffraction", "moire"),
        "how far a groove spreads the light of a point, up to the first dark, arc minutes; how "
        "often the finer of pixels and grooves goes into the coarser (`ratio`), and how wide the "
        "bands are that both make together (`period`, arc minutes). `null` without a lens",
    ),
    (
        ("reasons",),
        "why numbers of the screen cannot be told from here and are `null`, by their names; empty "
        "where all can",
    ),
    (
        ("f_number",),
        "focal length over the diagonal of the lens's aperture; hardly any sheet is made below "
        "about 0.5 (from memory). `null` without a lens",
    ),
    (
        ("lens_models",),
        "a list of what each `lens` would show in this one's place: an ideal one, a stock sheet "
        "and one cut for the rig, with grooves to the pilot and to the screen; `in_rig` marks the "
        "rig's own. `field`, degrees, that the mid-eye sees through the aperture; the widest strip "
        "`lost` to either eye, mm; `light`, `distortion`, `colour`, `blur` as below; "
        "`groove_angle` of the steepest facets, degrees. `null` without a lens, and outside "
        "`check`",
    ),
    (
        ("seams",),
        "for neighbouring images `between` which the seam lies: `dark`, the angle of the dark "
        "strip for each eye, degrees; `lost`, how wide a strip of the first and of the second "
        "image each eye loses there, mm, and which part it is `behind` (`null`: where its own "
        "opening ends); `both_whole`, whether the openings hide no strip from either eye; "
        "`gap_present` and `gap_needed`, mm; `black_px` to keep black on each side; and the same "
        "with the face turned to it, `facing`. `sides` tells which side of each image faces the "
        "other, `in_scene` whether one scene should run on across it, `clash` how deep the two "
        "screens or their lenses cut into each other, mm",
    ),
    (
        ("distortion", "colour", "light", "blocked", "sharp"),
        "of a grooved lens, for that part of the image which its aperture shows to the mid-eye: "
        "shift of the border against an ideal lens, degrees; red from blue, arc minutes; share of "
        "light that passes, and that groove walls block; blur of a point over a 4 mm pupil, arc "
        "minutes",
    ),
    (("hidden_by",), "for each screen: which part covers how much of its image"),
    (("marks",), "how far each mark is `off`, mm, and whether that is `good`"),
    (
        ("notes",),
        'what to mend before building. Of `kind` "clash": the `names` of two parts of different '
        "screens that cut into each other, the `amount` by which one would have to move, mm, and "
        "the same as a sentence, `text`; `line` of the rig file, or `null`",
    ),
)


def with_number_table(markdown: str) -> str:
    """Return a Markdown text with the table from `<!-- numbers -->` to `<!-- end -->` made anew."""
    rows = ["| number | meaning |", "| --- | --- |"]
    for keys, meaning in MEANINGS:
        rows.append(f"| {', '.join(f'`{key}`' for key in keys)} | {meaning} |")
    table = "\n".join(["<!-- numbers -->", *rows, "<!-- end -->"])
    return _TABLE.sub(lambda _: table, markdown)
