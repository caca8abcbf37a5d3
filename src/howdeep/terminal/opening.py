"""How a talk in a terminal begins: all that the customer's own words say is read back once, to be confirmed."""

from __future__ import annotations

import re
from typing import Any

from ..errors import HowdeepError
from ..interview.heard import Heard, heard_in
from ..interview.session import Desk, open_desk, put_many
from ..job import write
from ..knowledge.questions import COMPLAINTS
from ..show.answers import echo
from ..show.interview_text import HELP, heard_lines
from .prompt import BACK, HELP_WANTED, NO, QUIT, YES, Leave, asked, print_faults
from .reading import NOT_NOW
from .screen import paged, say
from .sitting import Sitting

MORE = ("m", "more")


def confirmed(desk: Desk, sitting: Sitting) -> Desk:
    """Offer what the customer's own words say and save what is so. Raises Leave."""
    heard = heard_in(desk.knowledge, desk.job, desk.answer.facts.values)
    if not heard.complaints and not heard.signs:
        return desk
    paged(sitting.console, sitting.ask, ["", *heard_lines(desk, heard, sitting.width)])
    while True:
        typed = asked(sitting.ask, "> ").lower()
        if typed in QUIT:
            raise Leave
        if typed in (*NOT_NOW, *NO, "0"):
            return desk
        if typed in HELP_WANTED:
            say(sitting.console, HELP.splitlines())
            continue
        if typed in BACK:
            return confirmed(_said_again(desk, sitting), sitting)
        values = _meant(heard, typed, sitting)
        if values:
            break
    desk = put_many(desk, values)
    for name, value in values.items():
        if name not in heard.more or value != heard.more[name]:
            sitting.console.print(f"  {echo(desk.knowledge.observations[name], value)}")
        sitting.history.append(name)
    return desk


def _said_again(desk: Desk, sitting: Sitting) -> Desk:
    """The desk with the customer's words typed again; Enter leaves them. Raises Leave."""
    words = asked(sitting.ask, "What is wrong, in the customer's own words (Enter = as before): ")
    if words.lower() in QUIT:
        raise Leave
    if not words or words.lower() in BACK:
        return desk

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        customer = plain.get("customer") or {}
        by_words = plain.get("title") == write.title_of(customer.get("words", ""))
        title = {"title": write.title_of(words)} if by_words else {}
        return {**plain, **title, "customer": {**customer, "words": words}}

    try:
        write.save(desk.path, desk.job.digest, change)
    except HowdeepError as error:
        print_faults(sitting.console, error)
    return open_desk(desk.shop, desk.path, desk.last, desk.part)


def _meant(heard: Heard, typed: str, sitting: Sitting) -> dict[str, str]:
    """What is so by what was typed; nothing where it says nothing, and that is told."""
    if typed in YES:
        return heard.confirmed
    if typed in MORE and heard.more:
        return {name: value for name, value in heard.confirmed.items() if name not in heard.more}
    count = len(heard.complaints)
    numbers = re.split(r"[\s,;]+", typed)
    if not all(number.isdigit() and 1 <= int(number) <= count + len(heard.signs) for number in numbers):
        said = "y, m" if heard.more else "y"
        sitting.console.print(f"  {said}, Enter, or numbers from 1 to {count + len(heard.signs)} are wanted.")
        return {}
    places = list(dict.fromkeys(int(number) - 1 for number in numbers))
    told = [heard.complaints[place] for place in places if place < count]
    if len(told) > len(COMPLAINTS):
        sitting.console.print("  Two complaints at most: which are the main ones?")
        return {}
    signs = dict(heard.signs[place - count] for place in sorted(places) if place >= count)
    return {**dict(zip(COMPLAINTS, told, strict=False)), **signs}


__all__ = ["confirmed"]
