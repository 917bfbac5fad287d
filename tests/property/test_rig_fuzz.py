"""Broken rig files: each is refused in located words, or can be built and measured."""

import re
import shutil
import string

import numpy as np
import pytest

from seamsight.scene import PoseError, RigError, build, read_rig
from seamsight.viewer import eyes_of, head_named, measure

MUTATIONS = 400  # of each sample rig
MEASURED = 10  # of each sample rig's mutations that are still rigs

NUMBER = re.compile(r"(?<![\w.#\"-])-?\d+(?:\.\d+)?(?![\w.\"])")
KEY = re.compile(r"\b[a-z_]+(?= = )")
VALUE = re.compile(r"(?<= = )(?:\"[^\"\n]*\"|-?[\d.]+|\[[^\[\]\n]*\])")
FILE = re.compile(r"[\w.-]+\.(?:stl|obj|ply|glb|png|jpg)(?=\")")
TABLE = re.compile(r"(?=^\[)", re.MULTILINE)


def replaced(pattern, *others):
    """Return a mutation that puts one of some texts in place of one match."""

    def mutate(random, text):
        found = list(pattern.finditer(text))
        if not found:
            return text
        match = found[random.integers(len(found))]
        return text[: match.start()] + others[random.integers(len(others))] + text[match.end() :]

    return mutate


def line_deleted(random, text):
    lines = text.split("\n")
    del lines[random.integers(len(lines))]
    return "\n".join(lines)


def letter_changed_in_a_key(random, text):
    found = list(KEY.finditer(text))
    place = random.choice([at for match in found for at in range(match.start(), match.end())])
    return text[:place] + random.choice(list(string.ascii_lowercase)) + text[place + 1 :]


def truncated(random, text):
    return text[: random.integers(len(text))]


def bytes_written_over(random, text):
    content = bytearray(text.encode())
    for _ in range(random.integers(1, 6)):
        content[random.integers(len(content))] = random.integers(256)
    return bytes(content)


def tables_swapped(random, text):
    tables = TABLE.split(text)
    one, other = random.integers(len(tables), size=2)
    tables[one], tables[other] = tables[other], tables[one]
    return "".join(tables)


def table_doubled(random, text):
    tables = TABLE.split(text)
    return "".join([*tables, tables[random.integers(len(tables))]])


def bodies_swapped(random, text):
    """Two tables keep their headers and exchange what stands under them."""
    tables = [table.partition("\n") for table in TABLE.split(text)]
    one, other = random.integers(1, len(tables), size=2)
    new = [list(table) for table in tables]
    new[one][2], new[other][2] = tables[other][2], tables[one][2]
    return "".join(part for table in new for part in table)


def with_windows_newlines(random, text):
    return table_doubled(random, text).replace("\n", "\r\n")


def with_a_byte_order_mark(random, text):
    return "\ufeff" + letter_changed_in_a_key(random, text)


def emptied(random, text):
    return ["", "\n", "\ufeff", "#"][random.integers(4)]


MUTATORS = [
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


def check_lines(error, file, content):
    last = content.count(b"\n") + 1
    for line in str(error).split("\n"):
        told = re.match(rf"{re.escape(str(file))}(?::(\d+))?: \S", line)
        assert told, line
        assert told[1] is None or 1 <= int(told[1]) <= last, line
        assert told[1] or "not valid TOML" in line, line  # only then is it the file as a whole


@pytest.fixture
def rig_file(sample, tmp_path):
    """A copy of a sample's folder; its rig file is to be written over."""
    for path in sample.parent.iterdir():
        if path.suffix in (".stl", ".obj", ".ply", ".glb", ".png", ".jpg"):
            shutil.copy(path, tmp_path)
    return tmp_path / "rig.toml"


def test_broken_rigs_are_refused_in_located_words_or_can_be_built(sample, rig_file):
    random, text = np.random.default_rng(11), sample.read_text("utf-8")
    taken, refused = [], 0
    for number in range(MUTATIONS):
        broken = MUTATORS[number % len(MUTATORS)](random, text)
        content = broken if isinstance(broken, bytes) else broken.encode()
        rig_file.write_bytes(content)
        try:
            rig = read_rig(rig_file)
        except RigError as error:
            check_lines(error, rig_file, content)
            refused += 1
        else:
            taken.append(rig)
            assert build(rig).triangles.shape[1:] == (3, 3)
    assert min(len(taken), refused) > MUTATIONS / 10
    for row in random.permutation(len(taken))[:MEASURED]:
        rig = taken[row]
        try:
            numbers = measure(build(rig), eyes_of(rig, head_named(rig, "design")))
        except PoseError:
            continue
        assert len(numbers.screens) == len(rig.screen) + sum(bank.count for bank in rig.bank)
