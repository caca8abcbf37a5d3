"""One closed job as a row to score."""

from __future__ import annotations

from dataclasses import field

from ..model.frozen import dataclass
from ..model.terms import DEPTH, Rung

CENT = 0.005
"""Sums are read as floats here; two that differ by less are the same."""


@dataclass(frozen=True, slots=True)
class Row:
    """One closed job, small enough for ten thousand of them."""

    name: str
    engine: str
    date: str
    rung: Rung
    """Scope recommended (by the promise, else by today's rules)."""
    promised_rung: Rung
    """Scope promised; the recommended one where no promise was made."""
    enough: dict[str, float]
    """Rung -> stated chance that it is enough."""
    odds: dict[str, float]
    """Cause -> stated probability, for the causes that were looked at."""
    truths: dict[str, bool]
    """Cause -> whether it was there; causes not looked at are not here."""
    scope_done: Rung | None
    came_back: str
    hours: float | None
    cost: float | None
    promised_cost: float | None
    rule_base: str
    from_promise: bool
    """False where no promise was stored and the answers were assessed anew, without the teardown."""
    findings: dict[str, int] = field(default_factory=dict)
    """Finding -> 1 present, 0 absent (known ones only), by today's rules, without the teardown."""
    stated: dict[str, float] = field(default_factory=dict)
    """Cause -> stated probability, also for the causes that were not looked at (only where asked for, for learning)."""
    answered: tuple[str, ...] = ()
    """Observations answered before opening."""
    path: str = ""
    """The job's file."""
    promised_high: float | None = None
    """Upper end of the range that was promised; None where no promise gives one."""
    agreed: float | None = None
    """The most that a recorded yes covers; None where none was given."""

    @property
    def money(self) -> str:
        """'within' the promised sum, in the 'range' that was said, 'over' it; empty where bill or promise is not
        known."""
        if self.cost is None or self.promised_cost is None or not self.from_promise:
            return ""
        if self.cost <= self.promised_cost + CENT:
            return "within"
        return "range" if self.promised_high is not None and self.cost <= self.promised_high + CENT else "over"

    @property
    def held(self) -> bool | None:
        """Whether the promised depth turned out to be enough; None where that is not known."""
        if self.came_back == "yes":
            return False
        if self.scope_done is None:
            return None
        if DEPTH[self.scope_done] > DEPTH[self.promised_rung]:
            return False
        return True if self.came_back == "no" else None
