"""A shop's price list. Money is decimal text in one currency."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .knowledge import CONFIG


@dataclass(frozen=True, slots=True)
class Shop:
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
    parts: dict[str, str]
    """Part -> price each; a price that begins with another currency's letters is refused."""
    machine: dict[str, str]
    """Machine-shop operation -> price each."""
    comeback_charge: str
    """What a comeback costs the shop beyond the work: the trip, the goodwill, the day lost."""
    growth_factor: str = "1.10"
    """A job that grows costs this many times the difference: parts ordered twice, the bench held."""
    growth_charge: str = "0.00"
    """What each job that grows costs besides: the call and the customer's yes, a second order, the bench held."""
    reopening: str = "0.00"
    """What opening the engine a second time costs."""
    hours: dict[str, float] = field(default_factory=dict)
    """Operation -> hours in this shop, where it knows better than the rule base."""
    engine_parts: dict[str, dict[str, str]] = field(default_factory=dict)
    """Engine sheet -> part -> price each, where it differs."""
    replacement: str = ""
    """Price of a sound replacement engine, fitted, where the engine sheet gives none."""
    risk: dict[Literal["none", "slight", "some"], str] = field(default_factory=dict)
    """Risk of a check -> money set against it."""
    teardown_inspection: str = "0.00"
    """Price of stripping and inspecting to the recommended depth for a written report, where asked for alone."""
    look_inside: dict[Literal["top_end", "refresh"], str] = field(default_factory=dict)
    """Rung -> price of opening the engine so far, looking, measuring and reporting, where it is sold by itself."""
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
    tax_on: tuple[Literal["labour", "parts", "machine", "supplies"], ...] = ("labour", "parts", "machine", "supplies")
    """What the tax is charged on."""
    deposit_percent: str = "0"
    """Deposit, percent of the total."""
    valid_days: int = 30
    """How long a quote holds."""
    shop: Shop | None = None
    """The shop, where its details are kept with its prices."""
