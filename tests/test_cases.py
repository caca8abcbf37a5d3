"""Every worked case holds; every case is named by a claim; known gaps ring when they close."""

import pytest

from howdeep.cases import case_files, run_case
from howdeep.knowledge.where import shipped_cases

FILES = case_files(shipped_cases())


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_case(shop, path):
    result = run_case(shop, path)
    assert result.failures == ()
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
