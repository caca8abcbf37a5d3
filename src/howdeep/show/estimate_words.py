"""The estimate in words: every sentence and row of the page, the same in a terminal and in print."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from ..quote.estimate_values import Estimate, Paper, Sum
from ..quote.texts import first_sentence, lower_first, whole_within, within
from .paper_head import Row, about_rows, who_rows
from .words import minutes, money, odds_words, percent

TITLES: dict[Paper, str] = {
    "estimate": "Estimate",
    "begin_with": "Begin with this, then look again",
    "find_out": "What we need to find out first, and what that costs",
    "do_not_run": "Do not run it",
    "can_wait": "It can wait: watch for this",
    "stop": "Why we would stop here",
}
NOTES, NOTE, SIGNER = 2, 150, 60
"""Remarks on the prices that the page has room for, their letters, and those of who signs."""
NO_GUARANTEE = "none in writing."
NO_TERMS = "none in writing."
NO_PROMISE = {
    "do_not_run": "This is not a promise: it must not be run before what forbids it is cleared.",
    "check_first": "This is not a promise: cheap checks come first.",
    "look_inside": "This is not a promise: it should be opened and looked at first.",
    "begin_with": "This is a first step, not a promise that it will be enough.",
    "can_wait": "Nothing has to be done now.",
    "stop": "By the figures the work costs more than stopping.",
    "promise": "This is not the job that we advise.",
}
"""What the answer is -> what a paper says that does not promise."""


@dataclass(frozen=True, slots=True)
class Block:
    """A heading with sentences, rows or a table under it."""

    name: str
    """What it is: told, found, first, look, turns_up, ways, worth, waiting, watch, checks, terms."""
    title: str
    lines: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """Everything that the page says, in order."""

    title: str
    about: tuple[Row, ...]
    """Number, date, how long it holds."""
    who: tuple[Row, ...]
    """Customer, machine, engine."""
    notices: tuple[str, ...]
    """Dangers, that it is no promise, that figures are general: in a frame."""
    told: str
    """The customer's own words."""
    propose: Block | None
    price: Block | None
    blocks: tuple[Block, ...]
    """All other blocks, those of the left before those of the right where the page has two columns."""
    signatures: tuple[str, ...]
    """What each signature says."""

    def block(self, name: str) -> Block | None:
        """A block by its name."""
        return next((block for block in self.blocks if block.name == name), None)


OUT_OF_RANGE = "The range of bills holds these, and no fault that nothing points to."
"""What nine bills in ten do not tell of."""


def page_of(estimate: Estimate, notes: Sequence[str] = ()) -> Page:
    """The page of an estimate, in words; `notes` is what is to be said of its prices."""
    blocks = (
        _found(estimate),
        _first(estimate),
        _look(estimate),
        _watch(estimate),
        _stop(estimate),
        _turns_up(estimate),
        _ways(estimate),
        _inspect(estimate),
        _worth(estimate),
        _waiting(estimate),
        _checks(estimate),
        _terms(estimate),
    )
    price, propose = _price(estimate), _propose(estimate)
    told = tuple(whole_within(first_sentence(note), NOTE) for note in notes[:NOTES])
    if price is not None and (priced_in_full(estimate) or propose is None):
        price = dataclasses.replace(price, lines=(*price.lines, *told))
    elif propose is not None and estimate.sum is not None:
        propose = dataclasses.replace(propose, lines=(*propose.lines, *told))
    who = who_rows(estimate.customer, estimate.machine, estimate.engine)
    return Page(
        TITLES[estimate.paper],
        _about(estimate),
        who,
        _notices(estimate),
        estimate.told,
        propose,
        price,
        tuple(block for block in blocks if block is not None),
        _signatures(estimate),
    )


def _about(estimate: Estimate) -> tuple[Row, ...]:
    holds = estimate.valid_until and estimate.paper in ("estimate", "begin_with", "find_out")
    until = (Row("Holds until", estimate.valid_until),) if holds else ()
    return (*about_rows(estimate.number, estimate.date), *until)


