"""Every worked case holds; every case is named by a claim; known gaps ring when they close."""

import pytest

from howdeep.cases.expected import failed, misnamed
from howdeep.cases.figures import read_figures
from howdeep.cases.run import case_files, run_case
from howdeep.knowledge.where import shipped_cases
from howdeep.model.expect import Expect

FILES = case_files(shipped_cases())
KEPT = read_figures(shipped_cases())


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_case(shop, path):
    result = run_case(shop, path, KEPT)
    assert result.failures == ()
    assert result.moved == "", "read what moved, then howdeep cases --keep-figures"
    assert result.title and result.title[0].isupper() and len(path.stem.split("_")) >= 4


def test_there_are_cases_for_every_scope_and_many_published_tables(shop):
    scopes, published = set(), set()
    for path in FILES:
        expect = shop.open_job(path).job.expect
        scopes.update(expect.scope)
        published.update([expect.published] if expect.published else [])
    assert scopes == {"outside", "tune_up", "top_end", "refresh", "rebuild", "replace"}
    assert len(published) >= 40
    assert len(FILES) >= 60


@pytest.fixture(scope="module")
def answer(shop):
    path = shipped_cases() / "smoke_and_low_compression_with_dry_seals_stays_in_the_frame.yaml"
    return shop.assess(shop.open_job(path), flips=False)


@pytest.mark.parametrize(
    ("met", "missed", "told"),
    [
        (
            {"first": ("worn_rings",)},
            {"first": ("cracked_block",)},
            "first cause: expected cracked_block, found worn_rings",
        ),
        ({"among_leading": ("worn_rings",)}, {"among_leading": ("weak_battery",)}, "expected weak_battery"),
        ({"not_leading": ("weak_battery",)}, {"not_leading": ("worn_rings",)}, "not among the leading 3: worn_rings"),
        ({"scope": ("refresh",)}, {"scope": ("rebuild", "replace")}, "expected rebuild or replace, found refresh"),
        ({"not_scope": ("rebuild",)}, {"not_scope": ("refresh",)}, "must not be refresh"),
        (
            {"present": ("compression_low_everywhere",)},
            {"present": ("head_has_a_crack",)},
            "finding head_has_a_crack: expected",
        ),
        ({"absent": ("rear_leak",)}, {"absent": ("compression_low_everywhere",)}, "expected absent, found present"),
        ({"unknown": ("head_has_a_crack",)}, {"unknown": ("no_such",)}, "found no such finding"),
        (
            {"not_held_by": ("blocked_breather_looks_like_rings",)},
            {"held_by": ("blocked_breather_looks_like_rings",)},
            "hold blocked_breather_looks_like_rings: expected to stand",
        ),
        ({}, {"invalid": ("compression_dry",)}, "not valid: expected compression_dry, found none"),
        ({}, {"contradictions": ("no_such",)}, "contradiction: expected no_such, found none"),
        ({"operations": ("re_ring",)}, {"operations": ("rebore",)}, "operation rebore: expected in the work"),
        (
            {"not_operations": ("rebore",)},
            {"not_operations": ("re_ring",)},
            "operation re_ring: must not be in the work",
        ),
        ({"worth": ("ask the owner",)}, {"worth": ("worth it",)}, "worth it: expected, found ask the owner"),
        ({"not_worth": ("beyond repair",)}, {"not_worth": ("ask the owner",)}, "ask the owner: must not be said"),
        ({}, {"next_check": ("no_such",)}, "next check: expected no_such"),
        (
            {"kind": ("promise", "check_first", "look_inside")},
            {"kind": ("stop", "can_wait")},
            "kind: expected stop or can_wait, found",
        ),
        ({"job": ("refresh", "refresh:only")}, {"job": ("outside",)}, "job: expected outside, found refresh"),
        (
            {"likelier": (("worn_rings", "worn_bores", "stuck_rings"),)},
            {"likelier": (("worn_rings", "stuck_rings", "worn_bores"),)},
            "likelier: expected stuck_rings",
        ),
        (
            {"odds_at_least": {"very likely": ("worn_rings",)}},
            {"odds_at_least": {"almost certain": ("worn_rings",)}},
            "odds of worn_rings: expected at least almost certain, found very likely",
        ),
        (
            {"odds_at_most": {"very likely": ("worn_rings",), "almost no chance": ("blocked_breather",)}},
            {"odds_at_most": {"likely": ("worn_rings",)}},
            "odds of worn_rings: expected at most likely, found very likely",
        ),
        (
            {"odds_at_most": {"almost certain": ("worn_rings",)}},
            {"odds_at_most": {"almost certain": ("worn_injectors",)}},
            "odds of worn_injectors: this engine has no such cause",
        ),
        (
            {"speaks_for": {"wet_test_brings_it_up": ("worn_rings", "worn_bores")}},
            {"speaks_for": {"wet_test_brings_it_up": ("weak_battery",)}},
            "wet_test_brings_it_up speaks for: expected weak_battery, found 0.0 decibans",
        ),
        (
            {},
            {"speaks_for": {"rear_leak": ("rear_main_seal",)}},  # a sign that is absent speaks for nothing
            "rear_leak speaks for: expected rear_main_seal",
        ),
        (
            {"speaks_rather_for": {"wet_test_brings_it_up": {"worn_rings": ("worn_bores",)}}},
            {"speaks_rather_for": {"wet_test_brings_it_up": {"worn_bores": ("worn_rings",)}}},
            "wet_test_brings_it_up speaks rather for: expected worn_bores",
        ),
        (
            {"enough_at_least": {"very likely": ("rebuild",)}},
            {"enough_at_least": {"likely": ("top_end",)}},
            "enough top_end: expected at least likely, found almost no chance",
        ),
        (
            {"enough_at_most": {"almost no chance": ("outside", "tune_up", "top_end")}},
            {"enough_at_most": {"unlikely": ("rebuild",)}},
            "enough rebuild: expected at most unlikely, found very likely",
        ),
        ({}, {"enough_at_least": {"likely": ("outside:only",)}}, "enough outside:only: no such job here"),
        ({"came_for": ("about even", "likely")}, {"came_for": ("almost no chance",)}, "came for: expected almost no"),
        (
            {"may_turn_up": ("rebore", "renew_pistons")},
            {"may_turn_up": ("re_ring",)},
            "may turn up: expected re_ring, found",
        ),
        (
            {"work_at": {"rebuild": ("remove_refit_engine",), "top_end": ("valve_job",)}},
            {"work_at": {"refresh": ("remove_refit_engine",)}},
            "work of refresh: expected remove_refit_engine",
        ),
        (
            {"not_work_at": {"top_end": ("re_ring", "remove_refit_pan")}},
            {"not_work_at": {"refresh": ("re_ring",)}},
            "work of refresh: must not hold re_ring",
        ),
        ({"parts": ("ring_set", "head_gasket")}, {"parts": ("crankshaft",)}, "part crankshaft: expected on the list"),
        ({"not_parts": ("crankshaft",)}, {"not_parts": ("ring_set",)}, "part ring_set: must not be on the list"),
        (
            {"hours": {"refresh": (30.0, 36.0)}},
            {"hours": {"refresh": (10.0, 12.0)}},
            "hours refresh: expected 10 to 12, found 32",
        ),
        ({}, {"hours": {"no_such": (0.0, 99.0)}}, "hours no_such: expected 0 to 99, found None"),
        (
            {"price": {"refresh": (2900.0, 3500.0)}},
            {"price": {"refresh": (900.0, 1000.0)}},
            "price refresh: expected 900 to 1000, found 3",
        ),
        (
            {"cautions": {"remove_refit_head": ("hot_coolant", "lead_deposits")}},
            {"cautions": {"remove_refit_head": ("molten_metal",)}},
            "caution molten_metal before remove_refit_head: expected, found hot_coolant",
        ),
        (
            {},
            {"cautions": {"pour_bearings": ("molten_metal",)}},
            "caution molten_metal before pour_bearings: expected, found not in the work",
        ),
        ({}, {"dangers": ("oil_milky",)}, "danger oil_milky: expected, found none"),
    ],
    ids=lambda item: next(iter(item), "") if isinstance(item, dict) else "",
)
def test_an_expectation_that_is_missed_is_told_and_one_that_is_met_is_not(answer, met, missed, told):
    assert list(failed(Expect(**met), answer)) == []
    failures = list(failed(Expect(**missed), answer))
    assert len(failures) == 1 and told in failures[0]


