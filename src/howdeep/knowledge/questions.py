"""What a question says of itself: its sound and its telling answers, who speaks in it, and the sort of a finding.

Each is written in the rules or follows from what is written there. Functions of the rule base alone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from ..model.causes import Finding
from ..model.condition import AllOf, AnyOf, Condition, FactTest, Not
from ..model.knowledge import Knowledge
from ..model.observations import Observation, Reduced
from ..model.terms import Moment, Sort, Speaker
from ..model.values import Value, Values

_SORT_AT: dict[Moment, Sort] = {"talk": "trouble", "test": "discriminator", "teardown": "bench"}
_MOMENTS: tuple[Moment, ...] = ("talk", "test", "teardown")

COMPLAINTS = ("complaint", "complaint_also")
"""What the engine was brought in for, and what else troubles its owner."""


TOGETHER_AGAIN = "together_again"
"""Whether an engine that was opened is closed again: answered yes, what was seen stays known, and it can run."""


def spoken_of(knowledge: Knowledge, facts: Values) -> frozenset[str]:
    """The questions about what the engine was brought in for, as the settings name them; none where none was told."""
    told = (str(facts[fact]) for fact in COMPLAINTS if fact in facts)
    return frozenset(name for complaint in told for name in knowledge.settings.spoken_of.get(complaint, ()))


def _told_of_it(knowledge: Knowledge, facts: Values) -> list[tuple[Value, tuple[str, ...]]]:
    """(answer, sound answers) of every question about the complaint that was answered."""
    about = knowledge.settings.spoken_of.get(str(facts.get(COMPLAINTS[0])), ())
    return [(facts[name], sound_of(knowledge.observations[name])) for name in about if name in facts]


def is_toned_down(knowledge: Knowledge, facts: Values) -> bool:
    """Whether what was answered about the complaint is sound, and some of it yet no flat denial (it uses a little oil):
    the complaint then says nothing of its own."""
    told = _told_of_it(knowledge, facts)
    return all(answer in sound for answer, sound in told) and any(answer in sound[1:] for answer, sound in told)


def complaint_alone(knowledge: Knowledge) -> frozenset[str]:
    """Findings that the complaint alone brings."""
    return frozenset(
        name
        for name, finding in knowledge.findings.items()
        if isinstance(finding.when, FactTest) and finding.when.fact == COMPLAINTS[0]
    )


def is_denied(knowledge: Knowledge, facts: Values, counted: Collection[str]) -> bool:
    """Whether the complaint counts as a sign though questions about it were answered, and each of them denies it."""
    told = _told_of_it(knowledge, facts)
    counts = bool(complaint_alone(knowledge) & set(counted))
    return counts and bool(told) and all(answer in sound for answer, sound in told)


def stands_open(knowledge: Knowledge, facts: Values, made: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """(operation, observation) for each operation by which the engine stands open: what was made could only be made so,
    or it was said to come so. In order of the observations; none where it is said to be together again, what was seen
    stays known."""
    if facts.get(TOGETHER_AGAIN) == "yes":
        return ()
    found: dict[str, str] = {}
    for name in sorted(made):
        item = knowledge.observations[name]
        for operation in (*item.opened_by, *item.opens_where.get(str(facts.get(name, "")), ())):
            found.setdefault(operation, name)
    return tuple(found.items())


def sound_of(item: Observation | Reduced) -> tuple[str, ...]:
    """The answers that a sound engine gives: as written, else the first of `worsens`; empty where neither says it."""
    return item.sound or item.worsens[:1]


def taken_as_sound(item: Observation | Reduced) -> tuple[str, ...]:
    """The answers of a sound engine; where none is said to be one, the first, and none where only telling ones are
    named: no complaint is a sound one."""
    return sound_of(item) or (() if named_of(item) else tuple(item.answers)[:1])


def named_of(item: Observation | Reduced) -> tuple[str, ...]:
    """The telling answers, the least alarming first: as written, else what `worsens` holds beside the sound ones."""
    return item.named or tuple(word for word in item.worsens if word not in sound_of(item))


def speaks_of(item: Observation) -> Speaker:
    """Who speaks: as written, else by moment and kind."""
    if item.speaks is not None:
        return item.speaks
    if item.moment == "talk":
        return "word"
    return "instrument" if item.kind == "number" else "look"


def facts_of(knowledge: Knowledge, condition: Condition) -> frozenset[str]:
    """Every fact that a condition reads, through other findings as well."""
    return frozenset(test.fact for test, _ in tests_of(knowledge, condition))


def tests_of(knowledge: Knowledge, condition: Condition, positive: bool = True) -> Iterator[tuple[FactTest, bool]]:  # noqa: PT028
    """(test, whether it speaks for the condition rather than under a `not`), through other findings as well."""
    if isinstance(condition, FactTest):
        yield condition, positive
    elif isinstance(condition, (AllOf, AnyOf)):
        for part in condition.parts:
            yield from tests_of(knowledge, part, positive)
    elif isinstance(condition, Not):
        yield from tests_of(knowledge, condition.part, not positive)
    elif condition.finding in knowledge.findings:
        yield from tests_of(knowledge, knowledge.findings[condition.finding].when, positive)


def told_apart(knowledge: Knowledge, observations: Collection[str], one: str, other: str) -> bool:
    """Whether some finding that reads what these observations give is brought by one of two causes oftener than by the
    other."""
    given = frozenset(observations)
    for finding in knowledge.findings.values():
        if finding.explained_by.get(one) != finding.explained_by.get(other):
            for fact in facts_of(knowledge, finding.when):
                taken = knowledge.reduced[fact].taken_from if fact in knowledge.reduced else (fact,)
                if not given.isdisjoint(taken):
                    return True
    return False


def moment_of(knowledge: Knowledge, finding: Finding) -> Moment:
    """The latest moment at which something that a finding reads is asked, tested or seen."""
    moments: set[Moment] = {"talk"}
    for fact in facts_of(knowledge, finding.when):
        taken = knowledge.reduced[fact].taken_from if fact in knowledge.reduced else (fact,)
        moments |= {knowledge.observations[name].moment for name in taken if name in knowledge.observations}
    return max(moments, key=_MOMENTS.index)


def sort_of(knowledge: Knowledge, finding: Finding) -> Sort:
    """trouble, discriminator or bench: as written, else by the latest moment of what the finding reads."""
    return finding.sort or _SORT_AT[moment_of(knowledge, finding)]


def evidence_choices(knowledge: Knowledge) -> dict[str, dict[str, str]]:
    """Choice fact that findings with causes read -> answer that speaks for such a finding -> the first such finding."""
    found: dict[str, dict[str, str]] = {}
    for name, finding in knowledge.findings.items():
        if not finding.explained_by:
            continue
        for test, positive in tests_of(knowledge, finding.when):
            item = knowledge.observations.get(test.fact) or knowledge.reduced.get(test.fact)
            if item is None or item.kind != "choice":
                continue
            answers = found.setdefault(test.fact, {})
            if positive:
                for word in test.one_of:
                    answers.setdefault(word, name)
    return dict(sorted(found.items()))
