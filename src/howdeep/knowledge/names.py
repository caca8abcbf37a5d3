"""Every id that an entry mentions must exist, fit its use, and lead round in no circle."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from ..errors import Fault, nearest
from ..files.strict_yaml import Path_
from ..model.knowledge import Knowledge
from .condition_names import FactShape, Report, check_condition, conditions_of, fact_shapes
from .frequencies import number_at, words_of
from .judged_names import check_judged

ID = re.compile(r"[a-z0-9][a-z0-9_.-]*")
QUANTITIES = (
    "each engine",
    "each cylinder",
    "each valve",
    "each inlet_valve",
    "each exhaust_valve",
    "each rod",
    "each main",
    "each head_stud",
)


def check(knowledge: Knowledge, documents: dict[str, tuple[Any, Path_]]) -> list[Fault]:
    """All faults of reference in the rule base."""
    faults: list[Fault] = []

    def report(key: str, path: Path_, message: str, hint: str = "") -> None:
        document, base = documents[key]
        faults.append(document.fault((*base, *path), message, hint))

    facts = fact_shapes(knowledge)
    work_facts = {f"odds.{cause}": FactShape((), "") for cause in knowledge.causes}
    work_facts["scope"] = FactShape(tuple(knowledge.scopes), "")
    for kind in (
        "observations",
        "causes",
        "history",
        "findings",
        "operations",
        "contradictions",
        "holds",
        "first_looks",
        "first_questions",
        "cautions",
        "parts",
    ):
        for name, entry in getattr(knowledge, kind).items():
            for field, path, condition in conditions_of(entry):
                only_engine = field == "applies" or path[0] in (
                    "rung",
                    "seen_at",
                    "hours_by",
                    "brings_where",
                    "only_on",
                    "steps",
                )
                known = (
                    {n: s for n, s in facts.items() if n.startswith("engine.")}
                    if only_engine
                    else (facts | work_facts if kind == "operations" else facts)
                )
                check_condition(knowledge, f"{kind}/{name}", path, condition, known, report)
            _references(knowledge, kind, name, entry, report)
    for kind in ("checks", "lines", "scopes", "limits", "reduced", "frequencies", "tools", "gauges", "machining"):
        for name, entry in getattr(knowledge, kind).items():
            _references(knowledge, kind, name, entry, report)
    _reduced_and_observed(knowledge, report)
    check_judged(knowledge, report)
    _frequencies(knowledge, report)
    _circles(knowledge, list(documents), report)
    return faults


# field -> kind it points to; fields that may point to observations or checks are in CHECK_FIELDS
POINTERS = {
    "observations": {
        "cautions": "cautions",
        "opened_by": "operations",
        "laid_open_by": "operations",
        "shown_as": "reduced",
        "uses": "parts",
    },
    "machining": {"take_along": "parts", "machined_to": "reduced"},
    "contradictions": {"settled_by": "operations"},
    "holds": {"also_by": "observations", "before": "operations", "lifted_by": "findings"},
    "first_looks": {"comes_before": "first_looks"},
    "first_questions": {"asks": "observations"},
    "checks": {"observations": "observations"},
    "causes": {"cured_by": "operations", "places": "findings"},
    "history": {"shifts": "causes"},
    "findings": {
        "explained_by": "causes",
        "lifted_by": "findings",
        "for_seconds": "observations",
        "covers": "findings",
    },
    "lines": {"findings": "findings"},
    "operations": {
        "brings": "operations",
        "instead_of": "operations",
        "parts": "parts",
        "machine": "machining",
        "cautions": "cautions",
        "during": "observations",
    },
    "scopes": {"always": "operations", "access": "operations"},
    "reduced": {"taken_from": "observations"},
    "parts": {"sized_by": "observations", "size_fact": "reduced"},
    "frequencies": {"under": "history", "rests_on": "frequencies"},
    "tools": {"needed_for": "observations"},
}
CHECK_FIELDS = {"operations": ("proved_by", "before"), "holds": ("check",), "first_looks": ("checks",)}


def _references(knowledge: Knowledge, kind: str, name: str, entry: Any, report: Report) -> None:
    key = f"{kind}/{name}"
    for place, step in enumerate(getattr(entry, "brings_where", ())):
        for index, item in enumerate(step.operations):
            if item not in knowledge.operations:
                report(
                    key,
                    ("brings_where", place, "operations", index),
                    f"there is no entry '{item}' in operations",
                    nearest(item, knowledge.operations),
                )
    for field, target in POINTERS.get(kind, {}).items():
        given = getattr(entry, field)
        for index, item in _items(given):
            if item not in getattr(knowledge, target):
                report(
                    key,
                    (field, index) if index != "" else (field,),
                    f"there is no entry '{item}' in {target}",
                    nearest(item, getattr(knowledge, target)),
                )
    both = {**knowledge.observations, **knowledge.checks}
    for field in CHECK_FIELDS.get(kind, ()):
        for index, item in _items(getattr(entry, field)):
            if item not in both:
                report(
                    key,
                    (field, index) if index != "" else (field,),
                    f"there is no observation or check '{item}'",
                    nearest(item, both),
                )
    for index, source in enumerate(getattr(entry, "source", ())):
        if source.standing == "published" and source.of not in knowledge.sources:
            report(
                key,
                ("source", index),
                f"there is no published source '{source.of}' in the register"
                if source.of
                else "a published statement names its source ('of')",
                nearest(source.of, knowledge.sources),
            )
    if kind == "operations":
        for stage, others in entry.after.items():
            for index, other in enumerate(others):
                if other not in knowledge.operations:
                    report(
                        key,
                        ("after", stage, index),
                        f"there is no entry '{other}' in operations",
                        nearest(other, knowledge.operations),
                    )
        for field in ("parts", "machine"):
            for item, quantity in getattr(entry, field).items():
                if quantity not in QUANTITIES and not re.fullmatch(r"[1-9][0-9]*( each [a-z_]+)?", quantity):
                    report(
                        key,
                        (field, item),
                        f"'{quantity}' is not a quantity",
                        nearest(quantity, QUANTITIES) or f"a whole number, or {', '.join(QUANTITIES)}",
                    )
    if kind == "findings" and bool(entry.explained_by) != (entry.otherwise is not None):
        report(key, (), "'explained_by' and 'otherwise' belong together", "add the missing one")


def _items(given: Any) -> Iterable[tuple[Any, str]]:
    if isinstance(given, dict):
        yield from ((item, item) for item in given)
    elif isinstance(given, str):
        if given:
            yield "", given
    else:
        yield from enumerate(given)


def _reduced_and_observed(knowledge: Knowledge, report: Report) -> None:
    from ..model.quantity import DIMENSION, unit_hint

    for name, item in knowledge.observations.items():
        key = f"observations/{name}"
        if name in knowledge.reduced:
            report(key, (), f"'{name}' is also the name of a reduced fact", "")
        if item.kind == "choice" and len(item.answers) < 2:
            report(key, (), "a choice needs at least two answers", "")
        for index, step in enumerate(item.only_on):
            for place, word in enumerate(step.answers):
                if word not in item.answers:
                    here = ("only_on", index, "answers", place)
                    report(key, here, f"'{word}' is not one of the answers", nearest(word, item.answers))
        if item.kind == "choice" and "unknown" in item.answers:
            report(key, ("answers", "unknown"), "'unknown' is always possible and never listed", "")
        if item.kind == "number" and (item.answers or item.range is None):
            report(key, (), "a number has a unit and a range, and no answers", "")
        if item.unit and item.unit not in DIMENSION:
            report(key, ("unit",), f"'{item.unit}' is not a unit known here", unit_hint(item.unit))
        for answer, others in item.implies.items():
            if answer not in item.answers:
                report(key, ("implies", answer), f"'{answer}' is not one of the answers", nearest(answer, item.answers))
            for other, word in others.items():
                there = knowledge.observations.get(other)
                if there is None or there.each or word not in there.answers:
                    report(
                        key,
                        ("implies", answer, other),
                        f"'{other}' is no observation that can be '{word}'",
                        nearest(other, knowledge.observations),
                    )
        for answer in item.said:
            if answer not in item.answers:
                report(key, ("said", answer), f"'{answer}' is not one of the answers", nearest(answer, item.answers))
        for index, word in enumerate(item.worsens):
            if word not in item.answers:
                report(key, ("worsens", index), f"'{word}' is not one of the answers", nearest(word, item.answers))
    for name, first in knowledge.first_questions.items():
        for index, asked in enumerate(first.asks):
            if asked in knowledge.observations and knowledge.observations[asked].moment != "talk":
                report(
                    f"first_questions/{name}",
                    ("asks", index),
                    f"'{asked}' is no question for a customer",
                    "name one of moment talk; what is looked at first stands in first_looks",
                )
    for kind in ("observations", "reduced"):
        for name, item in getattr(knowledge, kind).items():
            _sound_and_named(f"{kind}/{name}", item, report)
    for name, reduced in knowledge.reduced.items():
        if reduced.unit not in DIMENSION:
            report(f"reduced/{name}", ("unit",), f"'{reduced.unit}' is not a unit known here", unit_hint(reduced.unit))
    facts = fact_shapes(knowledge)
    for name, check in knowledge.checks.items():
        for outcome_name, outcome in check.outcomes.items():
            for fact, value in outcome.facts.items():
                path = ("outcomes", outcome_name, "facts", fact)
                if fact not in facts:
                    report(f"checks/{name}", path, f"there is no fact '{fact}'", nearest(fact, facts))
                    continue
                shape = facts[fact]
                if bool(shape.each) != isinstance(value, dict):
                    report(
                        f"checks/{name}",
                        path,
                        f"'{fact}' takes "
                        + ("{each: ...} or {one: ..., others: ...}" if shape.each else "a single value"),
                        "",
                    )
                    continue
                for given in value.values() if isinstance(value, dict) else (value,):
                    if (shape.words and given not in shape.words) or (not shape.words and isinstance(given, str)):
                        report(
                            f"checks/{name}", path, f"'{fact}' can never be '{given}'", nearest(str(given), shape.words)
                        )


def _frequencies(knowledge: Knowledge, report: Report) -> None:
    """Every address of a figure leads to a word; the figure is one; a derived one says from what and how."""
    known = [address for _, address in words_of(knowledge)]
    known += [address.replace("findings/", "blame/", 1) for address in known if address.startswith("findings/")]
    for name, entry in knowledge.frequencies.items():
        key = f"frequencies/{name}"
        for field in ("words", "against"):
            for index, address in enumerate(getattr(entry, field)):
                if number_at(knowledge, address) is None:
                    report(key, (field, index), f"there is no frequency word '{address}'", nearest(address, known))
        if not entry.words:
            report(key, ("words",), "a figure names the words that rest on it", "add at least one")
        if not entry.figure > 0:
            report(key, ("figure",), f"'{entry.figure:g}' is not a share or a ratio", "a number above 0")
        bounds = entry.low is not None or entry.high is not None
        plain = entry.figure <= 1 and all(address.startswith(("causes/", "findings/")) for address in entry.words)
        if not bounds and (entry.against or not plain):
            report(key, (), "what is no share of one word needs a span", "add 'low', 'high' or both")
        if entry.low is not None and entry.high is not None and entry.low > entry.high:
            report(key, ("low",), f"'low' {entry.low:g} is above 'high' {entry.high:g}", "the lower one is 'low'")
        if entry.standing == "derived" and not entry.how.strip():
            report(key, (), "a derived figure says how it is reckoned", "add 'how'")


def _sound_and_named(key: str, item: Any, report: Report) -> None:
    for field in ("sound", "named"):
        words = getattr(item, field)
        for index, word in enumerate(words):
            if word not in item.answers:
                report(key, (field, index), f"'{word}' is not one of the answers", nearest(word, item.answers))
            elif word in words[:index]:
                report(key, (field, index), f"'{word}' is written twice", "")
            elif field == "named" and word in (item.sound or item.worsens[:1]):
                report(key, (field, index), f"'{word}' is a sound answer and cannot tell of a fault", "")


def _circles(knowledge: Knowledge, written: list[str], report: Report) -> None:
    """Findings that lead back to themselves are refused, each circle once, at the entry that closes it: the one that
    was written last."""
    from ..model.condition import findings_read

    told: set[frozenset[str]] = set()

    reads = {name: findings_read(item.when) for name, item in knowledge.findings.items()}
    state: dict[str, int] = {}

    def visit(name: str, trail: tuple[str, ...]) -> None:
        if state.get(name) == 2 or name not in reads:
            return
        if name in trail:
            circle = trail[trail.index(name) :]
            if frozenset(circle) not in told:
                told.add(frozenset(circle))
                last = max(circle, key=lambda item: written.index(f"findings/{item}"))
                place = circle.index(last)
                way = (*circle[place:], *circle[:place], last)
                report(
                    f"findings/{last}",
                    ("when",),
                    f"leads round in a circle: {' -> '.join(way)}",
                    "let one of them stand without the other",
                )
            return
        for other in sorted(reads[name]):
            visit(other, (*trail, name))
        state[name] = 2

    for name in sorted(reads):
        visit(name, ())
