"""The estimate in words: every sentence and row of the page, the same in a terminal and in print."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from ..model.frozen import dataclass
from ..quote.estimate_values import Estimate, Paper
from ..quote.texts import first_sentence, lower_first, whole_within, within
from .estimate_blocks import BLOCKS, propose
from .estimate_price import price_block, priced_in_full
from .paper_block import Block
from .paper_head import Row, about_rows, who_rows

TITLES: dict[Paper, str] = {
    "estimate": "Estimate",
    "begin_with": "Begin with this, then look again",
    "find_out": "What we need to find out first, and what that costs",
    "do_not_run": "Do not run it",
    "can_wait": "It can wait: watch for this",
    "stop": "Why we would stop here",
}


NOTES, NOTE, SIGNER = 3, 280, 60
"""Remarks on the prices that the page has room for, their letters, and those of who signs."""


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


def page_of(estimate: Estimate, notes: Sequence[str] = ()) -> Page:
    """The page of an estimate, in words; `notes` is what is to be said of its prices."""
    price, proposed = price_block(estimate), propose(estimate)
    told = told_notes(notes)
    if price is not None and (priced_in_full(estimate) or proposed is None):
        price = dataclasses.replace(price, lines=(*price.lines, *told))
    elif proposed is not None and estimate.sum is not None:
        proposed = dataclasses.replace(proposed, lines=(*proposed.lines, *told))
    who = who_rows(estimate.customer, estimate.machine, estimate.engine)
    return Page(
        TITLES[estimate.paper],
        _about(estimate),
        who,
        _notices(estimate),
        estimate.told,
        proposed,
        price,
        tuple(block for make in BLOCKS if (block := make(estimate)) is not None),
        _signatures(estimate),
    )


def told_notes(notes: Sequence[str]) -> tuple[str, ...]:
    """Remarks on prices as a customer's copy has room for them."""
    return tuple(whole_within(first_sentence(note), NOTE) for note in notes[:NOTES])


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
