"""What could still be found out, and what that would move, as values."""

from __future__ import annotations

from decimal import Decimal

from .frozen import dataclass
from .terms import DEPTH, Risk, Rung


@dataclass(frozen=True, slots=True)
class OutcomeValue:
    """One outcome of a check."""

    title: str
    answer: str
    """Answer or outcome id."""
    chance: float
    leads_to: str = ""
    """What would then be answered, as 'kind job'; empty where not worked out."""


@dataclass(frozen=True, slots=True)
class CheckValue:
    """What a check is worth."""

    check: str
    """Id of a check, or of an observation that is a check of its own."""
    title: str
    observations: tuple[str, ...]
    minutes: float
    risk: Risk
    setup: str
    gain: Decimal
    """Expected saving before its own cost."""
    cost: Decimal
    """Its own cost."""
    net: Decimal
    """gain - cost."""
    parts: float
    """Expected fall of the uncertainty about who has a hand in what was noticed, in bits."""
    outcomes: tuple[OutcomeValue, ...]
    covered: float
    """Share of the probability that the listed outcomes cover; the rest counts as no news."""
    moment: str = "test"
    """talk or test."""
    hold: str = ""
    """Id of the hold that it clears, where one stands."""
    first_look: bool = False
    """Whether it is among the first looks that the trade gives to this complaint."""
    days: float = 0.0
    """Days until its answer is there; 0 where it is there at once."""
    uses: tuple[str, ...] = ()
    """Ids of the parts that it uses up, one of each."""


@dataclass(frozen=True, slots=True)
class Flip:
    """One thing that would move the recommendation."""

    kind: str
    """'open', 'answer' (a given answer being wrong), 'prior' or 'money'."""
    subject: str
    """Id of the check, observation, cause or price."""
    now: str
    """Value now."""
    at: str
    """Value at which it flips."""
    to: str
    """What would then be answered, as 'kind job'."""


@dataclass(frozen=True, slots=True)
class LookUp:
    """Something of the engine that nobody knows and that the answer hangs on: worth looking up in its manual."""

    kind: str
    """'figure' (it judged a reading that was taken), 'reading' (it would judge the next check) or 'build'."""
    subject: str
    """Place in an engine sheet, or a field of the build."""
    taken: str
    """What stands in now."""
    other: str
    """The plausible figure or word that moves the answer most."""
    to: str
    """What would then be answered, as 'kind job'."""
    changes: bool
    """Whether that is another answer than the one that stands if nothing more is checked."""
    money: Decimal | None
    """By how much what the answer is expected to cost in the end moves; None without prices."""
    enough: float
    """By how much the chance that the answer's job is enough moves."""
    by: str = ""
    """For 'reading': the observation that it would judge."""


@dataclass(frozen=True, slots=True)
class HoldState:
    """A hold that stands before a promise."""

    hold: str
    above: Rung
    check: str
    minutes: float
    state: str
    """'stands', 'cleared', 'waived', or 'too late': the engine stands open."""
    jobs: frozenset[str] = frozenset()
    """Jobs that it holds besides those deeper than `above`, for what is in them."""

    def holds(self, rung: Rung, job: str) -> bool:
        """Whether it stands before a job of this depth."""
        return self.state == "stands" and (DEPTH[rung] > DEPTH[self.above] or job in self.jobs)
