"""Prices asked for in a terminal: one question at a time, each answer on disk before the next one shows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console

from ..clock import date_today
from ..errors import HowdeepError
from ..files.strict_yaml import read
from ..model.asked import AskedFigure, AskedGroup
from ..model.knowledge import Knowledge
from ..model.prices import KINDS_TAXED, PriceList
from ..pricing.answers import HERE, SAME, read_answer, read_tax, unit_of
from ..pricing.asked import groups, question_of, title_of
from ..pricing.doubtful import Doubtful, doubtful, with_sure
from ..pricing.matching import Match
from ..pricing.money import MoneyError
from ..pricing.read import load_prices
from ..pricing.standing import counted, is_own, open_figures
from ..pricing.typed import NoPrice
from ..pricing.write import Figure, changed, put_figures
from ..show.fault_lines import WIDTH
from ..show.price_check_text import in_short
from ..show.price_notes import shown_figure
from ..show.question_card import wrapped
from .new_list import begin
from .prompt import BACK, HELP_WANTED, QUIT, YES, Ask, Leave, asked, print_faults

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
    while number < len(figures):
        if _one(sitting, figures[number], f"{number + 1} of {len(figures)}"):
            number += 1
        elif number:
            number -= 1
        else:
            sitting.console.print("  This is the first of them.")


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
            if not _take(sitting, prices, figure.of, typed):
                continue
        except (NoPrice, MoneyError) as error:
            console.print(f"  {error}")
            continue
        except HowdeepError as error:
            print_faults(console, error)
            continue
        return True


def _take(sitting: Sitting, prices: PriceList, place: str, typed: str) -> bool:
    """Save what was typed for a figure; False where it is to be typed again. One that can hardly be is asked about,
    with what may have been meant. Raises Leave, and NoPrice, MoneyError or HowdeepError where it cannot be."""
    if place == "tax_percent" and typed.lower() not in (SAME, "none"):
        typed = with_taxed(typed, sitting.ask)
        if not typed:
            return False
    answer = read_answer(prices, place, typed, sitting.today, engine=sitting.engine)
    figures = {answer.place: answer.figure}
    document = read(sitting.path)
    others = {**answer.others, **with_sure(document.value, figures, {})}
    doubt = doubtful(document, changed(document.value, figures, others), sitting.knowledge).get(answer.place)
    if doubt is not None and answer.figure is not None:
        meant = _meant(sitting, doubt)
        if meant is None:
            return False
        if meant:
            figures = {answer.place: Figure(meant, answer.figure.date)}
        else:
            why = f"looked at again on {sitting.today}"
            others = {**answer.others, **with_sure(document.value, figures, {answer.place: why})}
    put_figures(sitting.path, sitting.knowledge, figures, others=others or None)
    return True


def _meant(sitting: Sitting, doubt: Doubtful) -> str | None:
    """What is meant by a figure that can hardly be: another one, '' for just that, None where it is to be typed again.
    Raises Leave."""
    why = in_short(doubt.why).removeprefix(doubt.place).strip()
    for line in wrapped(f"That can hardly be: {why}.", WIDTH, "  ", "  "):
        sitting.console.print(line)
    for number, (figure, slip) in enumerate(doubt.slips, 1):
        sitting.console.print(f"    {number}  {figure}: {slip}")
    offer = [*(["a number"] if doubt.slips else []), "k = it is right as typed", "Enter = type it again"]
    while True:
        typed = asked(sitting.ask, f"  Which ({', '.join(offer)}): ").lower()
        if typed in QUIT:
            raise Leave
        if typed == "" or typed in BACK:
            return None
        if typed.isdecimal() and 1 <= int(typed) <= len(doubt.slips):
            return doubt.slips[int(typed) - 1][0]
        if typed in ("k", "keep", *YES):
            return ""
        sitting.console.print("    That is none of them.")


def with_taxed(typed: str, ask: Ask) -> str:
    """'7 on parts' as it is; '7' with what the person says that it is on; empty for back to the figure. Raises Leave,
    MoneyError or NoPrice."""
    if read_tax(typed)[1]:
        return typed
    while True:
        on = asked(ask, f"On what? {', '.join(KINDS_TAXED)} (Enter = all): ") or "all"
        if on.lower() in QUIT:
            raise Leave
        if on.lower() in BACK:
            return ""
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
