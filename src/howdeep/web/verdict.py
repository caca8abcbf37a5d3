"""The verdict as the page shows it, whole or beside a question: in the shop's units, worded elsewhere."""

from __future__ import annotations

from ..interview.session import Desk
from ..show.section import Verdict
from ..show.spoken import in_units_of
from ..show.verdict import BESIDE, verdict_of


def whole_verdict(desk: Desk) -> Verdict:
    """Every section. Wants the whole answer."""
    return in_units_of(verdict_of(desk.knowledge, desk.answer, desk.shop.prices), desk.shop.settings.units)


def so_far(desk: Desk) -> Verdict:
    """What stands beside a question. Wants the kind of answer (part 'beside' of a desk, or more)."""
    told = verdict_of(desk.knowledge, desk.answer, desk.shop.prices, BESIDE, spread=False)
    return in_units_of(told, desk.shop.settings.units)


__all__ = ["so_far", "whole_verdict"]
