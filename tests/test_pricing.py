"""The price list, quantities and priced lines."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.model.engine import Fit, Journal, Torque
from howdeep.model.operations import Machining, Operation, Part, Step
from howdeep.model.results import PartLine, Work, WorkItem
from howdeep.pricing.lines import price_work
from howdeep.pricing.money import cents, read_money, share
from howdeep.pricing.quantities import quantity_of
from howdeep.pricing.read import example_prices, find_prices, load_prices

from .made_up import ENGINE, PRICES, knowledge_of


def operation(rung="top_end", hours=1.0, **more):
    return Operation(title="work", plain="", rung=(Step(rung),), hours=hours, stage="gear", source=(), **more)


KNOWLEDGE = knowledge_of(
    operations={
        "refit_head": operation(hours=4.0, parts={"gasket": "each engine", "oil": "2"}),
        "valve_job": operation(
            hours=0.4,
            per="valve",
            parts={"gasket": "each engine"},
            machine={"seat_cut": "each valve", "wash": "each engine"},
        ),
        "decarbonise": operation(hours=0.5, machine={"wash": "each engine"}),
        "replace_engine": operation("replace", hours=20.0),
    },
    parts={"gasket": Part("head gasket", ""), "oil": Part("oil", "", kind="consumable"), "valve": Part("valve", "")},
    machining={"seat_cut": Machining("cut a seat", ""), "wash": Machining("hot wash", "")},
)
SHOP = dataclasses.replace(
    PRICES,
    labour_rate="62.50",
    parts={"gasket": "48.35", "oil": "6.10"},
    machine={"seat_cut": "7.75", "wash": "55"},
    supplies_percent="3.5",
)


def work(*names, rung="top_end", parts=(), if_found=()):
    hours = {"refit_head": 4.0, "valve_job": 3.2, "decarbonise": 0.5, "replace_engine": 20.0}
    items = [WorkItem(name, hours[name], (), ()) for name in names]
    items += [WorkItem(name, hours[name], (), (), True, 0.3) for name in if_found]
    return Work(rung, tuple(items), tuple(PartLine(part, count, "", "", by) for part, count, by in parts), (), (), ())


def test_lines_are_rounded_half_up_to_the_cent_and_the_total_is_their_sum():
    priced = price_work(
        work(
            "refit_head", "valve_job", parts=(("gasket", 1, ("refit_head", "valve_job")), ("oil", 2, ("refit_head",)))
        ),
        KNOWLEDGE,
        ENGINE,
        "made-up",
        SHOP,
    )
    lines = {(line.kind, line.subject): line.amount for line in priced.lines}
    assert lines == {
        ("labour", "refit_head"): Decimal("250.00"),
        ("labour", "valve_job"): Decimal("200.00"),
        ("machine", "seat_cut"): Decimal("62.00"),
        ("machine", "wash"): Decimal("55.00"),
        ("part", "gasket"): Decimal("48.35"),
        ("consumable", "oil"): Decimal("12.20"),
        ("supplies", "supplies"): Decimal("15.75"),  # 3.5 % of 450.00
    }
    assert priced.total == sum(lines.values()) == Decimal("643.30")
    assert priced.missing == ()
    assert priced.sum_of("labour") == Decimal("450.00")


def test_work_sent_twice_to_the_same_machine_is_paid_once():
    priced = price_work(work("valve_job", "decarbonise"), KNOWLEDGE, ENGINE, "made-up", SHOP)
    wash = [line for line in priced.lines if line.subject == "wash"]
    assert [(line.quantity, line.operations) for line in wash] == [(1, ("decarbonise", "valve_job"))]


def test_what_is_done_only_if_found_stays_out_of_the_sum():
    whole = work("refit_head", parts=(("gasket", 1, ("refit_head",)),), if_found=("valve_job",))
    without = price_work(whole, KNOWLEDGE, ENGINE, "made-up", SHOP)
    assert "valve_job" not in {line.subject for line in without.lines}


def test_what_has_no_price_is_named_and_there_is_no_total():
    priced = price_work(
        work("valve_job", parts=(("valve", 4, ("valve_job",)),)),
        KNOWLEDGE,
        ENGINE,
        "made-up",
        dataclasses.replace(SHOP, machine={"wash": "55"}),
    )
    assert priced.missing == ("machine work seat_cut", "part valve")
    assert priced.total is None
    assert next(line for line in priced.lines if line.subject == "valve").amount is None
    assert price_work(work("replace_engine", rung="replace"), KNOWLEDGE, ENGINE, "x", SHOP).missing == (
        "replacement engine",
    )


def test_another_engine_is_one_figure_fitted_the_sheet_before_the_list():
    shop = dataclasses.replace(SHOP, replacement="5000.00", supplies_percent="0")
    priced = price_work(work("replace_engine", rung="replace"), KNOWLEDGE, ENGINE, "x", shop)
    assert [(line.kind, line.amount) for line in priced.lines] == [("replacement", Decimal("5000.00"))]
    sheet = dataclasses.replace(ENGINE, replacement="4600.00")
    assert price_work(work("replace_engine", rung="replace"), KNOWLEDGE, sheet, "x", shop).total == Decimal("4600.00")


def test_hours_come_from_the_sheet_else_the_shop_else_the_rule_base_and_parts_prices_from_the_engine_first():
    shop = dataclasses.replace(
        SHOP,
        hours={"valve_job": 0.5, "refit_head": 6.0},
        supplies_percent="0",
        engine_parts={"made-up": {"gasket": "99.00"}},
    )
    priced = price_work(
        work("refit_head", "valve_job", "decarbonise", parts=(("gasket", 1, ("refit_head",)),)),
        KNOWLEDGE,
        dataclasses.replace(ENGINE, hours={"refit_head": 4.0}),
        "made-up",
        shop,
    )
    hours = {line.subject: line.quantity for line in priced.lines if line.kind == "labour"}
    assert hours == {"refit_head": Decimal("4.0"), "valve_job": Decimal("4.0"), "decarbonise": Decimal("0.5")}
    assert priced.sum_of("part") == Decimal("99.00")
    elsewhere = price_work(work(parts=(("gasket", 1, ()),)), KNOWLEDGE, ENGINE, "other", shop)
    assert elsewhere.sum_of("part") == Decimal("48.35")


@given(st.lists(st.tuples(st.integers(1, 4000), st.integers(1, 20000)), min_size=1, max_size=8))
@settings(max_examples=60, deadline=None)
def test_totals_add_to_the_cent_whatever_the_hours_and_rates(figures):
    names = [f"op{i}" for i in range(len(figures))]
    knowledge = knowledge_of(operations={name: operation() for name in names})
    items = tuple(WorkItem(name, minutes / 60, (), ()) for name, (minutes, _) in zip(names, figures, strict=True))
    shop = dataclasses.replace(SHOP, labour_rate=f"{figures[0][1] / 100:.2f}")
    priced = price_work(Work("top_end", items, (), (), (), ()), knowledge, ENGINE, "x", shop)
    assert priced.total == sum(line.amount for line in priced.lines)
    assert all(line.amount == line.amount.quantize(Decimal("0.01")) for line in priced.lines)


@pytest.mark.parametrize(
    ("amount", "rounded"), [("0.005", "0.01"), ("0.0049", "0.00"), ("2.675", "2.68"), ("1234.565", "1234.57")]
)
def test_money_is_rounded_half_up(amount, rounded):
    assert cents(Decimal(amount)) == Decimal(rounded)
    assert cents(float(amount)) == Decimal(rounded)


def test_a_share_is_rounded_to_the_cent():
    assert share(Decimal("643.30"), "8.25") == Decimal("53.07")  # 53.07225
    assert share(Decimal("10.00"), "0.25") == Decimal("0.03")  # 0.025


@pytest.mark.parametrize(
    ("quantity", "count"),
    [
        ("each engine", 1),
        ("each cylinder", 4),
        ("each valve", 8),
        ("each inlet_valve", 4),
        ("each exhaust_valve", 4),
        ("each rod", 4),
        ("each main", 5),
        ("each head_stud", 20),
        ("3", 3),
    ],
)
def test_quantities_are_counted_on_the_engine(quantity, count):
    assert quantity_of(quantity, ENGINE) == count


def test_mains_and_head_studs_are_those_of_the_sheet():
    sheet = dataclasses.replace(
        ENGINE, mains=Journal(Fit(), Fit(), count=3), torques={"head": Torque("60 ft-lb", count=15)}
    )
    assert quantity_of("each main", sheet) == 3
    assert quantity_of("each head_stud", sheet) == 15
    with pytest.raises(HowdeepError, match="'each wheel' is no quantity"):
        quantity_of("each wheel", sheet)


LIST = """\
name: Made-up prices
date: "2024-01-01"
currency: USD
labour_rate: "62.50"
comeback_charge: USD 150.00
parts:
  gasket: 48.35
