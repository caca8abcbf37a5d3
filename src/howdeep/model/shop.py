"""What one shop says once and uses everywhere: letterhead, tools, altitude, units, floors of a promise, who signs."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .frozen import dataclass
from .prices import Letterhead
from .terms import CONFIG

SHOP_FORMAT = 1
Units = Literal["", "inch", "metric"]


@dataclass(frozen=True, slots=True)
class ShopSettings:
    """The shop's own settings, as they stand in shop.yaml beside the jobs. What is left out is not known."""

    __pydantic_config__ = CONFIG

    howdeep_shop: Literal[1] = 1
    """Format of the file."""
    letterhead: Letterhead | None = None
    """The shop as it stands on its papers; it goes before what a price list says."""
    tools: dict[str, Literal["yes", "no"]] = field(default_factory=dict)
    """Tool -> whether the shop owns it: 'no' takes the checks that cannot be made without it from what is offered. A
    tool that is not named counts as owned."""
    altitude: str = ""
    """Altitude of the shop with unit, e.g. '1200 ft': taken for every job that gives none of its own."""
    units: Units = ""
    """Units in which figures are shown: inch (in, psi, ft-lb, degF) or metric (mm, bar, Nm, degC), with the figure as
    it stands beside it; without one, as they stand. Figures are typed with their unit all the same, in either."""
    promise_floor: float | None = None
    """A job is promised from this chance of being enough; it goes before what a price list says."""
    firm_floor: float | None = None
    """A refresh or a rebuild is promised without looking inside first from this chance of being enough."""
    next_number: int | None = None
    """Number of the next estimate or change sheet that is printed; without one, papers carry no number."""
    number_prefix: str = ""
    """What stands before the number, e.g. 'E-'."""
    signs: str = ""
    """Who signs the shop's papers."""
    guarantee: str = ""
    """What the shop guarantees, in its own words, as it stands on every estimate; at most 280 letters."""
    terms: str = ""
    """Terms of payment and the like, in its own words, on every estimate; at most 280 letters."""
