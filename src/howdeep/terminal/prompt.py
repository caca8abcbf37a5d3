"""What every talk in a terminal has in common: a clean answer, the words to leave, go back and be helped, faults."""

from __future__ import annotations

from collections.abc import Callable

from rich.console import Console

from ..errors import HowdeepError
from ..job.write import clean_text

Ask = Callable[[str], str]
"""Prompt -> what was typed. Raises EOFError or KeyboardInterrupt where the line is closed."""
QUIT = ("q", "quit")
BACK = ("b", "back")
YES = ("y", "yes")
NO = ("n", "no")
HELP_WANTED = ("h", "?", "help")


class Leave(Exception):
    """The person wants to stop."""


def asked(ask: Ask, prompt: str) -> str:
    """What was typed, without characters that no file may hold and without blanks round it."""
    return clean_text(ask(prompt)).strip()


def print_faults(console: Console, error: HowdeepError) -> None:
    """Every fault on a line of its own."""
    for fault in error.faults:
        console.print(f"  {fault}")
