"""The shop's settings on the page: said once in a form, used by the next page, and no other file touched."""

import re
from html import unescape

import pytest

from howdeep.assessment.session import open_shop
from howdeep.shop.read import load_shop
from howdeep.web.app import create_app

from .pages import HOST, Page, browser, hidden, serious, served, shown, text

LETTER = {"name": "Hill Farm Engines", "address": "1 Lane\r\nTown", "phone": "000-7", "email": "a@b.c"}


def form_of(html):
    """The fields of the form as a browser would send it untouched."""
    fields = {name: unescape(value) for name, value in re.findall(r'<input id="([a-z_]+)"[^>]*value="([^"]*)"', html)}
    ticked = re.findall(r'name="(tools\.[a-z_]+)" value="1" checked', html)
    units = re.search(r'name="units" value="([^"]*)" checked', html)[1]
    address = unescape(re.search(r"<textarea[^>]*>(.*?)</textarea>", html, re.DOTALL)[1])
    return {
        **fields,
        **dict.fromkeys(ticked, "1"),
        "units": units,
        "address": address.replace("\n", "\r\n"),
        "altitude.unit": "ft",
    }


def send(page, without=(), **changed):
    fields = {**form_of(text(page.get("/shop"))), **{key.replace("__", "."): value for key, value in changed.items()}}
    return page.post("/shop", "/shop", {key: value for key, value in fields.items() if key not in without})


def said(folder, shop):
    return load_shop(folder / "shop.yaml", shop.knowledge)


def test_everything_is_said_in_one_form_and_used_by_the_next_page(page, folder, shop):
    assert "leakage" in text(page.get("/job/hill-farm")).lower()
    done = send(
        page,
        without=["tools.leakage_tester"],
        **LETTER,
        signs="A. Smith",
        altitude="1200",
        units="metric",
        promise_floor="75 %",
        firm_floor="0,95",
    )
    assert done.status_code == 303, text(done)
    made = said(folder, shop)
    assert (made.letterhead.name, made.letterhead.address, made.signs) == (
        "Hill Farm Engines",
        "1 Lane\nTown",
        "A. Smith",
    )
    assert (made.altitude, made.units, made.promise_floor, made.firm_floor) == ("1200 ft", "metric", 0.75, 0.95)
    assert made.tools == {"leakage_tester": "no"}
    quote = text(page.get("/job/hill-farm/quote"))
    assert "Hill Farm Engines" in quote and "For the shop: A. Smith" in quote and " bar (" in quote
    assert 'value="1200 ft"' in text(page.get("/new"))
    html = text(page.get("/shop"))
    assert not re.search(r'name="tools\.leakage_tester" value="1" checked', html) and 'value="0.75"' in html
    assert page.get("/job/hill-farm/ask?question=compression_dry").get_data(as_text=True).index(">bar<") > 0


def test_a_tool_that_is_not_owned_takes_its_check_from_the_page_and_comes_back(page, folder, shop):
    assert "Not asked" in text(page.get("/job/hill-farm"))
    assert send(page, without=["tools.leakage_tester"]).status_code == 303
    without = text(page.get("/job/hill-farm"))
    assert "question=leakage" not in without and "Cylinder leakage" not in without.split("Not asked, so evidence")[1]
    assert send(page, tools__leakage_tester="1").status_code == 303
    assert said(folder, shop).tools == {"leakage_tester": "yes"}


def test_a_form_sent_as_it_was_shown_changes_nothing_and_begins_no_file(page, folder):
    assert send(page).status_code == 303 and not (folder / "shop.yaml").exists()
    (folder / "shop.yaml").write_text(
        "howdeep_shop: 1\n# on the door\nletterhead:\n  name: Hill Farm\n  address: |\n"
        "    1 Lane\n    Town\nunits: metric\ntools: {vacuum_gauge: no}\n"
        "promise_floor: 0.8\n"
    )
    before = (folder / "shop.yaml").read_bytes()
    assert send(page).status_code == 303 and (folder / "shop.yaml").read_bytes() == before
    assert send(page, signs="A. Smith").status_code == 303
    assert b"# on the door" in (folder / "shop.yaml").read_bytes()


def test_what_is_emptied_is_no_longer_said(page, folder, shop):
    send(page, **LETTER, signs="A. Smith", altitude="300 m", promise_floor="0.8")
    assert send(page, signs="", altitude="", promise_floor="", phone="").status_code == 303
    made = said(folder, shop)
    assert (made.signs, made.altitude, made.promise_floor, made.letterhead.phone) == ("", "", None, "")
    assert made.letterhead.name == "Hill Farm Engines"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"altitude": "high up"}, "high up"),
        ({"altitude": "90000 ft"}, "no altitude at which a shop stands"),
        ({"promise_floor": "often"}, "is not a chance"),
        ({"promise_floor": "often", "firm_floor": "170 %"}, "170"),
        ({"units": "cubits"}, "are no units"),
        ({"phone": "000-7"}, "lacks the name of the shop"),
    ],
)
def test_what_cannot_be_comes_back_as_typed_with_the_reason(page, folder, fields, words):
    done = send(page, **fields, signs="A. Smith")
    html = text(done)
    assert done.status_code == 422 and words in html and 'value="A. Smith"' in html, html
    assert not (folder / "shop.yaml").exists()


