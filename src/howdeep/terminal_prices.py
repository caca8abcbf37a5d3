"""Prices asked for in a terminal: one question at a time, each answer on disk before the next one shows."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from rich.console import Console

from .errors import HowdeepError
from .model.asked import AskedFigure, AskedGroup
from .model.knowledge import Knowledge
from .model.prices import KINDS_TAXED, PriceList
from .pricing.asked import groups, title_of
from .pricing.matching import Match
from .pricing.money import MoneyError, read_percent
from .pricing.places import figure_at
from .pricing.read import FACTORS, example_prices, load_prices
from .pricing.typed import NoPrice, typed_price
from .pricing.write import Figure, create_list, new_list, put_figures
from .show.price_notes import shown_figure
from .terminal_prompt import BACK, HELP_WANTED, QUIT, Ask, Leave, asked, print_faults

HELP = ("Type the figure. Also: = the one shown is yours, Enter = later (it stays as it\n"
        "is), none = you have no such price, b = back, h = help, q = leave.")
HERE = "here"


@dataclass(slots=True)
class Sitting:
    """One list being filled in."""

    path: Path
    knowledge: Knowledge
    console: Console
    ask: Ask
    today: str
    engine: str = ""
    """Engine sheet for which 'here' puts a part's price; empty where none is meant."""

    @property
    def prices(self) -> PriceList:
        """The list as it stands on disk."""
        return load_prices(self.path, self.knowledge)

    def put(self, place: str, figure: Figure | None, **others: Any) -> None:
        put_figures(self.path, self.knowledge, {place: figure}, others=others or None)


def begin(path: Path, knowledge: Knowledge, console: Console, ask: Ask) -> None:
    """Write a new list with every figure an example, after asking whose it is and in what currency."""
    console.print(f"A new price list: {path}. Every figure in it is an invented example until you put yours in its "
                  "place. Answers are saved one by one; the same command goes on.")
    name = " ".join(asked(ask, "Name of the shop: ").split())[:80] or "Our shop"
    while True:
        currency = asked(ask, "Currency, three letters (Enter = USD): ").upper() or "USD"
        if len(currency) == 3 and currency.isascii() and currency.isalpha():
            break
        console.print("  Three letters, such as USD, CAD, GBP or EUR.")
    example = load_prices(example_prices(), knowledge)
    create_list(path, new_list(knowledge, example, name=f"{name}, prices", currency=currency,
                               date=datetime.date.today().isoformat()))


def run_new(path: Path, knowledge: Knowledge, console: Console, ask: Ask) -> None:
    """Ask for what matters most, then for as many of the other groups as the person wants.

    Raises Leave where the person stops before there is a list.
    """
    try:
        if not path.exists():
            begin(path, knowledge, console, ask)
        sitting = Sitting(path, knowledge, console, ask, datetime.date.today().isoformat())
        load_prices(path, knowledge)
    except (EOFError, KeyboardInterrupt):
        raise Leave from None
    console.print(HELP)
    try:
        told = groups(knowledge)
        ask_group(sitting, told[0])
        while (chosen := _next_group(sitting, told)) is not None:
            ask_group(sitting, chosen)
    except (Leave, EOFError, KeyboardInterrupt):
        console.print()
    console.print(standing_line(sitting.prices))
    console.print(f"Every answer is in {path}; 'howdeep prices new {path}' goes on from here.")


def _next_group(sitting: Sitting, told: tuple[AskedGroup, ...]) -> AskedGroup | None:
    """The group that is asked for next; None where the person has enough."""
    prices = sitting.prices
    left = [(group, len(open_figures(group.ask, prices))) for group in told]
    left = [(group, count) for group, count in left if count]
    if not left:
        return None
    sitting.console.print("\nStill examples, not yours:")
    for number, (group, count) in enumerate(left, 1):
        sitting.console.print(f"  {number}  {group.title} ({count})")
    while True:
        typed = asked(sitting.ask, "Go on with which? (Enter = enough for now): ").lower()
        if typed in ("", "q", "n", "no"):
            return None
        if typed.isdecimal() and 1 <= int(typed) <= len(left):
            return left[int(typed) - 1][0]
        sitting.console.print("  Type its number, or Enter to stop.")


