"""The estimate adds up: sums, tax, range, cap, first steps and other ways, each beside the quote or by hand."""

import dataclasses
import json
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.cases.run import case_files
from howdeep.errors import HowdeepError
from howdeep.knowledge.where import shipped_cases
from howdeep.model.shop import ShopSettings
from howdeep.quote.beside import found_rows
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.quote.first_steps import first_steps, look_offer
from howdeep.quote.jobs import asked_for
from howdeep.quote.promise import estimate_from_plain, quote_to_plain
from howdeep.quote.texts import whole_within, within
from howdeep.show.estimate_price import priced_in_full
from howdeep.show.estimate_words import page_of

from .commands import howdeep
from .pages import CASE
from .sampling import some as spread
from .test_bills import believing, drawing

CENT = Decimal("0.01")


def cents(amount):
    return amount.quantize(CENT, ROUND_HALF_UP)


@pytest.fixture(scope="module")
def some(shop, assessed):
    """Every sixteenth case and one that is opened to look: its answer, quote and estimate."""
    stems = [path.stem for path in spread(case_files(shipped_cases())[::16], 2)]
    stems.append("a_sharp_knock_that_one_plug_stops_is_that_rod")
    made = {}
    for stem in stems:
        quote = build_quote(shop.knowledge, assessed[stem], shop.prices)
        made[stem] = (
            assessed[stem],
            quote,
            estimate_of(shop.knowledge, assessed[stem], quote, shop.prices, shop.settings, date="2026-11-29"),
        )
    return made


def test_of_what_comes_of_waiting_the_worst_is_told_that_a_customer_is_told_of(shop, assessed):
    knowledge, answer = shop.knowledge, assessed["a_sharp_knock_that_one_plug_stops_is_that_rod"]
    mild, grave = (
        next(b for b in answer.beliefs if (c := knowledge.causes[b.cause]).run_on == harm and c.wait)
        for harm in ("wears", "damages")
    )
    for hand, leads in ((0.3, grave), (0.15, mild)):
        hands = {mild.cause: 0.9, grave.cause: hand}
        beliefs = (dataclasses.replace(belief, hand=hands.get(belief.cause, 0.0)) for belief in answer.beliefs)
        told = dataclasses.replace(answer, beliefs=tuple(beliefs))
        estimate = estimate_of(
            knowledge, told, build_quote(knowledge, told, shop.prices), shop.prices, shop.settings, date="2026-11-29"
        )
        (line,) = estimate.waiting
        assert line.startswith(f"{knowledge.causes[leads.cause].title}: ")


@pytest.mark.parametrize(
    ("case", "observation", "place"),
    [
        ("a_smeared_big_end_over_an_oval_pin_is_two_faults_and_both_are_mended", "crankpin_size", "2"),
        ("an_oval_main_under_good_crankpins_still_takes_the_crank_out", "main_size", "3"),
    ],
)
def test_of_several_places_past_their_limit_the_worst_is_named(shop, assessed, case, observation, place):
    rows = {row.observation: row for row in found_rows(shop.knowledge, assessed[case])}
    assert rows[observation].past and rows[observation].read.startswith(f"{place}: ")


def test_an_engine_in_pieces_within_its_limits_reads_as_one(shop, assessed):
    """A reading too near its limit is called neither within nor past it, wear that is used up in part is no fault, and
    nothing is said to go away where nothing was noticed."""
    answer = assessed["an_engine_in_pieces_within_all_its_limits_is_put_together_again"]
    rows = {row.observation: row for row in found_rows(shop.knowledge, answer)}
    assert rows["crankpin_size"].read == "measured, too near a limit to call" and not rows["crankpin_size"].past
    assert "limit 0.0380 in" in rows["ring_gap_measured"].should_be and not rows["ring_gap_measured"].past
    quote = build_quote(shop.knowledge, answer, shop.prices)
    estimate = estimate_of(shop.knowledge, answer, quote, shop.prices, shop.settings, date="2026-11-29")
    page = page_of(estimate)
    assert "asks for more" in " ".join(page.propose.lines) and "you noticed" not in " ".join(page.propose.lines)
    assert estimate.sum.low == estimate.sum.high and "half of such bills" not in " ".join(page.block("worth").lines)


