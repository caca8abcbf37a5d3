"""The few fields by which a form says what is known of an engine without a sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..errors import HowdeepError
from ..files.plain_yaml import dump
from ..files.strict_yaml import parse
from ..interview.engine import ASK, WORDING
from ..knowledge.described import plain_described, read_described
from ..knowledge.fill_in import MAIN, UNKNOWN
from ..model.kind import Described, Kind

FIELDS = (*MAIN, "bearings", "ignition", "cold_aid")
PREFIX = "engine."
"""A field of the form is `engine.fuel`."""


def engine_fields() -> list[tuple[str, str, dict[str, str]]]:
    """(name, question, word -> wording) of every field; the year is typed and has no words."""
    return [
        (
            name,
            ASK[name],
            {str(count): str(count) for count in range(1, 7)} if name == "cylinders" else WORDING.get(name, {}),
        )
        for name in FIELDS
    ]


def engine_from(form: Mapping[str, str], kinds: Mapping[str, Kind]) -> dict[str, Any] | str:
    """What a job writes under `engine` for a form that names no sheet. Raises HowdeepError with every fault."""
    kind = form.get("engine", "")
    typed = {name: form[PREFIX + name].strip() for name in FIELDS if form.get(PREFIX + name, "").strip()}
    plain = {**({"kind": kind} if kind in kinds else {}), **typed}
    if not typed:
        return kind if kind in kinds else UNKNOWN
    faults: list = []
    document = parse(dump({"engine": plain}))
    described = read_described(document, ("engine",), document.value["engine"], kinds, faults)
    if faults:
        raise HowdeepError([type(fault)("", 0, 0, fault.message, fault.hint) for fault in faults])
    return plain_described(described)


def engine_shown(described: Described | None) -> dict[str, str]:
    """The fields of the form as a job fills them."""
    if described is None:
        return {}
    shown = {PREFIX + name: described.known(name) for name in FIELDS}
    return {"engine": described.known("kind") or UNKNOWN, **shown}
