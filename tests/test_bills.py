"""Allowances with all that they bring, and the spread of the final bill: growth once, nothing beyond reason."""

import dataclasses
import random
from decimal import Decimal

import numpy as np
import pytest

from howdeep.cases.run import case_files
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_cases, shipped_rules
from howdeep.model.results import WorkItem
from howdeep.pricing.lines import price_work
from howdeep.pricing.money import cents
from howdeep.pricing.tax import tax_on
from howdeep.pricing.totals import NO_PRICE, totals_of
from howdeep.quote.bills import LEFT_OUT, allowed_for, job_of, met_shares, span_of
from howdeep.quote.build import LEEWAY, build_quote
from howdeep.quote.change_sheet import change_sheet
from howdeep.quote.drawn import worlds_of
from howdeep.quote.jobs import is_only, key_for, rung_of
from howdeep.quote.promise import promise_of
from howdeep.work.rules import rules_for
from howdeep.work.select import work_at

ENGINES = {name: load_engine(find(name, [shipped_rules()])) for name in sheet_ids([shipped_rules()])}
SOME = 0.2
"""Odds of a cause that is allowed for and does not yet call for its work."""


@pytest.fixture(scope="module")
def bare(shop, tmp_path_factory):
    """Engine -> the answer of a job in which nothing was said."""
    folder, answers = tmp_path_factory.mktemp("bare"), {}
    for name in ENGINES:
        path = folder / f"{name}.yaml"
        path.write_text(f"howdeep_job: 1\nengine: {name}\n")
        answers[name] = shop.assess(shop.open_job(path), checks=False, flips=False)
    return answers


def believing(shop, answer, odds, rungs=("refresh", "rebuild")):
    """The same answer with these odds and every other cause ruled out; its work by these keys of jobs."""
    knowledge, job = shop.knowledge, answer.job
    rules = rules_for(knowledge, job.engine, engine_facts(job.engine))
    told = {belief.cause: odds.get(belief.cause, 0.001) for belief in answer.beliefs}
    works = {
        key: work_at(
            knowledge,
            rules,
            job.engine,
            answer.facts.values,
            answer.conclusions.findings,
            told,
            rung_of(key),
            {},
            frozenset(job.values),
            only=is_only(key),
        )
        for key in rungs
    }
    return dataclasses.replace(
        answer,
        works=works,
        called=told,
        beliefs=tuple(
            dataclasses.replace(belief, posterior=told[belief.cause], hand=told[belief.cause])
            for belief in answer.beliefs
        ),
    )


def promised(answer, promise, key):
    """The answer with a promise in its job, and a job recommended."""
    job = answer.job
    return dataclasses.replace(
        answer,
        job=dataclasses.replace(job, job=dataclasses.replace(job.job, promises={"first": promise})),
        decision=dataclasses.replace(answer.decision, rung=rung_of(key), job=key),
    )


def allowed_and_found(shop, answer, key, sure, cause):
    """The quote of a job with one more cause allowed for, and the change sheet once that cause is found; None where
    nothing is allowed for."""
    knowledge = shop.knowledge
    before = believing(shop, answer, {**sure, cause: SOME}, (key,))
    allowed = tuple(allowed_for(knowledge, before, key).values())
    if not allowed:
        return None
    quote = build_quote(knowledge, before, shop.prices, key, two_step=False)
    deeper = job_of(knowledge, before).grown(key, allowed)
    promise = promise_of(knowledge, promised(before, {}, key), quote, "2026-03-05")
    after = promised(believing(shop, answer, {**sure, cause: 1.0}, (deeper,)), promise, deeper)
    return quote, change_sheet(knowledge, after, shop.prices, "first", lambda *_: ())


@pytest.fixture
def no_spread(monkeypatch):
    """The spread of the bill is tested by itself, and takes most of the time of a quote."""
    from howdeep.quote import bills
    from howdeep.quote.drawn import Drawn

    monkeypatch.setattr(
        bills,
        "worlds_of",
        lambda knowledge, answer, causes, met: Drawn(np.zeros((1, len(causes)), dtype=bool), np.ones(1)),
    )


@pytest.mark.usefixtures("no_spread")
@pytest.mark.parametrize("engine", sorted(ENGINES))
def test_an_allowance_is_what_the_change_sheet_adds_when_it_is_found(shop, bare, engine):
    """For every operation that can be an allowance on this engine, from a shallow and a deep scope."""
    knowledge, answer = shop.knowledge, bare[engine]
    rules = rules_for(knowledge, ENGINES[engine], engine_facts(ENGINES[engine]))
    tried, seen = set(), set()
    for cause in sorted(rules.cures):
        for rung in ("outside", "refresh"):
            allowed = tuple(allowed_for(knowledge, believing(shop, answer, {cause: SOME}, (rung,)), rung).values())
            if not allowed or (rung, allowed) in seen:
                continue  # one cause for each operation and scope
            seen.add((rung, allowed))
            quote, sheet = allowed_and_found(shop, answer, rung, {}, cause)
            (allowance,) = quote.allowances
            assert allowance.amount == sheet.total_after - sheet.total_before > 0, (cause, rung)
            assert sheet.used == (allowance.title,), (cause, rung)
            tried.add(allowance.operation)
    assert len(tried) > 30