def test_the_sums_of_every_estimate_are_those_of_its_quote_and_add_up(some):
    for case, (answer, quote, estimate) in some.items():
        if estimate.sum is None:
            assert answer.decision.kind == "can_wait", case
            continue
        sums = estimate.sum
        assert sums.subtotal == sum((line.amount for line in quote.lines), Decimal(0)), case
        assert sums.total == sums.subtotal + sums.tax == quote.total, case
        assert sums.total <= sums.low <= sums.likely <= sums.high, case
        assert sums.deposit == cents(sums.total * Decimal(sums.deposit_percent) / 100), case
        assert sums.total <= sums.cap <= cents(sums.total * Decimal("1.1")), case
        assert estimate.valid_until == "2026-12-29", case  # thirty days


def test_a_first_step_is_capped_at_its_own_price_and_a_promise_at_the_quotes(some):
    papers = set()
    for _, quote, estimate in some.values():
        papers.add(estimate.paper)
        if estimate.paper == "begin_with":
            assert estimate.sum.cap == estimate.sum.total
        elif estimate.paper == "estimate":
            assert estimate.sum.cap == quote.cap
    assert papers >= {"begin_with", "estimate"}


def test_what_may_turn_up_is_what_the_quote_allows_for_likeliest_first(some):
    told = 0
    for case, (_, quote, estimate) in some.items():
        if priced_in_full(estimate):
            assert [(item.title, item.amount) for item in estimate.surprises] == [
                (item.title, item.amount) for item in quote.allowances[:3]
            ], case
            assert len(estimate.surprises) + estimate.more_surprises == len(quote.allowances), case
            chances = [item.chance for item in estimate.surprises]
            assert chances == sorted(chances, reverse=True), case
            told += bool(chances)
    assert told


def test_less_and_more_cost_what_their_own_quotes_come_to(shop, some):
    held = set()
    for case, (answer, _, estimate) in list(some.items())[::3]:
        for way in estimate.other_ways:
            only = way.title.endswith("only what cures it")
            own = build_quote(
                shop.knowledge,
                answer,
                shop.prices,
                asked_for(shop.knowledge, answer, way.rung, only=only),
                two_step=False,
            )
            assert own.total == way.total and abs(own.enough - way.enough) < 1e-6, (case, way.title)
            held.add(way.more)
    assert held == {True, False}


