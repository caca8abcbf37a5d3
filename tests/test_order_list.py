"""The order list by a supplier's habits: every part once, sums to the cent, sets beside singles, what is held back."""

import csv
import dataclasses
import io
from decimal import Decimal

import pytest

from howdeep.model.job import Job
from howdeep.pricing.lines import price_work
from howdeep.quote.jobs import work_of
from howdeep.quote.orders import COLUMNS, NOT_SETTLED, SUPPLIERS, YES_FIRST, order_csv, order_of, total_of
from howdeep.show.order_page import order_page
from howdeep.show.order_text import set_text

from .commands import howdeep
from .pages import CASE
from .places import ROOT

GROUND = "a_crank_that_must_be_ground_takes_the_engine_out"
BORED = "bores_measured_past_their_limit_end_the_refresh"


@pytest.fixture(scope="module")
def orders(shop, assessed):
    return {name: order_of(shop.knowledge, assessed[name], shop.prices) for name in (GROUND, BORED)}


def test_every_part_and_all_machine_work_of_the_job_stands_on_it_once_at_its_price(shop, assessed, orders):
    for name, order in orders.items():
        answer = assessed[name]
        work = work_of(shop.knowledge, answer, answer.decision.job)
        assert sorted(line.part for line in order.lines) == sorted(line.part for line in work.parts)
        priced = price_work(work, shop.knowledge, answer.job.engine, answer.job.priced_as, shop.prices)
        assert total_of(order.lines) == priced.sum_of("part", "consumable")
        assert sum(line.amount for line in order.machine) == priced.sum_of("machine")
        places = [(SUPPLIERS.index(line.supplier), bool(line.waits_for)) for line in order.lines]
        assert places == sorted(places) and {line.supplier for line in order.lines} == set(SUPPLIERS)


def test_what_waits_names_its_measurement_and_what_is_sold_and_what_is_measured_its_size(shop, orders):
    lines = {line.part: line for line in orders[GROUND].lines}
    rods, mains = lines["rod_bearing_shells"], lines["main_bearing_shells"]
    assert rods.waits_for == shop.knowledge.observations["crankpin_size"].title and rods.sold_in and not rods.size
    assert mains.size.startswith("0.010 in under") and not mains.waits_for
    assert mains.measured_from == shop.knowledge.observations["main_size"].title
    assert [text.split(" takes")[0] for text in mains.alternatives] == ["0.020 in under", "0.030 in under"]


def test_the_machine_shop_gets_its_size_and_what_lies_beside_the_work(shop, orders):
    ground = {line.machining: line for line in orders[GROUND].machine}
    assert ground["grind_main_journals"].size == "0.010 in under"
    bored = {line.machining: line for line in orders[BORED].machine}
    assert bored["bore_and_hone"].take_along == (shop.knowledge.parts["piston"].title,)
    assert "over" in bored["bore_and_hone"].size


def test_a_set_is_set_against_the_single_gaskets_by_price(shop, assessed, orders):
    """By hand: what the singles cost, in the counts of this engine."""
    offer = orders[GROUND].sets[0]
    assert offer.part == "full_gasket_set" and len(offer.singles) == 9 and not offer.unneeded
    singles = [line for line in orders[GROUND].lines if line.part in shop.knowledge.parts["full_gasket_set"].contains]
    by_hand = sum(Decimal(shop.prices.parts[line.part]) * line.quantity for line in singles)
    assert offer.singles_price == by_hand and offer.price == Decimal(shop.prices.parts["full_gasket_set"])
    assert "buy the set" in set_text(offer, "USD") and f"{by_hand - offer.price:,.2f} less" in set_text(offer, "USD")
    dear = dataclasses.replace(offer, price=by_hand + 1)
    assert "buy them singly, USD 1.00 less" in set_text(dear, "USD")
    none = {name: price for name, price in shop.prices.parts.items() if name != "full_gasket_set"}
    unpriced = order_of(shop.knowledge, assessed[GROUND], dataclasses.replace(shop.prices, parts=none)).sets[0]
    assert unpriced.price is None and "Ask its price" in set_text(unpriced, "USD")


def test_what_is_only_for_a_find_is_held_back_and_nothing_that_is_needed(orders):
    assert any(order.hold_back for order in orders.values())
    for order in orders.values():
        needed = {line.part for line in order.lines}
        assert not needed & {held.part for held in order.hold_back}
        chances = [held.chance for held in order.hold_back]
        assert chances == sorted(chances, reverse=True) and all(0 < chance < 1 for chance in chances)


def test_nothing_is_ordered_before_a_yes(shop, assessed):
    answer = assessed[GROUND]
    before = order_of(shop.knowledge, answer, shop.prices)
    assert before.head in (YES_FIRST, NOT_SETTLED)
    assert before.head in order_page(before, answer)
    yes = {"sum": "900.00", "by": "A", "how": "x", "date": "2026-03-05"}
    job = dataclasses.replace(answer.job.job, approvals=(yes,))
    assert isinstance(job, Job)
    said = dataclasses.replace(answer, job=dataclasses.replace(answer.job, job=job))
    ordered = order_of(shop.knowledge, said, shop.prices)
    assert ordered.head == ""
    for order, title, when in ((ordered, "order now", "now"), (before, "would be ordered", "after the yes")):
        assert f": {title}</caption>" in order_page(order, answer)
        assert {row["when"] for row in csv.DictReader(io.StringIO(order_csv(order)))} >= {when}
    assert "order now" not in order_page(before, answer)


def test_of_an_answer_that_settles_nothing_the_list_says_so(shop, assessed):
    assert assessed[CASE.stem].decision.kind == "check_first"
    made = " ".join(howdeep("order", CASE).stdout.split())
    assert NOT_SETTLED.split(",")[0] in made and "ORDER NOW" not in made and "WOULD BE ORDERED (" in made


def test_the_table_holds_every_line_and_runs_nothing(orders):
    order = orders[GROUND]
    rows = list(csv.DictReader(io.StringIO(order_csv(order))))
    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == len(order.lines) + len(order.machine) + len(order.hold_back)
    assert {row["when"] for row in rows} == {"after the yes", "after measuring", "only if found"}
    bad = dataclasses.replace(
        order, lines=(dataclasses.replace(order.lines[0], title="=1+1"),), machine=(), hold_back=()
    )
    assert next(iter(csv.DictReader(io.StringIO(order_csv(bad)))))["what"] == "'=1+1"


def test_the_command_writes_the_table_and_never_over_a_file_unasked(tmp_path):
    job, table = ROOT / "cases" / f"{GROUND}.yaml", tmp_path / "order.csv"
    done = howdeep("order", job, "--csv", table)
    assert done.returncode == 0 and table.read_text().startswith(",".join(COLUMNS))
    again = howdeep("order", job, "--csv", table)
    assert again.returncode == 2 and "--force" in again.stderr
    refused = howdeep("order", job, "--csv", table, "--json")
    assert refused.returncode == 2 and "two commands" in refused.stderr
