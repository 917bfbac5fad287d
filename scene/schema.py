"""What editors and the users' reference are told of the rig file, taken from the models."""

import re
from typing import Any

from pydantic import BaseModel

from seamsight.scene import display, lamps, outputs, rig, solids
from seamsight.scene.rig import Rig
from seamsight.scene.table import keys_of

_FORMULA = {
    "Formula": {
        "type": "string",
        "pattern": r"^\s*=",
        "description": 'a number worked out of others, as "= lens_width / 2 + 18 mm"',
    }
}
_MARKED_TABLE = re.compile(r"<!-- keys of (\w+)(?: without (\w+))? -->\n.*?<!-- end -->", re.DOTALL)


def rig_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a rig file, for editors that complete and check TOML."""
    schema = _with_formulas(Rig.model_json_schema())
    schema["$defs"] |= _FORMULA
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "Seamsight rig, format 1",
    }


def _with_formulas(schema: Any) -> Any:
    """Return a JSON Schema in which text that begins with "=" may stand for any number."""
    if isinstance(schema, list):
        return [_with_formulas(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    inner = {key: _with_formulas(value) for key, value in schema.items()}
    if schema.get("type") not in ("number", "integer"):
        return inner
    about = {key: inner.pop(key) for key in ("title", "description", "default") if key in inner}
    return {"anyOf": [inner, {"$ref": "#/$defs/Formula"}], **about}


def with_key_tables(markdown: str) -> str:
    """Return a Markdown text, every table after `<!-- keys of MODEL -->` made anew to its end.

    After `<!-- keys of MODEL without OTHER -->`, rows that OTHER has too are left out.
    """

    def table(found: re.Match[str]) -> str:
        rows = _key_rows(found[1])
        known = _key_rows(found[2]) if found[2] else []
        lines = [
            found[0].partition("\n")[0],
            "| key | if left out | meaning |",
            "| --- | --- | --- |",
            *(row for row in rows if row not in known),
            "<!-- end -->",
        ]
        return "\n".join(lines)

    return _MARKED_TABLE.sub(table, markdown)


def _key_rows(name: str) -> list[str]:
    """Return the rows of a model's table: what each key is if left out, and what it means."""
    owners = (rig, display, solids, outputs, lamps)
    [model, *_] = (getattr(of, name) for of in owners if hasattr(of, name))
    rows = []
    for key, field in keys_of(model).items():
        default = "required" if field.is_required() else _shown(field.default)
        meaning = (field.description or "").replace("|", "\\|")
        rows.append(f"| `{key}` | {default} | {meaning} |")
    return rows


def _shown(value: Any) -> str:
    if value is None or value in ((), "", {}):
        return "–"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, BaseModel):
        return "`0`" if isinstance(value, display.Bezel) else "its defaults"
    if isinstance(value, tuple):
        items = (f'"{item}"' if isinstance(item, str) else f"{item:g}" for item in value)
        return f"`[{', '.join(items)}]`"
    return f'`"{value}"`' if isinstance(value, str) else f"`{value:g}`"
