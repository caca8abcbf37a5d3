"""What the trade asks a customer first for what he came for, in order."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from ..knowledge.questions import COMPLAINTS
from ..logic.evaluate import evaluate
from ..model.condition import FactTest, walk
from ..model.judgement import Asking
from ..model.knowledge import Knowledge
from ..model.observations import FirstQuestions
from ..model.truth import Truth


def asked_first(knowledge: Knowledge, facts: Mapping[str, Any], findings: Mapping[str, Truth]) -> tuple[str, ...]:
    """Questions of the counter, the first asked first: those of the main complaint, then those of what else troubles,
    so that the talk does not jump from one to the other."""
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    present = [
        entry
        for _, entry in sorted(knowledge.first_questions.items())
        if evaluate(entry.when, facts, findings, limits) is Truth.PRESENT
    ]
    present.sort(key=lambda entry: not _of_main(entry, facts))
    return tuple(dict.fromkeys(name for entry in present for name in entry.asks))


def overtaken(
    asking: Asking, trade: Sequence[str], others: Sequence[str], worth: Mapping[str, float], following: Collection[str]
) -> tuple[str, ...]:
    """The questions of the trade in their order, each after the others that overtake it, and the rest of them at the
    end. `worth`: question -> minutes of labour; `following`: follow-ups of the last answer."""
    ordered: list[str] = []
    waiting = list(others)
    for asked in trade:
        ahead = [
            name
            for name in waiting
            if (
                worth[name] >= asking.overtakes_times * worth[asked]
                and worth[name] >= worth[asked] + asking.overtakes_minutes
            )
            or (name in following and worth[name] >= asking.overtakes_times * worth[asked])
        ]
        waiting = [name for name in waiting if name not in ahead]
        ordered += [*ahead, asked]
    return (*ordered, *waiting)


def _of_main(entry: FirstQuestions, facts: Mapping[str, Any]) -> bool:
    """Whether it is about the main complaint."""
    told = facts.get(COMPLAINTS[0])
    return any(
        isinstance(part, FactTest) and part.fact == COMPLAINTS[0] and told in part.one_of for part in walk(entry.when)
    )


__all__ = ["asked_first", "overtaken"]
