"""What the papers say in whole sentences: the letter to the customer, that something is no promise, what it may be."""

from __future__ import annotations

from collections.abc import Sequence

from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..quote.estimate_values import Estimate, OtherWay, Sum
from ..quote.evidence import signs_for
from ..quote.found import found_sentences
from ..quote.texts import lower_first
from .estimate_blocks import chance_clause, chance_words, left_as_it_is, would_be
from .estimate_price import priced_in_full
from .estimate_words import Page, page_of, told_notes
from .reasons import Reason, signs_text
from .spoken import AsSaid
from .words import chance, money, percent, suspects_title, takes

SIGNS = 160
"""Letters given to the signs that speak for a cause, in the annex."""
OPENED = 4
"""Things found on opening that a letter names."""


@dataclass(frozen=True, slots=True)
class Letter:
    """Half a page in plain words, in short sentences."""

    title: str
    """The job where work is priced, else what the paper is."""
    head: tuple[str, ...]
    """Dangers, that this is no promise, that figures are general; empty for a promise."""
    told: str
    """The customer's own words."""
    measured: tuple[str, ...]
    found: tuple[str, ...]
    """What was found on opening; empty where nothing was opened."""
    likely_title: str
    """What stands over the suspects."""
    likely: tuple[str, ...]
    propose: tuple[str, ...]
    price: tuple[str, ...]
    """What it costs, or what finding out costs."""
    checks: tuple[str, ...]
    """Checks that are still to be made, and those that are not made, with who decided so."""
    worth: tuple[str, ...]
    """The bill beside the machine and another engine."""
    not_propose: tuple[str, ...]
    could_turn_up: tuple[str, ...]
    waiting: tuple[str, ...]
    sign: tuple[str, ...]
    """What the customer signs, and who signs for the shop."""
    used: str
    """What it was made with: rules, engine sheet, prices and their date; for small print."""


LETTER_TITLES = {
    "told": "What you told us",
    "measured": "What we measured",
    "found": "What we found on opening",
    "likely": "What it most likely is",
    "propose": "What we propose",
    "price": "What it costs",
    "checks": "Checks not made",
    "worth": "Is it worth it?",
    "not_propose": "What we do not propose, and why",
    "could_turn_up": "What may still turn up",
    "waiting": "If you wait",
}
"""Part of a letter -> its heading, in the order of the letter."""


def letter_of(knowledge: Knowledge, answer: Assessment, estimate: Estimate, notes: Sequence[str] = ()) -> Letter:
    """The letter that explains an estimate, figures in the units of the estimate; `notes` is what is to be said of its
    prices."""
    page = page_of(estimate)
    sold = estimate.proposal if estimate.paper == "estimate" else None
    return Letter(
        title=page.title if sold is None else sold.title,
        head=page.notices,
        told=AsSaid(" ".join(answer.job.job.customer.words.split())),
        measured=tuple(AsSaid(_measured(row.title, row.read, row.should_be)) for row in estimate.found),
        found=_opened(knowledge, answer),
        likely_title=suspects_title((suspect.hand for suspect in estimate.suspects), LETTER_TITLES["likely"]),
        likely=_likely(knowledge, answer, estimate),
        propose=_propose(estimate),
        price=(*_price(estimate), *(told_notes(notes) if estimate.sum is not None else ())),
        checks=_lines(page, "checks"),
        worth=_lines(page, "worth"),
        not_propose=_not_propose(estimate, knowledge.settings.telling.hardly_surer),
        could_turn_up=_could_turn_up(estimate),
        waiting=_lines(page, "watch") or _lines(page, "waiting"),
        sign=page.signatures,
        used=AsSaid(estimate.used),
    )


def letter_parts(letter: Letter) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """(heading, sentences) of every part that says something, in order."""
    titles = {**LETTER_TITLES, "likely": letter.likely_title}
    parts = ((title, getattr(letter, name)) for name, title in titles.items())
    return tuple((title, (lines,) if isinstance(lines, str) else lines) for title, lines in parts if lines)


def _lines(page: Page, name: str) -> tuple[str, ...]:
    block = page.block(name)
    return block.lines if block is not None else ()


def _measured(title: str, read: str, should_be: str) -> str:
    wanted = f" It should be: {lower_first(should_be)}." if should_be else ""
    return f"{title}: {lower_first(read)}.{wanted}"


def _opened(knowledge: Knowledge, answer: Assessment) -> tuple[str, ...]:
    """The findings among what was found on opening; every figure stands in the annex."""
    titles = {f"{finding.title}." for finding in knowledge.findings.values()}
    found = found_sentences(knowledge, answer)
    told = [sentence for sentence in found if sentence in titles][:OPENED]
    rest = len(found) - len(told)
    return tuple(told) + (
        (f"The annex has {rest} more.",) if rest and told else ("The annex has it all.",) if rest else ()
    )


def _likely(knowledge: Knowledge, answer: Assessment, estimate: Estimate) -> tuple[str, ...]:
    names = {cause.title: name for name, cause in knowledge.causes.items()}
    told = []
    for suspect in estimate.suspects:
        signs = signs_for(knowledge, answer, names[suspect.title], 1) if suspect.title in names else ()
        sign = f" What points to it: {lower_first(signs[0])}." if signs else ""
        told.append(f"{suspect.title}: {chance(suspect.hand)}. {suspect.plain}{sign}")
    return tuple(told)


