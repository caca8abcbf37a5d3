"""Every link between two entries of the rule base: which explains, cures, grounds, reads or brings which."""

from __future__ import annotations

from collections.abc import Iterator

from ..knowledge.condition_names import conditions_of
from ..knowledge.frequencies import Grounds, grounds_of, standing_of
from ..knowledge.load import KINDS
from ..model.condition import FactTest, facts_read, findings_read, walk
from ..model.knowledge import Knowledge
from .judged_links import Edge, judged_edges

SOURCE = "Source"
"""Label of what an entry rests on."""


def edges_of(knowledge: Knowledge) -> Iterator[Edge]:
    """Every link between two entries, in the order in which they are shown."""
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
        for other in hold.lifted_by:
            yield f"holds/{name}", "Lifted by", f"findings/{other}", "Lifts the hold", ""
    for name, contradiction in knowledge.contradictions.items():
        for operation in contradiction.settled_by:
            yield f"contradictions/{name}", "Settled once done", f"operations/{operation}", "Settles, once done", ""
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


def _work_edges(knowledge: Knowledge) -> Iterator[Edge]:
    for name, item in knowledge.operations.items():
        key = f"operations/{name}"
        for caution in item.cautions:
            yield key, "Caution first", f"cautions/{caution}", "Stands before", ""
        for rung in dict.fromkeys(step.rung for step in item.rung):
            if rung in knowledge.scopes:
                yield key, "Done from the rung", f"scopes/{rung}", "Work that begins at this rung", ""
        for other in item.may_bring:
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


def _reading_edges(knowledge: Knowledge) -> Iterator[Edge]:
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


def fact_key(knowledge: Knowledge, fact: str) -> str:
    """'kind/id' of what a fact is; empty for how the engine is built, the scope and the odds of a cause."""
    if fact in knowledge.observations:
        return f"observations/{fact}"
    if fact in knowledge.reduced:
        return f"reduced/{fact}"
    name = fact.removeprefix("odds.")
    return f"causes/{name}" if name in knowledge.causes else ""


def _check_key(knowledge: Knowledge, name: str) -> str:
    return f"checks/{name}" if name in knowledge.checks else f"observations/{name}"