@given(
    minutes=st.lists(st.integers(1, 240), min_size=1, max_size=3),
    rate=st.integers(1, 40_000),
    percent=st.integers(0, 3000),
    taxed=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_first_steps_are_charged_by_the_minute_with_tax_once(shop, assessed, minutes, rate, percent, taxed):
    answer = assessed[CASE.stem]
    checks = tuple(
        dataclasses.replace(check, minutes=float(count), setup=check.check)  # each on a set-up of its own
        for check, count in zip(_checks(shop), minutes, strict=False)
    )
    answer = dataclasses.replace(answer, checks=checks)
    prices = dataclasses.replace(
        shop.prices,
        labour_rate=f"{Decimal(rate) / 100:.2f}",
        tax_percent=str(Decimal(percent) / 100),
        tax_on=("labour",) if taxed else ("parts",),
    )
    first = first_steps(shop.knowledge, answer, prices)
    by_hand = [cents(Decimal(count) * Decimal(rate) / 100 / 60) for count in minutes[: len(checks)]]
    assert [check.amount for check in first.checks] == by_hand
    assert first.tax == (cents(sum(by_hand) * Decimal(percent) / 10_000) if taxed else 0)
    assert first.total == sum(by_hand) + first.tax


def _checks(shop, kept=[]):  # noqa: B006 - asked once for all examples
    if not kept:
        kept.extend(shop.assess(shop.open_job(CASE), flips=False).checks[:3])
    return kept


def test_a_look_is_credited_as_the_list_says(shop, some):
    answer, quote, estimate = some["a_sharp_knock_that_one_plug_stops_is_that_rod"]
    assert estimate.paper == "find_out" and estimate.then == "look_inside"
    taxed = dataclasses.replace(shop.prices, tax_on=("labour",), tax_percent="8.375")
    look = next(item for item in answer.decision.looks if item.rung == answer.decision.look)
    offer = look_offer(shop.knowledge, answer, quote, taxed)
    assert offer.price == look.price + cents(look.price * Decimal("8.375") / 100)
    assert offer.credit == look.credit + cents(look.credit * Decimal("8.375") / 100)
    half = cents(
        sum(line.amount for line in quote.lines if line.kind == "labour" and line.subject.startswith("remove_refit"))
        / 2
    )
    assert offer.back_assembled == half + cents(half * Decimal("8.375") / 100)
    assert "credited" in page_of(estimate).block("look").title or any(
        row.label.startswith("Taken off the bill") for row in page_of(estimate).price.rows
    )


def test_the_span_of_the_page_is_that_of_the_bills(shop, assessed, monkeypatch):
    """One cause that is found in three of ten jobs: the likely bill is the price, nine in ten reach the dearer one."""
    answer = believing(shop, assessed[CASE.stem], {"worn_oil_pump": 0.3}, ("refresh",))
    drawing(monkeypatch, ("worn_oil_pump",), ((), 0.7), (("worn_oil_pump",), 0.3))
    quote = build_quote(shop.knowledge, answer, shop.prices, "refresh")
    sums = estimate_of(shop.knowledge, answer, quote, shop.prices, shop.settings, asked=True).sum
    assert (sums.low, sums.likely, sums.high) == (quote.total, quote.total, quote.total + quote.allowances[0].amount)
    worth = Decimal(answer.job.job.customer.value_running.split()[-1])
    assert sums.cap == max(sums.total, min(cents(sums.total * Decimal("1.1")), worth))


def test_a_price_that_is_missing_leaves_no_total_to_sign(shop, assessed):
    answer = assessed[CASE.stem]
    whole = build_quote(shop.knowledge, answer, shop.prices, "refresh")
    part = next(line.subject for line in whole.lines if line.kind == "part")
    poorer = dataclasses.replace(
        shop.prices, parts={key: text for key, text in shop.prices.parts.items() if key != part}
    )
    quote = build_quote(shop.knowledge, answer, poorer, "refresh")
    estimate = estimate_of(shop.knowledge, answer, quote, poorer, shop.settings, asked=True)
    assert estimate.sum.total is estimate.sum.cap is estimate.sum.likely is None and estimate.sum.unpriced == 1
    page = page_of(estimate)
    assert [row.label for row in page.price.rows] == ["So far, USD", "This is not a total"]
    assert page.signatures[0] == "I have read this"


def test_a_job_that_was_asked_for_says_that_it_is_no_promise(shop, assessed):
    answer = assessed[CASE.stem]
    assert answer.decision.kind == "check_first"
    quote = build_quote(shop.knowledge, answer, shop.prices, "refresh")
    asked = estimate_of(shop.knowledge, answer, quote, shop.prices, shop.settings, asked=True)
    assert asked.paper == "estimate" and not asked.promised
    assert any("not a promise" in text for text in page_of(asked).notices)
    promised = estimate_of(shop.knowledge, answer, quote, shop.prices, shop.settings, promised=True)
    assert promised.paper == "estimate" and not any("not a promise" in text for text in page_of(promised).notices)


def test_an_estimate_is_read_back_to_the_same_value_and_a_torn_one_is_refused(some):
    for _, _, estimate in some.values():
        plain = json.loads(json.dumps(quote_to_plain(estimate)))
        again = estimate_from_plain(plain, "x")
        assert again == estimate and page_of(again) == page_of(estimate)
    del plain["sum"]
    with pytest.raises(HowdeepError, match="read back"):
        estimate_from_plain(plain, "job.yaml")


def test_the_shops_words_and_the_number_stand_on_the_page(some):
    _, _, estimate = next(iter(some.values()))
    bare = page_of(estimate)
    assert bare.about[0].text == "not yet numbered"
    assert bare.block("terms").lines == ("Guarantee: none in writing.", "Terms: none in writing.")
    full = page_of(
        dataclasses.replace(
            estimate, number="2026-014", guarantee="One year.", terms="Pay on the day.", signs="A. Smith"
        )
    )
    assert full.about[0].text == "2026-014" and full.signatures[1] == "For the shop: A. Smith"
    assert full.block("terms").lines == ("Guarantee: One year.", "Terms: Pay on the day.")


def test_json_holds_the_quote_as_before_and_the_estimate_beside_it():
    done = howdeep("quote", CASE, "--json")
    told = json.loads(done.stdout)
    assert told["howdeep_quote"] == 1 and {"rung", "lines", "total", "allowances", "two_steps", "cap"} <= set(told)
    assert told["estimate"]["paper"] == "find_out" and told["estimate"]["date"] == ""
    assert howdeep("quote", CASE, "--json").stdout == done.stdout
    dated = json.loads(howdeep("quote", CASE, "--json", "--date", "2026-11-29").stdout)
    assert dated["estimate"]["date"] == "2026-11-29"


def test_the_terminal_keeps_to_its_columns_and_the_annex_follows_where_asked_for():
    short = howdeep("quote", CASE, "--date", "2026-11-29").stdout
    assert all(len(line) <= 80 for line in short.splitlines()) and len(short.splitlines()) < 90
    assert "LABOUR" not in short and "Date 2026-11-29" in short
    long = howdeep("quote", CASE, "--annex", "--date", "2026-11-29").stdout
    assert long.startswith(short) and "LABOUR" in long and "because the head is off anyway" in " ".join(long.split())
    copy = howdeep("quote", CASE, "--shop-copy", "--date", "2026-11-29").stdout
    assert "causes/worn_rings" in copy and "causes/worn_rings" not in long


@given(st.text(max_size=400), st.integers(10, 200))
@settings(max_examples=150, deadline=None)
def test_a_text_is_never_longer_than_it_may_be_and_whole_where_it_fits(text, most):
    flat = " ".join(text.split())
    for cut in (within(text, most), whole_within(text, most)):
        assert len(cut) <= most
        assert cut == flat or cut.endswith(("...", ".", "!", "?"))
    assert within(text, 1000) == flat == whole_within(text, 1000)


def test_settings_that_are_too_long_for_a_page_are_refused(tmp_path, shop):
    from howdeep.shop.read import load_shop

    path = tmp_path / "shop.yaml"
    path.write_text(f"howdeep_shop: 1\nguarantee: {'x' * 281}\nterms: {'y' * 280}\n")
    with pytest.raises(HowdeepError) as refused:
        load_shop(path, shop.knowledge)
    assert [(fault.line, "one page" in fault.message) for fault in refused.value.faults] == [(2, True)]
    path.write_text(f"howdeep_shop: 1\nterms: {'y' * 280}\n")
    assert load_shop(path, shop.knowledge) == ShopSettings(terms="y" * 280)


def test_what_the_machine_is_worth_is_said_in_money_and_whose_word_it_is(some):
    seen = set()
    for _, _, estimate in some.values():
        worth = estimate.worth
        block = next((block for block in page_of(estimate).blocks if block.name == "worth"), None)
        if block is None or worth.share is None:
            continue
        text = block.lines[0]
        assert "%" not in text and f"{worth.likely:,.0f}" in text and f"{worth.value_running:,.0f}" in text
        assert ("by the engine sheet" in text) == worth.by_sheet
        seen.add(text.split(":")[0])
    assert len(seen) > 1
