"""Sections on the work: what is done with its cautions, what may turn up, the parts and the tests."""

from __future__ import annotations

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, PartLine
from ..quote.jobs import points_to_work
from ..quote.turning_up import TurningUp, turning_up
from ..work.stages import in_order
from .section import Figure, Line, Section
from .sentences import check_title, first_sentence, lower_first, reason_text
from .words import money, percent


def work(knowledge: Knowledge, answer: Assessment) -> Section:
    """The work of the job in its order; each caution stands once, before the first work that it belongs to."""
    items = answer.works[answer.decision.job].items
    held = {entry.operation: entry for entry in items if not entry.if_found}
    order = dict.fromkeys(name for _, name in in_order(knowledge.operations, held))
    lines: list[Line] = []
    said: set[str] = set()
    for entry in (held[name] for name in (*order, *(name for name in held if name not in order))):
        for name in entry.cautions:
            if name not in said:
                said.add(name)
                caution = knowledge.cautions[name]
                lines.append(
                    Line(caution.text, f"Caution, {caution.title.lower()}", first_sentence(caution.text), warns=True)
                )
        lines.append(
            Line(
                reason_text(knowledge, entry),
                f"{knowledge.operations[entry.operation].title} ({entry.hours:g} h)",
                why=entry.operation,
            )
        )
    told = ("Each caution stands before the work it belongs to; the assembly sheet prints them whole.",) if said else ()
    figures = tuple(Figure("work", (knowledge.operations[name].title,)) for name in held)
    return Section("work", "Work", tuple(lines), before=told, figures=figures)


def turns_up(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Section:
    """What may turn up in the job, likeliest first, with what it adds; nothing where no job is meant."""
    found = turning_up(knowledge, answer, prices) if points_to_work(answer) else ()
    return Section(
        "turns_up",
        "What may turn up",
        tuple(
            Line(
                turn_up_text(knowledge, item, answer.decision.currency),
                why=item.operation,
                under=(Line(f"cures {lower_first(knowledge.causes[item.cause].title)}"),),
            )
            for item in found
        ),
        after=("Each is an allowance in the quote: it is only done, and only paid for, if it is found.",)
        if found
        else (),
        figures=tuple(Figure("turns up", (item.title,)) for item in found[:1]),
    )


def turn_up_text(knowledge: Knowledge, item: TurningUp, currency: str) -> str:
    """'re-ring (29 %, USD 1,900 more)'; where the job would grow, to what."""
    more = "" if item.amount is None or not item.amount else f", {money(item.amount, currency, whole=True)} more"
    grown = f"; it grows to {lower_first(knowledge.scopes[item.grows_to].title)}" if item.grows_to else ""
    return f"{lower_first(item.title)} ({percent(item.chance)}{more}{grown})"


def parts(knowledge: Knowledge, answer: Assessment) -> Section:
    """The parts of the job, with their sizes or what has to be measured before they are ordered."""
    lines = answer.works[answer.decision.job].parts
    return Section(
        "parts",
        "Parts",
        tuple(Line(part_text(knowledge, line)) for line in lines),
        figures=tuple(
            Figure("part", (knowledge.parts[line.part].title,))
            for line in lines
            if not knowledge.parts[line.part].in_supplies
        ),
    )


def part_text(knowledge: Knowledge, line: PartLine) -> str:
    """'4 x Piston ring set, 0.5 mm over (measured from bore 3)', or what it waits for."""
    text = f"{line.quantity} x {knowledge.parts[line.part].title}"
    if line.size:
        return f"{text}, {line.size}" + (f" (measured from {line.measured_from})" if line.measured_from else "")
    if line.waits_for:
        return f"{text} (order after measuring: {knowledge.observations[line.waits_for].title.lower()})"
    return text


def tests(knowledge: Knowledge, answer: Assessment) -> Section:
    """What is tested before, during and after the work."""
    made = answer.works[answer.decision.job]
    return Section(
        "tests",
        "Tests",
        tuple(
            Line("; ".join(check_title(knowledge, name) for name in names), label)
            for label, names in (
                ("Before opening", made.before),
                ("While open", made.during),
                ("To prove it", made.after),
            )
            if names
        ),
    )