def _notices(estimate: Estimate) -> tuple[str, ...]:
    told = list(estimate.dangers)
    if estimate.dangers and estimate.paper != "do_not_run":
        told[0] = f"Do not run it. {told[0]}"
    if estimate.paper == "do_not_run":
        told.append("Do not start it, and do not let anyone else start it. Have it carried, not driven.")
    elif estimate.paper == "begin_with" or (estimate.paper == "estimate" and not estimate.promised):
        told.append(NO_PROMISE[estimate.then])
    if estimate.general:
        told.append(
            f"Made from general figures: this engine has no sheet and was taken as {_a(estimate.general)}. The "
            "sum can move with them."
        )
    return tuple(told)


def _a(title: str) -> str:
    text = lower_first(title)
    return f"{'an' if text[:1] in 'aeiou' else 'a'} {text}"


def _found(estimate: Estimate) -> Block:
    rows = tuple(
        Row(row.title, f"{row.read} (should be: {row.should_be})" if row.should_be else row.read, row.past)
        for row in estimate.found
    )
    likely = [f"{suspect.title}: {odds_words(suspect.hand)} ({percent(suspect.hand)})" for suspect in estimate.suspects]
    lines = [] if rows else ["Nothing has been measured yet."]
    if likely:
        lines.append(f"Most likely behind it: {'; '.join(likely)}.")
    if estimate.sound:
        lines.append(f"In the annex: {estimate.sound} more.")
    return Block("found", "What we found", (" ".join(lines),) if lines else (), rows)


def chance_clause(enough: float) -> str:
    """'It is likely (76 %)', to be followed by what is."""
    words = {"almost no chance": "There is almost no chance", "about even": "The chance is about even"}.get(
        odds_words(enough), f"It is {odds_words(enough)}"
    )
    return f"{words} ({percent(enough)})"


def chance_words(enough: float) -> str:
    """'It is likely (76 %) that this is enough: that all you noticed goes away.'"""
    return f"{chance_clause(enough)} that this is enough: that all you noticed goes away."


def _propose(estimate: Estimate) -> Block | None:
    job = estimate.proposal
    if job is None:
        return None
    kind = estimate.then if estimate.paper == "do_not_run" else estimate.paper
    title = {
        "estimate": "What we propose",
        "promise": "What we propose",
        "begin_with": "What we propose to begin with",
        "can_wait": "If you would rather have it done",
        "stop": "What would be enough",
    }.get(kind, "What it may come to, as it looks now")
    lines = [f"{job.title}. {job.does}", chance_words(job.enough)]
    if (estimate.first or estimate.look) and estimate.sum is not None and estimate.sum.total is not None:
        sums = estimate.sum
        lines.append(
            f"That would cost {money(sums.total, estimate.currency, whole=True)} with tax"
            + (
                f", and nine such bills in ten end between {money(sums.low, whole=True)} and "
                f"{money(sums.high, whole=True)}."
                if sums.low != sums.high
                else "."
            )
            + " We promise it only when we know more."
        )
    elif (estimate.first or estimate.look) and estimate.sum is not None:
        lines.append(
            f"What it would cost cannot be said yet. What has a price comes to "
            f"{money(estimate.sum.known_total, estimate.currency, whole=True)}; this is not a total."
        )
    return Block("propose", title, tuple(lines))


def priced_in_full(estimate: Estimate) -> bool:
    """Whether the paper sells the proposed job, so that its sums stand in the box of the price."""
    return estimate.paper in ("estimate", "begin_with") or (
        estimate.paper == "do_not_run" and estimate.then in ("promise", "begin_with")
    )


def _price(estimate: Estimate) -> Block | None:
    if estimate.first is not None and not priced_in_full(estimate):
        return Block(
            "price",
            "What finding out costs",
            (
                f"By the time it takes, at {money(estimate.first.rate, estimate.currency)} an hour. Nothing more is "
                "done without your yes.",
            ),
            (
                Row("Work", money(estimate.first.total - estimate.first.tax)),
                Row("Tax", money(estimate.first.tax)),
                Row(f"Total, {estimate.currency}", money(estimate.first.total), True),
            ),
        )
    if estimate.look is not None and not priced_in_full(estimate):
        return _look_price(estimate)
    if estimate.sum is None:
        return None
    if not priced_in_full(estimate):
        return Block("price", "What that would cost", (), _total_rows(estimate, estimate.sum)[:3])
    return Block(
        "price",
        "Price",
        _cap(estimate, estimate.sum),
        (*_total_rows(estimate, estimate.sum), *_spread(estimate, estimate.sum)),
    )


