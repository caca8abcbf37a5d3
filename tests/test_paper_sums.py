"""Deposit, taxed allowances, the way back, the range and approvals, each by hand beside the paper."""

import dataclasses
from decimal import ROUND_HALF_UP, Decimal

import pytest

from howdeep.errors import HowdeepError
from howdeep.quote.build import build_quote
from howdeep.quote.change_sheet import authorised, change_sheet
from howdeep.quote.promise import approving, promise_of

from .test_bills import believing, drawing, promised

CENT = Decimal("0.01")


def cents(amount):
    return amount.quantize(CENT, ROUND_HALF_UP)


@pytest.fixture(scope="module")
def answer(shop, tmp_path_factory):
    """An engine of which nothing was said, with one cause that may be found at a refresh."""
    path = tmp_path_factory.mktemp("bare") / "job.yaml"
    path.write_text("howdeep_job: 1\nengine: brockwell-4\n")
    bare = shop.assess(shop.open_job(path), checks=False, flips=False)
    return believing(shop, bare, {"worn_oil_pump": 0.2}, ("refresh",))


@pytest.fixture(scope="module")
def prices(shop):
    """Odd percentages, and tax on some kinds only: a slip in any of them shows in the cents."""
    return dataclasses.replace(
        shop.prices,
        tax_on=("labour", "parts"),
        tax_percent="8.375",
        deposit_percent="33.3",
        supplies_percent="3.25",
        labour_rate="61.37",
        teardown_inspection="410.50",
    )


@pytest.fixture(scope="module")
def quote(shop, answer, prices):
    return build_quote(shop.knowledge, answer, prices, "refresh", two_step=True)


def with_tax(lines, prices):
    """Sum of lines (kind, amount), with tax once on the sum of the taxed kinds."""
    taxed = sum((amount for kind, amount in lines if kind in ("labour", "part", "consumable")), Decimal(0))
    return sum((amount for _, amount in lines), Decimal(0)) + cents(taxed * Decimal(prices.tax_percent) / 100)


def lines_of(quote):
    return [(line.kind, line.amount) for line in quote.lines]


def test_the_deposit_is_its_percentage_of_the_total_with_tax(quote, prices):
    assert quote.total == with_tax(lines_of(quote), prices) > quote.subtotal
    assert quote.deposit == cents(quote.total * Decimal("33.3") / 100) > 0


def test_an_allowance_is_charged_with_its_tax(shop, answer, quote, prices):
    """What the paper says is the difference of two whole bills, each with its tax."""
    (allowance,) = quote.allowances
    found = believing(shop, answer, {"worn_oil_pump": 1.0}, ("refresh",))
    then = build_quote(shop.knowledge, found, prices, "refresh", two_step=False)
    assert allowance.amount == with_tax(lines_of(then), prices) - with_tax(lines_of(quote), prices)
    bare = sum(amount for _, amount in lines_of(then)) - sum(amount for _, amount in lines_of(quote))
    assert allowance.amount > bare > 0


def test_the_way_back_is_half_the_opening_with_tax_and_the_inspection_is_taxed(quote, prices):
    opening = [line.amount for line in quote.lines if line.kind == "labour" and "remove_refit" in line.subject]
    others = [line.amount for line in quote.lines if line.kind == "labour" and "remove_refit" not in line.subject]
    assert len(opening) >= 2 and others
    half = cents(sum(opening) / 2)
    assert quote.two_steps.way_back_assembled == half + cents(half * Decimal("8.375") / 100)
    assert quote.two_steps.inspection == Decimal("410.50") + cents(Decimal("410.50") * Decimal("8.375") / 100)


def test_the_range_leaves_out_one_in_twenty_at_either_end_and_ends_at_a_replacement(
    shop, answer, quote, prices, monkeypatch
):
    more = quote.total + quote.allowances[0].amount
    for chance, low, likely, high in (
        (0.04, 0, 0, 0),
        (0.07, 0, 0, 1),
        (0.45, 0, 0, 1),
        (0.55, 0, 1, 1),
        (0.93, 0, 1, 1),
        (0.97, 1, 1, 1),
    ):
        drawing(monkeypatch, ("worn_oil_pump",), ((), 1 - chance), (("worn_oil_pump",), chance))
        drawn = build_quote(shop.knowledge, answer, prices, "refresh")
        assert (drawn.low, drawn.likely, drawn.high) == tuple(more if at else quote.total for at in (low, likely, high))
    sheet = dataclasses.replace(answer.job.engine, replacement="100.00")
    cheap = dataclasses.replace(answer, job=dataclasses.replace(answer.job, engine=sheet))
    drawn = build_quote(shop.knowledge, cheap, prices, "refresh")
    assert drawn.low == drawn.high == quote.total  # nobody goes on past another engine


