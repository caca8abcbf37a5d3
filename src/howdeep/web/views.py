"""What the templates show, as plain values; the templates compute nothing."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from secrets import token_hex

from flask import Flask, request

from ..assessment.session import Shop
from ..decision.askable import askable
from ..interview.opened import GROUPS as COMES_APART
from ..interview.session import Desk, plain_answer
from ..job.sections import LATER, UNKNOWN
from ..knowledge.engine_facts import count_of
from ..model.shown_units import in_prose
from ..quote.first_steps import worth_making as useful_checks
from ..quote.held import check_lacking, held_checks, waived_sentences
from ..show.answer import answer_of
from ..show.answers import summary
from ..show.general import assumed_lines, assumed_title, general_sentence, look_up_lines
from ..show.reasons import reason_text as reason_text_of
from ..show.sentences import (
    check_title,
    defended_sentence,
    doubt_sentences,
    flip_lines,
    held_lines,
    led_words,
    no_check_sentence,
    opened_sentence,
    others_sentence,
    reason_text,
    risk_sentence,
    step_title,
)
from ..show.spoken import in_units_of
from ..show.words import ADVICE, chance_of, every_words, minutes, money, one_in, percent, times
from .card import PLACES, place_of
from .cautions import read_today
from .forms import Cell, cell_text, cells_of, place_title, units_of
from .merge import shown_as
from .verdict import Rung, causes_of, rungs_of, spoken_of


@dataclass(frozen=True, slots=True)
class AnswerView:
    """The verdict as texts."""

    title: str
    heading: str
    """The kind of answer."""
    job: str
    """The job that it speaks of; empty where none is meant."""
    chance: str
    price: str
    """Price and what it costs in the end; empty where that is not known."""
    range: str
    plain: str
    rung: str
    enough: str
    every: str
    nothing: bool
    """Whether nothing has shown yet."""
    wins: str
    risk: str
    beyond: str
    provisional: bool
    prices: tuple[str, ...]
    """What is to be said of the prices."""
    held: tuple[str, ...]
    waived: tuple[str, ...]
    """What was gone on without, and who decided."""
    dangers: tuple[str, ...]
    """What forbids running it."""
    next: tuple[str, ...]
    """What to do next."""
    reasons: tuple[tuple[str, str], ...]
    """(cause, why it is suspected)"""
    unexplained: tuple[str, ...]
    stages: tuple[str, ...]
    turns_up: tuple[str, ...]
    no_check: str
    """What to do where no check is worth its cost by the odds alone."""
    ladder: tuple[Rung, ...]
    causes: tuple[tuple[str, str, str, str], ...]
    """(id, title, percent, words)"""
    others: str
    doubts: tuple[str, ...]
    checks: tuple[tuple[str, str, str, tuple[str, ...]], ...]
    """(first observation, title, worth, outcomes)"""
    moves: tuple[str, ...]
    work: tuple[tuple[str, str, str], ...]
    """(id, title and hours, reason)"""
    cautions: tuple[tuple[str, str], ...]
    parts: tuple[str, ...]
    not_asked: tuple[str, ...]
    stand_ins: tuple[str, ...]
    general: str
    """That the engine has no sheet; empty where it has one."""
    assumed_title: str
    assumed: tuple[str, ...]
    look_ups: tuple[str, ...]


def answer_view(desk: Desk) -> AnswerView:
    """The whole answer of a job as texts."""
    knowledge, answer = desk.knowledge, desk.answer
    decision = answer.decision
    chosen = next(line for line in decision.ladder if line.rung == decision.rung)
    told = answer_of(knowledge, answer, desk.shop.prices)
    wins = " ".join(decision.because)
    held = held_lines(knowledge, answer)
    work = answer.works[decision.job]
    sure = [item for item in work.items if not item.if_found]
    cautions = dict.fromkeys(name for item in sure for name in item.cautions)
    return in_units_of(
        AnswerView(
            title=told.headline,
            heading=told.heading,
            job=spoken_of(told.heading, told.headline),
            chance=told.chance,
            price=told.price,
            range=told.range,
            plain=knowledge.scopes[decision.rung].plain,
            rung=decision.rung,
            enough=f"{told.chance}. {told.price}" + (f"; {told.range}" if told.range else ""),
            nothing=not answer.counted.present,
            every=every_words(chosen.enough, chosen.every),
            wins=wins,
            risk=" ".join(
                filter(
                    None,
                    (defended_sentence(knowledge, answer), opened_sentence(answer), risk_sentence(knowledge, answer)),
                )
            ),
            beyond=decision.beyond,
            provisional=decision.provisional,
            prices=told.prices,
            held=held,
            waived=waived_sentences(knowledge, answer),
            dangers=told.dangers,
            next=told.next,
            reasons=tuple((reason.cause, reason_text_of(knowledge, reason)) for reason in told.reasons),
            unexplained=told.unexplained,
            stages=told.stages,
            turns_up=told.turns_up,
            no_check=no_check_sentence(knowledge, answer),
            ladder=rungs_of(knowledge, decision),
            causes=causes_of(knowledge, answer),
            others=others_sentence(knowledge, answer),
            doubts=doubt_sentences(knowledge, answer),
            checks=tuple(
                (
                    check.observations[0],
                    f"{check.title} ({minutes(check.minutes)})",
                    money(check.net, decision.currency, whole=True),
                    tuple(
                        f"{percent(outcome.chance)} {outcome.title}"
                        + (f": {led_words(knowledge, outcome.leads_to)}" if outcome.leads_to else "")
                        for outcome in check.outcomes
                        if outcome.chance >= 0.02
                    ),
                )
                for check in useful_checks(answer)[:3]
            ),
            moves=tuple(flip_lines(knowledge, answer.flips)[:8]),
            work=tuple(
                (
                    item.operation,
                    f"{knowledge.operations[item.operation].title} ({item.hours:g} h)",
                    reason_text(knowledge, item),
                )
                for item in sure
            ),
            cautions=tuple((knowledge.cautions[name].title, knowledge.cautions[name].text) for name in cautions),
            parts=tuple(
                f"{line.quantity} x {knowledge.parts[line.part].title}"
                + (f", {line.size}" if line.size else "")
                + (
                    f" (order after measuring: {knowledge.observations[line.waits_for].title.lower()})"
                    if line.waits_for
                    else ""
                )
                for line in work.parts
            ),
            not_asked=tuple(knowledge.observations[name].title for name in answer.not_asked),
            stand_ins=answer.stand_ins,
            general=general_sentence(answer),
            assumed_title=assumed_title(answer),
            assumed=assumed_lines(answer),
            look_ups=look_up_lines(knowledge, answer),
        ),
        desk.shop.settings.units,
    )


def next_parts(desk: Desk) -> list[tuple[str, str]]:
    """(what to do next, where its outcomes lead) of each line; the latter empty where nothing follows."""
    told = answer_of(desk.knowledge, desk.answer).next
    parts = [line.partition("): ") for line in told]
    return in_units_of([(head + ")" * bool(mark), rest) for head, mark, rest in parts], desk.shop.settings.units)


def held_offers(desk: Desk) -> list[tuple[str, str, str, str]]:
    """(title with minutes, first observation, what it is made for, hold to waive) of each check before a promise."""
    knowledge, answer = desk.knowledge, desk.answer
    found = []
    for item in held_checks(answer, answer.decision.rung):
        check = knowledge.checks.get(item.check)
        first = check.observations[0] if check else item.check
        lacking = check_lacking(knowledge, item.check)
        told = "; ".join(filter(None, (minutes(item.minutes), lacking)))
        found.append(
            (
                f"{check_title(knowledge, item.check)} ({told})",
                first,
                ". ".join(knowledge.holds[hold].title for hold in item.holds),
                item.holds[0],
            )
        )
    return in_units_of(found, desk.shop.settings.units)


def reading_groups(desk: Desk, moment: str = "") -> list[tuple[str, list[str]]]:
    """(group, observations) of everything measured: what makes sense on this engine now, by subject. `moment` keeps to
    the bench ('test') or to the open engine ('teardown')."""
    knowledge, job = desk.knowledge, desk.job
    # nothing counts as made: what was read before the engine was opened may be typed in afterwards
    asked = askable(knowledge, job.engine, desk.answer.facts.values, ())
    groups: dict[str, list[str]] = {}
    for name, item in knowledge.observations.items():
        if item.moment == "talk" or moment not in ("", item.moment) or not asked.applies(name):
            continue
        if name in job.values or asked.stands(name):
            groups.setdefault(
                ("Opened: " if item.moment == "teardown" and not moment else "") + item.group.replace("_", " "), []
            ).append(name)
    if moment == "teardown":  # in the order in which an engine comes apart
        return sorted(
            ((title[:1].upper() + title[1:], names) for title, names in groups.items()),
            key=lambda entry: (
                COMES_APART.index(entry[0].lower().replace(" ", "_"))
                if entry[0].lower().replace(" ", "_") in COMES_APART
                else len(COMES_APART)
            ),
        )
    return sorted(groups.items(), key=lambda entry: (entry[0].startswith("Opened"), entry[0]))


def answered_groups(desk: Desk) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """(group, [(observation, title, answer in words)]) of everything answered or put off."""
    knowledge = desk.knowledge
    groups: dict[str, list[tuple[str, str, str]]] = {}
    for name in sorted({*desk.job.values, *desk.job.unknown, *desk.job.later}):
        item = knowledge.observations[name]
        groups.setdefault(item.group.replace("_", " "), []).append((name, item.title, answer_text(desk, name)))
    return sorted(groups.items())


def answer_text(desk: Desk, name: str) -> str:
    """An answer as a person reads it."""
    return summary(desk.knowledge.observations[name], plain_answer(desk, name))


def field_value(desk: Desk, cell: Cell, name: str) -> str:
    """What a field of a form shows of the job; empty where nothing stands there."""
    return cell_text(desk.knowledge.observations[name], plain_answer(desk, name), cell)


def was_shown(desk: Desk, name: str) -> str:
    """The state of an observation that a form is filled in from."""
    return shown_as(plain_answer(desk, name))


def save_id() -> str:
    """Makes the address a form is sent to its own, so that Back leads to the filled-in form when the line drops."""
    return token_hex(4)


def table_of(desk: Desk, name: str) -> list[tuple[str, list[Cell]]]:
    """The fields of an observation in lines: one for each cylinder, journal or valve and place; narrow enough for a
    phone."""
    item = desk.knowledge.observations[name]
    cells = cells_of(item, name, count_of(desk.job.engine, item.each))
    return [
        (f"{index or ''} {row}".strip(), list(line))
        for (index, row), line in groupby(cells, key=lambda cell: (cell.index, cell.row))
    ]


def add_filters(app: Flask, shop: Shop) -> None:
    """Names that every template may use."""
    app.context_processor(lambda: {"place_now": place_of(request.endpoint or "")})
    app.jinja_env.filters["in_units"] = lambda text: in_prose(text, shop.settings.units)
    app.jinja_env.globals.update(
        advice=ADVICE,
        minutes=minutes,
        percent=percent,
        one_in=one_in,
        money=money,
        field_value=field_value,
        was_shown=was_shown,
        table_of=table_of,
        place_title=place_title,
        answer_text=answer_text,
        step_title=step_title,
        times=times,
        chance_of=chance_of,
        save_id=save_id,
        read_today=read_today,
        PLACES=PLACES,
        units_of=lambda item: units_of(item, shop.settings.units),
        UNKNOWN=UNKNOWN,
        LATER=LATER,
    )
