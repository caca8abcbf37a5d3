"""The job book: found by any word, in pages, with where each job stands; its index is only a cache."""

import json
import os
import re
import shutil

import pytest

from howdeep.job.standing import standing_of
from howdeep.web.app import create_app
from howdeep.web.book import INDEX, PAGE, SETTLED, JobBook, folded

from .pages import Page, text
from .places import ROOT

JOB = "howdeep_job: 1\nengine: {engine}\ntitle: {title}\ncustomer: {{name: {name}}}\n{more}"


def put(folder, name, title="A miss", who="A. Customer", more="", engine="tarn-30"):
    (folder / f"{name}.yaml").write_text(JOB.format(title=title, name=who, more=more, engine=engine), encoding="utf-8")


@pytest.mark.parametrize(
    ("plain", "stands"),
    [
        ({}, "new"),
        ({"answers": {"runs": "yes"}}, "asked"),
        ({"readings": {"a": 1}, "answers": {"b": 1}}, "tested"),
        ({"promises": {"p": {}}, "readings": {"a": 1}}, "waits for a yes"),
        ({"promises": {"p": {}}, "approvals": [{"sum": "1"}]}, "promised"),
        ({"promises": {"p": {}}, "approvals": [{}], "teardown": {"a": 1}}, "open"),
        ({"answers": {"b": 1}, "teardown": {"a": 1, "together_again": "yes"}}, "asked"),
        ({"answers": {"b": 1}, "teardown": {"a": 1, "together_again": "no"}}, "open"),
        ({"teardown": {"a": 1}, "found": {"date": "2026-01-02"}}, "closed"),
        ({"found": {"came_back": "yes"}}, "came back"),
        ({"found": {"came_back": "no"}}, "closed"),
    ],
)
def test_a_job_stands_as_far_as_it_has_come(plain, stands):
    assert standing_of(plain) == stands


def test_a_job_is_found_by_any_of_its_words_without_accents_or_capitals(tmp_path):
    put(
        tmp_path,
        "one",
        "Rauch im Ölbad",
        "Jörg Älvers",
        "answers: {runs: yes}\nnotes: [{date: 2026-01-02, text: smells of Café}]",
    )
    put(tmp_path, "two", "A knock", "B. Customer")
    book = JobBook(tmp_path)
    for search in ("olbad", "JORG alvers", "cafe", "asked rauch", "tarn-30 ölbad"):
        assert [job.name for job in book.page(search).jobs] == ["one"], search
    assert book.page("jorg knock").found == 0 and book.page("customer").total == 2
    assert folded("ÉTÉ Straße") == "ete strasse"


def test_the_book_has_pages_and_the_newest_stands_first(tmp_path):
    for number in range(PAGE + 7):
        put(tmp_path, f"job-{number:03}", f"Job {number}")
        os.utime(tmp_path / f"job-{number:03}.yaml", ns=(10**18 + number, 10**18 + number))
    book = JobBook(tmp_path)
    first, second = book.page(), book.page("", 2)
    assert (first.first, first.last, first.found, first.total) == (1, PAGE, PAGE + 7, PAGE + 7)
    assert first.jobs[0].name == f"job-{PAGE + 6:03}" and second.jobs[-1].name == "job-000" and len(second.jobs) == 7
    assert book.page("", 99).page == 2 and book.page("", -3).page == 1
    assert not set(first.jobs) & set(second.jobs)


def test_what_changed_is_read_anew_and_what_is_gone_leaves_nothing_behind(tmp_path):
    for number in range(SETTLED):
        put(tmp_path, f"job-{number}", who="Somebody Known")
    assert JobBook(tmp_path).page("known").found == SETTLED
    index = tmp_path / INDEX
    assert json.loads(index.read_text())["howdeep_book"] == 2 and index.stat().st_mode & 0o077 == 0
    book = JobBook(tmp_path)
    put(tmp_path, "job-3", who="Somebody Else Altogether")
    assert [job.name for job in book.page("altogether").jobs] == ["job-3"] and book.page("known").found == SETTLED - 1
    (tmp_path / "job-3.yaml").unlink()
    assert book.page("altogether").found == 0 and "ltogether" not in index.read_text()


@pytest.mark.parametrize(
    "bad",
    [
        b"",
        b"{",
        b'{"howdeep_book": 99, "jobs": []}',
        b'{"howdeep_book": 2, "jobs": [[1, 2]]}',
        b'{"howdeep_book": 2, "jobs": [[[1,2,3], {"name": "x"}]]}',
        b"\xff\xfe",
    ],
)
def test_a_damaged_index_is_only_made_anew(tmp_path, bad):
    put(tmp_path, "one")
    (tmp_path / INDEX).write_bytes(bad)
    assert [job.name for job in JobBook(tmp_path).page().jobs] == ["one"]


def test_an_index_that_is_a_link_is_not_followed(tmp_path):
    other = tmp_path / "elsewhere.json"
    other.write_text(json.dumps({"howdeep_book": 2, "jobs": []}))
    folder = tmp_path / "jobs"
    folder.mkdir()
    put(folder, "one")
    (folder / INDEX).symlink_to(other)
    assert JobBook(folder).page().found == 1
    assert json.loads(other.read_text())["jobs"] == []


def test_the_list_shows_where_a_job_stands_and_leads_on(folder, page):
    for number in range(PAGE):
        put(folder, f"job-{number}")
    html = text(page.get("/"))
    assert "tested" in text(page.get("/?search=hill+farm")) and f"1 to {PAGE} of {PAGE + 1}" in html
    second = text(page.get("/?page=2"))
    assert f"{PAGE + 1} to {PAGE + 1} of {PAGE + 1}" in second and "Older" not in second
    assert page.get("/?page=x").status_code == 200 and page.get("/?page=%C2%B2").status_code == 200


def test_the_list_names_engines_as_a_person_does_and_says_which_must_not_be_run(tmp_path, shop):
    danger = ROOT / "cases" / "a_thudding_engine_with_a_dead_needle_is_carried_in.yaml"
    shutil.copy(danger, tmp_path / "thud.yaml")
    put(
        tmp_path,
        "kind",
        "A kind",
        engine="{kind: farm-diesel-four, year: 1958, ignition: unknown, cold_aid: intake_heater}",
    )
    put(tmp_path, "words", "Only words", engine="{fuel: petrol, cylinders: 4, layout: side_valve, year: unknown}")
    page = Page(create_app(tmp_path, shop))
    listed = text(page.get("/"))
    assert "1958" in listed and "intake_heater" not in listed and "farm-diesel-four" not in listed
    assert "unknown" not in listed and "petrol, side valve, 4 cylinders" in listed
    sheet = shop.open_job(danger).engine.name
    assert sheet in listed and "Do not run it" not in listed, "nothing was reasoned about yet"
    shown = text(page.get("/job/thud"))
    assert re.search(r'<h2 class="said danger">Do not run it</h2>', shown)
    assert text(page.get("/")).count("Do not run it") == 1
    again = JobBook(tmp_path)
    (tmp_path / "thud.yaml").write_text((tmp_path / "thud.yaml").read_text() + "\n")
    assert not any(job.danger for job in again.page().jobs), "what changed since is not known"
