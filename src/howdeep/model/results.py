"""What the steps conclude, as values. Presentation reads these and computes nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from .answer_kinds import Kind, Worth
from .job import OpenJob
from .question_worth import QuestionWorth
from .terms import Risk, Rung
from .truth import Truth
from .used import Used
from .values import Value


@dataclass(frozen=True, slots=True)
class Reduction:
    """A fact computed from readings."""

    fact: str
    """Name of the reduced fact."""
    value: Value
    """A word, a number, or a tuple with one per cylinder (None where unknown)."""
    how: str
    """How it was computed, in one sentence with the figures."""
    basis: str
    """What judged it: 'engine sheet', 'general limit <id>', 'compared between cylinders' or 'arithmetic'; more than one
    joined by 'and'."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to be said about a reading: not valid, questioned, too close to call."""

    observation: str
    """Id."""
    kind: str
    """'not valid', 'questioned', 'too close to call', 'conditions not recorded', 'too tight', 'refused'."""
    text: str
    """One or two sentences."""
    instead: str = ""
    """Id of the observation or check to make in its place or again."""


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything the rules can read."""

    values: dict[str, Value]
    """Fact -> value; a fact that is not here is unknown."""
    reductions: dict[str, Reduction]
    """Reduced fact -> how it came about."""
    remarks: tuple[Remark, ...]
    """Remarks on readings, in order of observation."""


@dataclass(frozen=True, slots=True)
class Firing:
    """One rule that fired: what it matched and what it asserted."""

    rule: str
    """Id of the finding (or operation) whose rule fired."""
    truth: Truth
    """present or absent."""
    matched: tuple[tuple[str, str], ...]
    """(fact or finding, value as shown) that the rule matched, in order of name."""


@dataclass(frozen=True, slots=True)
class Conclusions:
    """What the rules concluded."""

    findings: dict[str, Truth]
    """Every finding, in order of id."""
    firings: tuple[Firing, ...]
    """Every firing, in order of rule id."""


@dataclass(frozen=True, slots=True)
class WaterfallStep:
    """One step of the way from base odds to posterior odds."""

    label: str
    """'base', a history rule, or a finding."""
    kind: str
    """'base', 'history', 'present' or 'absent'."""
    decibans: float
    """What it adds, in decibans."""
    alone: float | None
    """What the finding would have added alone; None for base and history."""
    words: str
    """Strength in words (Jeffreys)."""
    explained_by: tuple[str, ...] = ()
    """Causes that take the blame where the step falls short of what it would say alone."""


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of one cause."""

    cause: str
    prior: float
    """Base probability with history."""
    posterior: float
    steps: tuple[WaterfallStep, ...] = ()
    """Sum exactly to the posterior's decibans."""
    hand: float = 0.0
    """Chance that it has a hand in anything noticed: told, tested, or seen on the open engine."""
    hand_outside: float = 0.0
    """Chance that it has a hand in anything that was told or tested, leaving out what the open engine shows."""
    marked: float = 0.0
    """Probability that it is there and marked, not slight."""


@dataclass(frozen=True, slots=True)
class Unexplained:
    """How likely it is that nothing on the list explains a sign."""

    finding: str
    nothing: float
    """Chance that no listed cause has a hand in it."""
    misread: float
    """Of it: that it was only misread or misreported (0 where not worked out)."""
    unlisted: float
    """Of it: that only a fault which is not on the list is behind it (0 where not worked out)."""


@dataclass(frozen=True, slots=True)
class Misfit:
    """A fault seen on the open engine that the answers given before spoke against."""

    finding: str
    """What was seen, measured or tried: the fault itself."""
    cause: str
    decibans: float
    """What the sound answers together would take from the odds of the cause were it marked (below 0)."""
    answers: tuple[tuple[str, float], ...]
    """(finding that was denied, decibans that it takes), the strongest first."""


@dataclass(frozen=True, slots=True)
class Counted:
    """Which findings count for the beliefs."""

    present: tuple[str, ...]
    absent: tuple[str, ...]
    already: dict[str, str]
    """Finding not counted -> the finding of its line that counts in its place."""
    shown_too: tuple[str, ...] = ()
    """Those of `already` that are present."""


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


@dataclass(frozen=True, slots=True)
class WorkItem:
    """One operation of the recommended work, with the reason for it."""

    operation: str
    hours: float
    because: tuple[str, ...]
    """Causes, findings, operations or rungs that call for it, as 'kind/id'."""
    cautions: tuple[str, ...]
    if_found: bool = False
    """True where it is an allowance only."""
    chance: float = 1.0
    """Chance that it is needed."""


@dataclass(frozen=True, slots=True)
class PartLine:
    """One line of the parts list."""

    part: str
    quantity: int
    size: str
    """Size to order, or empty where the part has none."""
    waits_for: str
    """Observation that must be measured first, or empty."""
    operations: tuple[str, ...]
    measured_from: str = ""


@dataclass(frozen=True, slots=True)
class Work:
    """What would be done at one rung."""

    rung: Rung
    items: tuple[WorkItem, ...]
    parts: tuple[PartLine, ...]
    before: tuple[str, ...]
    """Observations or checks to make before the work."""
    during: tuple[str, ...]
    after: tuple[str, ...]


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