machine:
  wash: "55"
"""


def read(tmp_path, text, **more):
    path = tmp_path / "prices.yaml"
    path.write_text(text, encoding="utf-8")
    return load_prices(path, KNOWLEDGE, **more)


def test_a_price_list_is_read(tmp_path):
    prices = read(tmp_path, LIST)
    assert prices.labour_rate == "62.50"
    assert read_money(prices.comeback_charge, "USD") == Decimal("150.00")
    assert read_money(prices.parts["gasket"], "USD") == Decimal("48.35")


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ('labour_rate: "62.50"\n', "", 1, "the field 'labour_rate' is missing"),
        ('labour_rate: "62.50"', 'labour_rate: "0"', 4, "the labour rate is 0"),
        ('labour_rate: "62.50"', 'labour_rate: "-62.50"', 4, "'-62.50' is negative"),
        ("gasket: 48.35", "gasket: EUR 48.35", 7, "is in EUR, but the list is in USD"),
        ("gasket: 48.35", "gasket: $48.35", 7, "is not a price"),
        ("gasket: 48.35", 'gasket: "1,048.35"', 7, "is not a price"),
        ("gasket: 48.35", 'gasket: "48.355"', 7, "is not a price"),
        ("gasket: 48.35", "gaskit: 48.35", 7, "did you mean gasket?"),
        ("wash:", "wosh:", 9, "there is no machine-shop operation 'wosh'"),
        ("currency: USD", "currency: dollars", 3, "'dollars' is not a currency"),
        ("machine:", "hours:\n  valve_job: 0\nmachine:", 9, "'0' hours"),
        ("machine:", "hours:\n  valve_jab: 1\nmachine:", 9, "did you mean valve_job?"),
        ("machine:", "tax_percent: much\nmachine:", 8, "'much' is not a percentage"),
        ("machine:", "growth_factor: 0.5\nmachine:", 8, "'0.5' is not a factor"),
        ("machine:", "discount: 5\nmachine:", 8, "'discount' is not a field here"),
        ("machine:", "engine_parts:\n  tarn: {gasket: 5}\nmachine:", 9, "there is no engine sheet 'tarn'"),
        ("machine:", "engine_parts:\n  tarn-30: {gaskot: 5}\nmachine:", 9, "there is no part 'gaskot'"),
    ],
)
def test_a_bad_price_list_is_refused_at_its_line(tmp_path, old, new, line, said):
    assert old in LIST
    with pytest.raises(HowdeepError) as caught:
        read(tmp_path, LIST.replace(old, new), engines=["tarn-30"])
    fault = next(fault for fault in caught.value.faults if said in str(fault))
    assert fault.line == line
    assert fault.file.endswith("prices.yaml")


def test_all_faults_are_told_at_once(tmp_path):
    with pytest.raises(HowdeepError) as caught:
        read(tmp_path, LIST.replace("48.35", "-1").replace("wash", "wosh").replace("150.00", "x"))
    assert len(caught.value.faults) == 3


def test_the_option_then_the_environment_then_the_file_beside_the_job_then_the_example(tmp_path, monkeypatch):
    beside = tmp_path / "prices.yaml"
    assert find_prices(None, tmp_path) == example_prices()
    beside.write_text(LIST, encoding="utf-8")
    assert find_prices(None, tmp_path) == beside
    monkeypatch.setenv("HOWDEEP_PRICES", str(tmp_path / "other.yaml"))
    assert find_prices(None, tmp_path) == tmp_path / "other.yaml"
    assert find_prices("named.yaml", tmp_path).name == "named.yaml"


def test_the_example_list_is_invented_says_so_and_prices_every_part_and_machine_operation(shipped):
    from howdeep.knowledge.engines import sheet_ids
    from howdeep.knowledge.where import shipped_rules

    prices = load_prices(example_prices(), shipped, sheet_ids([shipped_rules()]))
    assert "invented" in prices.name
    assert set(shipped.parts) <= set(prices.parts)
    assert set(shipped.machining) <= set(prices.machine)
