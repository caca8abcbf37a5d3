"""What an estimate says of its price: of the work, or of finding out, or of a look inside."""

from __future__ import annotations

from ..quote.estimate_values import Estimate, Sum
from .paper_block import Block
from .paper_head import Row
from .words import money


def priced_in_full(estimate: Estimate) -> bool:
    """Whether the paper sells the proposed job, so that its sums stand in the box of the price."""
    return estimate.paper in ("estimate", "begin_with") or (
        estimate.paper == "do_not_run" and estimate.then in ("promise", "begin_with")
    )


def price_block(estimate: Estimate) -> Block | None:
    """The box of the price; None where nothing is sold."""
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


def _look_price(estimate: Estimate) -> Block:
    look = estimate.look
    assert look is not None
    rows = [Row(f"Open, look and report, {estimate.currency}", money(look.price), True)]
    if look.credit:
        rows.append(Row("Taken off the bill if work follows", money(look.credit)))
    return Block(
        "price", "What looking costs", ("Tax is in it. Nothing beyond it is done without your yes.",), tuple(rows)
    )
