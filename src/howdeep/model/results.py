"""The whole answer as a value, with all that the steps conclude. Presentation reads it and computes nothing."""

from __future__ import annotations

from dataclasses import field

from .believed import Belief, Counted, Misfit, Unexplained, WaterfallStep
from .checked import CheckValue, Flip, HoldState, LookUp, OutcomeValue
from .concluded import Conclusions, Facts, Firing, Reduction, Remark
from .decided import CostLine, Danger, Decision, JobLine, Look
from .frozen import dataclass
from .job import OpenJob
from .question_worth import QuestionWorth
from .used import Used
from .worked import PartLine, Work, WorkItem

__all__ = [
    "Assessment",
    "Belief",
    "CheckValue",
    "Conclusions",
    "CostLine",
    "Counted",
    "Danger",
    "Decision",
    "Facts",
    "Firing",
    "Flip",
    "HoldState",
    "JobLine",
    "Look",
    "LookUp",
    "Misfit",
    "OutcomeValue",
    "PartLine",
    "Reduction",
    "Remark",
    "Unexplained",
    "WaterfallStep",
    "Work",
    "WorkItem",
]


@dataclass(frozen=True, slots=True)
class Assessment:
    """The whole first answer. Same job, same rule base: the same value."""

    job: OpenJob
    facts: Facts
    conclusions: Conclusions
    counted: Counted
    beliefs: tuple[Belief, ...]
    """Every cause that this engine can have, likeliest first; ties by id."""
    evidence: float
    """log10 of the probability of the evidence."""
    unexplained: tuple[Unexplained, ...]
    """Every telling sign, with the chance that nothing on the list explains it."""
    noticed: bool
    """Whether anything was noticed that has to go away."""
    decision: Decision
    works: dict[str, Work]
    """Rung -> work at that rung (all six)."""
    holds: tuple[HoldState, ...]
    contradictions: tuple[str, ...]
    """Ids of contradictions present."""
    dropped: tuple[str, ...]
    """Observations that are left out: their ground is gone, or an engine built like this one is not asked them."""
    not_asked: tuple[str, ...]
    """Observations that apply and have no answer."""
    stand_ins: tuple[str, ...]
    """Where a general limit stood in for a missing figure, as sentences."""
    misfits: tuple[Misfit, ...] = ()
    """Faults that the open engine shows although the answers spoke against them, the plainest first."""
    checks: tuple[CheckValue, ...] = ()
    """Open checks, best net value first (filled on demand)."""
    flips: tuple[Flip, ...] = ()
    """What would move the recommendation (filled on demand)."""
    called: dict[str, float] = field(default_factory=dict)
    """Cause -> its hand as it calls for work: what the conditions of operations read."""
    plan: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """(set-up, ids of checks made with it) of the checks worth making, in order (filled with them)."""
    plan_minutes: float = 0.0
    """Minutes that these take together."""
    questions: tuple[QuestionWorth, ...] = ()
    """Questions that can be asked at the counter now, the most worthwhile first (filled on demand)."""
    used: Used | None = None
    """What it was made with; None where no shop made it."""
    doubts: tuple[str, ...] = ()
    """What is questioned in the figures of the shop's rules and prices, as file:line:column and a sentence."""
    gaps: tuple[Flip, ...] | None = None
    """Where the answer goes if what stands in for missing prices is half or double; None where not worked out."""
    look_ups: tuple[LookUp, ...] = ()
    """Of an engine without a sheet, what is worth looking up, the weightiest first (filled on demand)."""