@pytest.mark.usefixtures("no_spread")
@pytest.mark.parametrize("engine", sorted(ENGINES))
def test_an_allowance_of_a_targeted_job_is_what_the_change_sheet_adds_when_it_is_found(shop, bare, engine):
    """The same for only what cures one cause, at three depths: what is found is cured by a targeted job too."""
    knowledge, answer = shop.knowledge, bare[engine]
    rules = rules_for(knowledge, ENGINES[engine], engine_facts(ENGINES[engine]))
    tried, grew, seen = set(), 0, set()
    for rung in ("outside", "top_end", "refresh"):
        begun_with = min(name for name, cures in rules.cures.items() if cures and rules.rungs[cures[0]] == rung)
        key, sure = key_for(rung, only=True), {begun_with: 1.0}
        for cause in sorted(set(rules.cures) - set(sure)):
            allowed = tuple(
                allowed_for(knowledge, believing(shop, answer, {**sure, cause: SOME}, (key,)), key).values()
            )
            if not allowed or (rung, allowed) in seen:
                continue
            seen.add((rung, allowed))
            quote, sheet = allowed_and_found(shop, answer, key, sure, cause)
            assert quote.lines, (rung, sure)
            if not quote.allowances:  # what takes its place is in the job already
                assert sheet.total_after == sheet.total_before, (cause, key)
                continue
            (allowance,) = quote.allowances
            assert allowance.amount == sheet.total_after - sheet.total_before > 0, (cause, key)
            assert sheet.used == (allowance.title,), (cause, key)
            tried.add((rung, allowance.operation))
            grew += sheet.rung_after != sheet.rung_before
    assert len(tried) > 60 and grew > 10, (len(tried), grew)


def test_an_allowance_holds_all_that_its_operation_brings(shop, bare):
    """Sleeves are not their labour alone: pistons, rings, sleeves and the machine work come with them."""
    answer = believing(shop, bare["brockwell-4"], {"worn_bores": SOME})
    quote = build_quote(shop.knowledge, answer, shop.prices, "refresh")
    (allowance,) = quote.allowances
    alone = next(item for item in answer.works["refresh"].items if item.if_found)
    labour = Decimal(repr(alone.hours)) * Decimal(shop.prices.labour_rate)
    assert allowance.amount > 2 * labour


@pytest.mark.parametrize("engine", sorted(ENGINES))
def test_totals_of_many_sets_are_to_the_cent_those_of_the_priced_lines(shop, engine):
    """Random sets of operations, with and without tax on some kinds and with prices missing."""
    knowledge, sheet, draw = shop.knowledge, ENGINES[engine], random.Random(engine)
    names = sorted(rules_for(knowledge, sheet, engine_facts(sheet)).rungs)
    lists = [
        shop.prices,
        dataclasses.replace(
            shop.prices, tax_on=("parts", "machine"), tax_percent="8.375", supplies_percent="3.25", labour_rate="61.37"
        ),
        dataclasses.replace(
            shop.prices, parts={key: text for key, text in shop.prices.parts.items() if key != "engine_oil"}
        ),
    ]
    from howdeep.model.results import PartLine, Work
    from howdeep.pricing.quantities import parts_of
    from howdeep.work.select import hours_of

    items = tuple(WorkItem(name, hours_of(knowledge.operations[name], name, sheet), (), ()) for name in names)
    held = np.array([[draw.random() < share for _ in names] for share in (0.02, 0.05, 0.1, 0.3, 0.6, 1.0, 0.05, 0.2)])
    missing = 0
    for prices in lists:
        totals = totals_of(held, items, knowledge, sheet, engine, prices)
        for row, total in zip(held, totals, strict=True):
            chosen = tuple(item for item, here in zip(items, row, strict=True) if here)
            parts: dict[str, int] = {}
            for item in chosen:
                for part, quantity in parts_of(knowledge, knowledge.operations[item.operation], sheet):
                    parts[part] = max(parts.get(part, 0), quantity)
            lines = tuple(PartLine(part, count, "", "", ()) for part, count in parts.items())
            priced = price_work(Work("rebuild", chosen, lines, (), (), ()), knowledge, sheet, engine, prices)
            if priced.total is None:
                assert total == NO_PRICE
                missing += 1
            else:
                taxed = priced.total + tax_on(((line.kind, line.amount) for line in priced.lines), prices)
                assert Decimal(int(total)).scaleb(-2) == taxed
    assert missing


