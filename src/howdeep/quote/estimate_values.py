"""The estimate as a value: what one page that a customer signs says. Texts are whole sentences or titles, money is
Decimal with tax, chances are numbers; surfaces lay it out and put chances into words."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from ..model.answer_kinds import Kind
from ..model.frozen import dataclass
from ..model.terms import Rung
from .beside import FoundRow
from .values import TwoSteps

Paper = Literal["estimate", "begin_with", "find_out", "do_not_run", "can_wait", "stop"]
"""estimate: a price for work that is promised or asked for; begin_with: a price for a first step; find_out: what must
be found out first and what that costs; do_not_run, can_wait, stop: as they say."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """What it may be."""

    title: str
    plain: str
    """For a customer, one sentence."""
    hand: float
    """Chance that it has a hand in what was noticed."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """The job that the paper speaks of."""

    job: str
    """Key of the job."""
    rung: Rung
    """How deep it goes."""
    title: str
    does: str
    """What is done, one or two sentences."""
    enough: float
    """Chance that everything noticed goes away."""
    every: float | None
    """Chance that no fault at all is left; None where that is not said."""
    came_for: float | None = None
    """Chance that what it was brought in for goes away; None where nothing else was noticed."""
    noticed: bool = True
    """Whether anything was noticed that has to go away."""


@dataclass(frozen=True, slots=True)
class Sum:
    """What the proposed job costs. Every amount but `subtotal` is with tax."""

    subtotal: Decimal | None
    tax_percent: str
    tax: Decimal | None
    total: Decimal | None
    """None where a price is missing."""
    known_total: Decimal | None
    """Sum of what has a price."""
    unpriced: int
    """Lines without a price."""
    deposit_percent: str
    deposit: Decimal | None
    likely: Decimal | None
    """Half of such jobs end with a bill no higher."""
    low: Decimal | None
    high: Decimal | None
    """From low to high: nine in ten of the final bills."""
    cap: Decimal | None
    """Nothing beyond it without the customer's yes."""
    cap_because: str


@dataclass(frozen=True, slots=True)
class Surprise:
    """One thing that may turn up."""

    title: str
    chance: float
    amount: Decimal | None
    """What it adds; None where a price is missing."""


@dataclass(frozen=True, slots=True)
class OtherWay:
    """A job that does less or more than the proposed one."""

    more: bool
    title: str
    rung: Rung
    total: Decimal | None
    enough: float
    in_the_end: Decimal | None
    """What it is expected to cost when comebacks and what is found are reckoned in, without tax; None without prices.
    """


@dataclass(frozen=True, slots=True)
class Depth:
    """The whole of a depth, with what it costs."""

    rung: Rung
    title: str
    total: Decimal | None
    """None where a price is missing."""
    enough: float


@dataclass(frozen=True, slots=True)
class PaidCheck:
    """A check to make first, with its price."""

    title: str
    minutes: float
    amount: Decimal
    """For its time and what it uses up, before tax."""
    decides: tuple[tuple[str, str], ...]
    """(what is seen, what then follows) of its likeliest outcomes; empty where that was not worked out."""
    stands_before: bool
    """Whether nothing deeper is promised before it is made."""
    set_up: bool = False
    """Whether a check before it has made its set-up already, so that it takes less time."""
    days: float = 0.0
    """Days until its answer is there; 0 where it is there at once."""
    used: tuple[str, ...] = ()
    """Titles of the parts that it uses up, in its price as far as the list prices them."""
    changes: bool = False
    """Whether some outcome leads to something else than more checks."""


@dataclass(frozen=True, slots=True)
class FirstSteps:
    """What is found out first, and what that costs."""

    checks: tuple[PaidCheck, ...]
    rate: Decimal
    """An hour of labour, before tax."""
    tax: Decimal
    """On the checks."""
    total: Decimal
    """Of the checks, with tax."""


@dataclass(frozen=True, slots=True)
class LookOffer:
    """Opening the engine to look, sold by itself."""

    title: str
    """How far it is opened."""
    opens: str
    """What can then be seen."""
    price: Decimal
    credit: Decimal
    """Taken off the bill when work follows."""
    back_assembled: Decimal | None
    """For putting it together as it was, where no work follows; None where it goes by the hour."""


@dataclass(frozen=True, slots=True)
class Worth:
    """The bill beside the machine."""

    value_running: Decimal | None
    """What the machine is worth running, as it was said."""
    share: float | None
    """The likely bill as a share of it."""
    replacement: Decimal | None
    """Another sound engine, fitted."""
    stopping: Decimal | None
    """What the owner loses by stopping; None where it is not known."""
    likely: Decimal | None = None
    """What half of the bills do not pass; None where nothing is priced."""
    by_sheet: bool = False
    """Whether its worth is what the engine sheet says of such engines, and not what was said of this one."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """One page for the customer."""

    paper: Paper
    then: Kind
    """What the answer is, dangers aside; for an estimate that was asked for against it, why that is no promise."""
    afterwards: Kind
    """What it would be if nothing more were checked."""
    promised: bool
    """Whether the shop promises this: the answer says so, or everything before it was waived."""
    number: str | None
    """Number of the paper; None while it has none."""
    date: str
    """ISO date; empty where none was given."""
    valid_until: str
    """ISO date; empty with `date`."""
    customer: str
    machine: str
    engine: str
    general: str
    """Of an engine without a sheet: the kind that it was taken as; else empty."""
    told: str
    """The customer's own words."""
    found: tuple[FoundRow, ...]
    """What matters most of what was tested or seen."""
    sound: int
    """How many more readings and looks there are."""
    dangers: tuple[str, ...]
    suspects: tuple[Suspect, ...]
    proposal: Proposal | None
    """None where no job is meant."""
    sum: Sum | None
    """Of the proposal; None with it."""
    surprises: tuple[Surprise, ...]
    more_surprises: int
    """How many more may turn up."""
    other_ways: tuple[OtherWay, ...]
    costs_least: bool
    """Whether the proposal is expected to cost least in the end of the ways that are likely enough."""
    in_the_end: Decimal | None
    """What the proposal is expected to cost in the end, as in `OtherWay`."""
    depths: tuple[Depth, ...]
    """Every depth from outside work to another engine, for the picture in the annex; empty where no job is meant."""
    first: FirstSteps | None
    look: LookOffer | None
    inspect: TwoSteps | None
    """Strip and inspect first, where that is offered beside a priced job."""
    worth: Worth
    waiting: tuple[str, ...]
    """What happens if nothing is done."""
    held: tuple[str, ...]
    """Checks that stand before a promise."""
    waived: tuple[str, ...]
    """Checks that are not made, with who decided so."""
    currency: str
    guarantee: str
    """The shop's own words; empty where it has said none."""
    terms: str
    signs: str
    """Who signs for the shop; empty where nobody is named."""
    used: str = ""
    """What it was made with, in a sentence: rules, engine sheet, prices and their date."""
