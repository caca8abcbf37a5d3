"""All that a customer's own words say, to be confirmed in one go before anything else is asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..decision.askable import askable
from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import COMPLAINTS
from ..logic.applicability import asked_on
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from .own_words import complaints_offered, said_in


@dataclass(frozen=True, slots=True)
class Heard:
    """What the words say that nobody has answered yet."""

    complaints: tuple[str, ...]
    """Complaints, the main one first; more than two are to be chosen from."""
    signs: tuple[tuple[str, str], ...]
    """(question, answer) of the counter, in the order in which he says them."""

    @property
    def confirmed(self) -> dict[str, str]:
        """Question -> answer where he says that all of it is so, and that this is all."""
        told = dict(zip(COMPLAINTS, self.complaints, strict=False))
        return {**told, **self.more, **dict(self.signs)}

    @property
    def more(self) -> dict[str, str]:
        """What else troubles him where one complaint is all of it."""
        return {COMPLAINTS[1]: "nothing"} if len(self.complaints) == 1 else {}


def heard_in(knowledge: Knowledge, job: OpenJob, facts: Mapping[str, Any]) -> Heard:
    """What the customer's words say of this engine: complaints while none was answered or put off, and the answers to
    questions that can be asked of it once the others are confirmed. `facts`: what is known of the job."""
    words = job.job.customer.words
    built = engine_facts(job.engine)
    settled = frozenset(job.values) | job.unknown | job.later
    complaints = () if settled & set(COMPLAINTS) else complaints_offered(knowledge, words)
    assumed = {**facts, **dict(zip(COMPLAINTS, complaints, strict=False))}
    said = {
        item.question: item.answer
        for item in said_in(knowledge, words)
        if item.question not in (*settled, *COMPLAINTS)
        and knowledge.observations[item.question].moment == "talk"
        and item.answer in asked_on(knowledge.observations[item.question], built).answers
    }
    found: dict[str, str] = {}
    while True:  # one answer may be the ground of another
        can = askable(knowledge, job.engine, {**assumed, **found}, settled | found.keys())
        new = {name: answer for name, answer in said.items() if name not in found and can.now(name)}
        if not new:
            return Heard(complaints, tuple((name, said[name]) for name in said if name in found))
        found.update(new)


__all__ = ["Heard", "heard_in"]