def drawing(monkeypatch, causes, *sets):
    """What may be found, by hand: (causes found, share) each."""
    from howdeep.quote import bills
    from howdeep.quote.drawn import Drawn

    drawn = Drawn(
        np.array([[name in found for name in causes] for found, _ in sets]), np.array([share for _, share in sets])
    )
    monkeypatch.setattr(bills, "worlds_of", lambda *_: drawn)


def test_growth_is_in_the_range_once_whatever_number_of_causes_calls_for_it(shop, bare, monkeypatch):
    """Two causes that each grow the job to a full rebuild: both found cost less than the two allowances together."""
    answer = believing(shop, bare["brockwell-4"], {"worn_crank_journals": 0.3, "cracked_block": 0.3})
    drawing(
        monkeypatch,
        ("cracked_block", "worn_crank_journals"),
        ((), 0.6),
        (("cracked_block", "worn_crank_journals"), 0.4),
    )
    quote = build_quote(shop.knowledge, answer, shop.prices, "refresh")
    deeper = [item for item in quote.allowances if "grows to full rebuild" in item.title]
    assert len(deeper) == 2
    job = job_of(shop.knowledge, answer)
    both = job.totals([job.operations("rebuild", ("worn_crank_journals", "cracked_block"))], shop.prices)[0]
    growth = job.total("rebuild", shop.prices) - quote.total
    assert both <= quote.total + sum(item.amount for item in deeper) - growth + Decimal("0.02")
    span = span_of(shop.knowledge, answer, shop.prices, "refresh", None)
    assert span.low == span.likely == quote.total and span.high == both
    assert quote.high == min(both, job.total("replace", shop.prices))


def test_likely_and_range_are_the_quantiles_of_what_may_be_found(shop, bare, monkeypatch):
    """By hand: one cause of odds p makes two bills, the quoted total and the total with its allowance."""
    answer = believing(shop, bare["brockwell-4"], {"worn_oil_pump": SOME})
    quote = build_quote(shop.knowledge, answer, shop.prices, "refresh")
    (allowance,) = quote.allowances
    more = quote.total + allowance.amount
    for chance, expected in (
        (0.01, "---"),
        (0.049, "---"),
        (0.06, "--+"),
        (0.3, "--+"),
        (0.49, "--+"),
        (0.51, "-++"),
        (0.94, "-++"),
        (0.96, "+++"),
        (0.999, "+++"),
    ):
        drawing(monkeypatch, ("worn_oil_pump",), ((), 1 - chance), (("worn_oil_pump",), chance))
        span = span_of(shop.knowledge, answer, shop.prices, "refresh", None)
        assert (span.low, span.likely, span.high) == tuple(more if sign == "+" else quote.total for sign in expected)
        capped = span_of(shop.knowledge, answer, shop.prices, "refresh", quote.total + 1)
        assert capped.high == (quote.total if expected == "---" else quote.total + 1)


def test_the_worlds_are_those_of_the_evidence(shop):
    """Drawn together, each cause is as frequent as its odds say; the same answer draws the same worlds."""
    for path in case_files(shipped_cases())[::60]:
        answer = shop.assess(shop.open_job(path), checks=False, flips=False)
        odds = {belief.cause: belief.posterior for belief in answer.beliefs}
        causes = tuple(sorted(odds))
        worlds, again = (worlds_of(shop.knowledge, answer, causes) for _ in range(2))
        assert abs(worlds.shares.sum() - 1) < 1e-9 and (worlds.present == again.present).all()
        for place, cause in enumerate(causes):
            chance = odds[cause]
            error = (chance * (1 - chance) / 1000) ** 0.5  # standard error; some draws carry unequal weights
            assert abs(worlds.shares @ worlds.present[:, place] - chance) < 5 * error + 0.02


