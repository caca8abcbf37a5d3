"""Why a suspect is one, as values: its signs, those of one subject together, the subject that says most first.

The subject of a sign is the group of the questions it rests on (compression, smoke, plugs ...), as the rules group
them. A question speaks once, for the waterfall tells each once. Where nothing raises a suspect by itself, the signs
that it could stand behind all the same are named, and marked as shared with others.
"""

from __future__ import annotations

from collections.abc import Iterable

from ..logic.stratify import once_per_value
from ..model.condition import FactTest, FindingTest, walk
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.odds import odds_words
from ..model.results import Assessment, Belief
from ..model.terms import WORDS
from .leading import TELLING, leading
from .sentences import lower_first
from .words import percent

HISTORY = "history"
"""Subject of what the engine's life says."""
VAGUE = ("complaint", "test_conditions", HISTORY, "found")
"""Groups of questions that are no subject where another one speaks too."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign that speaks for or against a suspect."""

    finding: str
    """Id of a finding, or of a history rule."""
    decibans: float
    """What it adds; 0 for a shared sign."""


@dataclass(frozen=True, slots=True)
class Subject:
    """The signs of one subject, the most telling first."""

    subject: str
    """Group of the questions behind them; 'history' for what the engine's life says."""
    signs: tuple[Sign, ...]

    @property
    def decibans(self) -> float:
        """What they add together."""
        return sum(sign.decibans for sign in self.signs)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a cause is suspected."""

    cause: str
    hand: float
    """Chance that it has a hand in what was noticed."""
    speaks_for: tuple[Subject, ...]
    speaks_against: tuple[Subject, ...]
    shared: bool
    """Whether nothing raises it by itself: the signs named are as well explained by others."""


def reasons_of(
    knowledge: Knowledge, answer: Assessment, most: int = 3, least: float | None = None
) -> tuple[Reason, ...]:
    """Why each of the likeliest suspects is one; those below `least`, else those that are not named, are left out."""
    least = knowledge.settings.telling.named_from if least is None else least
    return tuple(reason_for(knowledge, answer, belief) for belief in leading(answer, most) if belief.hand >= least)


def reason_for(knowledge: Knowledge, answer: Assessment, belief: Belief) -> Reason:
    """Why one cause is suspected."""
    signs_only = [step for step in belief.steps if step.label in knowledge.findings or step.label in knowledge.history]
    told = [step for step in signs_only if step.kind != "absent" and step.decibans > TELLING]
    against = [step for step in signs_only if step.decibans < -TELLING]
    shared = not any(step.kind == "present" for step in told)
    signs = [Sign(step.label, step.decibans) for step in told]
    if shared:
        signs += [Sign(name, 0.0) for name in _could_explain(knowledge, answer, belief)]
    told_for = {sign.finding for sign in signs}
    return Reason(
        belief.cause,
        belief.hand,
        _grouped(knowledge, signs),
        _grouped(knowledge, [Sign(step.label, step.decibans) for step in against if step.label not in told_for]),
        shared,
    )


def _could_explain(knowledge: Knowledge, answer: Assessment, belief: Belief) -> list[str]:
    """Present signs that list a cause, those it brings most often first."""
    listed = [
        (WORDS.index(word), name)
        for name in answer.counted.present
        if (word := knowledge.findings[name].explained_by.get(belief.cause))
    ]
    return [name for _, name in sorted(listed, key=lambda item: (-item[0], item[1]))]


def _grouped(knowledge: Knowledge, signs: Iterable[Sign]) -> tuple[Subject, ...]:
    """Signs by subject; a subject counts by what it adds together, against or for; the engine's life comes last."""
    groups: dict[str, list[Sign]] = {}
    for sign in signs:
        groups.setdefault(subject_of(knowledge, sign.finding), []).append(sign)
    subjects = [
        Subject(name, tuple(sorted(found, key=lambda sign: (-abs(sign.decibans), sign.finding))))
        if any(sign.decibans for sign in found)
        else Subject(name, tuple(found))
        for name, found in groups.items()
    ]
    return tuple(sorted(subjects, key=lambda item: (item.subject == HISTORY, -abs(round(item.decibans, 9)))))


def subject_of(knowledge: Knowledge, sign: str) -> str:
    """The subject of a finding (or history rule)."""
    return _subjects(knowledge).get(sign, HISTORY)


@once_per_value(keep=4)
def _subjects(knowledge: Knowledge) -> dict[str, str]:
    """Finding -> the group of the questions that it rests on: the one named most often, of equals the first."""
    found: dict[str, str] = {}
    for name in knowledge.findings:
        groups = list(_groups(knowledge, name))
        clear = [group for group in groups if group not in VAGUE] or groups
        found[name] = max(dict.fromkeys(clear), key=clear.count, default=HISTORY)
    return found


def _groups(knowledge: Knowledge, finding: str) -> Iterable[str]:
    """Groups of the questions behind a finding, in the order of its condition."""
    for part in walk(knowledge.findings[finding].when):
        if isinstance(part, FindingTest):
            yield from _groups(knowledge, part.finding)
        elif isinstance(part, FactTest):
            reduced = knowledge.reduced.get(part.fact)
            for name in reduced.taken_from[:1] if reduced else (part.fact,):
                if name in knowledge.observations:
                    yield knowledge.observations[name].group


def reason_text(knowledge: Knowledge, reason: Reason, room: int = 10_000) -> str:
    """'Piston rings worn, likely (72 %): compression is low on every cylinder, and oil brings it up; it smokes blue'.

    Signs of one subject stand together. Of more than fit into `room` characters the less telling are left out whole.
    """
    text = f"{knowledge.causes[reason.cause].title}, {odds_words(reason.hand)} ({percent(reason.hand)})"
    if not reason.speaks_for:
        return f"{text}: nothing that was noticed speaks for it, only how common it is"
    return f"{text}: {signs_text(knowledge, reason, room - len(text) - 2)}"


def signs_text(knowledge: Knowledge, reason: Reason, room: int = 10_000) -> str:
    """The signs that speak for a cause; of more than fit into `room` characters the less telling are left out whole."""
    told, joint, subject = "would also explain that " if reason.shared else "", "", ""
    for name, sign in _in_turn(reason):
        more = f"{joint if name != subject else ', and '}{lower_first(sign_title(knowledge, sign.finding))}"
        if joint and len(told) + len(more) > room:
            continue
        told, joint, subject = told + more, "; ", name
    return told


def _in_turn(reason: Reason) -> list[tuple[str, Sign]]:
    """Two signs of the first subject, one of each other."""
    return [
        (subject.subject, sign)
        for place, subject in enumerate(reason.speaks_for)
        for sign in subject.signs[: 2 if place == 0 else 1]
    ]


def sign_title(knowledge: Knowledge, sign: str) -> str:
    """The claim of a finding; that of a history rule as the rule of thumb that it is."""
    if sign in knowledge.findings:
        return knowledge.findings[sign].title
    return f"As a rule, {lower_first(knowledge.history[sign].title)}"
