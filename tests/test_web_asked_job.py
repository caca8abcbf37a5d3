"""Papers on the page of another job than the answer's: as the commands with --scope, --only, --compare, --two-step."""

import re
from html import unescape

import pytest

from howdeep.files.strict_yaml import read
from howdeep.quote.build import build_quote
from howdeep.quote.orders import order_of
from howdeep.quote.promise import quote_from_plain, stored
from howdeep.web.app import create_app

from .pages import Page, text
from .test_quote import copy_of_case

HERE = "/job/job"


@pytest.fixture(scope="module")
def stands(tmp_path_factory, shop):
    """(page, job file, answer) of a job with all waived that stands before its promise."""
    folder = tmp_path_factory.mktemp("asked")
    path = copy_of_case(folder)
    return Page(create_app(folder, shop)), path, shop.assess(shop.open_job(path), flips=False)


def said(page, address):
    answer = page.get(f"{HERE}/{address}")
    assert answer.status_code == 200, address
    return unescape(re.sub(r"\s+", " ", re.sub(r"<style.*?</style>|<[^>]+>", " ", text(answer), flags=re.DOTALL)))


def test_the_form_offers_every_job_of_the_answer_and_only_those_are_taken(stands):
    page, _, answer = stands
    html = text(page.get(f"{HERE}/papers"))
    offered = re.findall(r'<option value="([^"]*)"', html.split('id="job"')[1].split("</select>")[0])
    assert offered[0] == "" and set(offered[1:]) == {line.job for line in answer.decision.jobs}
    for paper in ("quote", "letter", "order", "sheet/assembly", "promises"):
        assert f'{HERE}/{paper}"' in html
        assert page.get(f"{HERE}/{paper}?job=no_such_job").status_code == 404
    assert page.get(f"{HERE}/quote?compare=no_such_depth").status_code == 404


def test_the_estimate_is_of_the_job_asked_for_with_what_was_asked_for_behind_it(stands, shop):
    page, _, answer = stands
    here, other = (
        build_quote(shop.knowledge, answer, shop.prices, "refresh:only"),
        build_quote(shop.knowledge, answer, shop.prices, "rebuild"),
    )
    told = said(page, "quote?job=refresh:only&compare=rebuild")
    assert f"{here.total:,.2f}" in told and f"{other.total:,.2f}" in told and "Beside full rebuild" in told
    plain = said(page, "quote?job=refresh:only")
    assert f"{here.total:,.2f}" in plain and "Beside full rebuild" not in plain
    annex, shops = said(page, "quote?annex=yes"), said(page, "quote?shop_copy=yes")
    assert len(plain) < len(annex) < len(shops)
    assert other.two_steps is None, "the offer is not made by itself"
    assert "In two steps, if you prefer" in said(page, "quote?job=rebuild&annex=yes&two_step=yes")
    assert "In two steps, if you prefer" not in said(page, "quote?job=rebuild&annex=yes")


def test_letter_order_and_sheets_go_with_the_job_asked_for(stands, shop):
    page, _, answer = stands
    assert "Top end In plain words." in said(page, "letter?job=top_end")
    here = {line.title for line in order_of(shop.knowledge, answer, shop.prices, "rebuild").lines}
    more = here - {line.title for line in order_of(shop.knowledge, answer, shop.prices).lines}
    told, table = said(page, "order?job=rebuild"), text(page.get(f"{HERE}/order.csv?job=rebuild"))
    assert more and all(title in told and title in table for title in more)
    assert said(page, "sheet/assembly?job=top_end") != said(page, "sheet/assembly")


def test_a_promise_of_another_job_is_kept_as_such_and_its_letter_and_order_speak_of_it(stands, shop):
    page, path, _ = stands
    form = f"{HERE}/promises?job=rebuild&two_step=yes"
    assert "of another job than the answer's" in said(page, "promises?job=rebuild&two_step=yes")
    done = page.post(f"{HERE}/promises", form, {"promise": "deep", "job": "rebuild", "two_step": "yes"})
    assert done.status_code == 303
    kept = quote_from_plain(stored(shop.open_job(path), "deep")["quote"], "x")
    assert kept.job == "rebuild" and kept.two_steps is not None and list(read(path).value["promises"]) == ["deep"]
    assert "Full rebuild In plain words." in said(page, "letter?promise=deep")
    assert said(page, "order?promise=deep") == said(page, "order?job=rebuild")
    assert page.get(f"{HERE}/letter?promise=no").status_code == 422