def test_nine_in_ten_of_what_may_be_found_lie_in_the_range_and_no_cap_is_beyond_reason(shop):
    for path in case_files(shipped_cases())[::40]:
        answer = shop.assess(shop.open_job(path), checks=False, flips=False)
        job = job_of(shop.knowledge, answer)
        replaced = job.total("replace", shop.prices)
        for rung in {answer.decision.rung, "outside", "refresh"}:
            quote = build_quote(shop.knowledge, answer, shop.prices, rung, two_step=True)
            allowed = allowed_for(shop.knowledge, answer, rung)
            causes = tuple(sorted(allowed))
            worlds = worlds_of(shop.knowledge, answer, causes, met_shares(shop.knowledge, answer, rung, causes))
            found = [frozenset(np.array(causes, dtype=object)[row]) for row in worlds.present]
            bills = job.totals(
                job.operations_of((job.grown(rung, (allowed[name] for name in some)), some) for some in found),
                shop.prices,
            )
            inside = sum(
                share
                for bill, share in zip(bills, worlds.shares, strict=True)
                if quote.low <= max(quote.total, min(bill, replaced)) <= quote.high
            )
            assert inside >= 1 - 2 * LEFT_OUT - 1e-9, (path.stem, rung)
            worth = answer.job.job.customer.value_running or answer.job.engine.value_running
            bounds = [replaced, cents(quote.total * (1 + LEEWAY)), *([Decimal(worth)] if worth else [])]
            steps = quote.two_steps
            assert steps.cap == max(quote.total, min(bounds)) and steps.cap_because, (path.stem, rung)
            assert ("total of this quote" in steps.cap_because) == (min(bounds) < quote.total)


def test_the_cap_says_which_sum_it_is(shop, bare, monkeypatch):
    """A tenth over the total, another engine, the machine's worth and the total itself, each where it binds."""
    answer = believing(shop, bare["brockwell-4"], {"worn_crank_journals": 0.3, "worn_oil_pump": 0.3})
    drawing(monkeypatch, ("worn_crank_journals", "worn_oil_pump"), ((), 0.6), (("worn_oil_pump",), 0.4))

    def cap(worth, prices):
        job = answer.job
        customer = dataclasses.replace(job.job.customer, value_running=worth)
        changed = dataclasses.replace(
            answer, job=dataclasses.replace(job, job=dataclasses.replace(job.job, customer=customer))
        )
        quote = build_quote(shop.knowledge, changed, prices, "refresh", two_step=True)
        return quote, quote.two_steps.cap, quote.two_steps.cap_because

    quote, sum_, why = cap("90000", shop.prices)
    assert sum_ == cents(quote.total * Decimal("1.1")) and "tenth" in why
    quote, sum_, why = cap(f"{quote.total + 50:.2f}", shop.prices)
    assert sum_ == quote.total + 50 and "worth running" in why
    quote, sum_, why = cap("200", shop.prices)
    assert sum_ == quote.total and "total of this quote" in why
    drawing(
        monkeypatch,
        ("worn_crank_journals", "worn_oil_pump"),
        ((), 0.6),
        (("worn_crank_journals", "worn_oil_pump"), 0.4),
    )
    sheet = dataclasses.replace(answer.job.engine, replacement=f"{quote.total - 450:.2f}")
    answer = dataclasses.replace(answer, job=dataclasses.replace(answer.job, engine=sheet))
    quote, sum_, why = cap("90000", shop.prices)
    assert quote.total < sum_ == job_of(shop.knowledge, answer).total("replace", shop.prices) and "replacement" in why


def test_what_no_sign_speaks_for_and_no_work_opens_is_in_no_bill(shop, tmp_path):
    """A cable job: nothing noticed speaks for rings or gasket, and nobody will see them; a refresh does see them."""
    path = tmp_path / "slow.yaml"
    path.write_text("""howdeep_job: 1
engine: tarn-30
answers: {complaint: hard_start, runs: yes, turns_over: yes, start_cold: long, start_hot: easy, cranking_sound: slow,
  weather: frost, power: good, smoke_any: no, oil_use: none, noise: none}
readings: {battery_rest: 12.6 V, battery_cranking: 10.4 V, cable_drop: 1.4 V}
""")
    answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    knowledge = shop.knowledge
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    allowed = allowed_for(knowledge, answer, "outside")
    assert allowed and all(hands[cause] >= 0.04 for cause in allowed), allowed
    assert "worn_rings" not in allowed and hands["worn_rings"] < 0.04
    quote = build_quote(knowledge, answer, shop.prices, "outside")
    dearest = max(item.amount for item in quote.allowances)
    assert quote.likely == quote.total and quote.high <= quote.total + 2 * dearest
    seen = allowed_for(knowledge, answer, "refresh")
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    unseen = [cause for cause in seen if hands[cause] < 0.04]
    assert unseen and all(odds[cause] >= 0.04 for cause in unseen), "what lies open is met whatever was noticed"


def test_a_cause_is_met_in_the_share_of_its_hand(shop, assessed):
    answer = assessed["slow_cranking_on_a_good_battery_is_the_cables"]
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    causes = tuple(sorted(odds, key=odds.__getitem__)[-6:])
    whole = worlds_of(shop.knowledge, answer, causes)
    half = worlds_of(shop.knowledge, answer, causes, (0.5,) * len(causes))
    for place in range(len(causes)):
        there, met = (worlds.shares @ worlds.present[:, place] for worlds in (whole, half))
        assert abs(met - there / 2) < 5 * (max(there, 0.01) / 4 / 1000) ** 0.5
