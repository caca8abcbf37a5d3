"""The papers as values. Money is Decimal, every line already rounded half up to the cent."""

from __future__ import annotations

from decimal import Decimal

from ..model.frozen import dataclass
from ..model.terms import Rung


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line of a quote."""

    kind: str
    """labour, part, consumable, machine, supplies or replacement."""
    subject: str
    """Id of the operation, part or machine operation."""
    title: str
    """In the trade's words."""
    quantity: Decimal
    unit_price: Decimal | None
    amount: Decimal | None
    """None where a price is missing."""
    why: str
    """Why it is here, in the customer's words."""
    evidence: tuple[str, ...]
    """'kind/id' that lead to answers or to a stated general rule."""
    size: str = ""
    waits_for: str = ""
    dated: str = ""
    """Day from which its price holds; empty where nothing says."""
    example: bool = False
    """Whether its price is an example and not the shop's own."""
    place: str = ""
    """Where its price stands in the list, or would; empty in a promise that does not say."""
    does: str = ""
    """What is done, or what the part is for, in a sentence; empty in a promise that does not say."""
    sort: str = ""
    """What sort of reason `why` is: evidence (something found or told calls for it), access (other work is reached
    through it), open (made good while it lies open), undone (other work undoes it or uses it up), service, proof, part
    (of other work) or rule (charged on every job); empty in a promise that does not say."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """A priced "if we find this": all that it adds to the quoted work."""

    operation: str
    title: str
    chance: float
    amount: Decimal | None
    """With tax; None where a price is missing."""
    why: str
    evidence: tuple[str, ...]
    lacks: tuple[str, ...] = ()
    """Prices that are missing for it."""


@dataclass(frozen=True, slots=True)
class TwoSteps:
    """A price to strip and inspect first, with a stop point and a way back."""

    inspection: Decimal | None
    """With tax; None where the list has no price for it."""
    because: str
    stop: str
    way_back_in_pieces: str
    way_back_assembled: Decimal | None
    """Price of putting it together as it was, with tax; None where it cannot be priced."""
    cap: Decimal | None
    """Nothing beyond this sum without a call and a recorded yes."""
    cap_because: str = ""
    """Which sum that is, as the end of a sentence; empty in a promise that does not say."""


@dataclass(frozen=True, slots=True)
class Quote:
    """A quote for one rung."""

    rung: Rung
    title: str
    enough: float
    currency: str
    lines: tuple[QuoteLine, ...]
    subtotal: Decimal | None
    tax_percent: str
    tax_on: tuple[str, ...]
    tax: Decimal | None
    total: Decimal | None
    """None where a price is missing: nothing then looks whole."""
    allowances: tuple[Allowance, ...]
    likely: Decimal | None
    """Median of the final bill over what may be found: half of such jobs come to no more."""
    low: Decimal | None
    high: Decimal | None
    """From low to high: nine in ten of the final bills."""
    deposit_percent: str
    deposit: Decimal | None
    valid_days: int
    missing: tuple[str, ...]
    """Prices that the lines, and after them the allowances, need and the list lacks."""
    price_list: str
    price_date: str
    rule_base: str
    two_steps: TwoSteps | None
    held: tuple[str, ...] = ()
    """Checks that stand before this may be promised; empty where none does."""
    every: float | None = None
    """Chance that it leaves no fault at all, noticed or not; None in a promise that does not say."""
    waived: tuple[str, ...] = ()
    """Checks that were called for and are not made, with who decided so."""
    job: str = ""
    """Key of the job: the rung, or the rung with ':only'; empty in a promise that does not say, which is the rung."""
    worth: str = ""
    """What the comparison with the machine's value says of this job; empty where nothing is said of it."""
    known_subtotal: Decimal | None = None
    """Sum of the lines that have a price; None in a promise that does not say."""
    known_tax: Decimal | None = None
    """Tax on those lines."""
    example: bool = False
    """Whether every price of the list is an example."""
    tax_example: bool = False
    """Whether the tax is."""
    old_after_days: int = 365
    """A price older than this is called old."""
    cap: Decimal | None = None
    """Nothing beyond this sum without the customer's yes; None where a price is missing, and in a promise that does not
    say."""
    cap_because: str = ""
    """Which sum that is, as the end of a sentence."""

    @property
    def unpriced(self) -> tuple[QuoteLine, ...]:
        """Lines without a price."""
        return tuple(line for line in self.lines if line.amount is None)

    @property
    def known_total(self) -> Decimal | None:
        """What has a price, with tax."""
        return None if self.known_subtotal is None or self.known_tax is None else self.known_subtotal + self.known_tax


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of the order list."""

    part: str
    title: str
    quantity: int
    size: str
    measured_from: str
    """Title of the measurement that the size comes from; empty where it needs none."""
    waits_for: str
    """Title of the measurement that must come first; empty where it can be ordered now."""
    never_reuse: bool
    supplier: str = "engine parts"
    """Who sells it: engine parts, electrical or general."""
    alternatives: tuple[str, ...] = ()
    """Sizes that would do where the chosen one is not to be had."""
    sold_in: tuple[str, ...] = ()
    """Sizes on the engine sheet, where the size is not known yet."""
    unit_price: Decimal | None = None
    """Money each by the shop's list; None where it has none."""
    amount: Decimal | None = None


