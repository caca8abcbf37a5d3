"""Every worked case holds; every case is named by a claim; known gaps ring when they close."""

import pytest

from howdeep.cases.expected import failed
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
    ],
    ids=lambda item: next(iter(item), "") if isinstance(item, dict) else "",
)
def test_an_expectation_that_is_missed_is_told_and_one_that_is_met_is_not(answer, met, missed, told):
    assert list(failed(Expect(**met), answer)) == []
    failures = list(failed(Expect(**missed), answer))
    assert len(failures) == 1 and told in failures[0]
