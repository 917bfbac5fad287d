"""Broken rig files, meshes and pictures, and what must come of each: located words, or geometry.

Shared by `tests/property/test_rig_fuzz.py`, which tries some thousands, and `long.py`, which tries
as many as one has time for.
"""

import io
import re
import string
from collections.abc import Callable
from pathlib import Path

import numpy as np
import trimesh
from PIL import Image

from seamsight.scene import PoseError, RigError, build, read_rig
from seamsight.scene.rig import Rig
from seamsight.viewer import Projection, eyes_of, head_named, measure, see

Random = np.random.Generator
Mutator = Callable[[Random, str], str | bytes]

NUMBER = re.compile(r"(?<![\w.#\"-])-?\d+(?:\.\d+)?(?![\w.\"])")
KEY = re.compile(r"\b[a-z_]+(?= = )")
VALUE = re.compile(r"(?<= = )(?:\"[^\"\n]*\"|-?[\d.]+|\[[^\[\]\n]*\])")
FILE = re.compile(r"[\w.-]+\.(?:stl|obj|ply|glb|png|jpg)(?=\")")
ASSIGNED = re.compile(r"^([\w.]+) = (.+)$", re.MULTILINE)
TABLE = re.compile(r"(?=^\[)", re.MULTILINE)


def replaced(pattern: re.Pattern[str], *others: str) -> Mutator:
    """Return a mutation that puts one of some texts in place of one match."""

    def mutate(random: Random, text: str) -> str:
        found = list(pattern.finditer(text))
        if not found:
            return text
        match = found[random.integers(len(found))]
        return text[: match.start()] + others[random.integers(len(others))] + text[match.end() :]

    return mutate


def line_deleted(random: Random, text: str) -> str:
    lines = text.split("\n")
    del lines[random.integers(len(lines))]
    return "\n".join(lines)


def letter_changed_in_a_key(random: Random, text: str) -> str:
    found = list(KEY.finditer(text))
    if not found:
        return text
    place = random.choice([at for match in found for at in range(match.start(), match.end())])
    return text[:place] + random.choice(list(string.ascii_lowercase)) + text[place + 1 :]


def truncated(random: Random, text: str) -> str:
    return text[: random.integers(len(text))]


def bytes_written_over(random: Random, text: str) -> bytes:
    content = bytearray(text.encode())
    for _ in range(random.integers(1, 6)):
        content[random.integers(len(content))] = random.integers(256)
    return bytes(content)


def tables_swapped(random: Random, text: str) -> str:
    tables = TABLE.split(text)
    one, other = random.integers(len(tables), size=2)
    tables[one], tables[other] = tables[other], tables[one]
    return "".join(tables)


def table_doubled(random: Random, text: str) -> str:
    tables = TABLE.split(text)
    return "".join([*tables, tables[random.integers(len(tables))]])


def bodies_swapped(random: Random, text: str) -> str:
    """Two tables keep their headers and exchange what stands under them."""
    tables = [table.partition("\n") for table in TABLE.split(text)]
    if len(tables) == 1:
        return text
    one, other = random.integers(1, len(tables), size=2)
    new = [list(table) for table in tables]
    new[one][2], new[other][2] = tables[other][2], tables[one][2]
    return "".join(part for table in new for part in table)


def with_windows_newlines(random: Random, text: str) -> str:
    return table_doubled(random, text).replace("\n", "\r\n")


def with_a_byte_order_mark(random: Random, text: str) -> str:
    return "\ufeff" + letter_changed_in_a_key(random, text)


def emptied(random: Random, text: str) -> str:
    return ["", "\n", "\ufeff", "#"][random.integers(4)]


def assigned(random: Random, text: str) -> tuple[re.Match[str], re.Match[str]] | None:
    """Return two lines that give a value to a key, from anywhere."""
    found = list(ASSIGNED.finditer(text))
    if not found:
        return None
    one, other = random.integers(len(found), size=2)
    return found[one], found[other]


