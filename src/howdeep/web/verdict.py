"""The verdict as the page shows it, whole or beside a question: in the shop's units, worded elsewhere."""

from __future__ import annotations

from ..interview.session import Desk
from ..show.section import Verdict
from ..show.spoken import in_units_of, kept_together
from ..show.verdict import BESIDE, verdict_of


def whole_verdict(desk: Desk) -> Verdict:
    """Every section. Wants the whole answer."""
    told = verdict_of(desk.knowledge, desk.answer, desk.shop.prices)
    return kept_together(in_units_of(told, desk.shop.settings.units))


def so_far(desk: Desk) -> Verdict:
    """What stands beside a question. Wants the kind of answer (part 'beside' of a desk, or more)."""
    told = verdict_of(desk.knowledge, desk.answer, desk.shop.prices, BESIDE, spread=False)
    return kept_together(in_units_of(told, desk.shop.settings.units))


__all__ = ["so_far", "whole_verdict"]
