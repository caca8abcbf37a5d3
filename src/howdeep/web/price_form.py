"""A form of prices: what each of its fields shows of the list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field

from ..model.asked import AskedFigure
from ..model.frozen import dataclass
from ..model.prices import KINDS_TAXED, TABLES, TERMS, PriceList
from ..pricing.answers import NEEDED, NONE, SAME, unit_of
from ..pricing.places import figure_at
from ..pricing.standing import Standing, is_own, standing
from ..show.price_notes import shown_figure

DO, FOR_ENGINE = "do.", "here."
"""`do.PLACE`: what is to become of the figure that stands there; `here.PLACE`: the price is for one engine alone."""
SURE, WHY, SLIP = "sure.", "why.", "slip."
"""`sure.PLACE`: a figure that can hardly be is right, for the reason `why.PLACE`; `slip.PLACE`: what was meant."""
TAXED = "tax_on"
TAX = "Sales tax (0 where there is none)"
"""How the tax is asked for here, where what it is on is ticked."""
PRICED = frozenset({*TABLES, *TERMS, "engine_parts"})
"""First words of the places of prices; other figures of a list (hours, floors, days) are changed in its file."""


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of a form."""

    place: str
    ask: str
    unit: str
    was: str
    """The shop's own figure as it stands; empty for an example and for none."""
    shown: str
    """What the field shows: what was typed and could not be taken, else `was`."""
    standing: Standing
    told: str
    """'yours, of 2026-05-01', 'example: USD 34.00'."""
    choices: tuple[tuple[str, str], ...]
    """What may be chosen instead of typing: (value, words)."""
    chosen: str
    fault: str
    taxed: tuple[tuple[str, bool], ...] = ()
    """Of the tax alone: what it can be charged on, and whether it is."""
    for_engine: bool | None = None
    """Whether the price is meant for one engine alone; None where that cannot be said."""
    slips: tuple[tuple[str, str], ...] = ()
    may_keep: bool = False


@dataclass(frozen=True, slots=True)
class Back:
    """One figure that was not saved."""

    typed: str
    why: str
    slips: tuple[tuple[str, str], ...] = ()
    """(figure, which slip it would be) of what may have been meant instead."""
    may_keep: bool = False
    """Whether a tick settles it: it is right as it stands."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a form."""

    saved: int = 0
    back: dict[str, Back] = field(default_factory=dict)
    """Place -> what was not saved there, and why."""


def rows_of(
    prices: PriceList,
    figures: Iterable[AskedFigure],
    today: str,
    form: Mapping[str, str],
    taken: Taken | None = None,
    *,
    engine: str = "",
    typed: bool = False,
) -> list[Row]:
    """The fields of a form. With `typed` every field shows what was typed (the form expired); else those alone that
    came back. With an `engine`, a part's price may be for it alone."""
    made = []
    for figure in figures:
        place, back = figure.of, (taken.back if taken else {}).get(figure.of)
        own = own_text(prices, place)
        again = bool(back) or typed
        ticked = taxed_of(form) if again and place == "tax_percent" else prices.tax_on
        state = standing(prices, place, today)
        made.append(
            Row(
                place,
                TAX if place == "tax_percent" else figure.ask,
                unit_of(prices, place),
                own,
                back.typed if back else form.get(place, own) if typed else own,
                state,
                _told(prices, place, state),
                _choices(prices, place, state),
                form.get(DO + place, "") if again else "",
                back.why if back else "",
                tuple((kind, kind in ticked) for kind in KINDS_TAXED) if place == "tax_percent" else (),
                (FOR_ENGINE + place in form if again else False) if engine and place.startswith("parts.") else None,
                back.slips if back else (),
                back.may_keep if back else False,
            )
        )
    return made


def own_text(prices: PriceList, place: str) -> str:
    """The shop's own figure as a field shows it."""
    return figure_at(prices, place).split()[-1] if is_own(prices, place) else ""


def taxed_of(form: Mapping[str, str]) -> tuple[str, ...]:
    """What the tax was ticked to be on."""
    return tuple(kind for kind in KINDS_TAXED if f"{TAXED}.{kind}" in form)


def _told(prices: PriceList, place: str, state: Standing) -> str:
    if state == "missing":
        return "no price"
    if state == "example":
        return f"example, not yours: {shown_figure(prices, place).removesuffix(', example')}"
    return f"yours, of {prices.mark(place).date}" + (": old" if state == "old" else "")


def _choices(prices: PriceList, place: str, state: Standing) -> tuple[tuple[str, str], ...]:
    stands = shown_figure(prices, place).rpartition(", ")[0]
    if state == "old":
        return (("", "leave its date"), (SAME, f"{stands} still holds today"))
    if state != "example":
        return ()
    none = () if place in NEEDED else ((NONE, "I have no such price"),)
    return (("", "leave it an example"), (SAME, f"{stands} is my price, too"), *none)


__all__ = [
    "DO",
    "FOR_ENGINE",
    "PRICED",
    "SLIP",
    "SURE",
    "TAXED",
    "WHY",
    "Back",
    "Row",
    "Taken",
    "own_text",
    "rows_of",
    "taxed_of",
]
