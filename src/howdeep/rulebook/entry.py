"""An entry of the rule base as a value to be shown: what it says, what it points to, and what points to it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ..assessment.explain import source_text
from ..errors import Fault, HowdeepError, nearest
from ..knowledge.frequencies import Grounds, comes_to, grounds_of, standing_of, words_of
from ..knowledge.load import KINDS
from ..knowledge.names import conditions_of
from ..knowledge.questions import sort_of, sound_of, speaks_of
from ..logic.proof import fact_title, test_text
from ..model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not, facts_read, findings_read, walk
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from ..model.sources import Frequency
from ..model.terms import WORD_STANDINGS
from .judged_links import judged_edges, judged_says

SINGULAR = {
    "sources": "source",
    "limits": "limit",
    "cautions": "caution",
    "parts": "part",
    "machining": "machine-shop operation",
    "observations": "observation",
    "checks": "check",
    "reduced": "reduced fact",
    "causes": "cause",
    "history": "history rule",
    "findings": "finding",
    "lines": "line of evidence",
    "operations": "operation",
    "scopes": "scope",
    "contradictions": "contradiction",
    "holds": "hold",
    "first_looks": "first look",
    "first_questions": "first questions",
    "frequencies": "figure of a frequency",
    "tools": "tool",
    "gauges": "gauge",
    "computed": "computation",
}
CONDITION_LABELS = {
    "when": "Holds when",
    "applies": "Applies to engines where",
    "follows": "Asked only while",
    "needs": "Can be made where",
    "valid_when": "Valid only where",
    "rung": "Rung",
    "seen_at": "Seen at",
}
SPEAKERS = {
    "instrument": "an instrument known good",
    "look": "one look of the mechanic",
    "word": "the customer's word",
    "hearsay": "hearsay",
}
SORTS = {
    "trouble": "trouble: what the customer wants gone",
    "bench": "a defect seen or measured, gone once cured",
    "discriminator": "only tells causes apart",
}
SOURCE = "Source"


@dataclass(frozen=True, slots=True)
class Link:
    """One end of a link between two entries."""

    key: str
    """'kind/id' of the other entry."""
    title: str
    note: str = ""
    """A frequency word, decibans, a quantity."""


@dataclass(frozen=True, slots=True)
class Clause:
    """One line of a condition in words."""

    depth: int
    text: str
    key: str = ""
    """'kind/id' of the entry it reads, where it reads one."""


@dataclass(frozen=True, slots=True)
class Portrait:
    """One entry, ready to be shown."""

    key: str
    kind: str
    id: str
    title: str
    says: tuple[tuple[str, str], ...]
    """(label, text)."""
    conditions: tuple[tuple[str, tuple[Clause, ...]], ...]
    """(label, clauses)."""
    links: tuple[tuple[str, tuple[Link, ...]], ...]
    """(label, links), outgoing first; within a label in the order written, else by id."""
    sources: tuple[Link, ...]
    """What it rests on, in words; the key is empty where no published work is named."""
    excuses: tuple[tuple[str, str], ...]
    """(code of a check, reason)."""
    file: str
    line: int


def portraits(knowledge: Knowledge) -> dict[str, Portrait]:
    """'kind/id' -> portrait, for every entry, in the order of kinds and ids."""
    out: dict[str, dict[str, list[Link]]] = {}
    back: dict[str, dict[str, list[Link]]] = {}
    for start, label, end, label_back, note in _edges(knowledge):
        out.setdefault(start, {}).setdefault(label, []).append(Link(end, title_of(knowledge, end), note))
        back.setdefault(end, {}).setdefault(label_back, []).append(Link(start, title_of(knowledge, start), note))
    result = {}
    for kind in KINDS:
        for name, entry in getattr(knowledge, kind).items():
            key = f"{kind}/{name}"
            links = [
                (label, tuple(dict.fromkeys(items))) for label, items in out.get(key, {}).items() if label != SOURCE
            ]  # said in full under `sources`
            links += [
                (label, tuple(sorted(dict.fromkeys(items), key=lambda link: link.key)))
                for label, items in sorted(back.get(key, {}).items())
            ]
            file, line, _ = knowledge.places.get(key, ("", 0, 0))
            result[key] = Portrait(
                key,
                kind,
                name,
                entry.title,
                tuple(_says(knowledge, kind, name, entry)),
                tuple(_conditions(knowledge, entry)),
                tuple(links),
                tuple(
                    dict.fromkeys(
                        Link(
                            f"sources/{source.of}" if source.of in knowledge.sources else "",
                            source_text(knowledge, source),
                        )
                        for source in getattr(entry, "source", ())
                    )
                ),
                tuple(sorted(entry.excuse.items())),
                file,
                line,
            )
    return result


def title_of(knowledge: Knowledge, key: str) -> str:
    """Title of an entry by 'kind/id'."""
    kind, name = key.split("/", 1)
    return str(getattr(knowledge, kind)[name].title)


def fact_key(knowledge: Knowledge, fact: str) -> str:
    """'kind/id' of what a fact is; empty for how the engine is built, the scope and the odds of a cause."""
    if fact in knowledge.observations:
        return f"observations/{fact}"
    if fact in knowledge.reduced:
        return f"reduced/{fact}"
    name = fact.removeprefix("odds.")
    return f"causes/{name}" if name in knowledge.causes else ""


def _edges(knowledge: Knowledge) -> Iterator[tuple[str, str, str, str, str]]:
    """(from, label, to, label seen from there, note) of every link."""
    grounds = grounds_of(knowledge)
    for name, finding in knowledge.findings.items():
        for cause, word in finding.explained_by.items():
            note = word + _grounded(grounds, f"findings/{name}/{cause}")
            yield f"findings/{name}", "Explained by", f"causes/{cause}", "Shows itself as", note
    for name, rule in knowledge.history.items():
        for cause, decibans in rule.shifts.items():
            note = f"{decibans:+g} decibans" + _grounded(grounds, f"history/{name}/{cause}")
            yield f"history/{name}", "Shifts the odds of", f"causes/{cause}", "Odds shifted by", note
    for name, entry in knowledge.frequencies.items():
        for address in dict.fromkeys((*entry.words, *entry.against)):
            kind, _, rest = address.replace("blame/", "findings/", 1).partition("/")
            if kind in ("causes", "findings", "history"):
                yield (
                    f"frequencies/{name}",
                    "Grounds a word of",
                    f"{kind}/{rest.partition('/')[0]}",
                    "How often, by a figure",
                    f"{entry.standing}: {entry.figure:g}",
                )
        for other in entry.rests_on:
            yield f"frequencies/{name}", "Reckoned from", f"frequencies/{other}", "Others are reckoned from it", ""
    for name, line in knowledge.lines.items():
        for finding_name in line.findings:
            yield (
                f"lines/{name}",
                "Only the first of these that is present counts",
                f"findings/{finding_name}",
                "In the line of evidence",
                "",
            )
    for name, fault in knowledge.causes.items():
        for operation in fault.cured_by:
            yield f"causes/{name}", "Cured by", f"operations/{operation}", "Cures", ""
        for rung in dict.fromkeys(step.rung for step in fault.seen_at):
            if rung in knowledge.scopes:
                yield f"causes/{name}", "Opened to view by", f"scopes/{rung}", "Opens to view", ""
    for name, check in knowledge.checks.items():
        for observation in check.observations:
            yield f"checks/{name}", "Made of", f"observations/{observation}", "Part of the check", ""
    for name, first in knowledge.first_questions.items():
        for asked in first.asks:
            yield f"first_questions/{name}", "Asked first", f"observations/{asked}", "Asked among the first", ""
    for name, hold in knowledge.holds.items():
        yield f"holds/{name}", "Cleared by", _check_key(knowledge, hold.check), "Clears the hold", ""
        yield f"holds/{name}", "Holds everything deeper than", f"scopes/{hold.above}", "Nothing deeper under hold", ""
    for name, part in knowledge.parts.items():
        if part.sized_by:
            yield f"parts/{name}", "Measure first", f"observations/{part.sized_by}", "Gives the size of", ""
        if part.size_fact:
            yield f"parts/{name}", "Size from", f"reduced/{part.size_fact}", "Gives the size of", ""
    for name, item in knowledge.observations.items():
        for caution in item.cautions:
            yield f"observations/{name}", "Caution first", f"cautions/{caution}", "Stands before", ""
        for answer, others in item.implies.items():
            for other, implied in others.items():
                yield (
                    f"observations/{name}",
                    "Answers as well",
                    f"observations/{other}",
                    "Answered as well by",
                    f"{answer}: {implied}",
                )
    for name, tool in knowledge.tools.items():
        for observation in tool.needed_for:
            yield f"tools/{name}", "Needed for", f"observations/{observation}", "Cannot be made without", ""
    for name, reduced in knowledge.reduced.items():
        for observation in reduced.taken_from:
            yield f"reduced/{name}", "Taken from", f"observations/{observation}", "Reduced to", ""
    yield from judged_edges(knowledge)
    yield from _work_edges(knowledge)
    yield from _reading_edges(knowledge)


def _grounded(grounds: Grounds, address: str) -> str:
    """' (published)' or ' (derived)' beside a word that a figure grounds; nothing where it is judgement."""
    standing = standing_of(grounds, address)
    return "" if standing == "judgement" else f" ({standing})"


def _how_often(knowledge: Knowledge, kind: str, name: str) -> Iterator[tuple[str, str]]:
    """How the frequency words of a cause or a finding stand: each standing with how many words have it."""
    grounds = grounds_of(knowledge)
    if kind == "causes":
        addresses = [address for _, address in words_of(knowledge) if address.endswith(f"/{name}")]
    else:
        addresses = [address for _, address in words_of(knowledge) if address.startswith(f"findings/{name}/")]
    counts = Counter(standing_of(grounds, address) for address in addresses)
    told = ", ".join(f"{counts[standing]} {standing}" for standing in WORD_STANDINGS if counts[standing])
    if told:
        yield "Frequency words", f"{told}; without a mark: judgement"


def _work_edges(knowledge: Knowledge) -> Iterator[tuple[str, str, str, str, str]]:
    for name, item in knowledge.operations.items():
        key = f"operations/{name}"
        for caution in item.cautions:
            yield key, "Caution first", f"cautions/{caution}", "Stands before", ""
        for rung in dict.fromkeys(step.rung for step in item.rung):
            if rung in knowledge.scopes:
                yield key, "Done from the rung", f"scopes/{rung}", "Work that begins at this rung", ""
        for other in item.brings:
            yield key, "Brings", f"operations/{other}", "Brought by", ""
        for stage, others in item.after.items():
            for other in others:
                yield key, "Comes after", f"operations/{other}", "Comes before", stage
        for part, quantity in item.parts.items():
            yield key, "Parts", f"parts/{part}", "Used by", quantity
        for machining, quantity in item.machine.items():
            yield key, "At the machine shop", f"machining/{machining}", "Used by", quantity
        for field, label, back in (
            ("before", "Check before", "Made before"),
            ("during", "Measure while open", "Measured during"),
            ("proved_by", "Proved by", "Proves"),
        ):
            for check in getattr(item, field):
                yield key, label, _check_key(knowledge, check), back, ""
    for name, scope in knowledge.scopes.items():
        for operation in scope.always:
            yield f"scopes/{name}", "Always holds", f"operations/{operation}", "Always part of", ""


def _reading_edges(knowledge: Knowledge) -> Iterator[tuple[str, str, str, str, str]]:
    for kind in KINDS:
        for name, entry in getattr(knowledge, kind).items():
            key = f"{kind}/{name}"
            for _, _, condition in conditions_of(entry):
                for fact in sorted(facts_read(condition)):
                    other = fact_key(knowledge, fact)
                    if other:
                        yield key, "Reads", other, "Read by", ""
                for finding in sorted(findings_read(condition)):
                    yield key, "Reads", f"findings/{finding}", "Read by", ""
                for limit in sorted(
                    {
                        bound
                        for part in walk(condition)
                        if isinstance(part, FactTest)
                        for _, bound in part.bounds
                        if bound in knowledge.limits
                    }
                ):
                    yield key, "Compares with", f"limits/{limit}", "Compared with by", ""
            for source in getattr(entry, "source", ()):
                if source.of in knowledge.sources:
                    yield key, SOURCE, f"sources/{source.of}", "Supports", source.where


def _check_key(knowledge: Knowledge, name: str) -> str:
    return f"checks/{name}" if name in knowledge.checks else f"observations/{name}"


def _says(knowledge: Knowledge, kind: str, name: str, entry: Any) -> Iterator[tuple[str, str]]:
    """What the entry says of itself, field by field."""
    for label, field in (
        ("In plain words", "plain"),
        ("What to do", "text"),
        ("Asks", "ask"),
        ("Because", "because"),
        ("Fooled by", "fooled_by"),
        ("If it is left", "wait"),
        ("System", "system"),
        ("Takes the place of", "instead_of"),
        ("Opens", "opens"),
        ("Leaves as it is", "does_not"),
        ("How", "procedure"),
        ("Set-up", "setup"),
        ("Author", "author"),
        ("Number", "number"),
        ("Year", "year"),
        ("Read", "note"),
    ):
        value = getattr(entry, field, "")
        if isinstance(value, tuple):
            value = ", ".join(value)
        if value:
            yield label, " ".join(str(value).split())
    yield from judged_says(entry)
    if kind == "causes":
        share = knowledge.settings.base_words[entry.base]
        grounds = grounds_of(knowledge)
        by = "; ".join(knowledge.frequencies[figure].title for figure, _ in grounds.get(f"causes/{name}", ()))
        standing = standing_of(grounds, f"causes/{name}")
        yield (
            "Base odds",
            (f"{entry.base}: {100 * share:g} % of such engines, " + (f"{standing}: {by}" if by else "a judgement")),
        )
    if kind == "findings" and entry.otherwise:
        share = 100 * knowledge.settings.words[entry.otherwise]
        yield "With none of its causes", f"seen {entry.otherwise} ({share:g} %)"
        yield (
            "Sort",
            SORTS[sort_of(knowledge, entry)]
            + ("; mild: need not go where something else was complained of" if entry.mild else ""),
        )
    if kind in ("causes", "findings"):
        yield from _how_often(knowledge, kind, name)
    if kind == "frequencies":
        yield from _figure(knowledge, entry)
    if kind == "gauges":
        yield "Error of a reading", f"{entry.error:g} {entry.unit}"
    if kind == "limits":
        yield "Figure", f"{entry.value:g} {entry.unit}" + (f" per {entry.per}" if entry.per else "")
    if kind == "operations":
        per = "" if entry.per == "engine" else f" each {entry.per}"
        yield "Hours", f"{entry.hours:g}{per}, where the engine sheet gives none"
        yield "Stage", entry.stage + "".join(f", {stage} from step {first}" for stage, first in entry.begins.items())
    if kind in ("observations", "reduced"):
        yield from _answers(entry)
    if kind in ("observations", "checks"):
        yield "Takes", f"{entry.minutes:g} min"
    if kind == "observations":
        yield "Risk", entry.risk
        if entry.tools:
            yield "Tools", ", ".join(entry.tools)
    if kind == "checks":
        yield "Outcomes", "; ".join(item.title for item in entry.outcomes.values())
    for index, step in enumerate(getattr(entry, "steps", ()), 1):
        yield f"Step {index}", step


def _figure(knowledge: Knowledge, entry: Frequency) -> Iterator[tuple[str, str]]:
    """What was counted, the figure, and what the words come to beside it."""
    yield "Standing", entry.standing
    yield "Counted", " ".join(entry.counted.split())
    yield "Figure", f"{entry.figure:g}" + (" times as often" if entry.against else "")
    if entry.low is None and entry.high is None:
        yield "The words", "the figure lies nearer to each of them than to the next word"
    else:
        yield "The words come to", f"{comes_to(knowledge, entry):.3g}; {_span(entry)}"
    if entry.how:
        yield "Reckoned", " ".join(entry.how.split())
    settings = [address for address in entry.words if address.startswith(("misread/", "unlisted/"))]
    if settings:
        yield "Grounds a constant", ", ".join(settings)


def _span(entry: Frequency) -> str:
    least = "" if entry.low is None else f"at least {entry.low:g}"
    most = "" if entry.high is None else f"at most {entry.high:g}"
    return f"may be {' and '.join(part for part in (least, most) if part)}"


def _answers(entry: Any) -> Iterator[tuple[str, str]]:
    if entry.kind == "choice":
        words = entry.answers.items() if isinstance(entry.answers, dict) else ((word, word) for word in entry.answers)
        yield "Answers", "; ".join(word if word == text else f"{word}: {text}" for word, text in words)
    else:
        limits = getattr(entry, "range", None)
        yield "Figure in", entry.unit + (f", from {limits[0]:g} to {limits[1]:g}" if limits else "")
    if entry.each:
        yield "Taken for", f"each {entry.each.replace('_', ' ')}"
    if entry.worsens:
        yield "Worsens from", " to ".join(entry.worsens)
    if sound_of(entry):
        yield "A sound engine gives", " or ".join(sound_of(entry))
    if entry.named:
        yield "Of two, the later is named", ", ".join(entry.named)
    if isinstance(entry, Observation):
        yield "Who speaks", SPEAKERS[speaks_of(entry)]


def _conditions(knowledge: Knowledge, entry: Any) -> Iterator[tuple[str, tuple[Clause, ...]]]:
    for field in ("rung", "seen_at"):
        for step in getattr(entry, field, ()):
            if step.when is not None:
                rung = knowledge.scopes[step.rung].title.lower() if step.rung in knowledge.scopes else step.rung
                yield f"{CONDITION_LABELS[field]}: {rung}, where", tuple(clauses(knowledge, step.when))
    for step in getattr(entry, "hours_by", ()):
        yield f"{step.hours:g} hours, where", tuple(clauses(knowledge, step.when))
    for field in ("when", "applies", "follows", "needs", "valid_when"):
        condition = getattr(entry, field, None)
        if condition is not None:
            yield CONDITION_LABELS[field], tuple(clauses(knowledge, condition))


def clauses(knowledge: Knowledge, condition: Condition, depth: int = 0) -> Iterator[Clause]:
    """A condition in words, one clause a line, parts deeper by one."""
    if isinstance(condition, FactTest):
        text = f"{fact_title(knowledge, condition.fact)}: {test_text(knowledge, condition)}"
        yield Clause(depth, text, fact_key(knowledge, condition.fact))
    elif isinstance(condition, FindingTest):
        title = knowledge.findings[condition.finding].title
        yield Clause(depth, f"present: {title}", f"findings/{condition.finding}")
    elif isinstance(condition, Not):
        yield Clause(depth, "not so:")
        yield from clauses(knowledge, condition.part, depth + 1)
    elif isinstance(condition, (AllOf, AnyOf)):
        yield Clause(depth, "all of these:" if isinstance(condition, AllOf) else "at least one of these:")
        for part in condition.parts:
            yield from clauses(knowledge, part, depth + 1)


def find_portraits(knowledge: Knowledge, what: str) -> list[Portrait]:
    """Every entry with the id `what` ('id' or 'kind/id'). Raises HowdeepError, with the nearest spelling, for none."""
    entries = portraits(knowledge)
    found = [entry for entry in entries.values() if what in (entry.id, entry.key)]
    if not found:
        known = {entry.id for entry in entries.values()} | (set(entries) if "/" in what else set())
        raise HowdeepError(Fault("", 0, 0, f"there is no entry '{what}' in the rule base", nearest(what, known)))
    return found
