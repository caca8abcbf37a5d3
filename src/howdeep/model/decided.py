"""What is recommended, and what every job, look and danger comes to, as values."""

from __future__ import annotations

from decimal import Decimal

from .answer_kinds import Kind, Worth
from .frozen import dataclass
from .terms import Rung


@dataclass(frozen=True, slots=True)
class CostLine:
    """What a rung costs in the end."""

    rung: Rung
    enough: float
    """Chance that the rung is enough: that everything noticed goes away."""
    every: float
    """Chance that it leaves no fault at all, noticed or not: how a whole engine is judged before a sale."""
    price: Decimal | None
    """Price of the quote for this rung, without allowances and tax; None where prices are missing."""
    growth: Decimal | None
    """Expected cost of growth seen at teardown."""
    comeback: Decimal | None
    """Expected cost of comebacks."""
    expected: Decimal | None
    """Expected cost in the end."""
    not_cured: tuple[tuple[str, float], ...] = ()
    """Causes this rung does not cure, with their probability, likeliest first."""


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job that could be promised: the package of a rung, or only what cures what was noticed."""

    job: str
    """Key of its work: the rung, or the rung with ':only'."""
    rung: Rung
    whole: bool
    """Whether it is the rung's package."""
    enough: float
    """Chance that everything noticed goes away."""
    price: Decimal | None
    growth: Decimal | None
    """Expected cost of growth seen at teardown."""
    failing: Decimal | None
    """Expected cost of comebacks and of what follows them."""
    expected: Decimal | None
    """Expected cost in the end."""
    came_for: float | None = None
    """Chance that what the engine was brought in for goes away; None where nothing else was noticed, or nobody said."""


@dataclass(frozen=True, slots=True)
class Look:
    """Opening the engine to look, before anything is promised."""

    rung: Rung
    """How far it is opened."""
    price: Decimal
    credit: Decimal
    """Credited when work follows."""
    expected: Decimal
    """Expected cost in the end of looking first and deciding then."""


@dataclass(frozen=True, slots=True)
class Danger:
    """Why the engine must not be run."""

    kind: str
    """'findings' or 'causes'."""
    subject: str
    """Id."""
    chance: float
    """1 for what was seen, else the chance of the cause."""
    text: str
    """What may happen, in plain words."""
    cranking: bool = False
    """Whether it must not be cranked either."""
    for_seconds: tuple[str, ...] = ()
    """Observations for which it may be run all the same, no longer than they take."""


@dataclass(frozen=True, slots=True)
class Decision:
    """The recommendation."""

    rung: Rung
    """Depth of the job that costs least in the end."""
    provisional: bool
    """True where prices are missing and a threshold stood in for the expected cost."""
    wins_by: Decimal | None
    """Expected cost of the runner-up less that of the recommended rung."""
    runner_up: Rung | None
    shallowest: Rung
    """Shallowest rung a careful person could defend."""
    deepest: Rung
    """Deepest rung a careful person could defend."""
    ladder: tuple[CostLine, ...]
    """All six rungs."""
    estimated: bool = False
    """True where the figures are sampled, not exact."""
    missing: tuple[str, ...] = ()
    """Prices that are missing."""
    beyond: str = ""
    """What the comparison with the machine's value says, where a value is stated."""
    worth: tuple[Worth, ...] = ()
    """The same as verdicts."""
    currency: str = ""
    opened: tuple[str, ...] = ()
    """Operations by which it stands open already: every price holds what it takes to put it together again."""
    kind: Kind = "promise"
    """Kind of answer."""
    then: Kind = "promise"
    """What the answer would be once a danger is cleared; the kind itself where there is none."""
    afterwards: Kind = "promise"
    """What the answer would be if nothing more were checked."""
    job: str = ""
    """Key of the job that the answer speaks of: what is promised, begun or, for a look inside, likely to follow."""
    depth_by: tuple[str, ...] = ()
    """Suspects that a customer is told of and only work of just the job's depth cures, likeliest first: they say why it
    is opened so far."""
    jobs: tuple[JobLine, ...] = ()
    """Packages in order of rung, then the targeted jobs."""
    looks: tuple[Look, ...] = ()
    look: Rung | None = None
    """How far it is opened to look, where that comes before a promise."""
    stop: Decimal | None = None
    """What stopping costs the owner: value running less value as it stands; None where not known."""
    floor: float = 0.7
    """A job is promised from this chance of being enough."""
    firm: float = 1.0
    """A refresh or a rebuild is promised unseen only from this chance of being enough."""
    dangers: tuple[Danger, ...] = ()
    because: tuple[str, ...] = ()
    """Why this kind of answer, as sentences."""

    def line(self, job: str) -> JobLine:
        """The line of a job."""
        return next(line for line in self.jobs if line.job == job)
