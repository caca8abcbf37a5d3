"""The assembly sheet and the proof sheet, from operations and the engine sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from ..knowledge.engine_facts import count_of
from ..knowledge.tools import tool_sentence
from ..model.engine import Engine, Fit, StandIn, Torque
from ..model.knowledge import Knowledge, Limit
from ..model.results import Assessment
from ..shown_units import in_units
from ..work.stages import in_order, steps_by_stage
from .jobs import work_of
from .values import ProofLine, SheetPart, Sheets, SheetStep

_PLACEHOLDER = re.compile(r"\{([a-z_0-9.]+)\}")
BLANK = "________"
GENERAL = "general, not the maker's"
MISSING = f"{BLANK} (not in the engine sheet: take it from the maker's manual)"

RUN_IN = (
    "Prime the oil before the first start; no load until there is pressure, or oil is seen to move.",
    "First start: watch oil, coolant and exhaust; listen; stop at once for a knock or for no oil pressure.",
    "Vary the speed at light load for the first half hour; no long idling, no full load.",
    "Leak check hot and again cold: seals, covers, head joint, hoses, fuel.",
    "Cool down; tighten the head again if its gasket asks for it; set the valve clearance again.",
    "Change oil and filter after the first hours and look for metal; set the valve clearance once more.",
)


def sheets_of(knowledge: Knowledge, answer: Assessment, key: str | None = None, units: str = "") -> Sheets:
    """Both sheets for a job by its key (by default the one that the answer speaks of), figures in the shop's units."""
    work = work_of(knowledge, answer, key or answer.decision.job)
    sure = {item.operation: item for item in work.items if not item.if_found}
    parts = []
    for stage, name in in_order(knowledge.operations, sure):
        operation, steps = knowledge.operations[name], steps_by_stage(knowledge.operations[name])[stage]
        if not steps:
            continue
        cautions = tuple((knowledge.cautions[caution].title, knowledge.cautions[caution].text)
                         for caution in sure[name].cautions)
        renew = tuple(knowledge.parts[part].title for part in operation.parts if knowledge.parts[part].never_reuse)
        parts.append(SheetPart(name, operation.title, cautions,
                               tuple(filled(step, answer.job.engine, knowledge.limits, units) for step in steps),
                               renew if stage == operation.stage else (), stage))
    proof = [_proof(knowledge, answer, name, units) for check in work.after for name in _observations(knowledge, check)]
    return Sheets(tuple(parts), tuple(dict.fromkeys(proof)), RUN_IN)


def figure_text(engine: Engine, path: str, units: str = "") -> str | None:
    """A figure of the engine sheet as text, in the shop's units; None where the sheet does not give it. A figure of a
    kind says so."""
    value: Any = engine
    for part in path.split("."):
        value = value.get(part) if isinstance(value, dict) else getattr(value, part, None)
        if value is None:
            return None
    if isinstance(value, Fit):
        text, exhaust = _fit_text(value, units), getattr(engine, f"{path}_exhaust", None)
        own = _fit_text(exhaust, units) if isinstance(exhaust, Fit) else None
        return f"{text}, exhaust {own}" if text and own else text
    if isinstance(value, Torque):
        oiled = {"yes": "threads oiled", "no": "threads dry"}.get(value.lubricated, f"threads oiled or dry: {BLANK}")
        stages = (f"in stages of {', '.join(in_units(stage, units) for stage in value.stages)}" if value.stages else
                  f"stages: {BLANK}")
        figure = in_units(value.value, units)
        return f"{in_units(value.least, units)} to {figure}, {stages}, {oiled}" if value.least else (
            f"{figure}, {stages}, {oiled}")
    if isinstance(value, tuple) and value:
        return ", ".join(in_units(str(item), units) for item in value)
    if isinstance(value, StandIn):
        return f"about {in_units(str(value), units)} ({GENERAL})"
    if isinstance(value, (str, int, float)) and value != "":
        return in_units(str(value), units)
    return None


def _fit_text(fit: Fit, units: str = "") -> str | None:
    general = any(isinstance(text, StandIn) for text in (fit.low, fit.high, fit.wear))
    note = f" ({GENERAL})" if general else ""
    low, high, wear = (in_units(str(text), units) if text else "" for text in (fit.low, fit.high, fit.wear))
    if low and high:
        return f"{low} to {high}" + (f" (renew beyond {wear})" if wear else "") + note
    if wear:
        return f"at most {wear}{note}"
    return f"{low or high}{note}" if low or high else None


def limit_text(limit: Limit, units: str = "") -> str:
    """A general limit as text, e.g. '0.0005 in per inch of diameter'; one by itself in the shop's units."""
    unit = " %" if limit.unit == "percent" else f" {limit.unit}" if limit.unit else ""
    text = f"{limit.value:g}{unit}"
    return f"{text} per {limit.per}" if limit.per else in_units(text, units)


def filled(step: str, engine: Engine, limits: Mapping[str, Limit], units: str = "") -> SheetStep:
    """A step with the engine's figures and general limits ({limits.id}) put in.

    Where the engine has a figure of its own, a blank follows for the one really set or measured.
    """
    blank = False

    def put(match: re.Match) -> str:
        nonlocal blank
        limit = limits.get(match.group(1).removeprefix("limits."))
        if limit is not None and match.group(1).startswith("limits."):
            return limit_text(limit, units)
        blank = True
        text = figure_text(engine, match.group(1), units)
        return text if text is not None else MISSING

    return SheetStep(_PLACEHOLDER.sub(put, step), blank)


def _observations(knowledge: Knowledge, check: str) -> tuple[str, ...]:
    entry = knowledge.checks.get(check)
    names = entry.observations if entry else (check,)
    return tuple(name for name in names if name in knowledge.observations
                 and knowledge.observations[name].group != "test_conditions")


def _proof(knowledge: Knowledge, answer: Assessment, name: str, units: str) -> ProofLine:
    item = knowledge.observations[name]
    value, lacking = answer.job.values.get(name), tool_sentence(knowledge, name)
    return ProofLine(name, item.title + (f" ({lacking})" if lacking else ""),
                     "" if value is None else reading_text(item, value, units),
                     count_of(answer.job.engine, item.each))


def reading_text(item: Any, value: Any, units: str = "") -> str:
    """A value as it stands on paper, in the shop's units."""
    if isinstance(value, tuple):
        return "  ".join(f"{index}: {'-' if one is None else reading_text(item, one, units)}"
                         for index, one in enumerate(value, 1) if not isinstance(one, tuple))
    if isinstance(value, float):
        return in_units(f"{value:.4g} {item.unit}".strip(), units)
    return item.answers.get(str(value), f"{value} {item.unit}".strip())
