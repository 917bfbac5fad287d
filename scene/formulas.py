"""Arithmetic in a rig file: text that begins with "=", as `"= lens_width / 2 + 18 mm"`.

Python's own parser reads it, and only what is on a short list is worked out: numbers, names, four
operations, a few functions. Nothing of it is ever run as code. Angles are degrees.
"""

import ast
import math
import operator
import re
import warnings
from collections.abc import Callable

from seamsight.scene.units import MEASURES, measured

LONGEST = 300  # letters
DEEPEST = 100  # operations within each other
LARGEST = 1e9  # of a result

_PATH = re.compile(r"[^\W\d]\w*(?:\.\w+)+")  # outside.lens.width, pilot.eye_point.3
_DEGREES = re.compile(r"(?<=\d)[ \t]*(?:deg\b|°)")  # which all angles are anyway

FUNCTIONS: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "sin": lambda angle: math.sin(math.radians(angle)),
    "cos": lambda angle: math.cos(math.radians(angle)),
    "tan": lambda angle: math.tan(math.radians(angle)),
    "asin": lambda ratio: math.degrees(math.asin(ratio)),
    "acos": lambda ratio: math.degrees(math.acos(ratio)),
    "atan": lambda ratio: math.degrees(math.atan(ratio)),
    "atan2": lambda up, along: math.degrees(math.atan2(up, along)),
    "hypot": math.hypot,
    "min": min,
    "max": max,
    "abs": abs,
}
_OPERATIONS: dict[type[ast.AST], Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
}


def is_formula(value: object) -> bool:
    """Return whether a rig file's value is text that begins with "="."""
    return isinstance(value, str) and value.lstrip().startswith("=")


def evaluate(text: str, named: Callable[[str], float]) -> float:
    """Return what a formula comes to; a whole number as int.

    Parameters
    ----------
    text : str
        With its "=". Lengths with units, as ``22 in``, count in mm.
    named : callable
        From a name or a path, as ``outside.lens.width``, to its number.

    Raises
    ------
    ValueError
        Saying what is wrong with it, or whatever `named` raises.
    """
    if len(text) > LONGEST:
        msg = f"is too long a formula: at most {LONGEST} characters"
        raise ValueError(msg)
    source, paths = _python(text.strip().removeprefix("="))
    try:
        with warnings.catch_warnings(action="ignore"):  # of "1or 2"
            tree = ast.parse(source, mode="eval")
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        msg = 'is not a formula: write for example "= lens_width / 2 + 18 mm"'
        raise ValueError(msg) from error

    try:
        result = _worked_out(tree.body, lambda name: named(paths.get(name, name)), 0)
    except (ZeroDivisionError, OverflowError, TypeError) as error:
        what = "divides by zero" if isinstance(error, ZeroDivisionError) else "cannot be worked out"
        raise ValueError(what) from error
    if not abs(result) <= LARGEST:
        msg = f"comes to more than {LARGEST:g}"
        raise ValueError(msg)
    return int(result) if result.is_integer() else result


def _python(formula: str) -> tuple[str, dict[str, str]]:
    """Return a formula as Python reads it: units and paths replaced; and the paths by their names.

    Units first: `in` is a word of Python's.
    """
    paths: dict[str, str] = {}

    def stand_in(found: re.Match[str]) -> str:
        name = f"path_{len(paths)}"
        paths[name] = found[0]
        return name

    source = _DEGREES.sub("", _PATH.sub(stand_in, formula))
    return MEASURES.sub(lambda found: f"({measured(found[0])!r})", source).strip(), paths


def _worked_out(node: ast.AST, named: Callable[[str], float], depth: int) -> float:
    if depth > DEEPEST:
        msg = "is nested too deeply"
        raise ValueError(msg)

    def inner(part: ast.AST) -> float:
        return _worked_out(part, named, depth + 1)

    match node:
        case ast.Constant(value=int() | float() as value) if not isinstance(value, bool):
            return float(value)  # at once, so that no whole number grows without end
        case ast.Name(id=name):
            return float(named(name))
        case ast.UnaryOp(op=op, operand=operand) if type(op) in _OPERATIONS:
            return float(_OPERATIONS[type(op)](inner(operand)))
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATIONS:
            return float(_OPERATIONS[type(op)](inner(left), inner(right)))
        case ast.Call(func=ast.Name(id=name), args=args, keywords=[]) if name in FUNCTIONS:
            return _called(name, [inner(arg) for arg in args])
    allowed = f"only + - * / ( ), values and {', '.join(FUNCTIONS)} can stand in a formula"
    raise ValueError(allowed)


def _called(name: str, arguments: list[float]) -> float:
    """Return a function's value; outside its range it says so."""
    try:
        return float(FUNCTIONS[name](*arguments))
    except (ValueError, TypeError) as error:
        given = ", ".join(f"{argument:g}" for argument in arguments)
        msg = f"{name}({given}) has no value"
        raise ValueError(msg) from error