def value_of_another_table(random: Random, text: str) -> str:
    """A key gets the value that another has, from whatever table."""
    pair = assigned(random, text)
    if pair is None:
        return text
    one, other = pair
    return text[: one.start(2)] + other[2] + text[one.end(2) :]


def key_of_another_table(random: Random, text: str) -> str:
    """A table gets a key of another, with its value."""
    pair = assigned(random, text)
    if pair is None:
        return text
    one, other = pair
    return text[: one.end()] + "\n" + other[0] + text[one.end() :]


ODD = [
    "\u202e",  # right to left from here
    "\u0627\u0644",  # letters that are written so
    "e" + "\u0301" * 30,
    "\u200b\u2060\ufeff",  # of no width
    "\U0001f469\u200d\U0001f680",
    "\\ud800",  # a surrogate, escaped as TOML does not allow
    "\\U0010FFFF",
    "\\u0000",
    "\\u001b[31m",
    "\ud7ff\uffff",
    "\u2028",
    "%s{}$(x)`",
    "\x7f",
]


def odd_letters(random: Random, text: str) -> str:
    """Letters that few programs expect, in a text, a key or anywhere."""
    places = [match.end() - 1 for match in re.finditer(r'"[^"\n]*"', text)]
    place = (
        int(random.choice(places))
        if places and random.random() < 0.8
        else random.integers(len(text) + 1)
    )
    return text[:place] + ODD[random.integers(len(ODD))] + text[place:]


def nested_deeply(random: Random, text: str) -> str:
    """A value, or a table's name, of many levels."""
    depth = int(random.choice([5, 50, 500, 5000]))
    deep = [
        "[" * depth + "]" * depth,
        "{ a = " * depth + "1" + " }" * depth,
        "[" * depth,
        f"{{ {'a.' * depth}b = 1 }}",
    ]
    if random.random() < 0.2:
        return f"{text}\n[{'a.' * depth}b]\nc = 1\n"
    return str(replaced(VALUE, *deep)(random, text))


MUTATORS: list[Mutator] = [
    value_of_another_table,
    key_of_another_table,
    odd_letters,
    nested_deeply,
    line_deleted,
    letter_changed_in_a_key,
    truncated,
    bytes_written_over,
    tables_swapped,
    table_doubled,
    bodies_swapped,
    with_windows_newlines,
    with_a_byte_order_mark,
    emptied,
    replaced(KEY, "nonsense", '"a b"', "name"),
    replaced(re.compile(KEY.pattern + r" = "), ""),
    replaced(
        VALUE,
        "true",
        '"text"',
        "7",
        "[]",
        "[[1, 2], 3]",
        "{}",
        "{ wide = 1 }",
        "1979-05-27",
        '""',
        "-0.0",
    ),
    replaced(NUMBER, "-1", "-500", "0", "1e-9"),
    replaced(NUMBER, "1e5", "1e9", "1e300", "9" * 400, "0.02", "3.5"),
    replaced(NUMBER, "nan", "inf", "-inf"),
    replaced(NUMBER, '"10 px"', '"ten mm"', '"22 in"', '"-3 cm"', '"1e400 m"'),
    replaced(FILE, "missing.stl", "missing.png", "rig.toml", "."),
    replaced(FILE, "../outside.stl", "/etc/hosts", "a/../../b.png", "C:\\\\x.stl"),
]


def bytes_changed(random: Random, content: bytes) -> bytes:
    """A file with bytes, numbers or words changed, parts taken out, doubled or moved."""
    broken = bytearray(content)
    for _ in range(random.integers(1, 4)):
        place, other = (int(at) for at in random.integers(len(broken) + 1, size=2))
        kind = random.integers(7)
        if kind == 0:
            for at in random.integers(len(broken) + 1, size=random.integers(1, 9)):
                broken[at : at + 1] = bytes([random.integers(256)])
        elif kind == 1:
            del broken[place:]
        elif kind == 2:
            del broken[place : place + random.integers(1, 80)]
        elif kind == 3:
            broken[place:place] = broken[other : other + random.integers(1, 200)]
        elif kind == 4:
            word = [0, 1, 2**31 - 1, 2**31, 2**32 - 1, 0x7F800000, 0x7FC00000][random.integers(7)]
            in_order = word.to_bytes(4, "little")
            broken[place : place + 4] = in_order if random.random() < 0.5 else in_order[::-1]
        elif kind == 5:
            numbers = list(re.finditer(rb"-?\d+(?:\.\d+)?", bytes(broken)))
            if numbers:
                match = numbers[random.integers(len(numbers))]
                odd = [b"-1", b"0", b"1000000000", b"1e999", b"nan", b"9" * 40, b"x", b"300000000"]
                broken[match.start() : match.end()] = odd[random.integers(len(odd))]
        else:
            broken += bytes(random.integers(0, 256, random.integers(1, 300), np.uint8))
    return bytes(broken)


