"""A shop's price list. Money is decimal text in one currency.

In its file a figure may also stand with its mark, `{figure: "48.00", date: 2026-01-31}` or `{..., example: true}`; the
reader keeps the figure where it belongs and the mark in `marks`.
"""

from __future__ import annotations

from dataclasses import field
from typing import Literal, get_args

from .frozen import dataclass
from .terms import CONFIG, Risk

Taxed = Literal["labour", "parts", "machine", "supplies"]
KINDS_TAXED: tuple[Taxed, ...] = get_args(Taxed)
"""What a tax can be charged on."""
TERMS = (
    "labour_rate",
    "comeback_charge",
    "towing",
    "growth_factor",
    "growth_charge",
    "reopening",
    "replacement",
    "teardown_inspection",
    "look_credit_percent",
    "wait_up_to",
    "supplies_percent",
    "tax_percent",
    "deposit_percent",
)
"""Figures of the list itself that may carry a mark."""
TABLES = ("parts", "machine", "risk", "look_inside")
"""Tables whose every figure may carry one; so may those of `engine_parts`, which is a table of tables."""


@dataclass(frozen=True, slots=True)
class Letterhead:
    """The shop as it stands on its papers."""

    __pydantic_config__ = CONFIG

    name: str
    """Name."""
    address: str = ""
    """Address, one line or several."""
    phone: str = ""
    """Telephone number."""
    email: str = ""
    """Mail address."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What is known of a figure of the list besides the figure itself."""

    __pydantic_config__ = CONFIG

    date: str = ""
    """Day from which the figure holds (ISO); empty for the date of the list."""
    example: bool = False
    """Whether it is an example and not the shop's own."""


@dataclass(frozen=True, slots=True)
class Priced:
    """A figure with its mark, as it may stand in a price list instead of the figure alone."""

    __pydantic_config__ = CONFIG

    figure: str
    """The figure itself: a price, a percentage, a factor."""
    date: str = ""
    """Day from which it holds (ISO), where that is not the date of the list."""
    example: bool = False
    """Whether it is an example and not the shop's own."""


@dataclass(frozen=True, slots=True)
class PriceList:
    """What work costs at one shop."""

    __pydantic_config__ = CONFIG

    name: str
    """Name of the list; an invented one says so."""
    date: str
    """Date it holds from (ISO)."""
    currency: str
    """Three letters, e.g. USD; one currency a shop."""
    labour_rate: str
    """Money an hour."""
    comeback_charge: str
    """What a comeback costs the shop beyond the work: the trip, the goodwill, the day lost."""
    parts: dict[str, str] = field(default_factory=dict)
    """Part -> price each; a price that begins with another currency's letters is refused. A part that is not here has
    no price: quotes say so and total the rest."""
    machine: dict[str, str] = field(default_factory=dict)
    """Machine-shop operation -> price each."""
    towing: str = ""
    """What fetching a machine costs, where a comeback is fetched and that is not in its charge already."""
    example: bool = False
    """Whether every figure of the list is an example, marked or not."""
    old_after_days: int = 365
    """A price older than this is called old wherever it is used."""
    growth_factor: str = "1.10"
    """A job that grows costs this many times the difference: parts ordered twice, the bench held."""
    growth_charge: str = ""
    """What each job that grows costs besides: the call and the customer's yes, a second order, the bench held."""
    reopening: str = ""
    """What opening the engine a second time costs."""
    hours: dict[str, float] = field(default_factory=dict)
    """Operation -> hours in this shop, where it knows better than the rule base."""
    engine_parts: dict[str, dict[str, str]] = field(default_factory=dict)
    """Engine sheet, or kind of engine -> part -> price each, where it differs. Parts of an engine without a sheet are
    priced by the kind that it is taken as."""
    replacement: str = ""
    """Price of a sound replacement engine, fitted, where the engine sheet gives none."""
    risk: dict[Risk, str] = field(default_factory=dict)
    """Risk of a check -> money set against it."""
    teardown_inspection: str = ""
    """Price of stripping and inspecting to the recommended depth for a written report, where asked for alone."""
    look_inside: dict[Literal["top_end", "refresh"], str] | None = None
    """Rung -> price of opening the engine so far, looking, measuring and reporting, where it is sold by itself; {}
    where the shop sells none."""
    look_credit_percent: str = "100"
    """Percent of that price which is credited when work follows."""
    promise_floor: float = 0.7
    """A job is promised from this chance of being enough."""
    firm_floor: float = 0.9
    """A refresh or a rebuild is promised without looking inside first from this chance of being enough."""
    wait_up_to: str = "0.00"
    """What is dearer than this is not called something that can wait."""
    supplies_percent: str = "0"
    """Shop supplies, percent of labour."""
    tax_percent: str = "0"
    """Tax, percent."""
    tax_on: tuple[Taxed, ...] = KINDS_TAXED
    """What the tax is charged on."""
    deposit_percent: str = "0"
    """Deposit, percent of the total."""
    valid_days: int = 30
    """How long a quote holds."""
    shop: Letterhead | None = None
    """The shop as it stands on its papers, where it keeps that with its prices and not in shop.yaml."""
    marks: dict[str, Mark] = field(default_factory=dict)
    """Figure -> its mark, by place: 'labour_rate', 'parts.piston', 'engine_parts.pell-1.piston'. Not written in the
    file as such: it is read from the figures there."""

    sure: dict[str, str] = field(default_factory=dict)
    """Figure that is questioned and right all the same -> why ('parts.piston': a set of two)."""
    questions: tuple[str, ...] = ()
    """What is questioned in it, as line:column and a sentence. Not written in the file."""
    stand_ins: dict[str, str] = field(default_factory=dict)
    """Place -> figure that stands in for one that the list lacks where jobs are weighed. Not written in the file."""

    def mark(self, place: str) -> Mark:
        """The mark of a figure; what the list says of all of them where it has none of its own."""
        own = self.marks.get(place, Mark())
        return Mark(own.date or self.date, own.example or self.example)

    def place_of_part(self, engine: str, part: str) -> str:
        """Where the price of a part on this engine stands."""
        return f"engine_parts.{engine}.{part}" if part in self.engine_parts.get(engine, {}) else f"parts.{part}"