def open_figures(figures: Iterable[AskedFigure], prices: PriceList) -> list[AskedFigure]:
    """Those of the figures that are an example in the list."""
    return [figure for figure in figures if figure_at(prices, figure.of) and prices.mark(figure.of).example]


def ask_group(sitting: Sitting, group: AskedGroup) -> None:
    """Ask for what is open of a group. Raises Leave."""
    prices = sitting.prices
    wanted = [figure for figure in group.ask if not is_own(prices, figure.of)]
    if not wanted:
        return
    sitting.console.print(f"\n{group.title.upper()} ({len(wanted)} of {len(group.ask)} to ask)")
    ask_each(sitting, wanted)


def is_own(prices: PriceList, place: str) -> bool:
    """Whether the list has a figure of the shop's own there."""
    return bool(figure_at(prices, place)) and not prices.mark(place).example


def ask_each(sitting: Sitting, figures: list[AskedFigure]) -> None:
    """Ask for figures in turn; back leads to the one before. Raises Leave."""
    number = 0
    while 0 <= number < len(figures):
        number += -1 if not _one(sitting, figures[number], f"{number + 1} of {len(figures)}") and number else 1


def _one(sitting: Sitting, figure: AskedFigure, where: str) -> bool:
    """Ask for one figure until it is given or left; False for back."""
    console, prices = sitting.console, sitting.prices
    stands = shown_figure(prices, figure.of)
    console.print(f"\n{where}  {figure.ask}" + (f"   [{stands}]" if stands else ""))
    while True:
        typed = asked(sitting.ask, f"{unit_of(prices, figure.of)}> ")
        low = typed.lower()
        if low in QUIT:
            raise Leave
        if low in BACK:
            return False
        if low in HELP_WANTED:
            console.print(HELP + (f"\n'48.50 {HERE}' is a price for this engine alone." if sitting.engine else ""))
            continue
        if low == "":
            return True
        try:
            _take(sitting, prices, figure.of, typed)
        except (NoPrice, MoneyError) as error:
            console.print(f"  {error}")
            continue
        except HowdeepError as error:
            print_faults(console, error)
            continue
        return True


def _take(sitting: Sitting, prices: PriceList, place: str, typed: str) -> None:
    """Save what was typed for a figure. Raises NoPrice, MoneyError or HowdeepError where it cannot be."""
    low = typed.lower()
    now = figure_at(prices, place)
    if low == "none":
        if place in ("labour_rate", "comeback_charge"):
            raise NoPrice("without it no work has a price; give it a figure" if place == "labour_rate" else
                          "type 0 where a comeback costs you nothing besides the work")
        sitting.put(place, None)
        return
    if typed == "=":
        if not now:
            raise NoPrice("nothing stands there that could be yours; type a figure")
        sitting.put(place, Figure(now, sitting.today))
        return
    if place == "tax_percent":
        percent, taxed = typed_tax(typed, sitting.ask)
        sitting.put(place, Figure(percent, sitting.today), tax_on=list(taxed))
        return
    if place == "growth_factor":
        sitting.put(place, Figure(_factor(typed), sitting.today))
        return
    if place.endswith("_percent"):
        sitting.put(place, Figure(f"{_percent(typed)}", sitting.today))
        return
    words = typed.split()
    if len(words) > 1 and words[-1].lower() == HERE and sitting.engine and place.startswith("parts."):
        typed, place = " ".join(words[:-1]), f"engine_parts.{sitting.engine}.{place.removeprefix('parts.')}"
    price = typed_price(typed, prices.currency)
    if price is None:
        raise NoPrice(f"'{typed}' is not a price; write it like 62.50, or 'none'")
    sitting.put(place, Figure(f"{price}", sitting.today))


