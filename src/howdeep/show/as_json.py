"""The documented JSON shapes. A change that breaks a reader raises the number in SHAPE."""

from __future__ import annotations

import dataclasses
import json
from decimal import Decimal
from enum import Enum
from typing import Any

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from .general import assumed_words
from .reasons import reasons_of
from .section import Line, Verdict
from .used_text import used_shape
from .verdict import verdict_of

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


def assessment_shape(knowledge: Knowledge, answer: Assessment, prices: PriceList | None = None) -> dict[str, Any]:
    """The answer as plain values; documented in docs/json.md. With `prices` the sums of its verdict are with tax."""
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
        "verdict": verdict_shape(verdict_of(knowledge, answer, prices)),
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
                "depth_by",
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


def verdict_shape(verdict: Verdict) -> dict[str, Any]:
    """The verdict as every surface tells it, empty fields left out; documented in docs/json.md."""
    return {
        "heading": verdict.heading,
        "headline": verdict.headline,
        "sections": [
            {
                "id": section.id,
                "title": section.title,
                "before": list(section.before),
                "lines": [_line_shape(line) for line in section.lines],
                "table": None
                if section.table is None
                else {
                    "heads": list(section.table.heads),
                    "rows": [
                        {"cells": list(row.cells), "why": row.why, "chosen": row.chosen} for row in section.table.rows
                    ],
                },
                "after": list(section.after),
            }
            for section in verdict.sections
        ],
    }


def _line_shape(line: Line) -> dict[str, Any]:
    told = {"lead": line.lead, "text": line.text, "why": line.why, "ask": line.ask, "warns": line.warns}
    return {
        **{key: value for key, value in told.items() if value},
        **({"under": [_line_shape(under) for under in line.under]} if line.under else {}),
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


def assessment_json(knowledge: Knowledge, answer: Assessment, prices: PriceList | None = None) -> str:
    """The answer as JSON text."""
    return text_of(assessment_shape(knowledge, answer, prices))


def explanation_json(explanation: Any) -> str:
    """An explanation (howdeep.assessment.explain) as JSON text."""
    return text_of({"howdeep_why": SHAPE, **plain(explanation)})