def approved(answer, *sums):
    job = answer.job.job
    entries = tuple({"date": "2026-03-06", "by": "Hill Farm", "sum": text, "how": "in person"} for text in sums)
    return dataclasses.replace(
        answer, job=dataclasses.replace(answer.job, job=dataclasses.replace(job, approvals=entries))
    )


def test_what_needs_a_yes_is_what_goes_beyond_the_largest_yes(shop, answer, quote, prices):
    promise = promise_of(shop.knowledge, answer, quote, "2026-03-05")
    after = promised(believing(shop, answer, {"worn_oil_pump": 1.0}, ("refresh",)), promise, "refresh")
    after = dataclasses.replace(after, decision=dataclasses.replace(after.decision, job="refresh"))
    more = quote.allowances[0].amount
    then = quote.total + more

    def asked(*sums):
        sheet = change_sheet(shop.knowledge, approved(after, *sums), prices, "first", lambda *_: ())
        assert sheet.total_before == quote.total and sheet.total_after == then
        return sheet.authorised, sheet.needs_yes

    assert asked() == (quote.total, more)
    assert asked(f"{then:.2f}") == (then, None)
    assert asked(f"{then - CENT:.2f}") == (then - CENT, CENT)
    assert asked("10.00", f"{then + 5:.2f}", "20.00") == (then + 5, None)
    assert authorised(approved(after, "10.00").job, quote) == Decimal("10.00")


def of_lines(sheet):
    """What the printed lines of a change sheet come to, by hand."""
    lines = (*sheet.added, *sheet.removed, *sheet.changed)
    return sum(((line.after or Decimal(0)) - (line.before or Decimal(0)) for line in lines), Decimal(0))


@pytest.mark.parametrize(
    ("found", "rung"),
    [
        ({"worn_oil_pump": 1.0}, "refresh"),
        ({"worn_bores": 1.0}, "rebuild"),
        ({"worn_oil_pump": 1.0, "worn_bores": 1.0}, "rebuild"),
        ({}, "refresh"),
    ],
)
def test_the_new_sum_is_the_old_sum_and_what_moved(shop, answer, quote, prices, found, rung):
    """Old total, the printed lines that were added, taken out and changed, and the tax on them: to the cent."""
    promise = promise_of(shop.knowledge, answer, quote, "2026-03-05")
    after = promised(believing(shop, answer, found, (rung,)), promise, rung)
    after = dataclasses.replace(after, decision=dataclasses.replace(after.decision, job=rung, rung=rung))
    sheet = change_sheet(shop.knowledge, after, prices, "first", lambda *_: ())
    assert sheet.moved == of_lines(sheet)
    assert sheet.total_after == sheet.total_before + of_lines(sheet) + sheet.tax_moved
    taxed = build_quote(shop.knowledge, after, prices, rung, two_step=False)
    base = sum((line.amount for line in taxed.lines if line.kind in ("labour", "part", "consumable")), Decimal(0))
    if rung != "refresh" or found:
        assert sheet.moved != 0
    assert abs(sheet.tax_moved - (base * Decimal("0.08375") - quote.tax)) <= CENT


def test_an_approval_keeps_the_sum_to_the_cent_and_those_before_it(tmp_path):
    first = approving(Decimal("1250.5"), "Ann O.", "2026-03-05", "telephone")({"title": "x"})
    assert first == {
        "title": "x",
        "approvals": [{"date": "2026-03-05", "by": "Ann O.", "sum": "1250.50", "how": "telephone"}],
    }
    second = approving(Decimal(1300), "Ann O.", "2026-03-06", "in person")(first)
    assert [entry["sum"] for entry in second["approvals"]] == ["1250.50", "1300.00"] and len(first["approvals"]) == 1


@pytest.mark.parametrize("wrong", ["0", "-5", "NaN", "Infinity", "ten", "99999999999"])
def test_a_sum_that_is_none_is_refused(wrong, answer):
    from howdeep.cli.promise import _sum

    with pytest.raises(HowdeepError, match="is (not a|no) sum"):
        _sum(wrong, answer.job)
    assert _sum("1250.5", answer.job) == Decimal("1250.50")
