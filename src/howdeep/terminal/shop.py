"""The shop's settings asked for in a terminal: each answer is on disk before the next question."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console

from ..errors import HowdeepError
from ..model.knowledge import Knowledge
from ..model.shop import ShopSettings
from ..shop.keys import place_of, plain_value
from ..shop.read import load_shop
from ..shop.write import put_settings
from ..show.shop_text import numbered_tools, shown
from .prompt import BACK, HELP_WANTED, QUIT, Ask, Leave, asked

HELP = "Enter leaves what stands there; none takes it out, b = back, q = leave."
QUESTIONS = (
    ("name", "Name of the shop, as it stands on its papers"),
    ("address", "Address (\\n begins a new line)"),
    ("phone", "Telephone"),
    ("email", "Mail address"),
    ("signs", "Who signs the papers"),
    ("guarantee", "What you guarantee, in a sentence or two for every estimate (at most 280 letters)"),
    ("terms", "Terms for every estimate: when to pay, how long you store (at most 280 letters)"),
    ("altitude", "Altitude of the shop with its unit, such as 1200 ft: thin air lowers compression"),
    ("units", "Units that figures are shown in: inch or metric"),
    ("promise_floor", "Promise a job from which chance of being enough (0.7 where nothing is said)"),
    ("firm_floor", "Promise a refresh or a rebuild unseen from which chance (0.9 where nothing is said)"),
    ("next_number", "Number of the next estimate that is printed, such as 1001 (none = papers carry no number)"),
    ("number_prefix", "What stands before that number, such as E-"),
)


def run_shop(path: Path, knowledge: Knowledge, console: Console, ask: Ask) -> ShopSettings:
    """Ask for everything in turn, the tools in one question at the end."""
    settings = load_shop(path if path.exists() or path.is_symlink() else None, knowledge)
    console.print(f"The shop, kept in {path} and used for every job beside it.")
    console.print(HELP)
    number = 0
    try:
        while number <= len(QUESTIONS):
            if number == len(QUESTIONS):
                back, settings = _tools(path, knowledge, settings, console, ask)
            else:
                back, settings = _one(path, knowledge, settings, QUESTIONS[number], console, ask)
            number = max(0, number - 1) if back else number + 1
    except (EOFError, KeyboardInterrupt, Leave):
        console.print()
    console.print(
        f"Every answer is in {path}; 'howdeep shop show' shows it."
        if path.exists()
        else "Nothing was answered, so nothing was written."
    )
    return settings


def _one(
    path: Path, knowledge: Knowledge, settings: ShopSettings, question: tuple[str, str], console: Console, ask: Ask
) -> tuple[bool, ShopSettings]:
    """(whether back was asked for, the settings)."""
    key, text = question
    stands = shown(settings, key)
    console.print(f"\n{text}" + (f"   [{stands}]" if stands else ""))
    while True:
        typed = asked(ask, "> ")
        if typed.lower() in QUIT:
            raise Leave
        if typed.lower() in BACK:
            return True, settings
        if typed.lower() in HELP_WANTED:
            console.print(HELP)
            continue
        if not typed:
            return False, settings
        place = place_of(knowledge, key)
        assert place is not None
        try:
            return False, put_settings(path, knowledge, {place: plain_value(place, typed)})
        except HowdeepError as error:
            for fault in error.faults:
                console.print(f"  {fault.message}" + (f" ({fault.hint})" if fault.hint else ""))


def _tools(
    path: Path, knowledge: Knowledge, settings: ShopSettings, console: Console, ask: Ask
) -> tuple[bool, ShopSettings]:
    """The tools in one list: the numbers of those that the shop does not own."""
    names = list(knowledge.tools)
    console.print("\nWhich of these does the shop NOT own? Checks that need them are then not offered.")
    for line in numbered_tools(knowledge, settings):
        console.print(line)
    while True:
        typed = asked(ask, "Numbers, commas between (Enter = as marked, none = owns all): ").lower()
        if typed in QUIT:
            raise Leave
        if typed in BACK:
            return True, settings
        if not typed:
            return False, settings
        if typed in ("none", "all", "0"):
            missing: set[int] = set()
        else:
            parts = [part for part in typed.replace(",", " ").split() if part]
            if not all(part.isdecimal() and 1 <= int(part) <= len(names) for part in parts):
                console.print(f"  Numbers from 1 to {len(names)}, with commas between.")
                continue
            missing = {int(part) for part in parts}
        changes: dict[str, Any] = {
            f"tools.{name}": "no" if number in missing else "yes" for number, name in enumerate(names, 1)
        }
        return False, put_settings(path, knowledge, changes)
