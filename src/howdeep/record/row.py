"""One closed job as a row to score."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..model.knowledge import RUNGS, Rung


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

    @property
    def held(self) -> bool | None:
        """Whether the promised scope turned out to be enough; None where that is not known."""
        if self.came_back == "yes":
            return False
        if self.scope_done is None:
            return None
        if RUNGS.index(self.scope_done) > RUNGS.index(self.promised_rung):
            return False
        return True if self.came_back == "no" else None