def typed_tax(typed: str, ask: Ask) -> tuple[str, tuple[str, ...]]:
    """('7', ('parts', 'supplies')) from '7 on parts, supplies'. Raises MoneyError or NoPrice."""
    percent, _, on = typed.partition(" on ")
    rate = _percent(percent)
    if not rate:
        return "0", KINDS_TAXED
    while True:
        names = [word for word in re.split(r"[,;\s]+|\band\b", on.strip().lower()) if word]
        if names in (["all"], ["everything"]):
            return f"{rate}", KINDS_TAXED
        known = [next((name for name in KINDS_TAXED if name.startswith(word.rstrip("s")) and len(word) > 2), word)
                 for word in names]
        if known and set(known) <= set(KINDS_TAXED):
            return f"{rate}", tuple(name for name in KINDS_TAXED if name in known)
        if on:
            raise NoPrice(f"tax on '{on.strip()}': say on which of {', '.join(KINDS_TAXED)}, or all")
        on = asked(ask, f"On what? {', '.join(KINDS_TAXED)} (Enter = all): ") or "all"


def _percent(typed: str) -> Decimal:
    return read_percent(typed.replace("%", "").replace(",", ".").replace("percent", "").strip())


def _factor(typed: str) -> str:
    text = typed.replace(",", ".").strip()
    try:
        factor = 1 + float(text.rstrip("% ")) / 100 if "%" in text else float(text)
    except ValueError:
        factor = 0.0
    if not FACTORS[0] <= factor <= FACTORS[1]:
        raise NoPrice(f"'{typed}' is not a factor from 1 to 3; 1.15 or '15 %' is fifteen percent more")
    return f"{factor:.4g}"


def unit_of(prices: PriceList, place: str) -> str:
    """What stands before the prompt: the currency, percent or nothing."""
    return "percent " if place.endswith("_percent") else "times " if place == "growth_factor" else f"{prices.currency} "


def standing_line(prices: PriceList) -> str:
    """'12 of 140 prices are yours; 128 are examples.'"""
    places = ["labour_rate", *(f"{table}.{name}" for table in ("machine", "parts") for name in getattr(prices, table))]
    own = sum(not prices.mark(place).example for place in places)
    return f"{own} of {len(places)} prices are yours; {len(places) - own} are examples."


def run_fill(path: Path, knowledge: Knowledge, places: Iterable[str], engine: str, console: Console, ask: Ask) -> int:
    """Ask for these figures; returns how many of them the list has of the shop's own afterwards."""
    sitting = Sitting(path, knowledge, console, ask, datetime.date.today().isoformat(), engine)
    wanted = list(dict.fromkeys(places))
    console.print(HELP)
    try:
        ask_each(sitting, [AskedFigure(place, title_of(knowledge, place)) for place in wanted])
    except (Leave, EOFError, KeyboardInterrupt):
        console.print()
    prices = sitting.prices
    return sum(is_own(prices, prices.place_of_part(engine, place.removeprefix("parts.")) if place.startswith("parts.")
                      else place) for place in wanted)


def near_question(knowledge: Knowledge, match: Match, prices: PriceList, ask: Ask) -> str:
    """The place that a person takes a near row for; '' for none, 'all' for this and every one after it, 'stop'."""
    row = match.row
    choices = "; ".join(f"{number} = {title_of(knowledge, place)}" for number, place in enumerate(match.places, 1))
    print(f"\nRow {row.line}: '{row.part}', {prices.currency} {row.price:,.2f} ({match.why})")
    while True:
        try:
            typed = ask(f"  {choices}; Enter = none, a = all first ones, q = stop: ").strip().lower()
        except (EOFError, KeyboardInterrupt):
            return "stop"
        if typed in ("", "n", "no"):
            return ""
        if typed in ("y", "yes"):
            return match.places[0]
        if typed in ("a", "all"):
            return "all"
        if typed in ("q", "quit", "stop"):
            return "stop"
        if typed.isdecimal() and 1 <= int(typed) <= len(match.places):
            return match.places[int(typed) - 1]
        print("  A number, Enter, a or q.")