def test_two_people_at_one_form_overwrite_nothing_unseen(page, folder, shop):
    old = shown(text(page.get("/shop")))
    send(page, **LETTER, signs="A. Smith")
    late = {
        **form_of(text(page.get("/shop"))),
        **old,
        "name": "",
        "address": "",
        "phone": "",
        "email": "",
        "signs": "Ben",
        "altitude": "900 ft",
    }
    done = page.post("/shop", "/shop", late)
    html = text(done)
    assert done.status_code == 409 and "Saved by somebody else: <strong>A. Smith</strong>" in html
    assert 'value="Ben"' in html and said(folder, shop).altitude == ""
    again = {**form_of(html), "signs": "Ben", "altitude": "900 ft", **LETTER}
    assert page.post("/shop", "/shop", again).status_code == 303
    made = said(folder, shop)
    assert made.signs == "Ben" and made.altitude == "900 ft" and made.letterhead.name == "Hill Farm Engines"


def test_no_other_file_is_touched_and_a_link_is_not_followed(page, folder, tmp_path):
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    send(page, signs="A. Smith")
    assert {path: path.read_bytes() for path in before} == before
    assert {path.name for path in folder.iterdir()} - {path.name for path in before} == {"shop.yaml"}
    outside = tmp_path / "other.yaml"
    (folder / "shop.yaml").rename(outside)
    (folder / "shop.yaml").symlink_to(outside)
    kept = outside.read_bytes()
    done = send(page, signs="Ben")
    assert done.status_code == 422 and "is a link" in text(done) and outside.read_bytes() == kept


@pytest.mark.parametrize("token", ["", "0" * 64])
def test_the_form_is_not_taken_without_its_token_and_what_was_typed_comes_back(page, folder, token):
    done = page.post("/shop", "/shop", {"signs": "A. Smith"}, form_token=token)
    assert done.status_code == 403 and "expired" in text(done) and 'value="A. Smith"' in text(done)
    assert not (folder / "shop.yaml").exists()


def test_a_request_that_holds_no_field_of_a_tool_says_nothing_of_tools(page, folder, shop):
    token = hidden(text(page.get("/shop")), "form_token")
    done = page.client.post("/shop", data={"form_token": token, "signs": "A. Smith"}, headers=HOST)
    assert done.status_code == 303 and said(folder, shop).tools == {}


def test_settings_broken_by_hand_are_told_with_their_line(page, folder):
    (folder / "shop.yaml").write_text("howdeep_shop: 1\nunits: cubits\n")
    done = page.get("/job/hill-farm")
    assert done.status_code == 422 and "shop.yaml:2" in text(done)


@pytest.mark.parametrize(("width", "height"), [(360, 740), (1280, 900)], ids=["phone", "desktop"])
def test_in_a_browser_the_form_fits_is_labelled_and_saves(folder, shop, tmp_path, width, height):
    from selenium.webdriver.common.by import By

    from .test_web_browser import press

    with served(create_app(folder, shop)) as base, browser(width, height) as window:
        window.get(f"{base}/shop")
        assert serious(window) == [] and len(window.find_elements(By.TAG_NAME, "script")) == 1
        wide = window.execute_script("return document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 1, "scrolls sideways"
        window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
        window.find_element(By.ID, "name").send_keys("Hill Farm Engines")
        window.find_element(By.ID, "altitude").send_keys("1200")
        for selector in ("input[name=units][value=metric]", "input[name='tools.leakage_tester']"):
            item = window.find_element(By.CSS_SELECTOR, selector)
            window.execute_script("arguments[0].scrollIntoView({block: 'center'})", item)
            item.click()
        press(window, window.find_element(By.CSS_SELECTOR, "main form > p > button"))
        made = said(folder, shop)
        assert (made.letterhead.name, made.altitude, made.units) == ("Hill Farm Engines", "1200 ft", "metric")
        assert made.tools == {"leakage_tester": "no"}
        assert window.find_element(By.ID, "name").get_attribute("value") == "Hill Farm Engines"


def test_the_page_still_reads_a_shop_file_named_elsewhere(folder, shop, tmp_path, monkeypatch):
    elsewhere = tmp_path / "mine.yaml"
    elsewhere.write_text("howdeep_shop: 1\nsigns: A. Smith\n")
    monkeypatch.setenv("HOWDEEP_SHOP", str(elsewhere))
    page = Page(create_app(folder, open_shop(job=folder / "any.yaml")))
    assert send(page, signs="Ben").status_code == 303
    assert load_shop(elsewhere, shop.knowledge).signs == "Ben" and not (folder / "shop.yaml").exists()
