"""The rule base in a terminal: one entry with its links both ways, what the checks found, statements by standing."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.text import Text

from ..casebook.entries import Entry
from ..cases.moves import Moves
from ..knowledge.frequencies import KINDS_OF_WORD, Tally
from ..model.knowledge import Knowledge
from ..rulebook.entry import SINGULAR, Portrait
from ..rulebook.statements import Statement, by_standing, works_named
from ..rulecheck.base import SEVERITIES, Anomaly
from ..rulecheck.links import WordTold
from ..rulecheck.run import BY_CODE, Report
from .layout import heading, indent, item
from .moves_text import moves_shape

SHAPE = 1


def portrait_text(entry: Portrait) -> Iterator[RenderableType]:
    """One entry of the rule base: what it says, what it points to, what points to it."""
    yield Text(f"{entry.title}   ({SINGULAR[entry.kind]} {entry.id})", style="bold")
    for label, text in entry.says:
        yield item(f"{label}: {text}", "")
    for label, clauses in entry.conditions:
        yield heading(label)
        for clause in clauses:
            name = f"  [{clause.key}]" if clause.key else ""
            yield item(clause.text + name, "-", 2 + 3 * clause.depth)
    for label, links in entry.links:
        yield heading(label)
        for link in links:
            note = f": {link.note}" if link.note else ""
            yield item(f"{link.title}  [{link.key}]{note}")
    if entry.sources:
        yield heading("Where this comes from")
        for source in entry.sources:
            yield item(source.title + (f"  [{source.key}]" if source.key else ""))
    for code, reason in entry.excuses:
        yield heading(f"Excused from {code}")
        yield indent(reason)
    if entry.file:
        yield heading("Written in")
        yield indent(f"{entry.file}:{entry.line}")


def word_text(told: WordTold) -> Iterator[RenderableType]:
    """One frequency word: what it says, how it stands, and apart from that what the link rests on."""
    yield Text(f"{told.cause}: how often it shows that {told.finding[:1].lower()}{told.finding[1:]}", style="bold")
    yield item(
        f"Word: {told.word}, about {100 * told.share:.3g} in 100 ({100 * told.low:.2g} to {100 * told.high:.3g} "
        "lie nearer to it than to another word)",
        "",
    )
    yield item(f"Standing of the word: {told.standing}", "")
    for name, title, counted in told.figures:
        yield item(f"{title}; counted: {counted}  [frequencies/{name}]")
    yield heading("That it shows it at all comes from")
    for source in told.link:
        yield item(source)


def frequencies_text(counted: Sequence[Tally]) -> Iterator[RenderableType]:
    """Frequency words by kind and standing."""
    yield heading("Frequency words by standing")
    for tally in counted:
        told = ", ".join(f"{number} {standing}" for standing, number in tally.counts.items())
        yield indent(f"{KINDS_OF_WORD[tally.kind]}: {told}")


def handbooks_text(knowledge: Knowledge, printed: Sequence[Entry]) -> Iterator[RenderableType]:
    """Entries of published works that list a cause: what of, which work, where in it; nothing for none."""
    if printed:
        yield heading("Listed by published works")
    for entry in printed:
        work = knowledge.sources[entry.work]
        others = len(entry.printed.causes) + len(entry.printed.unknown_causes) - 1
        beside = f"; one of {others + 1} causes" if others else ""
        named = ", ".join(part for part in (work.author, work.number or work.title, entry.printed.where) if part)
        yield item(f"{entry.printed.title}: {named}{beside}  [{entry.name}]")


def check_text(report: Report, replaced: Sequence[str], *, notes: bool = False) -> Iterator[RenderableType]:
    """Every anomaly with its place and what to do, then the counts."""
    for anomaly in report.anomalies:
        if not anomaly.excused and (notes or anomaly.severity != "note"):
            yield from _anomaly(anomaly)
    if replaced:
        yield heading("Replaced by the shop's own rules")
        for key in replaced:
            yield item(key)
    counts = [
        f"{len(report.standing(severity))} {severity}{'' if len(report.standing(severity)) == 1 else 's'}"
        for severity in SEVERITIES
    ]
    tail = "" if notes or not report.standing("note") else " (--notes shows the notes)"
    yield Text(
        f"{report.checked} entries, {len(BY_CODE)} checks: {', '.join(counts)}, {len(report.excused)} excused{tail}."
    )


def _anomaly(anomaly: Anomaly) -> Iterator[RenderableType]:
    yield Text(str(anomaly))
    yield indent(f"{anomaly.do}.  [{anomaly.key}]")


def check_json(report: Report, replaced: Sequence[str], moves: Moves | None = None) -> str:
    """The same as JSON, with what the shop's own rules move where that was looked at."""
    anomalies = [
        {
            "file": item_.file,
            "line": item_.line,
            "column": item_.column,
            "code": item_.code,
            "severity": item_.severity,
            "entry": item_.key,
            "message": item_.message,
            "do": item_.do,
            "excused": item_.excused,
        }
        for item_ in report.anomalies
    ]
    return json.dumps(
        {
            "howdeep_rulecheck": SHAPE,
            "entries": report.checked,
            "clean": report.clean,
            "replaced": list(replaced),
            "anomalies": anomalies,
            **({} if moves is None else {"moves": moves_shape(moves)}),
        },
        indent=2,
        ensure_ascii=False,
    )


def codes_text() -> Iterator[RenderableType]:
    """Every check in one line."""
    for code, check in BY_CODE.items():
        yield Text(f"{code:24} {check.severity:8} {check.title()}")


def statements_text(found: tuple[Statement, ...], *, every: bool = True) -> Iterator[RenderableType]:
    """Statements by standing; with `every`, each of them."""
    if every:
        for statement in found:
            place = ", ".join(part for part in (statement.work, statement.where) if part)
            yield item(f"{statement.key}: {statement.standing}{f' ({place})' if place else ''}", "")
    yield heading("Statements by standing")
    for standing, count in by_standing(found).items():
        yield indent(f"{count:5}  {standing}")
    yield indent(f"{len(found):5}  in all; {len(works_named(found))} published works are named.")


def statements_json(found: tuple[Statement, ...], counted: Sequence[Tally] = ()) -> str:
    """The same as JSON."""
    return json.dumps(
        {
            "howdeep_sources": SHAPE,
            "by_standing": by_standing(found),
            "works": list(works_named(found)),
            "frequency_words": {KINDS_OF_WORD[tally.kind]: tally.counts for tally in counted},
            "statements": [
                {
                    "entry": item_.key,
                    "title": item_.title,
                    "standing": item_.standing,
                    "of": item_.work,
                    "where": item_.where,
                }
                for item_ in found
            ],
        },
        indent=2,
        ensure_ascii=False,
    )