def _total_rows(estimate: Estimate, sums: Sum) -> tuple[Row, ...]:
    if sums.total is None:
        lacking = f"{sums.unpriced} {'line has' if sums.unpriced == 1 else 'lines have'} no price"
        return (Row(f"So far, {estimate.currency}", money(sums.known_total), True), Row("This is not a total", lacking))
    rows = [
        Row("Work and parts", money(sums.subtotal)),
        Row(f"Tax, {sums.tax_percent} %", money(sums.tax)),
        Row(f"Total, {estimate.currency}", money(sums.total), True),
    ]
    if sums.deposit:
        rows.append(Row(f"To begin, {sums.deposit_percent} %", money(sums.deposit)))
    return tuple(rows)


def _spread(estimate: Estimate, sums: Sum) -> tuple[Row, ...]:
    if sums.likely is None or sums.low is None or sums.high is None or sums.low == sums.high:
        return ()
    return (
        Row("Half of such bills come to no more than", money(sums.likely, whole=True)),
        Row("Nine bills in ten", f"{money(sums.low, whole=True)} to {money(sums.high, whole=True)}"),
    )


def _cap(estimate: Estimate, sums: Sum) -> tuple[str, ...]:
    if sums.cap is None:
        return ()
    return (f"We do not go past {money(sums.cap, estimate.currency)} without your yes ({sums.cap_because}).",)


def _first(estimate: Estimate) -> Block | None:
    if estimate.first is None:
        return None
    rows = []
    for check in estimate.first.checks:
        decides = "; ".join(f"{seen}: {then}" for seen, then in check.decides)
        more = " more, set up already" if check.set_up else ""
        rows.append(Row(f"{check.title} ({minutes(check.minutes)}{more})", money(check.amount)))
        if decides:
            rows.append(Row(decides, ""))
    lines = ("Each can change what we advise, and each costs far less than a wrong repair.",)
    return Block("first", "What we find out first", lines, tuple(rows))


def _look_price(estimate: Estimate) -> Block:
    look = estimate.look
    assert look is not None
    rows = [Row(f"Open, look and report, {estimate.currency}", money(look.price), True)]
    if look.credit:
        rows.append(Row("Taken off the bill if work follows", money(look.credit)))
    return Block(
        "price", "What looking costs", ("Tax is in it. Nothing beyond it is done without your yes.",), tuple(rows)
    )


def _look(estimate: Estimate) -> Block | None:
    if estimate.look is None:
        return None
    back = (
        money(estimate.look.back_assembled, estimate.currency)
        if estimate.look.back_assembled is not None
        else "by the hour"
    )
    return Block(
        "look",
        f"We open it: {lower_first(estimate.look.title)}",
        (
            f"We then see: {lower_first(estimate.look.opens.rstrip('.'))}. "
            "You get a report with the figures and decide.",
            f"You may stop there. Parts in boxes: nothing more to pay. Put together as it was: {back}.",
        ),
    )


def _inspect(estimate: Estimate) -> Block | None:
    steps = estimate.inspect
    if steps is None or steps.inspection is None or not priced_in_full(estimate):
        return None
    back = money(steps.way_back_assembled, whole=True) if steps.way_back_assembled is not None else "by the hour"
    return Block(
        "inspect",
        "Or look first",
        (
            f"Strip, measure and report: {money(steps.inspection, estimate.currency, whole=True)}. Then you decide. To "
            f"stop there costs nothing more in boxes, {back} put together.",
        ),
    )


def _watch(estimate: Estimate) -> Block | None:
    if estimate.paper != "can_wait":
        return None
    lines = estimate.waiting or ("Nothing that we found needs work. Come back when something shows.",)
    return Block(
        "watch", "Watch for this", (*lines, "Come in at once if it gets worse, knocks, boils or loses oil pressure.")
    )


def _turns_up(estimate: Estimate) -> Block | None:
    if not estimate.surprises or not priced_in_full(estimate):
        return None
    rows = [
        Row(
            f"{item.title}: {odds_words(item.chance)} ({percent(item.chance)})",
            "no full price" if item.amount is None else f"+ {money(item.amount, whole=True)}",
        )
        for item in estimate.surprises
    ]
    more = (f"In the annex: {estimate.more_surprises} more.",) if estimate.more_surprises else ()
    return Block("turns_up", "What may turn up", (" ".join(("We call you first.", *more, OUT_OF_RANGE)),), tuple(rows))


