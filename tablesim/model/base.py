"""What all models share: frozen, strict, finite numbers, and helpful refusals."""

from __future__ import annotations

import json
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError, model_validator

from tablesim.errors import ScenarioError, unknown_name


class Model(BaseModel):
    """A statement of a person's: immutable, with unknown keys refused and the nearest known one suggested."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)

    @model_validator(mode="before")
    @classmethod
    def _refuse_unknown_keys(cls, data: Any) -> Any:
        if isinstance(data, dict):
            for key in data:
                if key not in cls.model_fields:
                    raise ValueError(unknown_name("key", key, cls.model_fields))
        return data


def check_format(data: Any, key: str, known: int) -> Any:
    """The data, unless its format number under ``key`` is not the known one: then ValueError says what to do."""
    number = data.get(key, known) if isinstance(data, dict) else known
    if isinstance(number, int) and not isinstance(number, bool) and number != known:
        why = "written by a newer version of tablesim; please update" if number > known else "no such format"
        raise ValueError(f"{key}: file format {number} is unknown here ({why}); this version reads {known}")
    return data


def _path(location: tuple[str | int, ...]) -> str:
    text = ""
    for part in location:
        if isinstance(part, int):
            text += f"[{part}]"
        elif not part.startswith("function-") and part not in ("str", "literal"):
            text += f".{part}" if text else part
    return text


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list | tuple) and len(value) > 4:
        return f"a list of {len(value)}"
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


Stated = TypeVar("Stated", bound=Model)


def read_model(kind: type[Stated], data: dict[str, Any]) -> Stated:
    """A model from its fields; ScenarioError in plain words if it breaks a rule."""
    try:
        return kind.model_validate(data)
    except ValidationError as error:
        raise ScenarioError(plain_message(error)) from None


def written(model: Model, key: str, number: int) -> str:
    """A model as JSON text, its format number first, without the fields that hold their defaults."""
    data = model.model_dump(mode="json", exclude_defaults=True, exclude_none=True)
    return json.dumps({key: number, **data}, indent=1, ensure_ascii=False) + "\n"


RULES = {
    "missing": "is required",
    "finite_number": "must be a finite number",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "string_type": "must be a text",
    "bool_type": "must be true or false",
    "dict_type": "must be an object",
    "model_type": "must be an object",
    "list_type": "must be a list",
    "tuple_type": "must be a list",
}


def plain_message(error: ValidationError) -> str:
    """The first fault of a pydantic error as one plain line: field, rule, value."""
    faults = error.errors(include_url=False)
    # A union reports a fault per branch: the deepest one is nearest to what the writer meant.
    fault = max(faults, key=lambda f: (len(f["loc"]), f["type"] != "literal_error"))
    if fault["loc"] and len(faults) > 1 and faults[0]["loc"][:1] != fault["loc"][:1]:
        fault = faults[0]
    where = _path(fault["loc"])
    rule = RULES.get(fault["type"])
    if rule is None:
        rule = fault["msg"].removeprefix("Value error, ").removeprefix("Input ")
        rule = rule[:1].lower() + rule[1:]
        if fault["type"] == "value_error":
            return f"{where}: {rule}" if where else rule
    if fault["type"] == "missing":
        return f"{where}: {rule}"
    separator = "" if rule.startswith(("must", "should", "is ")) else " "
    return f"{where}: {separator}{rule}; got {_shown(fault['input'])}"
