"""Nothing is billed twice: no part or consumable, no labour for what another line does already."""

import dataclasses
import itertools

import pytest

from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.model.terms import RUNGS
from howdeep.pricing.lines import price_work
from howdeep.work.rules import rules_for
from howdeep.work.select import work_at

ENGINES = {name: load_engine(find(name, [shipped_rules()])) for name in sheet_ids([shipped_rules()])}
ONE_THING = (
    {"hone_bores", "rebore", "renew_sleeves", "sleeve_every_bore"},
    {"renew_sleeve_seals", "renew_sleeves", "fit_wet_sleeves"},
    {"renew_sleeves", "press_dry_sleeves"},
    {"grind_crank", "polish_journals"},
)
"""Operations that would work the same surface twice (common practice): a bored or new wall is not deglazed, a new wet
sleeve has its seals with it, and drawing and fitting it are one price."""


def works_of(shop, engine):
    """Work of every rung with each cause found, alone: every operation that any of them calls for is met."""
    knowledge, sheet = shop.knowledge, ENGINES[engine]
    rules = rules_for(knowledge, sheet, engine_facts(sheet))
    for cause, rung in itertools.product(sorted(rules.cures), RUNGS):
        odds = {**dict.fromkeys(rules.cures, 0.001), cause: 1.0}
        yield cause, rung, work_at(knowledge, rules, sheet, engine_facts(sheet), {}, odds, rung)


@pytest.mark.parametrize("engine", sorted(ENGINES))
def test_no_part_and_no_labour_is_billed_twice(shop, engine):
    knowledge, met = shop.knowledge, set()
    for cause, rung, work in works_of(shop, engine):
        names = {item.operation for item in work.items if not item.if_found}
        met |= names
        lines = price_work(work, knowledge, ENGINES[engine], engine, shop.prices).lines
        subjects = [(line.kind, line.subject) for line in lines]
        assert len(subjects) == len(set(subjects)), (cause, rung)
        assert all(line.quantity for line in lines), (cause, rung)
        charged = {line.subject for line in lines if line.kind in ("part", "consumable")}
        assert any(line.kind == "supplies" for line in lines)
        assert not [part for part in charged if knowledge.parts[part].in_supplies], (cause, rung)
        labour = {line.subject for line in lines if line.kind == "labour"}
        for group in ONE_THING:
            assert len(labour & group) <= 1, (cause, rung, labour & group)
        for name in names:
            assert not names & set(knowledge.operations[name].instead_of), (cause, rung, name)
    assert len(met) > 50


def test_what_an_operation_displaces_is_cured_and_is_no_allowance(shop):
    """New sleeves cure what their seals and a hone would have: neither is offered once more."""
    for engine in sorted(ENGINES):
        rules = rules_for(shop.knowledge, ENGINES[engine], engine_facts(ENGINES[engine]))
        odds = dict.fromkeys(rules.cures, 0.3)
        for cause in ("worn_bores", "scored_bores"):
            if cause not in rules.cures:
                continue
            work = work_at(
                shop.knowledge,
                rules,
                ENGINES[engine],
                engine_facts(ENGINES[engine]),
                {},
                {**odds, cause: 1.0},
                "rebuild",
            )
            done = {item.operation for item in work.items if not item.if_found}
            displaced = {other for name in done for other in shop.knowledge.operations[name].instead_of}
            assert "hone_bores" in displaced
            assert not displaced & {item.operation for item in work.items}


def test_a_shop_without_a_percentage_for_supplies_charges_rags_by_themselves(shop):
    bare = dataclasses.replace(shop.prices, supplies_percent="0")
    rules = rules_for(shop.knowledge, ENGINES["brockwell-4"], engine_facts(ENGINES["brockwell-4"]))
    work = work_at(shop.knowledge, rules, ENGINES["brockwell-4"], {}, {}, dict.fromkeys(rules.cures, 0.0), "rebuild")
    for prices, wanted in ((shop.prices, False), (bare, True)):
        lines = price_work(work, shop.knowledge, ENGINES["brockwell-4"], "brockwell-4", prices).lines
        assert ("cleaning_supplies" in {line.subject for line in lines}) is wanted
