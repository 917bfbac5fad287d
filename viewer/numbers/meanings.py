"""What `sample_rigs/NUMBERS.md` says of each key of the JSON that `check` writes."""

import re

_TABLE = re.compile(r"<!-- numbers -->\n.*?<!-- end -->", re.DOTALL)

MEANINGS: tuple[tuple[tuple[str, ...], str], ...] = (
    (
        ("magnification",),
        "lateral magnification: size of the virtual image over size of the image area, f / (f − d) "
        "for a lens of focal length f at distance d; 1 without a lens. The angle grows less, see "
        "`angular`",
    ),
    (
        ("image_distance", "image_dioptres"),
        "distance from the point between the eyes, square on, to the plane of the (virtual) image, "
        "mm; focus for the image's centre, 1000 / (distance to that centre in mm), dioptres. The "
        "two agree only where you look at the image square on",
    ),
    (
        ("outside",),
        'whether the screen shows the outside view: it is a unit of a bank, or shows "world" or '
        "part of a wide picture",
    ),
    (
        ("span",),
        "image field of view: angle between the middles of the image's left and right edge (`h`) "
        "and of its bottom and top edge (`v`), degrees, hidden or not",
    ),
    (
        ("visible",),
        "visible field of view: angle between the outermost places of the image's middle row (`h`) "
        "and middle column (`v`) that the `left` eye, the `right`, `both` or `either` really sees "
        "through the screen's own lens, with all parts of the rig in place, degrees",
    ),
    (
        ("arcmin_per_px",),
        "pixel size: how wide (`h`) and high (`v`) a pixel looks at the image's centre, arc "
        "minutes; a 20/20 eye resolves 1",
    ),
    (
        ("seen",),
        "share of the image area seen by the `left` eye, the `right`, `both` or `either`, with all "
        "parts of the rig in place",
    ),
    (
        ("through", "unsure"),
        "the same share, of what is seen through the screen's own lens and not past its edge; by "
        "how much shares may be off: `seen`, and each part's in `hidden_by`",
    ),
    (
        ("margin",),
        "visible margin, for each side and eye: how far beyond the image's edge the eye could "
        "still see the image's plane, mm; negative: a strip of that width is lost",
    ),
    (
        ("gap_needed",),
        "margin needed, for each side: visible margin that the point between the eyes must have so "
        "that neither eye loses a strip, mm; not a gap between screens. A grooved lens can make it "
        "negative: both eyes then see farther past that edge than the point between them, and "
        "nothing is needed",
    ),
    (
        ("frustum",),
        "off-axis view to set in the simulator, from this head position: tangents of the angles to "
        "the image's `left`, `right`, `bottom` and `top` edge, measured from the screen's normal "
        "through the point between the eyes, and the `yaw`, `pitch` and `roll` of that normal, "
        "degrees",
    ),
    (
        ("angular",),
        "angular magnification: image field of view with the lens over that without it, across "
        "(`h`) and up (`v`); less than `magnification`, as the virtual image is also farther away",
    ),
    (
        ("focus",),
        "what the eyes must focus to, dioptres: at the image's `centre`, and at the visible corner "
        "that differs most from it, in the plane through the lens's axis (`tangential`) and at "
        "right angles to it (`sagittal`)",
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
        "how far a groove spreads the light of a point, up to the first minimum, arc minutes; of "
        "pixels and grooves, the coarser spacing over the finer (`ratio`), and the width of the "
        "moiré bands that both make together (`period`, arc minutes). `null` without a lens",
    ),
    (
        ("reasons",),
        "why numbers of the screen are `null` at this head position, by their names; empty where "
        "none is",
    ),
    (
        ("f_number",),
        "focal length over the diagonal of the lens's clear aperture; hardly any Fresnel lens is "
        "made below about 0.5 (from memory). `null` without a lens",
    ),
    (
        ("lens_models",),
        "what each `lens` would do in this one's place: an ideal one, a stock one and one cut for "
        "the rig, with grooves towards the pilot and towards the screen; `in_rig` marks the rig's "
        "own. `field`: field of view through the aperture from the point between the eyes, "
        "degrees; `lost`: widest strip lost to either eye, mm; `light`, `distortion`, `colour` as "
        "below; `blur`: as `sharp` below; `groove_angle` of the steepest facets, degrees. `null` "
        "without a lens, and outside `check`",
    ),
    (
        ("seams",),
        "for each two neighbouring images, the screens `between` which the seam is: `dark`, the "
        "width of the dark strip for each eye and for the point between them (`mid`), degrees, "
        "negative where the images repeat; `lost`, how wide a strip of the first and of the second "
        "image each eye loses there, mm, and the part that it is `behind` (`null`: the edge of its "
        "own lens or bezel); `both_whole`, whether lens and bezel edges hide no strip from either "
        "eye; `gap_present` and `gap_needed`, visible margin there and margin needed, of both "
        "sides together, mm; `black_px`, pixels to keep black on each side; and all these once "
        "more with the head turned to the seam, `facing`. `sides`: which side of each image faces "
        "the other; `in_scene`: whether the two screens show one continuous view; `clash`: how "
        "deep the two screens or their lenses cut into each other, mm",
    ),
    (
        ("distortion", "colour", "light", "blocked", "sharp"),
        "of a grooved lens, over the part of the image that is seen through it from the point "
        "between the eyes: `distortion`, shift of the image's edge against an ideal lens, degrees; "
        "`colour`, angle between red and blue, arc minutes; `light`, share of the light that "
        "passes; `blocked`, share that groove walls block; `sharp`, blur of a point with a 4 mm "
        "pupil, arc minutes: 0 is sharp",
    ),
    (
        ("hidden_by",),
        "for each screen: share of its image area that each part hides, mean of both eyes",
    ),
    (("marks",), "how far each reference point is `off`, mm; `good`: within its tolerance"),
    (
        ("notes",),
        'what to check before you build. Of `kind` "clash": the `names` of two parts that run into '
        "each other, and the `amount`, how deep, mm: of two boxes, by how much one must move; of "
        'others, how wide the space that both take up is at its narrowest. "unit": a number whose '
        'unit seems to be missing. "misfit": parts or values that do not suit each other. `amount` '
        "is then the value that does not fit, or `null`; `text`, the same in words, with what to "
        "do; `line` of the rig file, or `null`",
    ),
)


def with_number_table(markdown: str) -> str:
    """Return a Markdown text with the table from `<!-- numbers -->` to `<!-- end -->` made anew."""
    rows = ["| number | meaning |", "| --- | --- |"]
    for keys, meaning in MEANINGS:
        rows.append(f"| {', '.join(f'`{key}`' for key in keys)} | {meaning} |")
    table = "\n".join(["<!-- numbers -->", *rows, "<!-- end -->"])
    return _TABLE.sub(lambda _: table, markdown)
