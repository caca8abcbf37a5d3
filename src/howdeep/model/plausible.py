"""What a figure that a shop writes may plausibly be, as the rules give it."""

from __future__ import annotations

from typing import Literal

from .frozen import dataclass
from .sources import Source
from .terms import CONFIG


@dataclass(frozen=True, slots=True)
class Plausible:
    """One guard over figures of an engine sheet, a price list or the rules: a range of each, of their ratio to another,
    or their order.

    A path names a figure as its file does ('ring_gap.low', 'torques.head.value', 'undersizes.*' for each of a list).
    With `each`, a path that begins with a dot stands for that part of each of them.
    """

    __pydantic_config__ = CONFIG

    title: str
    """What is guarded, as the subject of a sentence."""
    figures: tuple[str, ...]
    """Paths of the figures."""
    because: str
    """Why it cannot well be otherwise."""
    source: tuple[Source, ...]
    """Where the range comes from."""
    each: tuple[str, ...] = ()
    """Figures whose parts the paths with a leading dot name."""
    unit: str = ""
    """Unit of the range; empty for numbers and ratios."""
    over: str = ""
    """Path of the figure it is divided by: the range is then one of the ratio. `expected_cranking`, `example` (the same
    figure of the example list), `general` (the price of the part for every engine) and `shipped` (the same figure of
    the rules that are laid over) stand for what is worked out."""
    least: float | None = None
    """Below this it is questioned."""
    most: float | None = None
    """Above this it is questioned."""
    never_below: float | None = None
    """Below this it is refused."""
    never_above: float | None = None
    """Above this it is refused."""
    below: str = ""
    """Path of a figure that it must stay below: refused otherwise."""
    not_above: str = ""
    """Path of a figure that it must not pass: refused otherwise."""
    fuel: Literal["petrol", "diesel", ""] = ""
    """Kind of engine it holds for; empty for all."""
    zero: bool = False
    """True where the figure may be nothing; every other figure of a sheet is above nothing."""
    signed: bool = False
    """True where the figures of a ratio may be below nothing."""