def test_a_danger_that_must_not_be_said_is_told(shop):
    path = shipped_cases() / "a_cracked_manifold_in_a_cabin_is_not_run_there.yaml"
    answer = shop.assess(shop.open_job(path), flips=False)
    assert list(failed(Expect(dangers=("exhaust_in_a_closed_place",), not_dangers=("oil_milky",)), answer)) == []
    failures = list(failed(Expect(not_dangers=("exhaust_in_a_closed_place",)), answer))
    assert failures == ["danger exhaust_in_a_closed_place: must not be said"]


def test_a_story_that_is_not_straight_is_told(shop, answer):
    assert list(failed(Expect(straight=True), answer)) == []
    path = shipped_cases() / "a_stuck_engine_that_runs_is_asked_about_again.yaml"
    failures = list(failed(Expect(straight=True), shop.assess(shop.open_job(path), checks=False, flips=False)))
    assert failures == ["contradiction: expected none, found stuck_yet_runs"]


def test_a_name_that_nothing_bears_is_told_with_the_nearest(shipped):
    """What must not be so would else hold unseen."""
    assert list(misnamed(Expect(not_parts=("ring_set",), not_leading=("worn_rings",)), shipped)) == []
    found = list(
        misnamed(
            Expect(
                not_leading=("worn_ring",),
                not_parts=("ring_sets",),
                speaks_rather_for={"wet_test_brings_it_up": {"worn_rings": ("worn_boors",)}},
            ),
            shipped,
        )
    )
    assert len(found) == 3
    assert "no cause 'worn_ring'" in found[0] and "worn_rings" in found[0]
    assert "no cause 'worn_boors'" in found[1] and "worn_bores" in found[1]
    assert "no part 'ring_sets'" in found[2] and "ring_set" in found[2]
