"""What speaks for a cause, as titles of signs, and which causes are named: for papers, which have room for a few."""

from __future__ import annotations

from collections.abc import Sequence

from ..model.knowledge import Knowledge
from ..model.results import Assessment, Belief
from ..model.terms import WORDS

TELLING = 0.45
"""Decibans from which a step of the waterfall is told."""


def signs_for(knowledge: Knowledge, answer: Assessment, cause: str, most: int = 2) -> tuple[str, ...]:
    """Titles of the signs that raise a cause, the strongest first; where none does by itself, of those present that it
    could bring. Empty where nothing that was noticed speaks for it."""
    belief = next((belief for belief in answer.beliefs if belief.cause == cause), None)
    if belief is None:
        return ()
    raised = sorted(
        (-round(step.decibans, 9), step.label)
        for step in belief.steps
        if step.kind == "present" and step.label in knowledge.findings and step.decibans > TELLING
    )
    names = [name for _, name in raised] or _could_bring(knowledge, answer, cause)
    return tuple(knowledge.findings[name].title for name in names[:most])


def seats(beliefs: Sequence[Belief], most: int, depth_by: Sequence[str]) -> tuple[Belief, ...]:
    """The first `most` of beliefs that stand in order. The last seat is that of the likeliest cause that alone needs
    the depth of the job (`Decision.depth_by`), where none of the likelier ones does: else nobody could tell from them
    why it is opened so far."""
    first, later = list(beliefs[:most]), {belief.cause: belief for belief in beliefs[most:]}
    if first and not any(belief.cause in depth_by for belief in first):
        first[-1] = next((later[cause] for cause in depth_by if cause in later), first[-1])
    return tuple(first)


def _could_bring(knowledge: Knowledge, answer: Assessment, cause: str) -> list[str]:
    """Present signs that list a cause, those it brings most often first."""
    listed = [
        (WORDS.index(word), name)
        for name in answer.counted.present
        if (word := knowledge.findings[name].explained_by.get(cause))
    ]
    return [name for _, name in sorted(listed, key=lambda item: (-item[0], item[1]))]
