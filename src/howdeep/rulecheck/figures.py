"""Frequency words against the figures that ground them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..knowledge.frequencies import disagreement
from .base import Check, Complaint
from .subject import Subject


class FrequencyOff(Check):
    """A frequency word does not agree with the figure that it is said to rest on.

    Why it matters: somebody counted, and the odds say otherwise; the word is then called grounded and is not.
    What to do: correct the word where the count reaches it; where it does not, say in an excuse why the words are right
    all the same, or take the word out of the figure.
    Bad: figure 0.42 beside a base word "uncommon", which stands for 2 to 6 in a hundred.
    Good: a base word whose band holds the figure, or `low` and `high` with the reason in `because`.
    """

    code, severity = "frequency-off", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind == "frequencies" and (told := disagreement(subject.knowledge, entry)):
            yield Complaint(
                f"{kind}/{name}",
                f"the words do not agree with the figure: {told}",
                "correct the words, the span, or what the figure is said to reach",
                ("figure",),
            )


class FigureOutsideItsSpan(Check):
    """The figure itself lies outside the span in which the words may move.

    Why it matters: the words are then held to something else than was counted.
    What to do: widen the span to the figure, or say in an excuse what moves the span away from it (a modern fleet, a
    count that leans one way).
    Bad: figure 4.2, low 1, high 2.
    Good: figure 4.2, low 1, high 4.2.
    """

    code, severity = "figure-outside-span", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind == "frequencies" and not (entry.low or 0.0) <= entry.figure <= (
            float("inf") if entry.high is None else entry.high
        ):
            yield Complaint(
                f"{kind}/{name}",
                f"the figure {entry.figure:g} lies outside its own span",
                "widen the span, or say why it stands off the figure",
                ("figure",),
            )


class DerivedFromNothing(Check):
    """A derived figure does not say from which figures it is reckoned.

    Why it matters: nobody can reckon it again.
    What to do: name the figures in `rests_on`, or call it published if it stands so in the work.
    Bad: {standing: derived, how: "half of it"}.
    Good: {standing: derived, rests_on: [rebore_at_35000_miles], how: "at 40 miles an hour"}.
    """

    code, severity = "derived-from-nothing", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if (
            kind == "frequencies"
            and entry.standing == "derived"
            and not entry.rests_on
            and not any(source.standing == "published" for source in entry.source)
        ):
            yield Complaint(
                f"{kind}/{name}",
                "does not say from which figures it is reckoned",
                "name them in rests_on, or a published source",
                ("how",),
            )
