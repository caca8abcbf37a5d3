"""The documented JSON shapes. A change that breaks a reader raises the number in SHAPE."""

from __future__ import annotations

import dataclasses
import json
from decimal import Decimal
from enum import Enum
from typing import Any

from ..model.knowledge import Knowledge
from ..model.results import Assessment
from .general import assumed_words
from .reasons import reasons_of
from .used_text import used_shape

SHAPE = 1
ANSWER_SHAPE = 2
"""Version of the shape of an answer."""
DIGITS = 6


def plain(value: Any) -> Any:
    """Any result value as plain JSON values: money as text, probabilities rounded so that the bytes stay the same."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {item.name: plain(getattr(value, item.name)) for item in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, (set, frozenset)):
        return sorted(plain(item) for item in value)
    if isinstance(value, Decimal):
        return f"{value:.2f}"
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float):
        return round(value, DIGITS) + 0.0
    return value


def text_of(shape: dict[str, Any]) -> str:
    """JSON text, keys in the order given."""
    return json.dumps(shape, ensure_ascii=False, indent=2)


def assessment_shape(knowledge: Knowledge, answer: Assessment) -> dict[str, Any]:
    """The answer as plain values; documented in docs/json.md."""
    decision = plain(answer.decision)
    return {
        "howdeep_answer": ANSWER_SHAPE,
        "rule_base": knowledge.version,
        **({} if answer.used is None else {"used": used_shape(answer.used)}),
        "job": {
            "title": answer.job.job.title,
            "engine": answer.job.engine.name,
            "complaint": answer.job.job.customer.words,
        },
        **_of_the_engine(answer),
        "kind": decision["kind"],
        "then": decision["then"],
        "because": decision["because"],
        "afterwards": decision["afterwards"],
        "dangers": decision["dangers"],
        "reasons": plain(reasons_of(knowledge, answer)),
        "recommended": {
            key: decision[key]
            for key in (
                "job",
                "rung",
                "provisional",
                "estimated",
                "wins_by",
                "runner_up",
                "shallowest",
                "deepest",
                "currency",
                "missing",
                "floor",
                "firm",
                "stop",
                "beyond",
                "worth",
                "opened",
            )
        },
        "jobs": decision["jobs"],
        "looks": decision["looks"],
        "ladder": decision["ladder"],
        "causes": [
            {
                "cause": belief.cause,
                "title": knowledge.causes[belief.cause].title,
                **{key: item for key, item in plain(belief).items() if key != "cause"},
            }
            for belief in answer.beliefs
        ],
        "findings": plain(answer.conclusions.findings),
        "firings": plain(answer.conclusions.firings),
        "counted": plain(answer.counted),
        "unexplained": plain(answer.unexplained),
        "evidence_log10": plain(answer.evidence),
        "readings": plain(answer.facts.reductions),
        "remarks": plain(answer.facts.remarks),
        "contradictions": list(answer.contradictions),
        "misfits": plain(answer.misfits),
        "dropped": list(answer.dropped),
        "not_asked": list(answer.not_asked),
        "stand_ins": list(answer.stand_ins),
        "holds": plain(answer.holds),
        "checks": plain(answer.checks),
        "plan": plain(answer.plan),
        "flips": plain(answer.flips),
        "work": plain(answer.works[answer.decision.job]),
    }


def _of_the_engine(answer: Assessment) -> dict[str, Any]:
    """How an engine without a sheet was filled in, and what to look up first; of one with a sheet, what was taken as is
    usual, and nothing where all is looked up."""
    general = answer.job.general
    if general is None:
        taken = assumed_words(answer.job.engine)
        return {"engine": {"assumed": dict(taken)}} if taken else {}
    return {
        "engine": {
            "kind": general.kind,
            "said": dict(general.described.build),
            "year": general.described.year,
            "assumed": dict(general.assumed),
            "figures": plain(general.figures),
        },
        "look_ups": plain(answer.look_ups),
    }


def assessment_json(knowledge: Knowledge, answer: Assessment) -> str:
    """The answer as JSON text."""
    return text_of(assessment_shape(knowledge, answer))


def explanation_json(explanation: Any) -> str:
    """An explanation (howdeep.assessment.explain) as JSON text."""
    return text_of({"howdeep_why": SHAPE, **plain(explanation)})
