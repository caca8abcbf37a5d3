"""What forbids running, as it is told: what may happen, and what is done about it first; what says the same once."""

from __future__ import annotations

import re
from dataclasses import replace

from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from .texts import first_sentence, lower_first

ALIKE = 0.5
"""Two hazards that share this much of the shorter one's words say the same."""
LONG_WORD = 3
"""Letters from which a word counts in that."""


@dataclass(frozen=True, slots=True)
class ToldDanger:
    """One reason why the engine must not be run."""

    title: str
    """What was found, or the cause; titles of all that say the same."""
    chance: float
    """1 for what was seen, else the chance of the cause."""
    hazard: str
    """What may happen, one sentence."""
    remedy: str
    """What comes first, one sentence or more; empty where nothing is said."""


def told_dangers(knowledge: Knowledge, answer: Assessment) -> tuple[ToldDanger, ...]:
    """The dangers of an answer in their order; of two that say the same the first, under both titles."""
    told: list[ToldDanger] = []
    for danger in answer.decision.dangers:
        title = getattr(knowledge, danger.kind)[danger.subject].title
        hazard = first_sentence(danger.text)
        remedy = " ".join(danger.text.split()).removeprefix(hazard).strip()
        place = next(
            (
                number
                for number, other in enumerate(told)
                if other.chance == danger.chance and _alike(other.hazard, hazard)
            ),
            None,
        )
        if place is None:
            told.append(ToldDanger(title, danger.chance, hazard, remedy))
            continue
        other = told[place]
        told[place] = replace(other, title=f"{other.title}; {lower_first(title)}", remedy=other.remedy or remedy)
    return tuple(told)


def _alike(one: str, other: str) -> bool:
    first, second = (set(re.findall(rf"[a-z]{{{LONG_WORD},}}", text.lower())) for text in (one, other))
    return len(first & second) >= ALIKE * max(min(len(first), len(second)), 1)
