"""JSON Schema of every file a person writes, from the same shapes that read it: an editor completes and checks them.

Descriptions are the field texts of the dataclasses. Two things are written by hand, because the reader gives them a
shape of their own: conditions, which hold each other, and a rung written as one word. A schema is never stricter than
the reader about what a file may hold, but for numbers and truths written as quoted text.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic import TypeAdapter

from ..model.asked import Asked
from ..model.engine import Engine
from ..model.job import Job
from ..model.kind import Kind
from ..model.knowledge import Settings
from ..model.plausible import Plausible
from ..model.prices import TABLES, TERMS, Priced, PriceList
from ..model.sheet_form import SheetGroup, UsualBuild
from ..model.shop import ShopSettings
from ..model.terms import CONFIG, RUNGS
from .build_words import WORDS
from .load import KINDS
from .names import ID
from .sheet_form import sheet_form

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_CONDITION_SHAPES = ("FactTest", "FindingTest", "AllOf", "AnyOf", "Not")
_BY_ID: dict[str, type] = {**KINDS, "plausible": Plausible, "sheet_form": SheetGroup, "usual_builds": UsualBuild}
_SINGLE = {
    "rules-kinds": (Kind, "A kind of engine: how such engines are built, and general figures."),
    "engine-sheet": (Engine, "An engine sheet: the figures of one engine model."),
    "price-list": (PriceList, "A price list: what work costs at one shop."),
    "shop": (ShopSettings, "The shop: letterhead, tools, altitude, units, floors of a promise, who signs."),
    "rules-asked": (Asked, "What a shop is asked for when it begins a price list, and words of suppliers."),
    "job": (Job, "A job: one customer's case."),
    "rules-settings": (Settings, "The table that binds words to numbers, and the constants of the reasoning."),
}


def schema_names() -> tuple[str, ...]:
    """Names of all schemas, in order."""
    return tuple(sorted([*_SINGLE, *(f"rules-{kind}" for kind in _BY_ID)]))


def schema(name: str) -> dict[str, Any]:
    """One schema by name. Raises KeyError for an unknown name."""
    if name in _SINGLE:
        shape, title = _SINGLE[name]
        body = _tidy(_described(shape))
        definitions = body.pop("$defs", {})
        if shape is PriceList:
            body = _with_marks(body)
            definitions = {key: item for key, item in definitions.items() if key != "Mark"}
            definitions["Priced"] = _tidy(_described(Priced))
        if name == "rules-settings":
            body["properties"] = {
                "version": {"type": ["string", "number"], "description": "Version of the rule base."},
                **body["properties"],
            }
    else:
        shape = _BY_ID[name.removeprefix("rules-")]
        entry = _tidy(_described(shape))
        definitions = {**entry.pop("$defs", {}), shape.__name__: entry}
        title = f"Rules, {name.removeprefix('rules-')}: entries by id. {entry.get('description', '')}".strip()
        body = {
            "type": "object",
            "propertyNames": {"pattern": f"^({ID.pattern})$"},
            "additionalProperties": {"$ref": f"#/$defs/{shape.__name__}"},
        }
    if name == "job":
        body["properties"] = {**body["properties"], "engine": engine_of_job(body["properties"]["engine"])}
    body.pop("description", None)
    definitions = {key: item for key, item in definitions.items() if key not in _CONDITION_SHAPES}
    result = {"$schema": DIALECT, "title": title, **body}
    if "#/$defs/condition" in json.dumps([body, definitions]):
        definitions["condition"] = condition_schema()
    if definitions:
        result["$defs"] = dict(sorted(definitions.items()))
    return result


def engine_of_job(plain: dict[str, Any]) -> dict[str, Any]:
    """What a job may write under `engine`: a name, or a mapping of what is known of an engine without a sheet. Words
    are listed and not enforced, for the reader takes them as people write them."""
    from .described import FIELDS
    from .figure_words import FIELDS as CALLED

    text = {"type": ["string", "number", "boolean"]}
    known: dict[str, Any] = {
        "kind": {**text, "description": "the kind of engine, where nobody knows more"},
        "year": {
            **text,
            "description": f"{CALLED['year']}: it tells poured from shell bearings, six volts from twelve",
            "examples": ["1936", "1930s", "1935-1940", "unknown"],
        },
    }
    form = sheet_form()
    for field in FIELDS:
        words = WORDS.get(field, tuple(str(count) for count in range(1, 7)))
        asked = form.field(f"build.{field}")
        why = f": {asked.purpose[0].lower()}{asked.purpose[1:].rstrip('.')}" if asked else ""
        known[field] = {"anyOf": [{"enum": [*words, "unknown"]}, text], "description": f"{CALLED[field]}{why}"}
    mapping = {
        "type": "object",
        "properties": known,
        "additionalProperties": False,
        "description": "What is known of an engine without a sheet; leave out what nobody knows.",
    }
    return {
        "anyOf": [{key: item for key, item in plain.items() if key != "description"}, mapping],
        "description": plain.get("description", ""),
    }


def _with_marks(body: dict[str, Any]) -> dict[str, Any]:
    """The schema of a price list with figures as they are written: bare, or with a mark."""

    def marked(plain: dict[str, Any]) -> dict[str, Any]:
        if isinstance(plain.get("anyOf"), list):  # may be left out altogether
            (plain,) = (
                {**item, "description": plain["description"]} for item in plain["anyOf"] if item.get("type") != "null"
            )
        if isinstance(plain.get("additionalProperties"), dict):
            return {**plain, "additionalProperties": marked(plain["additionalProperties"])}
        told: dict[str, Any] = {key: plain[key] for key in ("description", "default") if key in plain}
        bare = {key: item for key, item in plain.items() if key not in told}
        return {"anyOf": [bare, {"$ref": "#/$defs/Priced"}], **told}

    figures = (*TERMS, *TABLES, "engine_parts")
    properties = {
        name: marked(item) if name in figures else item
        for name, item in body["properties"].items()
        if name not in ("marks", "stand_ins", "questions")
    }
    return {**body, "properties": properties}


def _described(shape: type) -> dict[str, Any]:
    """The JSON schema of a dataclass with the docstrings of its fields.

    Only here are they read: finding them in the source costs every command that checks a job a hundredth of a second.
    """
    CONFIG["use_attribute_docstrings"] = True
    try:
        return TypeAdapter(shape).json_schema()
    finally:
        del CONFIG["use_attribute_docstrings"]


def schema_text(plain: dict[str, Any]) -> str:
    """A schema as it stands in its file."""
    return json.dumps(plain, indent=1, ensure_ascii=False) + "\n"


def condition_schema() -> dict[str, Any]:
    """Conditions: all, any, not, a test of a fact, or another finding. It refers to itself as #/$defs/condition."""
    inner = {"$ref": "#/$defs/condition"}
    word = {"type": ["string", "integer"]}
    bound = {"type": ["number", "string"], "description": "A number, or the id of a limit."}
    several = {"type": "array", "items": inner, "minItems": 1}

    def form(key: str, item: dict[str, Any], **others: dict[str, Any]) -> dict[str, Any]:
        return {"type": "object", "required": [key], "properties": {key: item, **others}, "additionalProperties": False}

    tests: dict[str, dict[str, Any]] = {
        "is": {
            "anyOf": [word, {"type": "array", "items": word, "minItems": 1}],
            "description": "The word or words that make it present.",
        },
        "below": bound,
        "above": bound,
        "at_least": bound,
        "at_most": bound,
        "cylinders": {
            "anyOf": [{"enum": ["any", "every", "neighbours"]}, {"type": "integer", "minimum": 1}],
            "description": "For a fact with one value per cylinder (journal, valve): any, every, neighbours, "
            "or at least how many.",
        },
    }
    fact = form("fact", {"type": "string", "description": "An observation, a reduced fact, or engine.*"}, **tests)
    compared = [{"required": [name]} for name in ("below", "above", "at_least", "at_most")]
    fact["oneOf"] = [{"required": ["is"]}, {"anyOf": compared}]
    return {
        "description": "A condition: present, absent or unknown.",
        "anyOf": [
            fact,
            form("finding", {"type": "string", "description": "Another finding that must be present."}),
            form("all", {**several, "description": "Present where all of these are."}),
            form("any", {**several, "description": "Present where at least one of these is."}),
            form("not", {**inner, "description": "Present where this is absent; unknown where it is unknown."}),
        ],
    }


