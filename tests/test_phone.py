"""Worked cases as they sound on the telephone: nothing is promised that the whole case denies, and the first check is
one that the case made or a handbook prints."""

import sys

import pytest

from howdeep.casebook.read import read_handbooks
from howdeep.cases.run import case_files
from howdeep.knowledge.where import shipped_cases, shipped_handbooks

from .places import ROOT

sys.path.insert(0, str(ROOT / "bench"))
import phone

ODD = 2
"""Most first checks of those asked here that neither the case made nor a handbook prints; of all twenty it was six on
29 November 2026."""


@pytest.fixture(scope="module")
def picked(shop):
    return phone.chosen(shop, case_files(shipped_cases()))


def test_the_twenty_are_chosen_by_their_place_alone(shop, picked):
    names = [name for name, _ in picked]
    assert len(set(names)) == phone.MANY and names == sorted(names)
    assert names == [name for name, _ in phone.chosen(shop, reversed(case_files(shipped_cases())))]


def test_only_the_customers_own_word_is_kept(shop, picked):
    for _, whole in picked:
        kept = phone.told(shop.knowledge, whole).values
        assert phone.COMPLAINT in kept and len(kept) < len(whole.values)
        assert all(shop.knowledge.observations[name].moment == "talk" for name in kept)
        assert not any(shop.knowledge.observations[name].speaks in ("look", "instrument") for name in kept)


def test_on_the_telephone_no_depth_is_promised_that_the_whole_case_denies(shop, picked):
    """Every fourth of the twenty; the bench asks them all."""
    entries = read_handbooks(shipped_handbooks(), shop.knowledge, shop.folders)
    calls = [phone.call(shop, entries, name, job) for name, job in picked[::4]]
    assert not [item.case for item in calls if item.denied]
    assert sum(item.odd for item in calls) <= ODD
    assert sum(bool(item.check) for item in calls) >= len(calls) - 2
    assert {item.kind for item in calls} <= {"check_first", "promise", "look_inside", "begin_with", "can_wait", "stop"}
