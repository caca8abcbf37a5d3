"""Pictures of a job: what a customer reads, and for the shop's copy what only the shop does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from ..model.knowledge import Knowledge
from ..model.odds import odds_words
from ..model.results import Assessment
from ..model.shown_units import in_prose, step_of, unit_in
from ..model.values import numbers_of
from ..quote.beside import expected_band
from ..quote.estimate_values import Estimate
from ..quote.values import Quote
from ..readings.compression_shown import DRY, WET
from . import charts
from .sentences import step_title
from .words import percent

TURNS_UP = 6
"""Surprises in a picture."""
STEPS = 10
"""Signs in a waterfall; smaller ones stand together."""


def pictures(answer: Assessment, quote: Quote, estimate: Estimate, units: str = "") -> Iterator[tuple[str, str]]:
    """(caption, SVG) of what a customer reads: compression beside the expected band, depth and price, what may turn up;
    each only where there is something to show. Figures in the shop's units."""
    dry, wet = (numbers_of(answer.job.values.get(name)) for name in (DRY, WET))
    if dry:
        yield "Compression of each cylinder", _compression(dry, wet, expected_band(answer), units)
    if estimate.depths and all(item.total is not None for item in estimate.depths):
        rows = [
            (
                item.title,
                item.total or Decimal(0),
                f"enough: {odds_words(item.enough)} ({percent(item.enough)})",
                item.rung == quote.rung,
            )
            for item in estimate.depths
        ]
        yield "How deep, and what it costs with tax", charts.depth_and_price(rows, quote.currency)
    priced = [item for item in quote.allowances if item.amount is not None][:TURNS_UP]
    if priced and estimate.sum is not None:
        yield (
            "What may turn up, and what it adds with tax",
            charts.may_turn_up(
                [
                    (item.title, item.amount or Decimal(0), f"{odds_words(item.chance)} ({percent(item.chance)})")
                    for item in priced
                ],
                quote.currency,
            ),
        )


def shop_pictures(knowledge: Knowledge, answer: Assessment, units: str = "") -> Iterator[tuple[str, str]]:
    """(caption, SVG) for the shop's copy: the way from the base odds to those of the chief suspect, and what each depth
    costs in the end."""
    main = answer.beliefs[0] if answer.beliefs else None
    if main and len(main.steps) > 1:
        title = knowledge.causes[main.cause].title
        steps = [
            (
                "before any sign"
                if step.kind == "base"
                else in_prose(step_title(knowledge, step.label, step.kind), units),
                step.decibans,
            )
            for step in main.steps
        ]
        shown = steps[:1] + sorted(steps[1:], key=lambda step: -abs(step[1]))[:STEPS]
        rest = sum(size for _, size in steps) - sum(size for _, size in shown)
        if len(steps) > len(shown):
            shown.append((f"{len(steps) - len(shown)} smaller signs together", rest))
        yield f"How we came to: {title}", charts.waterfall(title, shown)
    ladder = answer.decision.ladder
    if all(line.expected is not None for line in ladder):
        rows = [
            (
                knowledge.scopes[line.rung].title,
                line.price or Decimal(0),
                line.growth or Decimal(0),
                line.comeback or Decimal(0),
                line.rung == answer.decision.rung,
            )
            for line in ladder
        ]
        yield "What each scope costs in the end, before tax", charts.cost_by_scope(rows, answer.decision.currency)


def _compression(
    dry: Sequence[float | None], wet: Sequence[float | None], expected: tuple[float, float] | None, units: str
) -> str:
    """The picture of compression readings in psi, in the unit of the shop."""
    unit = unit_in("psi", units)
    step = step_of("psi", unit)

    def turned(values: Sequence[float | None]) -> tuple[float | None, ...]:
        return tuple(None if value is None else value * step for value in values)

    band = (expected[0] * step, expected[1] * step) if expected else None
    return charts.compression_bars(turned(dry), turned(wet), band, unit, 0 if unit == "psi" else 1)
