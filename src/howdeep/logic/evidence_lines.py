"""Which findings count for the beliefs: of findings that tell the same story, only the most telling one.

Within a line of evidence the first listed finding that is present counts; where none is present, the first listed that
is absent. A finding may stand in several lines. The rule for that: *a finding counts unless one that counts stands
before it in one of its lines*. Where no two lines contradict each other in their order this picks out exactly one set
(the kernel of an acyclic graph); where they do, the line whose id comes first decides. So no two findings of one line
ever count together, and every finding left out has one of its own line that counts in its place.

Findings that explain nothing (intermediate conclusions) are evidence of nothing by themselves and never count.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Counted
from ..model.truth import Truth
from .stratify import once_per_value

Group = tuple[tuple[str, ...], ...]
"""Lines that share findings, in order of line id; each with its findings, the most telling first."""


@dataclass(frozen=True, slots=True)
class Stories:
    """The lines of a rule base, joined into groups where they share a finding."""

    telling: frozenset[str]
    """Findings that say something about causes."""
    group_of: dict[str, Group]
    """Finding -> its group; a finding in no line is not here."""


@once_per_value(keep=4)
def stories(knowledge: Knowledge) -> Stories:
    """Join the lines of evidence into groups."""
    telling = frozenset(name for name, finding in knowledge.findings.items() if finding.explained_by)
    groups: list[list[tuple[str, tuple[str, ...]]]] = []
    for name in sorted(knowledge.lines):
        line = tuple(dict.fromkeys(item for item in knowledge.lines[name].findings if item in telling))
        touched = [group for group in groups if any(set(line) & set(other) for _, other in group)]
        groups = [group for group in groups if group not in touched]
        groups.append(sorted([entry for group in touched for entry in group] + [(name, line)]))
    group_of = {}
    for group in groups:
        lines = tuple(line for _, line in group)
        for line in lines:
            for name in line:
                group_of[name] = lines
    return Stories(telling, group_of)


def count(told: Stories, findings: Mapping[str, Truth]) -> Counted:
    """Which of the findings count, each list in order of id."""
    present: list[str] = []
    absent: list[str] = []
    already: dict[str, str] = {}
    done: set[int] = set()
    for name in sorted(findings):
        if name not in told.telling or findings[name] is Truth.UNKNOWN:
            continue
        group = told.group_of.get(name)
        if group is None:
            (present if findings[name] is Truth.PRESENT else absent).append(name)
        elif id(group) not in done:
            done.add(id(group))
            for taken in count_group(group, findings, already):
                (present if findings[taken] is Truth.PRESENT else absent).append(taken)
    shown_too = tuple(name for name in sorted(already) if findings[name] is Truth.PRESENT)
    return Counted(tuple(sorted(present)), tuple(sorted(absent)), dict(sorted(already.items())), shown_too)


def count_group(group: Group, findings: Mapping[str, Truth], already: dict[str, str]) -> list[str]:
    """The findings of one group that count; those left out are entered in `already` with what stands for them."""
    lines = [line for line in (_known(line, findings) for line in group) if line]
    if len(lines) == 1:
        first, *others = lines[0]
        already.update((name, first) for name in others)
        return [first]
    taken: list[str] = []
    waiting = list(dict.fromkeys(name for line in lines for name in line))
    while waiting:
        name = _next(waiting, lines)
        waiting.remove(name)
        instead = next((line_mate for line in lines if name in line for line_mate in line if line_mate in taken), None)
        if instead is None:
            taken.append(name)
        else:
            already[name] = instead
    return taken


def _known(line: Iterable[str], findings: Mapping[str, Truth]) -> list[str]:
    """The line's known findings: those present first, each part in the order of the line."""
    names = [name for name in line if findings.get(name, Truth.UNKNOWN) is not Truth.UNKNOWN]
    return sorted(names, key=lambda name: findings[name] is not Truth.PRESENT)


def _next(waiting: list[str], lines: list[list[str]]) -> str:
    """A finding before which none is still waiting; where lines contradict each other, the first of the first line."""
    for name in waiting:
        if not any(other in waiting for line in lines if name in line for other in line[: line.index(name)]):
            return name
    return next(name for line in lines for name in line if name in waiting)
