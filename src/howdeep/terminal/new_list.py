"""A price list begun in a terminal: whose it is and in what currency; every figure an example until it is answered."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from ..clock import date_today
from ..model.knowledge import Knowledge
from ..pricing.read import example_prices, load_prices
from ..pricing.write import create_list, new_list
from ..shop.read import find_shop, load_shop
from .prompt import BACK, QUIT, Ask, Leave, asked


def begin(path: Path, knowledge: Knowledge, console: Console, ask: Ask) -> None:
    """Write a new list with every figure an example, after asking whose it is and in what currency."""
    console.print(
        f"A new price list: {path}. Every figure in it is an invented example until you put yours in its "
        "place. Answers are saved one by one; the same command goes on."
    )
    while True:
        name = _name(path, knowledge, console, ask)
        currency = _currency(console, ask)
        if currency:
            break
    example = load_prices(example_prices(), knowledge)
    create_list(path, new_list(knowledge, example, name=f"{name}, prices", currency=currency, date=date_today()))


def _name(path: Path, knowledge: Knowledge, console: Console, ask: Ask) -> str:
    """Whose list it is; what the shop's settings say is offered. Raises Leave."""
    head = load_shop(find_shop(path.parent), knowledge).letterhead
    said = head.name if head else ""
    while True:
        typed = " ".join(asked(ask, f"Name of the shop{f' (Enter = {said})' if said else ''}: ").split())[:80]
        if typed.lower() in QUIT:
            raise Leave
        if typed.lower() in BACK:
            console.print("  This is the first question.")
        elif typed and not any(letter.isalpha() for letter in typed):
            console.print("  That is a figure; the prices are asked after this.")
        else:
            return typed or said or "Our shop"


def _currency(console: Console, ask: Ask) -> str:
    """The currency; empty for back. Raises Leave."""
    while True:
        typed = asked(ask, "Currency, three letters (Enter = USD): ").upper() or "USD"
        if typed.lower() in QUIT:
            raise Leave
        if typed.lower() in BACK:
            return ""
        if len(typed) == 3 and typed.isascii() and typed.isalpha():
            return typed
        console.print("  Three letters, such as USD, CAD, GBP or EUR.")


__all__ = ["begin"]
