"""The order list: sizes, quantities, measured from what, and what must wait for a measurement."""

from __future__ import annotations

from ..model.knowledge import Knowledge
from ..model.results import Assessment
from .jobs import work_of
from .values import OrderLine


def order_list(knowledge: Knowledge, answer: Assessment, key: str | None = None) -> tuple[OrderLine, ...]:
    """Parts of a job: those that can be ordered now first, each group by title."""
    work = work_of(knowledge, answer, key or answer.decision.job)
    lines = [
        OrderLine(line.part, knowledge.parts[line.part].title, line.quantity, line.size, line.measured_from,
                  knowledge.observations[line.waits_for].title if line.waits_for else "",
                  knowledge.parts[line.part].never_reuse)
        for line in work.parts
    ]
    return tuple(sorted(lines, key=lambda line: (bool(line.waits_for), line.title, line.part)))
