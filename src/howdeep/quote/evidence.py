"""What speaks for a cause, as titles of signs: for papers, which name one or two and not the sum."""

from __future__ import annotations

from ..model.knowledge import Knowledge
from ..model.results import Assessment
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


def _could_bring(knowledge: Knowledge, answer: Assessment, cause: str) -> list[str]:
    """Present signs that list a cause, those it brings most often first."""
    listed = [
        (WORDS.index(word), name)
        for name in answer.counted.present
        if (word := knowledge.findings[name].explained_by.get(cause))
    ]
    return [name for _, name in sorted(listed, key=lambda item: (-item[0], item[1]))]