def _tidy(plain: Any, key: str = "") -> Any:
    """Conditions and rungs as they are written, numbers allowed for text, names that only repeat the key left out."""
    if isinstance(plain, list):
        return [_tidy(item) for item in plain]
    if not isinstance(plain, dict):
        return plain
    if key in ("properties", "$defs"):
        return {name: _tidy(item, f"field {name}") for name, item in plain.items()}
    choices = [item.get("$ref", "") for item in plain.get("anyOf", ())]
    if "#/$defs/FactTest" in choices:
        told = {"description": plain["description"]} if "description" in plain else {}
        return {"$ref": "#/$defs/condition", **told}
    result = {
        name: _tidy(item, name)
        for name, item in plain.items()
        if name != "title" and not (name == "default" and item in (None, "", [], {}))
    }
    if "description" in result:
        result["description"] = " ".join(result["description"].split())
    if result.get("type") == "string" and "enum" not in result and "const" not in result:
        result["type"] = ["string", "number"]
    if key == "field steps" and result.get("items") == {"$ref": "#/$defs/WorkStep"}:
        result["items"] = {"anyOf": [{"type": "string"}, result["items"]]}
    if key in ("field rung", "field seen_at") and result.get("type") == "array":
        told = {"description": result.pop("description", "")}
        return {"anyOf": [{"enum": list(RUNGS)}, result], **told}
    return result
