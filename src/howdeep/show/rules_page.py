"""The rule base as one self-contained HTML page: no script, no outside resource, links both ways, a graph a system."""

from __future__ import annotations

from collections.abc import Iterator

from ..model.condition import facts_read, findings_read
from ..model.knowledge import Knowledge
from ..model.terms import WORDS
from ..rulebook.entry import SINGULAR, Portrait, portraits
from ..rulebook.links import fact_key
from ..rulebook.statements import by_standing, statements, works_named
from .layers import Edge, svg
from .templates import environment
from .words import ADVICE

CHAPTERS = {
    "causes": "Causes",
    "findings": "Findings",
    "observations": "Questions and readings",
    "checks": "Checks",
    "first_looks": "First looks",
    "first_questions": "First questions",
    "reduced": "Reduced facts",
    "history": "History rules",
    "lines": "Lines of evidence",
    "operations": "Operations",
    "scopes": "Scopes",
    "holds": "Holds",
    "contradictions": "Contradictions",
    "parts": "Parts",
    "machining": "Machine shop",
    "tools": "Tools",
    "cautions": "Cautions",
    "limits": "General limits",
    "gauges": "Gauges and their errors",
    "computed": "Computations",
    "frequencies": "Figures behind frequency words",
    "sources": "Published works",
}
_WEIGHT = {"never": 1, "rarely": 1, "sometimes": 1, "half the time": 1, "usually": 2, "nearly always": 3}


def rules_page(knowledge: Knowledge) -> str:
    """The page, as text."""
    from markupsafe import Markup

    entries = portraits(knowledge)
    found = statements(knowledge)
    chapters = [
        (kind, CHAPTERS[kind], [entry for entry in entries.values() if entry.kind == kind])
        for kind in CHAPTERS
        if getattr(knowledge, kind)
    ]
    graphs = [
        (system, f"graph-{system}", Markup(drawing))  # drawn by this program; its texts were escaped there
        for system, drawing in system_graphs(knowledge, entries)
    ]
    return (
        environment()
        .get_template("rules_page.html")
        .render(
            knowledge=knowledge,
            chapters=chapters,
            graphs=graphs,
            singular=SINGULAR,
            advice=ADVICE,
            statements=found,
            standings=by_standing(found),
            works=works_named(found),
        )
    )


def system_graphs(knowledge: Knowledge, entries: dict[str, Portrait]) -> Iterator[tuple[str, str]]:
    """(system, drawing of what leads to what) for every system that has causes, in order of name."""
    for system in sorted({cause.system for cause in knowledge.causes.values()}):
        causes = [name for name, cause in knowledge.causes.items() if cause.system == system]
        yield system, _graph(knowledge, entries, system, causes)


def _graph(knowledge: Knowledge, entries: dict[str, Portrait], system: str, causes: list[str]) -> str:
    edges: list[Edge] = []
    findings: dict[str, None] = {}
    for cause in causes:
        for name, word in _telling(knowledge, cause):
            findings[name] = None
            edges.append(Edge(f"findings/{name}", f"causes/{cause}", _WEIGHT[word]))
    signs: dict[str, None] = {}
    for name in findings:
        for key in _read(knowledge, entries[f"findings/{name}"]):
            signs[key] = None
            edges.append(Edge(key, f"findings/{name}"))
    work: dict[str, None] = {}
    for cause in causes:
        for operation in knowledge.causes[cause].cured_by:
            work[f"operations/{operation}"] = None
            edges.append(Edge(f"causes/{cause}", f"operations/{operation}"))
    columns = [
        ("Answers and readings", list(signs)),
        ("Findings", [f"findings/{name}" for name in findings]),
        ("Causes", [f"causes/{name}" for name in causes]),
        ("Cured by", list(work)),
    ]
    titles = {key: entries[key].title for _, boxes in columns for key in boxes}
    description = (
        f"Four columns joined by lines: {len(signs)} answers and readings lead to {len(findings)} findings, "
        f"these to {len(causes)} causes, these to {len(work)} operations that cure them. Every link, "
        "the weaker ones too, stands as text under each entry below."
    )
    return svg(
        columns,
        edges,
        titles,
        name=f"g-{system}",
        title=f"What leads to what: {system.replace('_', ' ')}",
        description=description,
    )


def _telling(knowledge: Knowledge, cause: str) -> list[tuple[str, str]]:
    """(finding, word) of the links drawn for a cause: seen half the time or more, else the strongest it has."""
    links = [
        (name, finding.explained_by[cause])
        for name, finding in knowledge.findings.items()
        if cause in finding.explained_by
    ]
    strongest = max((WORDS.index(word) for _, word in links), default=0)
    least = min(strongest, WORDS.index("half the time"))
    return [(name, word) for name, word in links if word != "never" and WORDS.index(word) >= least]


def _read(knowledge: Knowledge, finding: Portrait) -> list[str]:
    """Observations and reduced facts that a finding reads, also through findings that it reads."""
    found: dict[str, None] = {}
    seen: set[str] = set()
    todo = [finding.id]
    while todo:
        name = todo.pop(0)
        if name in seen:
            continue
        seen.add(name)
        when = knowledge.findings[name].when
        found.update((fact_key(knowledge, fact), None) for fact in sorted(facts_read(when)))
        todo += sorted(findings_read(when))
    return [key for key in found if key]
