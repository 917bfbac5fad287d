"""What every table of a rig file shares."""

from typing import Self

from pydantic import BaseModel, ConfigDict, model_validator
from pydantic.fields import FieldInfo


def described(text: str) -> ConfigDict:
    """Return what tells editors more of a table than the one line of its docstring."""
    return ConfigDict(json_schema_extra={"description": text})


class Table(BaseModel):
    """What every table shares: no unknown keys, nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    def broken_rule(self) -> str | None:
        """Return in words the rule between this table's own keys that is broken, or None."""
        return None

    @model_validator(mode="after")
    def _keeps_its_rules(self) -> Self:
        broken = self.broken_rule()
        if broken:
            raise ValueError(broken)
        return self


def keys_of(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Return the fields of a table by their keys in the file: `in` is no name that Python takes."""
    return {field.alias or name: field for name, field in model.model_fields.items()}
