"""Questions that evidence reads: which answer is sound, and which of two telling ones would be named."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..arrays import Truths
from ..knowledge.questions import evidence_choices, named_of, sound_of
from .base import Check, Complaint
from .subject import Subject
from .worlds import ABSENT, PRESENT, Space, TooWide


class NoSoundAnswer(Check):
    """A choice that evidence reads does not say which answer a sound engine gives.

    Why it matters: an answer that is evidence for a fault is weighed against the one that is given where nothing is
    wrong; where no answer is sound, every engine looks as if something spoke of a fault.
    What to do: write sound, or an order in worsens whose first answer is the sound one. Where there can be none,
    because the question is only there once something is wrong, say so in an excuse.
    Bad: overheats with the answers no, pulling and always, and nothing that says that "no" is sound.
    Good: sound: [no].
    """

    code, severity = "no-sound-answer", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        base = subject.knowledge
        for fact, answers in evidence_choices(base).items():
            kind = "observations" if fact in base.observations else "reduced"
            if not sound_of(getattr(base, kind)[fact]):
                reader = next(iter(answers.values()), "")
                yield Complaint(
                    f"{kind}/{fact}",
                    "no answer is said to be sound" + (f", and '{reader}' reads it as evidence" if reader else ""),
                    "write sound",
                    ("answers",),
                )


class UnnamedAnswer(Check):
    """A telling answer stands in no order of what would be named.

    Why it matters: two faults can each give an answer of their own to one question, and only one is heard. An answer
    that stands nowhere in that order could never be heard beside another, and so would speak for no fault.
    What to do: put it into named, between the less and the more alarming, or into sound where it tells nothing.
    Bad: sound: [none], named: [blue_light, black], while a finding reads blue_heavy.
    Good: named: [blue_light, black, blue_heavy].
    """

    code, severity = "unnamed-answer", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        base = subject.knowledge
        for fact, answers in evidence_choices(base).items():
            kind = "observations" if fact in base.observations else "reduced"
            item = getattr(base, kind)[fact]
            for word, reader in answers.items():
                if word not in sound_of(item) and word not in named_of(item):
                    yield Complaint(
                        f"{kind}/{fact}",
                        f"'{word}', which '{reader}' reads as a sign of a fault, stands neither in named nor in sound",
                        "put it into named, less alarming ones before it",
                        ("named",) if item.named else ("answers",),
                    )


class YesButNeverNo(Check):
    """Each of several questions alone can make a finding present, and none alone can make it absent.

    Why it matters: one question is asked, its answer is a firm no, and the finding stays unknown until every other way
    to learn it is asked as well. So the no counts for nothing, the other answers of the same person count alone, and a
    fault may become likelier by an answer that speaks against it.
    What to do: write one finding for each question; where they tell the same story, put them in one line of evidence.
    Bad: any: [{fact: turns_over, is: stuck}, {fact: turns_by_hand, is: stuck}].
    Good: engine_stuck reads turns_over, engine_stuck_by_hand reads turns_by_hand, both in one line.
    """

    code, severity = "yes-but-never-no", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for name, finding in subject.knowledge.findings.items():
            if not finding.explained_by:
                continue
            try:
                space = subject.vocabulary.space(finding.when)
            except TooWide:
                continue
            deaf = [fact for fact in space.axes if _says_yes_but_never_no(space, space.truth(finding.when), fact)]
            if len(deaf) > 1:
                yield Complaint(
                    f"findings/{name}",
                    f"{' and '.join(deaf)} can each make it present, but a firm no to one of them leaves it unknown",
                    "write one finding for each question",
                    ("when",),
                )


def _says_yes_but_never_no(space: Space, truth: Truths, fact: str) -> bool:
    """Whether the answers to one question, with every other question unasked, come to present and never to absent."""
    if fact.startswith("engine."):
        return False
    axis = space.axes.index(fact)
    alone = np.broadcast_to(truth, np.broadcast_shapes(truth.shape, space.allowed.shape))
    for place, other in enumerate(space.axes):
        if place != axis and not other.startswith("engine."):
            alone = np.take(alone, [0], axis=place)
    return bool((alone == PRESENT).any()) and not bool((alone == ABSENT).any())