def whole_files() -> dict[str, bytes]:
    """Return a right file of each format, by name: meshes of a few triangles, small pictures."""
    ball = trimesh.creation.icosphere(1, radius=40)
    pair = trimesh.Scene([ball, ball.copy().apply_translation((100, 0, 0))])
    meshes: dict[str, bytes | str] = {
        "a.stl": ball.export(file_type="stl"),
        "text.stl": ball.export(file_type="stl_ascii"),
        "a.obj": ball.export(file_type="obj"),
        "a.ply": ball.export(file_type="ply"),
        "text.ply": ball.export(file_type="ply", encoding="ascii"),
        "a.glb": ball.export(file_type="glb"),
        "two.glb": pair.export(file_type="glb"),
    }
    files = {
        name: content.encode() if isinstance(content, str) else content
        for name, content in meshes.items()
    }
    shown = Image.effect_noise((64, 48), 80).convert("RGB")
    for name, kind in (("a.png", "PNG"), ("a.jpg", "JPEG"), ("a.webp", "WEBP"), ("a.gif", "GIF")):
        stream = io.BytesIO()
        shown.save(stream, kind)
        files[name] = stream.getvalue()
    return files


def rig_with(file: str) -> str:
    """Return the text of a rig with a mesh, or a screen that shows a picture."""
    head = 'format = 1\nname = "rig"\n[pilot]\neye_point = [0, 0, 0]\n'
    screen = (
        '[[screen]]\nname = "s"\nwidth = 400\nheight = 300\npixels = [64, 48]\n'
        "centre = [0, 600, 0]\n"
    )
    if file.endswith((".stl", ".obj", ".ply", ".glb")):
        mesh = f'[[mesh]]\nname = "m"\nfile = "{file}"\nunit = "cm"\ncentre = [0, 400, 0]\n'
        return head + screen + mesh
    return f'{head}{screen}shows = "{file}"\n'


def check_lines(error: RigError, file: Path, content: bytes) -> None:
    """Hold every line of a refusal to a place in the file, or to TOML that cannot be read."""
    last = content.count(b"\n") + 1
    for line in str(error).split("\n"):
        told = re.match(rf"{re.escape(str(file))}(?::(\d+))?: \S", line)
        assert told, line
        assert told[1] is None or 1 <= int(told[1]) <= last, line
        assert told[1] or "not valid TOML" in line, line  # only then is it the file as a whole


def taken(file: Path, content: bytes) -> Rig | None:
    """Write a rig file and read it; return the rig, which can be built, or None if refused."""
    file.write_bytes(content)
    try:
        rig = read_rig(file)
    except RigError as error:
        check_lines(error, file, content)
        return None
    triangles = build(rig).triangles
    assert triangles.shape[1:] == (3, 3)
    assert np.isfinite(triangles).all()
    return rig


def look(rig: Rig) -> None:
    """Measure a rig and draw a small picture of it, if no eye is inside a part."""
    assembly = build(rig)
    eyes = eyes_of(rig, head_named(rig, "design"))
    try:
        numbers = measure(assembly, eyes)
        view = see(assembly, eyes.point("mid"), Projection("equirectangular", 40, 20, 120.0))
    except PoseError:
        return
    assert len(numbers.screens) == len(assembly.screens)
    assert np.isfinite(view.light).all()
