"""What all models share: frozen, strict, finite numbers, and helpful refusals."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Self
from unicodedata import category

from pydantic import BaseModel, ConfigDict, ValidationError, model_validator

from tablesim.errors import ScenarioError, unknown_name


def is_plain_text(words: str) -> bool:
    """True if a text has no control characters but ends of lines and tabs, and no halves of letters (surrogates)."""
    return not any(category(c) in ("Cc", "Cs") and c not in "\n\t" for c in words)


@contextmanager
def _in_plain_words() -> Iterator[None]:
    """The library's error, raised inside, as ours."""
    try:
        yield
    except ValidationError as error:
        raise ScenarioError(plain_message(error)) from None


class Model(BaseModel):
    """A statement of a person's: immutable, with unknown keys refused and the nearest known one suggested."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)

    def __init__(self, /, **fields: Any) -> None:
        with _in_plain_words():
            super().__init__(**fields)

    # The library then makes models within models without it, so that a fault's place is known from the outermost on.
    __init__.__pydantic_base_init__ = True  # type: ignore[attr-defined]

    @classmethod
    def model_validate(cls, obj: Any, **how: Any) -> Self:
        """A model from its fields; ScenarioError in plain words if it breaks a rule."""
        with _in_plain_words():
            return super().model_validate(obj, **how)

    def __setattr__(self, name: str, value: Any) -> None:
        with _in_plain_words():
            super().__setattr__(name, value)

    def __getstate__(self) -> dict[Any, Any]:
        """What is pickled: the fields alone; what is worked out of them may be added by another thread meanwhile."""
        fields = {name: getattr(self, name) for name in type(self).model_fields}
        return super().__getstate__() | {"__dict__": fields}

    def change(self, **fields: Any) -> Self:
        """A new one with some fields replaced; ScenarioError in plain words if it breaks a rule."""
        return self.model_validate({name: getattr(self, name) for name in type(self).model_fields} | fields)

    @model_validator(mode="before")
    @classmethod
    def _refuse_unknown_keys(cls, data: Any) -> Any:
        if isinstance(data, dict):
            for key in data:
                if key not in cls.model_fields:
                    raise ValueError(unknown_name("key", key, cls.model_fields))
        return data

    @model_validator(mode="after")
    def _refuse_control_characters(self) -> Self:
        for name in type(self).model_fields:
            value = getattr(self, name)
            for words in (value,) if isinstance(value, str) else value if isinstance(value, dict) else ():
                if not is_plain_text(words):
                    raise ValueError(f"{name} must be without control characters; got {words[:40]!r}")
        return self


def check_format(data: Any, key: str, known: int) -> Any:
    """The data, unless its format number under ``key`` is not the known one: then ValueError says what to do."""
    number = data.get(key, known) if isinstance(data, dict) else known
    if isinstance(number, int) and not isinstance(number, bool) and number != known:
        why = "written by a newer version of tablesim; please update" if number > known else "no such format"
        raise ValueError(f"{key}: file format {shown(number)} is unknown here ({why}); this version reads {known}")
    return data


def _path(location: tuple[str | int, ...]) -> str:
    """Where in the file: takes[0].name; a key that is itself at fault is named by what it is a key of."""
    if location[-1:] == ("[key]",):
        return f"{_path(location[:-2])}, a name".removeprefix(", ")
    branches = {kind.__name__ for kind in Model.__subclasses__()} | {"str"}  # of a choice, as pydantic names them
    text = ""
    for part in location:
        if isinstance(part, int):
            text += f"[{part}]"
        elif part not in branches and not part.startswith(("function-", "literal")):
            text += f".{part[:60]}" if text else part[:60]
    return text


LONGEST_SHOWN = 60  # letters of a value in a message


def shown(value: Any) -> str:
    """A value in a message, in JSON's words and short, however long it is."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list | tuple) and len(value) > 4:
        return f"a list of {len(value)}"
    if isinstance(value, list | tuple):
        text = f"[{', '.join(map(shown, value))}]"
        return text if len(text) <= LONGEST_SHOWN else f"a list of {len(value)}"
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, int) and abs(value) >= 10**LONGEST_SHOWN:
        power = int((value.bit_length() - 1) * math.log10(2.0)) + 1  # not by str(), which refuses the longest
        digits = power + (abs(value) >= 10**power)
        return f"{'-' * (value < 0)}{abs(value) // 10 ** (digits - 12)}... ({digits} digits)"
    text = repr(value)
    if len(text) <= LONGEST_SHOWN:
        return text
    return (f"{len(value)} letters, " if isinstance(value, str) else "") + text[: LONGEST_SHOWN - 3] + "..."


