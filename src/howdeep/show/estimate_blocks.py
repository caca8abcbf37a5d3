"""The blocks of an estimate in words, all but its price."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from ..model.odds import at_least, odds_words
from ..quote.estimate_values import Estimate, Proposal
from ..quote.held import NOT_MADE, WAIVED_BY
from ..quote.texts import lower_first
from .estimate_price import priced_in_full
from .paper_block import Block
from .paper_head import Row
from .words import SURER_BY, chance, money, percent, suspects_title, takes

NO_GUARANTEE = "none in writing."


NO_TERMS = "none in writing."


OUT_OF_RANGE = "The range of bills holds these, and no fault that nothing points to."
"""What nine bills in ten do not tell of."""


def chance_clause(enough: float) -> str:
    """'It is likely (76 %)', to be followed by what is."""
    words = {"almost no chance": "There is almost no chance", "about even": "The chance is about even"}.get(
        odds_words(enough), f"It is {odds_words(enough)}"
    )
    return f"{words} ({percent(enough)})"


def would_be(enough: float) -> str:
    """What stands over a job that is not advised: it is called enough only where it is at least about even."""
    return "What would be enough" if at_least(enough, "about even") else "What would come nearest"


def chance_words(job: Proposal) -> str:
    """'It is likely (76 %) that this is enough: that all you noticed goes away.'; before it, where that is much surer,
    what it was brought in for. Of an engine on which nothing was noticed, that nothing asks for more."""
    enough, came_for = job.enough, job.came_for
    if not job.noticed:
        return f"{chance_clause(enough)} that this is enough: nothing that was seen or measured asks for more."
    if came_for is None or came_for < enough + SURER_BY:
        return f"{chance_clause(enough)} that this is enough: that all you noticed goes away."
    return (
        f"{chance_clause(came_for)} that what you brought it in for goes away. "
        f"{chance_clause(enough)} that all else you noticed goes with it."
    )


def propose(estimate: Estimate) -> Block | None:
    """What is proposed, its chance, and what it would cost where something comes first; None where no job is meant."""
    job = estimate.proposal
    if job is None:
        return None
    kind = estimate.then if estimate.paper == "do_not_run" else estimate.paper
    title = {
        "estimate": "What we propose",
        "promise": "What we propose",
        "begin_with": "What we propose to begin with",
        "can_wait": "If you would rather have it done",
        "stop": would_be(job.enough),
    }.get(kind, "What it may come to, as it looks now")
    lines = [f"{job.title}. {job.does}", chance_words(job)]
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


def _found(estimate: Estimate) -> Block:
    rows = tuple(
        Row(row.title, f"{row.read} (should be: {row.should_be})" if row.should_be else row.read, row.past)
        for row in estimate.found
    )
    likely = [f"{suspect.title}: {chance(suspect.hand)}" for suspect in estimate.suspects]
    lines = [] if rows else ["Nothing has been measured yet."]
    if likely:
        title = suspects_title((suspect.hand for suspect in estimate.suspects), "Most likely behind it")
        lines.append(f"{title}: {'; '.join(likely)}.")
    if estimate.sound:
        lines.append(f"In the annex: {estimate.sound} more.")
    return Block("found", "What we found", (" ".join(lines),) if lines else (), rows)


GIVEN_UP = {"stop": "As it looks now we would stop.", "can_wait": "As it looks now it can be left as it is and run on."}
"""What we would do in the end, if not work on it -> how that is said before the checks that stand before it."""


def _first(estimate: Estimate) -> Block | None:
    if estimate.first is None:
        return None
    rows = []
    for check in estimate.first.checks:
        decides = "; ".join(f"{seen}: {then}" for seen, then in check.decides)
        more = " more, set up already" if check.set_up else ""
        used = "".join(f"; with {title}" for title in check.used)
        rows.append(Row(f"{check.title} ({takes(check.minutes, check.days)}{more}{used})", money(check.amount)))
        if decides:
            rows.append(Row(decides, ""))
    changing = [check.changes for check in estimate.first.checks]
    said = (
        "Each can change what we advise, and each costs far less than a wrong repair."
        if all(changing)
        else "Some can change what we advise at once, the others part the suspects. All cost far less than a wrong "
        "repair."
        if any(changing)
        else "They part the suspects, and cost far less than a wrong repair."
    )
    charged = {check.title for check in estimate.first.checks}
    later = [title for title in estimate.held if title not in charged]
    lines: tuple[str, ...] = (said,)
    if later:
        named = "; ".join(map(lower_first, later))
        lines += (f"Before a promise these are made as well, or waived in writing: {named}.",)
    if estimate.afterwards in GIVEN_UP:
        lines = (
            f"{GIVEN_UP[estimate.afterwards]} A cheap fault can look like a dear one, so these come "
            "before that is said.",
            *lines[1:],
        )
    return Block("first", "What we find out first", lines, tuple(rows))


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


def left_as_it_is(estimate: Estimate) -> list[str]:
    """Both sides of stopping in one sentence: no more money in it, and what it then does if it is used as it is."""
    return [
        f"To stop means to put no more money into it, not that it is finished today. If you use it as it is: {told}"
        for told in map(lower_first, estimate.waiting)
    ]


def _watch(estimate: Estimate) -> Block | None:
    if estimate.paper != "can_wait":
        return None
    lines = estimate.waiting or ("Nothing that we found needs work. Come back when something shows.",)
    return Block(
        "watch", "Watch for this", (*lines, "Come in at once if it gets worse, knocks, boils or loses oil pressure.")
    )


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
    lines += left_as_it_is(estimate)
    return Block("stop", "Why we would stop", tuple(lines))


def _turns_up(estimate: Estimate) -> Block | None:
    if not estimate.surprises or not priced_in_full(estimate):
        return None
    rows = [
        Row(
            f"{item.title}: {chance(item.chance)}",
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


def _worth(estimate: Estimate) -> Block | None:
    worth, currency = estimate.worth, estimate.currency
    if estimate.proposal is None:
        return None
    lines = []
    if worth.value_running is not None and worth.share is not None:
        value, likely = money(worth.value_running, currency, whole=True), worth.likely
        # a promise that was kept before the sum stood in it has the share alone
        half = money(likely if likely is not None else worth.value_running * Decimal(str(worth.share)), whole=True)
        says = "By the figures, no" if worth.share > 1 else "Think it over" if worth.share >= 0.5 else "Yes"
        fixed = estimate.sum is not None and estimate.sum.low is not None and estimate.sum.low == estimate.sum.high
        passed = "pass" if worth.share >= 0.5 else "do not pass"
        bills = f"it comes to {currency} {half}" if fixed else f"half of such bills {passed} {currency} {half}"
        lines.append(
            f"{says}: {bills}. Running, the machine is put at {value}"
            f"{' (by the engine sheet)' if worth.by_sheet else ''}."
        )
    elif worth.value_running is not None:
        lines.append(f"Running, it is worth {money(worth.value_running, currency, whole=True)}.")
    else:
        lines.append("Nobody has said what the machine is worth. Think of that before you sign.")
    if worth.replacement is not None and estimate.proposal.rung != "replace" and estimate.paper != "can_wait":
        lines.append(f"Another sound engine, fitted: {money(worth.replacement, currency, whole=True)}.")
    return Block("worth", "Is it worth it?", tuple(lines)) if lines else None


def _waiting(estimate: Estimate) -> Block | None:
    if not estimate.waiting or estimate.paper in ("can_wait", "stop"):
        return None
    return Block("waiting", "If you wait", estimate.waiting)


def _checks(estimate: Estimate) -> Block | None:
    lines = []
    if estimate.held and priced_in_full(estimate):
        lines.append(f"Still to be made before this is promised: {lower_first(', '.join(estimate.held))}.")
    lines += _waived(estimate.waived)
    return Block("checks", "Checks not made", tuple(lines)) if lines else None


def _waived(sentences: tuple[str, ...]) -> list[str]:
    """Every check that is not made and who decided so, in full; what one person decided at once stands under one
    name."""
    told: dict[str, list[str]] = {}
    for sentence in sentences:
        what, waived, by = sentence.rpartition(WAIVED_BY)
        told.setdefault(waived + by if waived else "", []).append(what if waived else sentence)
    lines = []
    for by, decided in told.items():
        checks = [text.removeprefix(NOT_MADE).rstrip(". ") for text in decided if text.startswith(NOT_MADE)]
        rest = [text for text in decided if not text.startswith(NOT_MADE)]
        lines.append(" ".join(((f"{NOT_MADE}{'; '.join(checks)}.",) if checks else ()) + (*rest, by)).strip())
    return lines


def _terms(estimate: Estimate) -> Block:
    return Block(
        "terms",
        "Guarantee and terms",
        (f"Guarantee: {estimate.guarantee or NO_GUARANTEE}", f"Terms: {estimate.terms or NO_TERMS}"),
    )


BLOCKS: tuple[Callable[[Estimate], Block | None], ...] = (
    _found,
    _first,
    _look,
    _watch,
    _stop,
    _turns_up,
    _ways,
    _inspect,
    _worth,
    _waiting,
    _checks,
    _terms,
)
"""What makes each block, in the order of the page; what is proposed stands apart."""