@dataclass(frozen=True, slots=True)
class MachineLine:
    """What goes to the machine shop."""

    machining: str
    title: str
    quantity: int
    take_along: tuple[str, ...]
    """Titles of the parts that must lie beside it there."""
    size: str
    """What it is machined to, where that is decided."""
    unit_price: Decimal | None
    amount: Decimal | None


@dataclass(frozen=True, slots=True)
class SetOffer:
    """A set beside the single parts in it that the job needs."""

    part: str
    title: str
    singles: tuple[str, ...]
    """Titles of the single parts that it takes the place of."""
    singles_price: Decimal | None
    """What those come to; None where one has no price."""
    price: Decimal | None
    """Of the set; None where the list has none."""
    unneeded: tuple[str, ...]
    """Titles of what the set holds besides."""


@dataclass(frozen=True, slots=True)
class HeldPart:
    """A part that is not ordered yet: it is needed only if something is found."""

    part: str
    title: str
    quantity: int
    only_if: str
    """Title of the work that would need it."""
    chance: float


@dataclass(frozen=True, slots=True)
class OrderList:
    """What to order where, now and later."""

    head: str
    """What stands before ordering; empty where nothing does."""
    currency: str
    lines: tuple[OrderLine, ...]
    """By supplier; those that can be ordered now before those that wait."""
    machine: tuple[MachineLine, ...]
    sets: tuple[SetOffer, ...]
    hold_back: tuple[HeldPart, ...]

    @property
    def now(self) -> str:
        """What stands over what needs no measurement: ordered only after a yes."""
        return "would be ordered" if self.head else "order now"


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that moved since the promise."""

    subject: str
    title: str
    before: Decimal | None
    after: Decimal | None
    because: str


@dataclass(frozen=True, slots=True)
class Pictured:
    """A photograph that belongs to what was found."""

    title: str
    date: str
    file: str
    """Its name in the folder of the job's photographs."""


@dataclass(frozen=True, slots=True)
class Yes:
    """A recorded yes of the customer."""

    by: str
    how: str
    date: str
    time: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class ChangeSheet:
    """What was promised, what was found, what moved."""

    promise: str
    promised_on: str
    rung_before: str
    rung_after: str
    total_before: Decimal | None
    total_after: Decimal | None
    found: tuple[str, ...]
    """What the teardown showed, as sentences."""
    added: tuple[Change, ...]
    removed: tuple[Change, ...]
    changed: tuple[Change, ...]
    used: tuple[str, ...]
    """Allowances of the promise that are now work."""
    authorised: Decimal | None
    """The most that a recorded yes covers."""
    needs_yes: Decimal | None
    """What goes beyond it; None where nothing does."""
    moved: Decimal | None = None
    """What the added, removed and changed lines come to together, without tax; None where a price is missing."""
    tax_moved: Decimal | None = None
    """By how much the tax moved: the old total, `moved` and this are the new total."""
    photos: tuple[Pictured, ...] = ()
    """Photographs of what was found, the oldest first."""
    yeses: tuple[Yes, ...] = ()
    """Recorded yeses to this promise, the oldest first."""
    number: str = ""
    """Number under which the sheet was printed; empty where it was not."""
