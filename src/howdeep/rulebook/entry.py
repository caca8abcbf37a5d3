"""An entry of the rule base as a value to be shown: what it says, what it points to, and what points to it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from ..assessment.explain import source_text
from ..errors import Fault, HowdeepError, nearest
from ..knowledge.frequencies import comes_to, grounds_of, standing_of, words_of
from ..knowledge.load import KINDS
from ..knowledge.questions import sort_of, sound_of, speaks_of
from ..logic.proof import fact_title, test_text
from ..logic.stratify import once_per_value
from ..model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from ..model.sources import Frequency
from ..model.terms import WORD_STANDINGS
from .judged_links import judged_says
from .links import SOURCE, edges_of, fact_key

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
    "unless": "But not when",
    "applies": "Applies to engines where",
    "follows": "Asked only while",
    "needs": "Can be made where",
    "valid_when": "Valid only where",
    "doubted_when": "Asked about once where",
    "spared": "Takes no hours where",
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
    for start, label, end, label_back, note in edges_of(knowledge):
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


def _how_often(knowledge: Knowledge, kind: str, name: str) -> Iterator[tuple[str, str]]:
    """How the frequency words of a cause or a finding stand: each standing with how many words have it."""
    counts = _standings(knowledge).get(f"{kind}/{name}", Counter())
    told = ", ".join(f"{counts[standing]} {standing}" for standing in WORD_STANDINGS if counts[standing])
    if told:
        yield "Frequency words", f"{told}; without a mark: judgement"


@once_per_value(keep=2)
def _standings(knowledge: Knowledge) -> dict[str, Counter[str]]:
    """'kind/id' of a cause or a finding -> standing -> how many frequency words that speak of it have it."""
    grounds = grounds_of(knowledge)
    found: dict[str, Counter[str]] = {}
    for _, address in words_of(knowledge):
        kind, _, rest = address.partition("/")
        standing = standing_of(grounds, address)
        named = {
            f"causes/{rest.rpartition('/')[2]}",
            *([f"findings/{rest.split('/')[0]}"] if kind == "findings" else []),
        }
        for key in named:
            found.setdefault(key, Counter())[standing] += 1
    return found


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
        yield f"Step {index}", step.text


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
    for step in getattr(entry, "only_on", ()):
        yield f"Answers {', '.join(step.answers)} only where", tuple(clauses(knowledge, step.when))
    for number, step in enumerate(getattr(entry, "steps", ()), 1):
        if step.when is not None:
            yield f"Step {number}, where", tuple(clauses(knowledge, step.when))
    for field in ("when", "unless", "applies", "follows", "needs", "valid_when", "doubted_when", "spared"):
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
