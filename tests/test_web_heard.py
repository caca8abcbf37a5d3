"""The first card of a talk on the page: what the customer's own words say, ticked or unticked, saved in one go."""

import re
from html import unescape

import pytest
from selenium.webdriver.common.by import By

from howdeep.files.strict_yaml import read
from howdeep.interview.heard import heard_in
from howdeep.job import write
from howdeep.job.journal import read_journal
from howdeep.job.read import read_job
from howdeep.web.app import create_app

from .pages import Page, browser, in_scheme, serious, served, strange_script, text, wider_than_window

ASK, HEARD = "/job/job/ask", "/job/job/heard"
WORDS = "it smokes blue when it pulls"
TICK = re.compile(r'<input type="checkbox" name="(\w+)" value="([^"]*)"( checked)?')


@pytest.fixture
def begun(tmp_path, shop):
    """What makes (page, job file, what is heard) of a customer's words."""

    def begin(words):
        path = tmp_path / "job.yaml"
        write.create(path, write.new_job("tarn-30", customer={"words": words}))
        job = read_job(path, shop.knowledge, shop.folders)
        return Page(create_app(tmp_path, shop)), path, heard_in(shop.knowledge, job, job.values)

    return begin


def values(path, shop):
    return read_job(path, shop.knowledge, shop.folders).values


def ticks(html):
    """(field, value, ticked) of the card."""
    return [(name, unescape(value), bool(on)) for name, value, on in TICK.findall(html)]


def as_ticked(html):
    fields = {}
    for name, value, on in ticks(html):
        if on:
            fields.setdefault(name, []).append(value)
    return fields


def test_all_that_the_words_say_stands_ticked_on_one_card_and_is_saved_in_one_go_as_in_a_terminal(begun, shop):
    page, path, heard = begun(WORDS)
    html = text(page.get(ASK))
    assert heard.signs and WORDS in html and "How it smokes" not in html
    assert ticks(html) == [
        *(("complaint", one, True) for one in heard.complaints),
        *(("sign", f"{question}={answer}", True) for question, answer in heard.signs),
        ("all", "yes", True),
    ]
    for _, answer in heard.signs:
        assert answer in html
    saved = page.post(HEARD, ASK, as_ticked(html))
    assert saved.status_code == 303 and values(path, shop) == heard.confirmed
    assert len([line for line in read_journal(path).lines if line.kind == "change"]) == 1
    html = text(page.get(saved.headers["Location"]))
    assert 'name="question"' in html and not strange_script(html)
    assert 'class="heard"' not in text(page.get(ASK))


def test_what_is_unticked_is_not_saved_and_who_has_more_is_asked_what_else(begun, shop):
    page, path, heard = begun(WORDS)
    saved = page.post(HEARD, ASK, {"complaint": [heard.complaints[0]]})
    assert values(path, shop) == {"complaint": heard.complaints[0]}
    asked = text(page.get(saved.headers["Location"]))
    assert 'name="question" value="complaint_also"' in asked


def test_where_nothing_is_ticked_nothing_is_saved_and_the_complaint_is_asked(begun, shop):
    page, path, _ = begun(WORDS)
    for where in (page.post(HEARD, ASK, {"all": "yes"}).headers["Location"], f"{ASK}?last=complaint"):
        assert 'name="question" value="complaint"' in text(page.get(where))
    assert values(path, shop) == {}


def test_of_more_complaints_than_two_the_main_ones_are_to_be_chosen(begun, shop):
    page, path, heard = begun("It smokes, it knocks and it overheats")
    assert len(heard.complaints) == 3
    first = text(page.get(ASK))
    assert [on for name, _, on in ticks(first) if name == "complaint"] == [True, True, False]
    refused = page.post(HEARD, ASK, {"complaint": list(heard.complaints)})
    assert refused.status_code == 422 and "Two complaints at most" in text(refused)
    assert [on for name, _, on in ticks(text(refused)) if name == "complaint"] == [True] * 3
    assert page.post(HEARD, ASK, {"complaint": [heard.complaints[2], heard.complaints[0]]}).status_code == 303
    told = values(path, shop)
    assert (told["complaint"], told["complaint_also"]) == (heard.complaints[2], heard.complaints[0])


def test_what_somebody_else_answered_meanwhile_is_not_overwritten(begun, shop):
    page, path, heard = begun(WORDS)
    fields = as_ticked(text(page.get(ASK)))
    question, answer = heard.signs[0]
    other = next(one for one in shop.knowledge.observations[question].answers if one != answer)
    write.save(path, read(path).digest, write.with_answer(shop.knowledge, question, other))
    refused = page.post(HEARD, ASK, fields)
    assert refused.status_code == 409 and "nothing was saved" in text(refused)
    assert values(path, shop) == {question: other}


def test_what_is_no_answer_and_an_expired_card_save_nothing(begun, shop):
    page, path, _ = begun(WORDS)
    bent = {"complaint": ["nonsense"], "sign": ["runs", "=", "nobody=yes", "runs=perhaps", "compression_dry=4"]}
    assert page.post(HEARD, ASK, bent).status_code == 303
    expired = page.post(HEARD, ASK, {"complaint": ["smokes"]}, form_token="old")
    assert (
        expired.status_code == 403
        and "expired" in text(expired)
        and ("complaint", "smokes", True) in ticks(text(expired))
    )
    assert values(path, shop) == {}


def test_the_card_is_accessible_in_light_and_dark_and_as_wide_as_a_phone(begun, tmp_path, shop):
    begun(WORDS)
    with served(create_app(tmp_path, shop)) as base, browser(360, 740) as window:
        window.get(base + ASK)
        assert window.find_elements(By.CSS_SELECTOR, ".heard input[type=checkbox]")
        assert wider_than_window(window) == []
        for scheme in ("light", "dark"):
            in_scheme(window, scheme)
            assert serious(window) == [], scheme