def _ways(estimate: Estimate) -> Block | None:
    if not estimate.other_ways or estimate.proposal is None:
        return None
    rows = [
        Row(
            f"{'More' if way.more else 'Less'}: {lower_first(way.title)}, {percent(way.enough)} enough",
            money(way.total, whole=True),
        )
        for way in estimate.other_ways
    ]
    return Block("ways", "Less, or more", _why_this(estimate), tuple(rows))


def _why_this(estimate: Estimate) -> tuple[str, ...]:
    """Why the proposed job and neither of the others."""
    if not priced_in_full(estimate) or (estimate.paper == "estimate" and not estimate.promised):
        return ()
    if estimate.costs_least and estimate.in_the_end is not None:
        return ("With what may fail later reckoned in, this job costs you least in the end.",)
    return ("Of jobs that cost nearly alike we advise the one that opens least.",)


def _stop(estimate: Estimate) -> Block | None:
    if estimate.paper != "stop":
        return None
    currency, worth = estimate.currency, estimate.worth
    lines = []
    if estimate.in_the_end is not None and worth.stopping is not None:
        lines.append(
            f"To stop costs you {money(worth.stopping, currency, whole=True)}. The cheapest way on costs "
            f"about {money(estimate.in_the_end, currency, whole=True)} in the end, before tax."
        )
    lines.append(
        "You may still have reasons to mend it: then tell us how far to go. If not, you take it as it is, or "
        "we help you to find another engine."
    )
    return Block("stop", "Why we would stop", tuple(lines))


def _worth(estimate: Estimate) -> Block | None:
    worth, currency = estimate.worth, estimate.currency
    if estimate.proposal is None:
        return None
    lines = []
    if worth.value_running is not None and worth.share is not None:
        value = money(worth.value_running, currency, whole=True)
        if worth.share > 1:
            lines.append(
                f"By the figures, no: half of such bills come to more than the {value} that it is worth running."
            )
        elif worth.share >= 0.5:
            lines.append(
                f"Think it over: half of such bills come to more than {percent(worth.share)} of the {value} "
                "that it is worth running."
            )
        else:
            lines.append(
                f"Yes: half of such bills come to no more than {percent(worth.share)} of the {value} that it "
                "is worth running."
            )
    elif worth.value_running is not None:
        lines.append(f"Running, it is worth {money(worth.value_running, currency, whole=True)}.")
    else:
        lines.append("Nobody has said what the machine is worth. Think of that before you sign.")
    if worth.replacement is not None and estimate.proposal.rung != "replace" and estimate.paper != "can_wait":
        lines.append(f"Another sound engine, fitted: {money(worth.replacement, currency, whole=True)}.")
    return Block("worth", "Is it worth it?", tuple(lines)) if lines else None


def _waiting(estimate: Estimate) -> Block | None:
    if not estimate.waiting or estimate.paper == "can_wait":
        return None
    return Block("waiting", "If you wait", estimate.waiting)


def _checks(estimate: Estimate) -> Block | None:
    lines = []
    if estimate.held and priced_in_full(estimate):
        lines.append(f"Still to be made before this is promised: {lower_first(', '.join(estimate.held))}.")
    lines += estimate.waived
    return Block("checks", "Checks not made", tuple(lines)) if lines else None


def _terms(estimate: Estimate) -> Block:
    return Block(
        "terms",
        "Guarantee and terms",
        (f"Guarantee: {estimate.guarantee or NO_GUARANTEE}", f"Terms: {estimate.terms or NO_TERMS}"),
    )


def _signatures(estimate: Estimate) -> tuple[str, str]:
    """(what the customer signs, who signs for the shop)."""
    agreed = "I have read this"
    if priced_in_full(estimate) and estimate.sum is not None and estimate.sum.cap is not None:
        agreed = "I agree to this work and this price"
    elif estimate.first is not None:
        agreed = "Find this out first, at this price"
    elif estimate.look is not None:
        agreed = "Open it and look, at this price"
    elif estimate.paper == "stop":
        agreed = "Stop here, or go on as far as"
    return agreed, f"For the shop{f': {within(estimate.signs, SIGNER)}' if estimate.signs else ''}"
