"""What the trade looks at first for what was complained of, in order."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import zip_longest

from ..logic.evaluate import evaluate
from ..model.condition import FactTest, FindingTest, walk
from ..model.knowledge import Knowledge
from ..model.observations import FirstLook
from ..model.truth import Truth
from ..model.values import Values

COMPLAINT = "complaint"


def first_looks(
    knowledge: Knowledge, facts: Values, findings: Mapping[str, Truth], dangers: Collection[str]
) -> tuple[str, ...]:
    """Checks looked at first, the first look first.

    What a danger (a finding that forbids running) is about comes first, then what the customer came for, then what else
    was noticed. Of several complaints of one standing what each looks at first comes before what each looks at second,
    but one that the rules put behind another comes after all of it.
    """
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    present = {
        name: look
        for name, look in sorted(knowledge.first_looks.items())
        if evaluate(look.when, facts, findings, limits) is Truth.PRESENT
        and (look.unless is None or evaluate(look.unless, facts, findings, limits) is not Truth.PRESENT)
    }
    standing = {name: _standing(look, facts, dangers) for name, look in present.items()}
    late = {other for look in present.values() for other in look.comes_before}
    for name, look in present.items():
        standing[name] = min([standing[name], *(standing[other] for other in look.comes_before if other in present)])
    groups: dict[tuple[int, bool], list[Sequence[str]]] = {}
    for name, look in present.items():
        groups.setdefault((standing[name], name in late), []).append(look.checks)
    return tuple(
        dict.fromkeys(
            check
            for _, entries in sorted(groups.items())
            for together in zip_longest(*entries)
            for check in together
            if check is not None
        )
    )


def _standing(look: FirstLook, facts: Values, dangers: Collection[str]) -> int:
    parts = list(walk(look.when))
    if any(isinstance(part, FindingTest) and part.finding in dangers for part in parts):
        return 0
    told = facts.get(COMPLAINT)
    named = any(isinstance(part, FactTest) and part.fact == COMPLAINT and told in part.one_of for part in parts)
    return 1 if named else 2