def bounds_of(kind: type[Model], field: str) -> tuple[float, float]:
    """Least and greatest value of a model's field that has both."""
    rules = kind.model_fields[field].metadata
    least, most = (next(getattr(r, side) for r in rules if hasattr(r, side)) for side in ("ge", "le"))
    return float(least), float(most)


def longest(kind: type[Model], field: str) -> int:
    """How many letters a model's field may have."""
    rules = kind.model_fields[field].metadata
    return int(next(rule.max_length for rule in rules if hasattr(rule, "max_length")))


def written(model: Model, key: str, number: int) -> str:
    """A model as JSON text, its format number first, without the fields that hold their defaults."""
    data = model.model_dump(mode="json", exclude_defaults=True, exclude_none=True)
    return json.dumps({key: number, **data}, indent=1, ensure_ascii=False) + "\n"


RULES = {  # of pydantic, by their type; what stands in braces is the rule's own number
    "missing": "is required",
    "finite_number": "must be a finite number",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "string_type": "must be a text",
    "string_unicode": "must be a text without halves of letters",
    "int_parsing_size": "must be a shorter number",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "dict_type": "must be an object",
    "model_type": "must be an object",
    "list_type": "must be a list",
    "tuple_type": "must be a list",
    "greater_than": "must be more than {gt:g}",
    "greater_than_equal": "must be at least {ge:g}",
    "less_than": "must be less than {lt:g}",
    "less_than_equal": "must be at most {le:g}",
    "string_too_short": "must have at least {min_length} letters",
    "string_too_long": "must have at most {max_length} letters",
    "too_short": "must have at least {min_length} entries",
    "too_long": "must have at most {max_length} entries",
    "literal_error": "must be {expected}",
    "frozen_instance": "cannot be set, make another with change()",
}
ONE = (("at least 1 letters", "at least 1 letter"), ("at least 1 entries", "at least 1 entry"))


def _rule(fault: Any, others: list[Any]) -> str:
    """The rule that is broken, in words; for a choice between names and an object both."""
    rule = RULES.get(fault["type"])
    if rule is None:
        rule = fault["msg"].removeprefix("Value error, ").removeprefix("Input ")
        return str(rule[:1].lower() + rule[1:])
    if fault["type"] == "float_type" and isinstance(fault["input"], int) and not isinstance(fault["input"], bool):
        return "must be a number below 1e308"
    if fault["type"] == "model_type":
        names = [f for f in others if f["type"] == "literal_error" and f["loc"][:-1] == fault["loc"][:-1]]
        rule = f"must be {names[0]['ctx']['expected']}, or an object" if names else rule
    rule = rule.format(**fault.get("ctx", {})).replace("must be True", "must be true")
    for plural, single in ONE:
        rule = rule.replace(plural, single)
    return rule


def plain_message(error: ValidationError) -> str:
    """The first fault of a pydantic error as one plain line: field, if it has one, rule, value."""
    faults = error.errors(include_url=False)
    # A union reports a fault per branch: the deepest one is nearest to what the writer meant.
    fault = max(faults, key=lambda f: (len(f["loc"]), f["type"] != "literal_error"))
    if fault["loc"] and len(faults) > 1 and faults[0]["loc"][:1] != fault["loc"][:1]:
        fault = faults[0]
    where, rule = _path(fault["loc"]), _rule(fault, faults)
    said = f"{where}: {rule}" if where else rule
    if fault["type"] in ("value_error", "missing"):
        return said
    return f"{said}; got {shown(fault['input'])}"
