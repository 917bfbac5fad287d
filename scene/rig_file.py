"""From a rig file to a Rig, or to every problem in the file with its line."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from seamsight.scene.errors import Problem, RigError
from seamsight.scene.places import settled
from seamsight.scene.rig import Rig
from seamsight.scene.rig_rules import inside_rules, rules_between, rules_despite
from seamsight.scene.rig_words import (
    LONGEST_SENTENCE,
    Data,
    Finding,
    in_words,
    located,
    printable,
)
from seamsight.scene.toml_lines import DEEPEST, long_key_line
from seamsight.scene.values import computed, with_changes

MOST_BYTES = 2**20  # of the rig file itself
_DECIMAL_COMMA = re.compile(r"=\s*[-+]?\d+,\d+\s*(?:#|$)")
_BARE = re.compile(r"(?<=[=\[,])\s*([-+\w.][^\[\]{}\"'=#,]*\"?)(?=\s*(?:[,\]}#]|$))")  # no quotes
MOST_HINTS = 1000  # problems of keys up to which each gets a hint at what was meant


def read_rig(file: str | Path, changes: Mapping[str, Any] | None = None) -> Rig:
    """Read a rig file, format 1.

    Parameters
    ----------
    file : str or Path
    changes : dict, optional
        From paths in words, as "outside.lens.distance", to values that count instead of the file's.

    Raises
    ------
    RigError
        With everything that is wrong with the file, each with its line.
    FileError
        When a mesh is replaced, while the file is read, by one that cannot be used.
    ChoiceError
        When the path of a change leads nowhere.
    """
    return rig_of(read_source(file), changes)


@dataclass(frozen=True)
class RigSource:
    """A rig file as it was read.

    Attributes
    ----------
    file : str
        As the user wrote it.
    content : bytes
    data : dict
        Its tables, right or wrong; not to be changed.
    """

    file: str
    content: bytes
    data: Data


def read_source(file: str | Path) -> RigSource:
    """Return a rig file's bytes and tables, of which rigs can be made without reading it again.

    Raises
    ------
    RigError
        When it cannot be read, or is not TOML.
    """
    return source_of(str(file), _content(Path(file)))


def source_of(file: str, content: bytes) -> RigSource:
    """Return what a rig file of such content would be.

    Raises
    ------
    RigError
        When it is not TOML.
    """
    return RigSource(file, content, _parsed(_text(content, file), file))


def rig_of(source: RigSource, changes: Mapping[str, Any] | None = None) -> Rig:
    """Return the rig of a file; for changes and errors see `read_rig`."""
    path = Path(source.file)
    written = with_changes(source.data, changes or {})
    results = computed(written)
    data = results.data
    findings = list(_findings(data, path, results.wrong))
    text = _text(source.content, source.file)
    if findings:
        raise RigError(source.file, located(findings, written, text))
    return settled(Rig.model_validate(data).read_from(path, changes, text))


def _content(path: Path) -> bytes:
    try:
        if not path.is_file():
            what = "is not a file" if path.exists() else "no such file"
            raise _refusal(str(path), "is a folder, not a rig file" if path.is_dir() else what)
        if path.stat().st_size > MOST_BYTES:
            most = f"at most {MOST_BYTES // 2**20} MB"
            raise _refusal(str(path), f"is too large for a rig file: {most}")
        return path.read_bytes()
    except RigError:
        raise
    except (OSError, ValueError) as error:
        raise _refusal(str(path), f"cannot be read ({error})") from error


def _text(content: bytes, file: str) -> str:
    try:
        return content.decode("utf-8-sig")  # Windows editors put a byte order mark first
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise _refusal(file, "is not UTF-8 text", line) from error


def _parsed(source: str, file: str) -> Data:
    long_key = long_key_line(source)
    if long_key is not None:
        raise _refusal(file, f"has a key of more than {DEEPEST} parts", long_key)
    try:
        return tomllib.loads(source)
    except tomllib.TOMLDecodeError as error:
        # the place is told in words only: "Invalid value (at line 3, column 7)"
        text, _, place = str(error).rpartition(" (at ")
        line = place.partition("line ")[2].partition(",")[0]
        number = int(line) if line.isdigit() else source.count("\n") + 1
        what = f"is not valid TOML: {printable(text or str(error), LONGEST_SENTENCE)}"
        what += _quoting_hint(source, number)
        raise _refusal(file, what, number) from error
    except (RecursionError, ValueError) as error:
        what = "is not valid TOML: nested too deeply, or a number too long"
        raise _refusal(file, what) from error


def _quoting_hint(source: str, number: int) -> str:
    """Return what a line that is no TOML should probably say, or nothing: 27", 16/9, w / 2, 1,5."""
    lines = source.splitlines()
    line = lines[number - 1] if number <= len(lines) else ""
    if _DECIMAL_COMMA.search(line[:LONGEST_SENTENCE]):
        return " (write a decimal point, not a comma)"
    for found in _BARE.finditer(line[:LONGEST_SENTENCE]):
        word = found[1].strip()
        if not _is_value(word):
            return f" (write it in quotes: {_quoted(word)})"
    return ""


def _is_value(word: str) -> bool:
    try:
        tomllib.loads(f"value = {word}")
    except tomllib.TOMLDecodeError:
        return False
    return True


def _quoted(word: str) -> str:
    """Return a bare word as a rig file should write it."""
    if word.endswith('"'):
        return f'"{word[:-1]} in"'
    if re.fullmatch(r"\d+/\d+", word):
        return f'"{word.replace("/", ":")}"'
    is_sum = not word[0].isdigit() and re.search(r"[-+*/]", word)
    return f'"= {word}"' if is_sum else f'"{word}"'


def _refusal(file: str, what: str, line: int = 0) -> RigError:
    """Return the error of a file that contains no tables; line 0 means the file as a whole."""
    return RigError(file, [Problem(line, "", what)])


def _findings(data: Data, path: Path, formulas: list[Finding]) -> Iterator[Finding]:
    """Yield all that is wrong with a file's tables, in which some formulas could not be used."""
    left = {finding.path for finding in formulas}
    try:
        Rig.model_validate(data)
        wrong = []
    except ValidationError as error:
        details = error.errors()
        # looking for the nearest of the known words takes long for very many
        hints = len(details) <= MOST_HINTS
        wrong = [in_words(detail, data, hints=hints) for detail in details]
    # a formula without a result is no wrong value besides
    wrong = [*formulas, *(finding for finding in wrong if finding.path not in left)]
    between = list(rules_between(data, path))
    yield from wrong
    yield from rules_despite(wrong, data)
    yield from between
    yield from inside_rules(data, [*wrong, *between], path)
