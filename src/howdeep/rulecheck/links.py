"""One frequency word by itself: how often a cause shows a finding, and what that rests on."""

from __future__ import annotations

from ..assessment.explain import source_text
from ..knowledge.frequencies import band_of, grounds_of, number_at, scale_of, standing_of
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.terms import WordStanding


@dataclass(frozen=True, slots=True)
class WordTold:
    """One link word with its standing."""

    address: str
    """findings/FINDING/CAUSE."""
    cause: str
    """Title."""
    finding: str
    """Title."""
    word: str
    share: float
    low: float
    high: float
    """Shares that lie nearer to this word than to any other."""
    standing: WordStanding
    figures: tuple[tuple[str, str, str], ...]
    """(id, title, what was counted) of the figures that ground it."""
    link: tuple[str, ...]
    """What the link itself rests on: that the fault shows the sign, which says nothing of how often."""


def word_of(knowledge: Knowledge, what: str) -> WordTold | None:
    """The word of 'CAUSE/FINDING' or 'FINDING/CAUSE'; None where the two are not linked."""
    one, _, other = what.partition("/")
    for cause, finding in ((one, other), (other, one)):
        entry = knowledge.findings.get(finding)
        if entry is None or cause not in entry.explained_by:
            continue
        address = f"findings/{finding}/{cause}"
        share = number_at(knowledge, address) or 0.0
        grounds = grounds_of(knowledge)
        figures = tuple(
            (name, knowledge.frequencies[name].title, " ".join(knowledge.frequencies[name].counted.split()))
            for name, _ in grounds.get(address, ())
        )
        return WordTold(
            address,
            knowledge.causes[cause].title,
            entry.title,
            entry.explained_by[cause],
            share,
            *band_of(share, scale_of(knowledge, address)),
            standing_of(grounds, address),
            figures,
            tuple(source_text(knowledge, source) for source in entry.source),
        )
    return None
