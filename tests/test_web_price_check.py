"""The whole price list checked on the page: the same findings as the command's, each put right, chosen or ticked."""

import re

import pytest

from howdeep.clock import date_today
from howdeep.files.strict_yaml import read
from howdeep.pricing.check import check_prices
from howdeep.pricing.read import load_prices
from howdeep.web.app import create_app

from .pages import Page, folder_with_case, text
from .test_web_prices import begin, row


@pytest.fixture
def folder(tmp_path):
    return folder_with_case(tmp_path)


@pytest.fixture
def page(folder, shop):
    page = Page(create_app(folder, shop))
    begin(page)
    return page


def with_slips(path):
    """A list with a piston ten times too dear and a quote that holds for eight years."""
    plain = path.read_text(encoding="utf-8")
    plain = re.sub(r"^  piston: .*$", '  piston: "880"', plain, flags=re.MULTILINE)
    path.write_text(re.sub(r"^valid_days: .*$", "valid_days: 3000", plain, flags=re.MULTILINE), encoding="utf-8")


def said(path):
    return read(path).value.get("sure") or {}


def test_the_page_shows_what_the_command_finds_and_what_was_perhaps_meant(page, folder, shop):
    assert "sound" in text(page.get("/prices/check"))
    path = folder / "prices.yaml"
    with_slips(path)
    found = check_prices(path, shop.knowledge, date_today())
    assert len(found.questions) == 2
    html = text(page.get("/prices/check"))
    assert "Can hardly be: 2" in html and "Check the whole list (2 can hardly be)" in text(page.get("/prices"))
    assert "22 to 352 would be usual; the example has 88.00" in row(html, "parts.piston")
    assert "88 was meant" in row(html, "parts.piston") and "3000: the days that a quote holds" in html
    assert "here 22 to 352" in found.questions[1].message, "the command says the same at length"
    assert f"Still examples: {found.examples} of {found.figures}" in html


def test_a_slip_is_chosen_a_right_figure_is_ticked_and_the_list_says_why(page, folder, shop):
    path = folder / "prices.yaml"
    with_slips(path)
    done = page.post(
        "/prices/check",
        "/prices/check",
        {
            "place": ["parts.piston", "valid_days"],
            "parts.piston": "880",
            "slip.parts.piston": "88",
            "sure.valid_days": "1",
        },
    )
    assert done.status_code == 303 and load_prices(path, shop.knowledge).parts["piston"] == "88.00"
    assert list(said(path)) == ["valid_days"] and date_today() in said(path)["valid_days"]
    assert check_prices(path, shop.knowledge, date_today()).questions == ()


def test_a_figure_is_asked_about_as_it_is_typed_and_is_asked_about_again_when_it_is_changed(page, folder, shop):
    path = folder / "prices.yaml"
    html = text(back := page.post("/prices/0", "/prices", {"labour_rate": "6.25", "machine.grind_valve": "9"}))
    assert back.status_code == 422 and "Can hardly be" in row(html, "labour_rate")
    assert "62.50 was meant" in row(html, "labour_rate") and 'value="0.62"' not in html
    kept = load_prices(path, shop.knowledge)
    assert kept.machine["grind_valve"] == "9.00" and kept.mark("labour_rate").example, "the sound one alone is saved"
    ticked = {"labour_rate": "6.25", "sure.labour_rate": "1", "why.labour_rate": "a trainee's hour"}
    assert page.post("/prices/0", "/prices", ticked).status_code == 303
    assert said(path) == {"labour_rate": "a trainee's hour"}
    assert load_prices(path, shop.knowledge).questions == ()
    assert page.post("/prices/0", "/prices", {"labour_rate": "62.50"}).status_code == 303
    assert said(path) == {}, "what was said of the old figure does not hold for the new one"


def test_what_cannot_be_is_no_question_of_a_tick(page, folder):
    back = page.post("/prices/0", "/prices", {"supplies_percent": "150", "sure.supplies_percent": "1"})
    assert back.status_code == 422 and "more than 100" in text(back) and said(folder / "prices.yaml") == {}


def test_a_list_that_cannot_be_used_is_checked_all_the_same(page, folder):
    path = folder / "prices.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("labour_rate:", "labor_rate:"), encoding="utf-8")
    assert page.get("/prices").status_code == 422
    told = page.get("/prices/check")
    assert told.status_code == 200 and "did you mean labour_rate" in text(told)
    path.write_text("[", encoding="utf-8")
    assert page.get("/prices/check").status_code == 200
    sent = page.client.post("/prices/check", data={}, headers={"Host": "localhost"})
    assert sent.status_code == 403


def test_only_figures_that_are_questioned_are_saved_from_the_check(page, folder):
    before = (folder / "prices.yaml").read_bytes()
    done = page.post(
        "/prices/check",
        "/prices",
        {"place": ["parts.piston", "valid_days"], "parts.piston": "7", "valid_days": "9", "sure.parts.piston": "1"},
    )
    assert done.status_code == 303 and (folder / "prices.yaml").read_bytes() == before
