"""Why each line stands in a quote: a reason of its own kind, by hand where a machine could say anything."""

import dataclasses
from decimal import Decimal

import pytest

from howdeep.cases.run import case_files
from howdeep.knowledge.where import shipped_cases
from howdeep.quote.build import build_quote
from howdeep.quote.line_reasons import JobReasons

from .pages import CASE
from .sampling import some

SORTS = {"evidence", "access", "open", "undone", "service", "proof", "part", "rule"}
SAYS_NOTHING = ("every job of this depth", "belongs to a job of this depth", "Needed for this work", "It goes with")


@pytest.fixture(scope="module")
def worn(assessed):
    """Low compression that oil brings up: a refresh."""
    return assessed[CASE.stem]


@pytest.fixture(scope="module")
def lines(shop, worn):
    return {line.subject: line for line in build_quote(shop.knowledge, worn, shop.prices, "refresh").lines}


def test_every_line_of_every_eighth_case_has_a_reason_of_its_own_kind(shop, assessed):
    empty, seen = [], set()
    for path in some(case_files(shipped_cases())[::8], 2):
        answer = assessed[path.stem]
        for line in build_quote(shop.knowledge, answer, shop.prices).lines:
            seen.add(line.sort)
            if line.sort not in SORTS or len(line.why) < 20 or any(text in line.why for text in SAYS_NOTHING):
                empty.append((path.stem, line.subject, line.why))
    assert empty == [] and seen >= SORTS - {"rule"}


def test_whatever_joins_without_evidence_says_why(shop):
    """What a scope always holds and what another operation brings has its reason in the rule base."""
    knowledge = shop.knowledge
    joins = {name for scope in knowledge.scopes.values() for name in scope.always}
    for operation in knowledge.operations.values():
        joins |= {*operation.brings, *(name for also in operation.brings_where for name in also.operations)}
    assert {name for name in joins if knowledge.operations[name].belongs is None} == set()
    access = [
        operation.belongs
        for operation in knowledge.operations.values()
        if operation.belongs and operation.belongs.sort == "access"
    ]
    assert access and all(belongs.leaves for belongs in access)


def test_the_reasons_of_one_job_by_hand(lines):
    assert lines["re_ring"].sort == "evidence" and lines["re_ring"].why.startswith("Piston rings worn: ")
    assert "oil in the cylinder brings the low reading up" in lines["re_ring"].why
    assert lines["remove_refit_pan"].sort == "access" and "re-ring" in lines["remove_refit_pan"].why
    assert lines["renew_head_gasket"].sort == "undone" and "crushed once" in lines["renew_head_gasket"].why
    assert lines["take_up_rod_bearings"].sort == "open"
    assert lines["take_up_rod_bearings"].why.endswith("Only 2.8 h, because the oil pan is off anyway.")
    assert lines["service_plugs"].sort == "service" and lines["compression_retest"].sort == "proof"
    assert lines["head_gasket"].sort == "undone" and "Never used twice" in lines["head_gasket"].why
    assert lines["ring_set"].why == "For: re-ring (piston rings worn)." and lines["ring_set"].sort == "evidence"
    assert lines["supplies"].sort == "rule"


def test_what_is_reached_only_for_this_work_is_not_said_to_be_open_anyway(shop, worn, lines):
    """The head comes off for the rings alone: nothing else that was found needs it off."""
    assert "anyway" not in lines["re_ring"].why
    items = [item for item in worn.works["refresh"].items if item.operation in ("valve_job", "remove_refit_head")]
    reasons = JobReasons(shop.knowledge, worn, items)
    assert "anyway" not in reasons.of_labour("valve_job", Decimal(6)).text
    more = [
        item
        for item in worn.works["refresh"].items
        if item.operation in ("valve_job", "remove_refit_head", "decarbonise")
    ]
    assert (
        "because the head is off anyway"
        in JobReasons(shop.knowledge, worn, more).of_labour("valve_job", Decimal(6)).text
    )


def test_a_tune_up_says_nothing_of_a_head_that_was_off(shop, worn):
    lines = {line.subject: line for line in build_quote(shop.knowledge, worn, shop.prices, "tune_up").lines}
    assert lines["set_valve_clearance"].sort == "service" and "head" not in lines["set_valve_clearance"].why


def test_an_engine_that_stands_open_says_that_it_is_put_together_again(shop, worn):
    items = tuple(
        dataclasses.replace(item, because=("observations/ridge",))
        for item in worn.works["refresh"].items
        if item.operation == "remove_refit_head"
    )
    reason = JobReasons(shop.knowledge, worn, items).of_operation("remove_refit_head")
    assert reason.sort == "undone" and "stands open already" in reason.text


def test_a_shops_own_operation_without_a_reason_names_what_brings_it(shop, worn):
    knowledge = dataclasses.replace(
        shop.knowledge,
        operations={
            name: dataclasses.replace(operation, belongs=None) for name, operation in shop.knowledge.operations.items()
        },
    )
    reason = JobReasons(knowledge, worn, worn.works["refresh"].items).of_operation("renew_thermostat")
    assert reason.sort == "part" and "cylinder head off and on" in reason.text
