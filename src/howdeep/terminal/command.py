"""What is typed in place of an answer: help, why, back, another question, leaving."""

from __future__ import annotations

import re
from typing import Final

from ..errors import nearest
from ..interview.flow import Question
from ..interview.leads import leads_of
from ..interview.match_words import words_of
from ..interview.session import Desk
from ..show.interview_text import HELP, answered_lines, answered_names, verdict_lines
from ..show.why_asked import why_lines
from .card import show_cards
from .prompt import BACK, HELP_WANTED, QUIT, Leave
from .screen import paged
from .sitting import Enough, Sitting


class Again:
    """The command was seen to; the question stands."""


AGAIN: Final = Again()


def commanded(desk: Desk, question: Question, typed: str, sitting: Sitting) -> Question | Again | None:
    """The question that a command leads to, AGAIN where it was seen to, None where what was typed is no command.

    Raises Leave and Enough.
    """
    name, console, command = question.observation, sitting.console, typed.lower()
    if command in QUIT:
        raise Leave
    if command in ("e", "enough"):
        raise Enough
    if command == "p":
        show_cards(desk, name, sitting)  # conditions were seen to
        return AGAIN
    lines: list[str] = []
    if command in HELP_WANTED:
        lines = HELP.splitlines()
    elif command in ("v", "verdict"):
        lines = list(verdict_lines(desk, sitting.width))
    elif command in ("w", "why"):
        lines = list(why_lines(desk, question, name, leads_of(desk, name), sitting.width))
    elif command == "list":
        lines = list(answered_lines(desk, sitting.width))
    if lines:
        paged(console, sitting.ask, lines)
        return AGAIN
    if command in BACK:
        return _back(name, sitting)
    if match := re.fullmatch(r"c(?:hange)?\s+(.+)", command):
        wanted, hint = named(desk, match.group(1))
        if wanted:
            return Question(wanted, 0.0, "you called it")
        console.print(f"  There is no question '{match.group(1)}'{hint}; 'list' shows those answered.")
        return AGAIN
    return None


def _back(name: str, sitting: Sitting) -> Question | Again:
    earlier = [other for other in sitting.history if other != name]
    if not earlier:
        sitting.console.print("  There is nothing to go back to.")
        return AGAIN
    sitting.history = earlier[:-1]
    return Question(earlier[-1], 0.0, "you went back to it")


def named(desk: Desk, text: str) -> tuple[str, str]:
    """(observation, hint) for the number of an answer in the list, an id, or words of its title; '' where none is meant
    alone."""
    answered = answered_names(desk)
    if text.isdigit():
        return (answered[int(text) - 1], "") if 1 <= int(text) <= len(answered) else ("", f" (1 to {len(answered)})")
    plain = text.replace(" ", "_")
    observations = desk.knowledge.observations
    if plain in observations:
        return plain, ""
    said = set(words_of(text))
    for names in (answered, list(observations)):
        scores = {
            name: len(said & set(words_of(f"{observations[name].title} {name.replace('_', ' ')}"))) for name in names
        }
        best = max(scores.values(), default=0)
        close = [name for name, score in scores.items() if score == best]
        if best and len(close) == 1:
            return close[0], ""
        if best and names is answered:
            return "", f" alone: {', '.join(observations[name].title.lower() for name in close[:3])}"
    near = nearest(plain, observations)
    return "", f", {near}" if near else ""
