"""Sizes that the measurements chose, for a sheet: which, why not the others, and how the choice is confirmed."""

from __future__ import annotations

import re

from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..model.shown_units import in_prose
from ..readings import order_sizes
from .sheet_figures import filled
from .sheet_values import SizeLine

_NUMBERED = re.compile(r"(\d+): (.+)", re.DOTALL)


def sizes_chosen(knowledge: Knowledge, answer: Assessment, units: str = "") -> tuple[SizeLine, ...]:
    """Every size that is decided, in order of its fact."""
    parts = {part.size_fact: part for part in knowledge.parts.values() if part.size_fact}
    told: dict[tuple[str, ...], str] = {}
    lines = []
    for fact, choice in order_sizes(answer.job, knowledge).items():
        part = parts.get(fact)
        title = part.title if part else knowledge.reduced[fact].title
        rejected = tuple(text for text in dict.fromkeys(choice.rejected) if not _is_chosen(text, choice.size))
        same = told.get(rejected, "") if rejected else ""
        told.setdefault(rejected, title)
        confirm = filled(part.confirm, answer.job.engine, knowledge.limits, units).text if part and part.confirm else ""
        lines.append(
            SizeLine(
                fact,
                title,
                in_prose(choice.size, units),
                knowledge.observations[choice.measured_from].title,
                tuple(in_prose(text, units) for text in ((f"as for: {same.lower()}",) if same else rejected)),
                in_prose("; ".join(together(choice.confirmed_by)), units),
                confirm,
            )
        )
    return tuple(lines)


def journals_told(knowledge: Knowledge, answer: Assessment, units: str = "") -> tuple[str, ...]:
    """What the journals measured and what is done with them, journals that read alike together."""
    found = []
    for verdict in (item.facts["verdict"] for item in knowledge.computed.values() if item.by == "journals"):
        reduction = answer.facts.reductions.get(verdict)
        if reduction is not None:
            found.append(in_prose(f"{knowledge.reduced[verdict].title}: {'; '.join(together(reduction.how))}", units))
    return tuple(found)


def together(text: str) -> tuple[str, ...]:
    """'1: a; 2: a; 3: b' as '1, 2: a' and '3: b'; what is not numbered stays as it is."""
    groups: dict[str, list[str]] = {}
    for part in filter(None, text.split("; ")):
        numbered = _NUMBERED.fullmatch(part)
        if numbered:
            groups.setdefault(numbered.group(2), []).append(numbered.group(1))
        else:
            groups.setdefault(part, [])
    return tuple(f"{', '.join(numbers)}: {words}" if numbers else words for words, numbers in groups.items())


def _is_chosen(rejected: str, chosen: str) -> bool:
    """Whether a reason against a size speaks of the one that was chosen after all (a sleeved block)."""
    size = chosen.split(";", maxsplit=1)[0].split(",", maxsplit=1)[0]
    return rejected.startswith((f"{size} ", f"{size}:"))
