"""Prices asked for in a terminal: one question at a time, each answer on disk before the next one shows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console

from ..clock import date_today
from ..errors import HowdeepError
from ..model.asked import AskedFigure, AskedGroup
from ..model.knowledge import Knowledge
from ..model.prices import KINDS_TAXED, PriceList
from ..pricing.answers import HERE, SAME, read_answer, read_tax, unit_of
from ..pricing.asked import groups, question_of, title_of
from ..pricing.matching import Match
from ..pricing.money import MoneyError
from ..pricing.read import example_prices, load_prices
from ..pricing.standing import counted, is_own, open_figures
from ..pricing.typed import NoPrice
from ..pricing.write import create_list, new_list, put_figures
from ..show.price_notes import shown_figure
from .prompt import BACK, HELP_WANTED, QUIT, Ask, Leave, asked, print_faults

HELP = (
    "Type the figure. Also: = the one shown is yours, Enter = later (it stays as it\n"
    "is), none = you have no such price, b = back, h = help, q = leave."
)


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


def begin(path: Path, knowledge: Knowledge, console: Console, ask: Ask) -> None:
    """Write a new list with every figure an example, after asking whose it is and in what currency."""
    console.print(
        f"A new price list: {path}. Every figure in it is an invented example until you put yours in its "
        "place. Answers are saved one by one; the same command goes on."
    )
    name = " ".join(asked(ask, "Name of the shop: ").split())[:80] or "Our shop"
    while True:
        currency = asked(ask, "Currency, three letters (Enter = USD): ").upper() or "USD"
        if len(currency) == 3 and currency.isascii() and currency.isalpha():
            break
        console.print("  Three letters, such as USD, CAD, GBP or EUR.")
    example = load_prices(example_prices(), knowledge)
    create_list(path, new_list(knowledge, example, name=f"{name}, prices", currency=currency, date=date_today()))


def run_new(path: Path, knowledge: Knowledge, console: Console, ask: Ask) -> None:
    """Ask for what matters most, then for as many of the other groups as the person wants.

    Raises Leave where the person stops before there is a list.
    """
    try:
        if not path.exists():
            begin(path, knowledge, console, ask)
        sitting = Sitting(path, knowledge, console, ask, date_today())
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


def ask_group(sitting: Sitting, group: AskedGroup) -> None:
    """Ask for what is open of a group. Raises Leave."""
    prices = sitting.prices
    wanted = [figure for figure in group.ask if not is_own(prices, figure.of)]
    if not wanted:
        return
    sitting.console.print(f"\n{group.title.upper()} ({len(wanted)} of {len(group.ask)} to ask)")
    ask_each(sitting, wanted)


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
        typed = asked(sitting.ask, f"{unit_of(prices, figure.of)} > ")
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
    if place == "tax_percent" and typed.lower() not in (SAME, "none"):
        typed = with_taxed(typed, sitting.ask)
    answer = read_answer(prices, place, typed, sitting.today, engine=sitting.engine)
    put_figures(sitting.path, sitting.knowledge, {answer.place: answer.figure}, others=answer.others or None)


def with_taxed(typed: str, ask: Ask) -> str:
    """'7 on parts' as it is; '7' with what the person says that it is on. Raises MoneyError or NoPrice."""
    if read_tax(typed)[1]:
        return typed
    while True:
        on = asked(ask, f"On what? {', '.join(KINDS_TAXED)} (Enter = all): ") or "all"
        if read_tax(f"{typed} on {on}")[1]:
            return f"{typed} on {on}"


def standing_line(prices: PriceList) -> str:
    """'12 of 140 prices are yours; 128 are examples.'"""
    own, every = counted(prices)
    return f"{own} of {every} prices are yours; {every - own} are examples."


def run_fill(path: Path, knowledge: Knowledge, places: Iterable[str], engine: str, console: Console, ask: Ask) -> int:
    """Ask for these figures; returns how many of them the list has of the shop's own afterwards."""
    sitting = Sitting(path, knowledge, console, ask, date_today(), engine)
    wanted = list(dict.fromkeys(places))
    console.print(HELP)
    try:
        ask_each(sitting, [AskedFigure(place, question_of(knowledge, place)) for place in wanted])
    except (Leave, EOFError, KeyboardInterrupt):
        console.print()
    prices = sitting.prices
    return sum(
        is_own(
            prices, prices.place_of_part(engine, place.removeprefix("parts.")) if place.startswith("parts.") else place
        )
        for place in wanted
    )


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
