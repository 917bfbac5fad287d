"""The text of a first rig, from a builder's measures and what was chosen for them."""

from string import Template

from seamsight.scene.starting import Choice, Measures
from seamsight.scene.units import MM_PER_UNIT

_COMMENTS_AT = 36  # column of comments that follow something

_HEAD = """\
#:schema ./rig.schema.json
# Written by `seamsight start`. Change a number under [values], and what depends on it follows.
# Lengths are in mm, angles in degrees; x is right, y forward, z up from the floor below your eyes.

format = 1
name = "$name"

[values]
diagonal = $diagonal  # of one image area, from corner to corner
image_width = "= diagonal * $across / hypot($across, $up)"
image_height = "= diagonal * $up / hypot($across, $up)"
bezel = $bezel
radius = $radius  # from your eyes to $middle
board = 18  # thickness of the plywood
"""

_LENS_VALUES = """\
focal_length = $focal_length
lens_width = $lens_width
lens_height = $lens_height
# How many times as large as the screen its image looks in the lens, so that no bezel shows$more;
# and the distance from screen to lens at which it does
fill = "= ${overfill}max(lens_width / image_width, lens_height / image_height)"
distance = "= focal_length * radius * (1 - 1 / fill) / (radius - focal_length)"
half_width = "= max(lens_width, image_width + 2 * bezel + 4) / 2 + board"  # with boards
half_height = "= max(lens_height, image_height + 2 * bezel + 4) / 2 + board"
"""

_BARE_VALUES = """\
half_height = "= image_height / 2 + bezel + board"  # with the glare shield
"""

_PILOT = """
[pilot]
eye_point = [0, 0, $eye_height]  # seated, from the floor to your pupils
pupil_distance = 63  # between your pupils; your optician knows it

[[bank]]  # the outside view: an arc about your eyes; neighbours touch
name = "outside"
count = $count
radius = "= radius"
"""

_SCREEN = """\
screen = { width = "= image_width", height = "= image_height", bezel = "= bezel", pixels = $pixels }
"""

_LENS = """\
lens = { focal_length = "= focal_length", distance = "= distance", width = "= lens_width", \
height = "= lens_height" }
carcass = { thickness = "= board" }  # boards around each screen, from its lens back
"""

_HOOD = """\
hood = { depth = "= max(120, min(radius - 530, 300))", thickness = "= board", \
sides = [$sides] }  # $shades
"""

_BRACKET = """
[[board]]  # upright between two screens, where there is room for it
name = "bracket $number"
on = "outside.$left | outside.$right"
size = ["= board", 100, "= $height"]
centre = [0, "= $room(board / 2 + 1) / tan(outside.toe / 2) + 50", 0]
${mirror}role = "bracket"
"""

_PANEL = """
[[plate]]  # below the glare shield, within reach
name = "main panel"
on = "pilot"
size = [560, 200]
thickness = 4
centre = [0, "= min(radius - 100, 550)", "= -half_height - 105"]
pitch = -8  # the top leans away
role = "panel"
holes = [{ shape = "circle", at = [-68, 5], diameter = 58, name = "airspeed" },
         { shape = "circle", at = [0, 5], diameter = 58, name = "altimeter" },
         { shape = "circle", at = [68, 5], diameter = 58, name = "turn" }]

[[screen]]  # 1 mm behind the panel
name = "gauges"
on = "main panel"
centre = [0, "= main_panel.thickness / 2 + 1", 5]
diagonal = "10.1 in"
aspect = "16:10"
pixels = [1280, 800]
bezel = 8
shows = "card"
"""

_ROOM = "(half_width - lens_width / 2) / sin(outside.toe / 2) + "
_MORE = "\n# (with less, the screens would cut into each other)"
_WORDS = ("One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")


def rig_text(measures: Measures, choice: Choice) -> str:
    """Return the rig file of measures and a choice."""
    has_lenses = measures.lens is not None
    more = choice.overfill > 1 + 1e-6
    width, height = measures.lens or (0.0, 0.0)
    words = {
        "name": title(measures),
        "diagonal": _diagonal(measures.diagonal),
        "across": measures.aspect[0],
        "up": measures.aspect[1],
        "bezel": _number(measures.bezel),
        "lens_width": _number(width),
        "lens_height": _number(height),
        "focal_length": _number(measures.focal_length),
        "radius": _number(choice.radius),
        "overfill": f"{choice.overfill:.6f} * " if more else "",
        "more": _MORE if more else "",
        "eye_height": _number(measures.eye_height),
        "count": measures.count,
        "pixels": list(measures.pixels),
        "sides": '"bottom", "top", "left", "right"' if has_lenses else '"bottom"',
        "shades": "glare shield and rim" if has_lenses else "glare shield",
        "middle": "the middle of each lens" if has_lenses else "the middle of each screen",
    }

    parts = [_HEAD, _LENS_VALUES if has_lenses else _BARE_VALUES, _PILOT, _SCREEN]
    parts += [_LENS] if has_lenses else []
    parts += [_HOOD, *_brackets(measures.count, has_lenses), _PANEL]
    text = "".join(Template(part).substitute(words) for part in parts)
    return "\n".join(map(_aligned, text.split("\n")))


def title(measures: Measures) -> str:
    """Return what a rig of such measures is called."""
    count = measures.count
    many = _WORDS[count - 1] if count <= len(_WORDS) else str(count)
    inches = f"{measures.diagonal / MM_PER_UNIT['in']:.3g}-inch screen{'s' * (count > 1)}"
    if not measures.lens:
        return f"{many} bare {inches}"
    return f"{many} {inches} behind {'a lens' if count == 1 else 'lenses'}"


def _brackets(count: int, has_lenses: bool) -> list[str]:
    """Return a bracket for each seam; those on the right are mirror images."""
    brackets = []
    for number in range(1, count // 2 + 1):
        other = count - number
        words = {
            "number": number,
            "left": number,
            "right": number + 1,
            "room": _ROOM if has_lenses else "",
            "height": "2 * half_height" if has_lenses else "image_height + 2 * bezel",
            "mirror": "" if other == number else f'mirror = "bracket {other}"\n',
        }
        brackets.append(Template(_BRACKET).substitute(words))
    return brackets


def _aligned(line: str) -> str:
    """Return a line with the comment that follows something in a column with others."""
    code, mark, comment = line.partition("  # ")
    return f"{code:{_COMMENTS_AT - 2}}  # {comment}" if mark else line


def _diagonal(mm: float) -> str:
    """Return a screen's diagonal as shops call it, in inches, where it is such a number."""
    tenths = mm / MM_PER_UNIT["in"] * 10
    is_round = abs(tenths - round(tenths)) < 1e-6
    return f'"{round(tenths) / 10:g} in"' if is_round else _number(mm)


def _number(mm: float) -> str:
    return f"{mm:.10g}"
