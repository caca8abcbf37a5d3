"""What was found on opening: derived from the moment of each observation and from what each fact is taken from."""

from __future__ import annotations

from collections.abc import Iterator

from ..model.knowledge import Knowledge
from ..model.observations import Reduced
from ..model.results import Assessment
from ..model.truth import Truth
from ..model.values import Value

_STILL_SOUND = 2
"""Words of a verdict that ask for nothing, of three or more from sound to worst: good, usable; good, polish."""


def opened_up(knowledge: Knowledge, answer: Assessment) -> tuple[str, ...]:
    """Observations made on the open engine, in order of the job."""
    return tuple(name for name in answer.job.values if knowledge.observations[name].moment == "teardown")


def found_sentences(knowledge: Knowledge, answer: Assessment) -> tuple[str, ...]:
    """What the teardown showed, nothing of it left out: the findings that rest on it; every figure past its limit;
    readings in doubt; and what was looked at besides."""
    opened = opened_up(knowledge, answer)
    reduced = {name for name in answer.facts.reductions if set(knowledge.reduced[name].taken_from) & set(opened)}
    findings, read = _resting_on(answer, {*opened, *reduced})
    sentences = [f"{knowledge.findings[name].title}." for name in findings]
    told = {name for fact in read for name in ((fact,) if fact in opened else knowledge.reduced[fact].taken_from)}
    for name in sorted(reduced):
        if past_limit(knowledge.reduced[name], answer.facts.reductions[name].value):
            sentences.append(f"{knowledge.reduced[name].title}: {answer.facts.reductions[name].how}.")
            told.update(knowledge.reduced[name].taken_from)
    for remark in answer.facts.remarks:
        if remark.observation in opened:
            sentences.append(f"{knowledge.observations[remark.observation].title}, {remark.kind}: {remark.text}")
            told.add(remark.observation)
    sentences += _besides(knowledge, answer, [name for name in opened if name not in told])
    return tuple(dict.fromkeys(sentences))


def _resting_on(answer: Assessment, facts: set[str]) -> tuple[list[str], set[str]]:
    """Findings present that rest on some facts, also by way of other findings, and the facts that they read."""
    present = [firing for firing in answer.conclusions.firings if firing.truth is Truth.PRESENT]
    names: dict[str, None] = {}
    grown = True
    while grown:
        more = [
            firing.rule
            for firing in present
            if firing.rule not in names and any(subject in facts or subject in names for subject, _ in firing.matched)
        ]
        names.update(dict.fromkeys(more))
        grown = bool(more)
    read = {subject for firing in present if firing.rule in names for subject, _ in firing.matched if subject in facts}
    return [firing for firing in dict.fromkeys(firing.rule for firing in present) if firing in names], read


def past_limit(shape: Reduced, value: Value) -> bool:
    """Whether a verdict says of any cylinder (journal, valve) that it cannot stay as it is."""
    words = value if isinstance(value, tuple) else (value,)
    sound = shape.worsens[: min(_STILL_SOUND, len(shape.worsens) - 1)]
    return bool(shape.worsens) and any(word is not None and word != "too_close" and word not in sound for word in words)


def _besides(knowledge: Knowledge, answer: Assessment, names: list[str]) -> Iterator[str]:
    seen = [
        f"{knowledge.observations[name].title}: {_answers(knowledge, name, answer.job.values[name])}."
        for name in names
        if knowledge.observations[name].kind == "choice"
    ]
    yield from seen
    judged = {
        source
        for name, item in answer.facts.reductions.items()
        if knowledge.reduced[name].worsens and item.value is not None
        for source in knowledge.reduced[name].taken_from
    }
    for says, numbers in (
        ("Measured as well, and nothing past its limit", [name for name in names if name in judged]),
        ("Measured, with no limit to judge it by", [name for name in names if name not in judged]),
    ):
        titles = [
            knowledge.observations[name].title for name in numbers if knowledge.observations[name].kind == "number"
        ]
        if titles:
            yield f"{says}: {'; '.join(titles)}."


def _answers(knowledge: Knowledge, name: str, value: Value) -> str:
    """Answers in words, each kind of answer once with the numbers it holds for."""
    item = knowledge.observations[name]
    if not isinstance(value, tuple):
        return item.answers.get(str(value), str(value)).rstrip(".")
    words = dict.fromkeys(word for word in value if isinstance(word, str))
    if len(words) == 1 and None not in value:
        return f"{item.answers.get(next(iter(words)), '')} (all)".strip()
    return ", ".join(
        f"{item.answers.get(word, word)} (number "
        f"{', '.join(str(index) for index, one in enumerate(value, 1) if one == word)})"
        for word in words
    )
