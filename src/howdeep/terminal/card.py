"""The cards of one question in a terminal, each read before the next; the conditions of a test ticked on the way."""

from __future__ import annotations

from ..errors import HowdeepError
from ..interview.conditions import conditions_of
from ..interview.own_words import offered
from ..interview.session import Desk, put_many
from ..knowledge.questions import COMPLAINTS
from ..show.answers import echo
from ..show.question_card import cards, cautions_of
from .prompt import print_faults
from .reading import ticked
from .screen import on, say, size_of
from .sitting import Sitting


def show_cards(desk: Desk, name: str, sitting: Sitting) -> Desk:
    """The cards of one question, each read before the next; the conditions of a test are ticked before what it
    reads."""
    width, height = size_of(sitting.console)
    tick = (
        name not in sitting.ticked
        and name not in desk.job.values
        and bool(conditions_of(desk.knowledge, desk.job, name))
    )
    pages = cards(desk, name, width, height - 1, read=sitting.read, said=offer_of(desk, name), apart=tick)
    sitting.ticked.add(name)
    for number, page in enumerate(pages):
        last = number == len(pages) - 1
        if last and tick:
            desk = _conditions(desk, name, sitting)
        say(sitting.console, page)
        if not last and not (tick and number == len(pages) - 2):
            on(sitting.console, sitting.ask)
    sitting.read.update(cautions_of(desk, name))
    return desk


def offer_of(desk: Desk, name: str) -> str:
    """The answer that the customer's own words say, to be confirmed; complaints are offered before the first card."""
    return "" if name in COMPLAINTS else offered(desk.knowledge, desk.job, name)


def _conditions(desk: Desk, name: str, sitting: Sitting) -> Desk:
    """Take down the conditions of a test, once."""
    values = ticked(desk, name, sitting.console, sitting.ask)
    if not values:
        return desk
    try:
        desk = put_many(desk, values)
    except HowdeepError as error:
        print_faults(sitting.console, error)
        return desk
    for other, value in values.items():
        sitting.console.print(f"  {echo(desk.knowledge.observations[other], value)}"[: sitting.width])
    return desk
