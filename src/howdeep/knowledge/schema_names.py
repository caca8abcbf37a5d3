"""A schema with the ids of one rule base written in, so that an editor offers causes, findings, answers by name.

Rule files may mention an id that another file has yet to bring, so ids are offered there and not insisted on; in a job
only the observations and answers of the rule base can stand, so there they are insisted on.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ..model.job import OTHER_WAIVERS
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from .condition_names import fact_shapes
from .load import KINDS
from .names import CHECK_FIELDS, POINTERS

_SECTIONS = {"answers": "talk", "readings": "test", "teardown": "teardown"}


def with_names(name: str, plain: Mapping[str, Any], knowledge: Knowledge, sheets: Sequence[str] = ()) -> dict[str, Any]:
    """The schema `name` with ids of the rule base (and of engine sheets and kinds of engine) written in."""
    result = copy.deepcopy(dict(plain))
    kind = name.removeprefix("rules-")
    if name == "job":
        _job(result["properties"], result["$defs"], knowledge, sheets)
    elif name == "price-list":
        _offer(result["properties"]["parts"], knowledge.parts)
        _offer(result["properties"]["machine"], knowledge.machining)
        _offer(result["properties"]["hours"], knowledge.operations)
    elif name == "engine-sheet":
        _offer(result["properties"]["hours"], knowledge.operations)
    elif kind in KINDS:
        fields = result["$defs"][KINDS[kind].__name__]["properties"]
        for field, target in POINTERS.get(kind, {}).items():
            _offer(fields[field], getattr(knowledge, target))
        for field in CHECK_FIELDS.get(kind, ()):
            _offer(fields[field], [*knowledge.observations, *knowledge.checks])
    if "Source" in result.get("$defs", {}):
        _offer(result["$defs"]["Source"]["properties"]["of"], knowledge.sources)
    if "condition" in result.get("$defs", {}):
        fact, finding = result["$defs"]["condition"]["anyOf"][:2]
        _offer(fact["properties"]["fact"], fact_shapes(knowledge))
        _offer(finding["properties"]["finding"], knowledge.findings)
    return result


def _offer(field: dict[str, Any], ids: Iterable[str]) -> None:
    """Offer ids where a field takes one, a list of them, or a mapping from them."""
    offered = {"anyOf": [{"enum": sorted(ids)}, {"type": "string"}]}
    if field.get("type") == "array":
        field["items"] = offered
    elif field.get("type") == "object":
        field["propertyNames"] = offered
    else:
        field.pop("type", None)
        field.update(offered)


def _job(fields: dict[str, Any], definitions: dict[str, Any], knowledge: Knowledge, sheets: Sequence[str]) -> None:
    for section, moment in _SECTIONS.items():
        own = {name: _answer(item) for name, item in knowledge.observations.items() if item.moment == moment}
        fields[section] = {
            "type": "object",
            "description": fields[section].get("description", ""),
            "properties": own,
            "additionalProperties": False,
        }
    if sheets:
        fields["engine"] = {
            "anyOf": [
                {"enum": sorted(sheets)},
                {"type": "string", "pattern": r"\.yaml$"},
                *(item for item in fields["engine"]["anyOf"] if item.get("type") == "object"),
            ],
            "description": fields["engine"].get("description", ""),
        }
    _insist(fields["waived"], (*knowledge.holds, *OTHER_WAIVERS))
    _insist(definitions["Found"]["properties"]["causes"], knowledge.causes)


def _insist(field: dict[str, Any], ids: Iterable[str]) -> None:
    field["propertyNames"] = {"enum": sorted(ids)}


def _answer(item: Observation) -> dict[str, Any]:
    """What may stand for one observation in a job."""
    put_off = [None, "unknown", "later"]
    if item.kind == "choice":
        one: dict[str, Any] = {
            "enum": [*item.answers, *[int(word) for word in item.answers if word.isdecimal()], *put_off]
        }
    else:
        one = {"type": ["string", "number", "null"]}
    told = {"description": " ".join(f"{item.title}. {item.ask}".split())}
    if item.rows:
        row = {"anyOf": [one, {"type": "array", "items": one}]}
        one = {"type": "object", "properties": dict.fromkeys(item.rows, row), "additionalProperties": False}
    if not item.each:
        return {**one, **told}
    several = {"type": "object", "patternProperties": {"^([1-9][0-9]*|all)$": one}, "additionalProperties": False}
    return {"anyOf": [several, {"type": "array", "items": one}, {"enum": put_off}], **told}
