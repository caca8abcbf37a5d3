"""Plain YAML values to typed ones, with every fault at its place. The only module that needs pydantic for rules."""

from __future__ import annotations

import functools
import re
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from ..errors import MOST_FAULTS, Fault, nearest
from ..files.strict_yaml import Document, Path_
from ..model import quantity
from . import condition_text

_NUMBERS = ("float_parsing", "float_type", "int_parsing", "int_type", "int_from_float", "finite_number")
CONDITION_KEYS = ("when", "unless", "applies", "follows", "needs", "valid_when", "doubted_when", "spared")


T = TypeVar("T")


@functools.cache
def adapter(shape: Any) -> TypeAdapter[Any]:
    """The validator of a dataclass, built once."""
    return TypeAdapter(shape)


def typed(document: Document, path: Path_, plain: Any, shape: type[T], faults: list[Fault]) -> T | None:
    """`plain` (which stands at `path` of the document) as a value of `shape`; None, with faults, if it is not one."""
    before = len(faults)
    if not isinstance(plain, dict):
        faults.append(document.fault(path, f"'{plain}' is not a mapping of fields"))
        return None
    prepared = _prepare(document, path, plain, faults)
    try:
        # a class can be hashed; the checker looks at its values
        value: T = adapter(shape).validate_python(prepared)  # type: ignore[arg-type]
    except ValidationError as error:
        for item in error.errors(include_url=False)[:MOST_FAULTS]:
            faults.append(_fault(document, path, item, shape))
        if error.error_count() > MOST_FAULTS:
            faults.append(more_faults(document, error.error_count() - MOST_FAULTS))
        return None
    return value if len(faults) == before else None


def more_faults(document: Document, number: int = 0) -> Fault:
    """That a file has more faults than are named; `number` of them where they were counted."""
    return document.fault(
        (),
        f"{number:,} more faults are not named" if number else "there are more faults",
        f"mend the first {MOST_FAULTS} first",
    )


def _prepare(document: Document, path: Path_, plain: dict[Any, Any], faults: list[Fault]) -> dict[Any, Any]:
    """Conditions parsed, and a single rung written as a word put into its list."""
    result = {}
    for key, value in plain.items():
        here = (*path, key)
        if key in CONDITION_KEYS and value is not None:
            complaints: list[condition_text.Complaint] = []
            condition = condition_text.parse(value, here, complaints)
            faults.extend(document.fault(where, message, hint) for where, message, hint in complaints)
            if condition is None:
                continue
            value = condition
        elif key in ("rung", "seen_at") and isinstance(value, str):
            in_step = key == "rung" and isinstance(path[-1], int)
            value = value if in_step else [{"rung": value}]
        elif key == "steps" and isinstance(value, list):
            value = [
                {"text": item}
                if isinstance(item, str)
                else _prepare(document, (*here, index), item, faults)
                if isinstance(item, dict)
                else item
                for index, item in enumerate(value)
            ]
        elif key in ("rung", "seen_at", "hours_by", "brings_where", "only_on") and isinstance(value, list):
            value = [
                _prepare(document, (*here, index), item, faults) if isinstance(item, dict) else item
                for index, item in enumerate(value)
            ]
        result[key] = value
    return result


def _fault(document: Document, path: Path_, item: Any, shape: type) -> Fault:
    where = (*path, *[part for part in item["loc"] if not (isinstance(part, str) and part[:1].isupper())])
    kind, value = item["type"], item.get("input")
    last = item["loc"][-1] if item["loc"] else ""
    if kind in ("unexpected_keyword_argument", "extra_forbidden"):
        known = _fields_at(shape, item["loc"][:-1])
        return document.fault(
            where,
            f"'{last}' is not a field here",
            nearest(str(last), known) or (f"known: {', '.join(known)}" if len(known) <= 12 else ""),
            at_key=True,
        )
    if kind == "missing":
        return document.fault(where[:-1], f"the field '{last}' is missing")
    if kind == "literal_error":
        expected = item["ctx"]["expected"].replace("'", "")
        options = [word.strip() for word in expected.replace(" or ", ", ").split(",") if word.strip()]
        expected = " or ".join((", ".join(options[:-1]), options[-1])) if len(options) > 1 else options[0]
        if not isinstance(value, str) and str(value) in options:
            return document.fault(
                where, f"{value} is a number here, and a word is wanted", f'write it in quotes: "{value}"'
            )
        return document.fault(where, f"'{value}' is not one of {expected}", nearest(str(value), options))
    if kind in ("dataclass_type", "dataclass_exact_type", "dict_type"):
        parts = _fields_at(shape, item["loc"])
        return document.fault(
            where,
            f"'{value}' stands where parts with names are wanted",
            f"parts: {', '.join(parts)}" if parts else "each on a line: name: value",
        )
    hint = _number_alone(str(value), hours="hours" in where) if kind in _NUMBERS else ""
    return document.fault(where, f"'{value}': {item['msg'][0].lower()}{item['msg'][1:]}", hint)


def _number_alone(text: str, *, hours: bool) -> str:
    """What to write where a number was written with a unit, a comma or words."""
    if hours:
        try:
            return f"write {quantity.parse(text, unit='h').to('h'):g}, the number of hours alone"
        except quantity.QuantityError as error:
            return (
                f"{error}; a number of hours alone"
                if re.search("[0-9] *[a-zA-Z]", text)
                else ("a number of hours alone, such as 1.5")
            )
    number = re.match(r"\s*[-+]?\d+(?:[.,]\d+)?(?![\d,.])", text)
    return f"write {number[0].strip().replace(',', '.')}, a number alone" if number else "a number alone, such as 1.5"


def _fields_at(shape: type, loc: Path_) -> list[str]:
    """Field names of the dataclass that `loc` leads to, as far as it can be told."""
    import dataclasses
    import typing

    here: Any = shape
    for part in loc:
        if typing.get_origin(here) is dict:
            here = typing.get_args(here)[1]
            continue
        if dataclasses.is_dataclass(here):
            hints = typing.get_type_hints(here)
            if part not in hints:
                return []
            here = hints[part]
        if typing.get_origin(here) is dict:
            continue
        args = [arg for arg in typing.get_args(here) if arg is not type(None)]
        nested = [arg for arg in args if dataclasses.is_dataclass(arg)]
        if not dataclasses.is_dataclass(here) and nested:
            here = nested[-1]
    return [field.name for field in dataclasses.fields(here)] if dataclasses.is_dataclass(here) else []