def _propose(estimate: Estimate) -> tuple[str, ...]:
    job = estimate.proposal
    if estimate.first is not None:
        checks = [f"{check.title} ({takes(check.minutes, check.days)})." for check in estimate.first.checks]
        return ("First we find out more. These checks come first:", *checks)
    if estimate.look is not None:
        return (
            f"First we open it and look. We then see: {lower_first(estimate.look.opens.rstrip('.'))}.",
            "You get a report with the figures. Then you decide.",
        )
    if job is None or (estimate.paper == "can_wait"):
        return ("Nothing has to be done now.",)
    if estimate.paper == "stop":
        return (
            "By the figures, we would stop here. You may still have reasons to mend it. Then tell us how far to go.",
            *left_as_it_is(estimate),
            f"{would_be(job.enough)}: {lower_first(job.title)}. {chance_words(job)}",
        )
    return (f"{job.title}. {job.does}", chance_words(job))


def _price(estimate: Estimate) -> tuple[str, ...]:
    currency, sums = estimate.currency, estimate.sum
    if estimate.first is not None and not priced_in_full(estimate):
        return (
            f"To find out costs {money(estimate.first.total, currency)} with tax. Nothing more is done without "
            "your yes.",
            *_later(estimate),
        )
    if estimate.look is not None and not priced_in_full(estimate):
        credit = (
            f" If work follows, {money(estimate.look.credit)} of it comes off the bill." if estimate.look.credit else ""
        )
        return (
            f"To open it and look costs {money(estimate.look.price, currency)} with tax.{credit}",
            *_later(estimate),
        )
    if sums is None:
        return ("Nothing has to be paid for this.",)
    if sums.total is None:
        return (
            f"Some prices are missing. What has a price comes to {money(sums.known_total, currency)}. This is no "
            "total.",
        )
    told = [f"The price is {money(sums.total, currency)} with tax."]
    if priced_in_full(estimate):
        if sums.likely is not None and sums.low != sums.high:
            told.append(
                "With what may turn up, half of such bills come to no more than "
                f"{money(sums.likely, whole=True)}. Nine in ten end between "
                f"{money(sums.low, whole=True)} and {money(sums.high, whole=True)}. "
                "That holds what may still turn up, and no fault that nothing points to."
            )
        if sums.cap is not None:
            told.append(f"We do not go past {money(sums.cap, currency)} without your yes.")
    return tuple(told)


def _later(estimate: Estimate) -> tuple[str, ...]:
    """What it may come to after the first step."""
    job, sums = estimate.proposal, estimate.sum
    if job is None or sums is None or sums.total is None:
        return ()
    return (
        f"As it looks now, the work would be: {lower_first(job.title)}. It would cost "
        f"{money(sums.total, estimate.currency, whole=True)} with tax{_ends(sums)}. "
        f"{chance_words(job)}",
    )


def _ends(sums: Sum) -> str:
    """Where nine in ten such bills end, to be added to a price; empty where that is no range."""
    if sums.low is None or sums.high is None or sums.low == sums.high:
        return ""
    return f"; nine in ten such bills end between {money(sums.low, whole=True)} and {money(sums.high, whole=True)}"


def _not_propose(estimate: Estimate, hardly: float) -> tuple[str, ...]:
    if not priced_in_full(estimate) or estimate.proposal is None:
        return ()
    return tuple(_why_not(estimate, way, estimate.proposal.enough, hardly) for way in estimate.other_ways)


def _why_not(estimate: Estimate, way: OtherWay, here: float, hardly: float) -> str:
    """Why not the job that does less, or more, which is hardly surer where it is so by less than `hardly`."""
    cost = f" for {money(way.total, estimate.currency, whole=True)}" if way.total is not None else ""
    lead = f"{way.title}{cost}."
    if not way.more:
        if way.enough >= here:
            return f"{lead} It is as likely to be enough ({percent(way.enough)}), but costs more in the end."
        return f"{lead} It is cheaper to begin with. {chance_clause(way.enough)} that it is enough."
    if way.enough - here < hardly:
        return f"{lead} It would hardly make it surer ({percent(way.enough)})."
    return (
        f"{lead} It would make it surer ({percent(way.enough)}), but you would pay for work that may not be "
        "needed. What we find decides."
    )


def _could_turn_up(estimate: Estimate) -> tuple[str, ...]:
    if not priced_in_full(estimate):
        return ()
    return tuple(
        f"{item.title}: {chance(item.chance)}."
        + ("" if item.amount is None else f" It would add {money(item.amount, estimate.currency, whole=True)}.")
        for item in estimate.surprises
    )


def likely_sentence(knowledge: Knowledge, reason: Reason) -> str:
    """What a cause is, how likely, and the signs that speak for it, for a customer."""
    cause = knowledge.causes[reason.cause]
    text = f"{cause.title}: {chance(reason.hand)}. {cause.plain}"
    if not reason.speaks_for:
        return text
    lead = "It" if reason.shared else "What speaks for it:"
    return f"{text} {lead} {signs_text(knowledge, reason, SIGNS)}."
