"""Prices typed on the page: the fifteen first, each figure marked as own, example or old, and no other file touched."""

import re
import shutil
from decimal import Decimal

import pytest

from howdeep.clock import date_today
from howdeep.pricing.asked import groups
from howdeep.pricing.read import example_prices, load_prices
from howdeep.pricing.write import Figure, put_figures
from howdeep.web.app import create_app

from .pages import HOST, Page, browser, hidden, serious, served, shown, strange_script, text
from .places import ROOT

FIRST = {
    "labour_rate": "82,50",
    "supplies_percent": "5 %",
    "comeback_charge": "$300",
    "towing": "0",
    "machine.grind_valve": "9.-",
    "machine.polish_crank": "71",
}


def begin(page, **fields):
    done = page.post("/prices", "/prices", {"list.name": "Hill Farm", "list.currency": "usd", **fields})
    assert done.status_code == 303, text(done)[-800:]


def mine(folder, shop):
    return load_prices(folder / "prices.yaml", shop.knowledge)


def row(html, place):
    """What stands on the page for one figure."""
    block = html.split(f'id="{place}"')[1].split('class="price"')[0]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", block))


def test_a_list_is_begun_filled_in_and_used_by_the_next_quote_without_a_restart(page, folder, shop):
    job = folder / "hill-farm.yaml"  # a tractor that is worth the work at the prices below
    job.write_text(job.read_text(encoding="utf-8").replace('"3400.00"', '"6400.00"'), encoding="utf-8")
    assert "no price list of your own yet" in text(page.get("/prices"))
    assert "invented" in text(page.get("/job/hill-farm/quote"))
    begin(page)
    assert all(
        mine(folder, shop).mark(figure.of).example for figure in groups(shop.knowledge)[0].ask if figure.of != "towing"
    )
    html = text(page.get("/prices"))
    assert (
        html.count('<details id="group-') == len(groups(shop.knowledge)) and "What matters most: 0 of 15 yours" in html
    )
    assert "Example, not yours: USD 74.00." in row(html, "labour_rate") and "No price." in row(html, "towing")
    assert page.post("/prices/0", "/prices", FIRST).status_code == 303
    made = mine(folder, shop)
    assert (made.labour_rate, made.supplies_percent, made.comeback_charge, made.towing) == (
        "82.50",
        "5",
        "300.00",
        "0.00",
    )
    assert made.machine["grind_valve"] == "9.00" and not made.mark("machine.polish_crank").example
    html = text(page.get("/prices"))
    assert f"Yours, of {date_today()}." in row(html, "labour_rate") and 'value="82.50"' in html
    assert "What matters most: 6 of 15 yours" in html
    assert "82.50" in text(page.get("/job/hill-farm/quote"))


def test_the_example_is_made_yours_or_taken_out_without_typing(page, folder, shop):
    begin(page)
    example = mine(folder, shop)
    fields = {
        "machine.grind_valve": "",
        "do.machine.grind_valve": "=",
        "machine.polish_crank": "",
        "do.machine.polish_crank": "none",
        "labour_rate": "",
        "do.labour_rate": "none",
    }
    html = text(page.post("/prices/0", "/prices", fields))
    made = mine(folder, shop)
    assert made.machine["grind_valve"] == example.machine["grind_valve"]
    assert not made.mark("machine.grind_valve").example
    assert "polish_crank" not in made.machine
    assert "without it no work has a price" in row(html, "labour_rate").lower() and made.labour_rate == "74.00"


def test_a_figure_of_yours_that_is_emptied_is_taken_out_and_one_left_as_it_is_keeps_its_date(page, folder, shop):
    begin(page)
    put_figures(
        folder / "prices.yaml",
        shop.knowledge,
        {
            "machine.grind_valve": Figure("9.00", "2019-05-01"),
            "machine.polish_crank": Figure("70.00", "2026-05-01"),
            "machine.hot_tank_head": Figure("50.00", "2019-05-01"),
        },
    )
    html = text(page.get("/prices"))
    assert "Yours, of 2019-05-01: old." in row(html, "machine.grind_valve") and "2 of them old" in html
    assert "still holds today" in row(html, "machine.grind_valve")
    fields = {
        "machine.grind_valve": "9.00",
        "do.machine.grind_valve": "=",
        "machine.polish_crank": "",
        "machine.hot_tank_head": "50.00",
        "do.machine.hot_tank_head": "",
    }
    assert page.post("/prices/0", "/prices", fields).status_code == 303
    made = mine(folder, shop)
    assert (
        made.mark("machine.grind_valve").date == date_today()
        and made.mark("machine.hot_tank_head").date == "2019-05-01"
    )
    assert "polish_crank" not in made.machine


@pytest.mark.parametrize(
    ("fields", "percent", "on"),
    [
        ({"tax_percent": "7", "tax_on.parts": "1", "tax_on.supplies": "1"}, "7", ("parts", "supplies")),
        ({"tax_percent": "8,25 %", "tax_on.labour": "1"}, "8.25", ("labour",)),
        ({"tax_percent": "5 on parts and machine"}, "5", ("parts", "machine")),
        ({"tax_percent": "", "do.tax_percent": "=", "tax_on.machine": "1"}, "7", ("machine",)),
        ({"tax_percent": "0"}, "0", ("labour", "parts", "machine", "supplies")),
    ],
)
def test_the_tax_says_what_it_is_on(page, folder, shop, fields, percent, on):
    begin(page)
    assert page.post("/prices/0", "/prices", fields).status_code == 303
    made = mine(folder, shop)
    assert (made.tax_percent, made.tax_on, made.mark("tax_percent").example) == (percent, on, False)


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("labour_rate", "-5", "is negative"),
        ("labour_rate", "=1+1", "is a formula"),
        ("labour_rate", "0", "is 0"),
        ("labour_rate", "1,234", "may be 1234"),
        ("labour_rate", "EUR 50", "not in USD"),
        ("machine.grind_valve", "cheap", "is not a price"),
        ("tax_percent", "many", "is not a percentage"),
        ("supplies_percent", "150", "more than 100"),
    ],
)
def test_what_cannot_be_a_price_comes_back_as_typed_with_the_reason(page, folder, field, typed, said):
    begin(page)
    before = (folder / "prices.yaml").read_bytes()
    done = page.post(
        "/prices/0", "/prices", {field: typed, "tax_on.parts": "1"} if field == "tax_percent" else {field: typed}
    )
    html = text(done)
    assert done.status_code == 422 and said in html and f'value="{typed}"' in html
    assert (folder / "prices.yaml").read_bytes() == before


def test_two_people_at_one_list_keep_both_what_they_saved(page, folder, shop):
    begin(page)
    old = shown(text(page.get("/prices")))
    assert page.post("/prices/0", "/prices", {"labour_rate": "80", "machine.grind_valve": "9"}).status_code == 303
    done = page.post("/prices/0", "/prices", {**old, "labour_rate": "90", "machine.polish_crank": "70"})
    assert done.status_code == 422 and "Somebody else saved &#39;80.00&#39;" in text(done)
    made = mine(folder, shop)
    assert (made.labour_rate, made.machine["polish_crank"], made.machine["grind_valve"]) == ("80.00", "70.00", "9.00")
    assert page.post("/prices/0", "/prices", {"labour_rate": "90"}).status_code == 303
    assert mine(folder, shop).labour_rate == "90.00"


def test_comments_and_order_of_a_list_stay_and_a_form_sent_as_it_was_shown_changes_nothing(folder, shop):
    shutil.copy(example_prices(), folder / "prices.yaml")
    with (folder / "prices.yaml").open("a") as file:
        file.write("\n# on the wall\n")
    page = Page(create_app(folder, shop))
    before = (folder / "prices.yaml").read_bytes()
    html = text(page.get("/prices"))
    for number, group in enumerate(groups(shop.knowledge)):
        form = {figure.of: hidden(html, f"was.{figure.of}") for figure in group.ask}
        ticks = dict.fromkeys((f"tax_on.{kind}" for kind in hidden(html, "was.tax_on").split()), "1")
        assert page.post(f"/prices/{number}", "/prices", {**form, **ticks}).status_code == 303
    assert (folder / "prices.yaml").read_bytes() == before
    page.post("/prices/0", "/prices", {"machine.polish_crank": "77"})
    assert b"# on the wall" in (folder / "prices.yaml").read_bytes()


def lacking(html):
    return re.findall(r'name="place" value="([^"]*)"', html)


def test_a_quote_lists_what_it_lacks_and_takes_it_there_and_then(page, folder, shop):
    quote = text(page.get("/job/hill-farm/quote"))
    assert re.search(r'prices of this quote are missing or examples.*href="/job/hill-farm/prices"', quote, re.DOTALL)
    form = text(page.get("/job/hill-farm/prices"))
    places = lacking(form)
    assert len(places) > 10 and "it is begun with what you type here" in form
    typed = {place: "7" if place.endswith("_percent") else "11.50" for place in places}
    engine = {f"here.{place}": "1" for place in places[:3] if place.startswith("parts.")}
    done = page.post(
        "/job/hill-farm/prices",
        "/job/hill-farm/prices",
        {
            "place": places,
            **typed,
            **engine,
            "tax_on.parts": "1",
            "list.currency": "cad",
            **{f"sure.{place}": "1" for place in places},
        },
    )
    assert done.status_code == 303 and done.headers["Location"] == "/job/hill-farm/quote"
    made = mine(folder, shop)
    assert made.currency == "CAD" and made.tax_on == ("parts",)
    own = {place.removeprefix("here.parts.") for place in engine}
    assert own and made.engine_parts == {"brockwell-4": dict.fromkeys(sorted(own), "11.50")}
    quote = text(page.get("/job/hill-farm/quote"))
    assert "of this quote are missing" not in quote and "[example price]" not in quote
    assert "Every price of this quote is there" in text(page.get("/job/hill-farm/prices"))


def test_of_what_is_typed_for_a_quote_the_sound_is_saved_and_the_rest_comes_back(page, folder, shop):
    begin(page)
    places = [place for place in lacking(text(page.get("/job/hill-farm/prices"))) if place.startswith("parts.")]
    typed = {places[0]: "48.50", f"sure.{places[0]}": "1", places[1]: "dear"}
    done = page.post("/job/hill-farm/prices", "/job/hill-farm/prices", {"place": places[:2], **typed})
    html = text(done)
    assert done.status_code == 422 and 'value="dear"' in html and places[0] not in lacking(html)
    assert mine(folder, shop).parts[places[0].removeprefix("parts.")] == "48.50"


@pytest.mark.parametrize(
    "place",
    ["shop.name", "currency", "marks.x", "parts.no_such_part", "engine_parts.x.piston", "labour_rate.x", "example", ""],
)
def test_a_form_names_only_figures_that_are_asked_for(page, folder, place):
    begin(page)
    before = (folder / "prices.yaml").read_bytes()
    done = page.post("/job/hill-farm/prices", "/job/hill-farm/prices", {"place": [place], place: "7"})
    assert done.status_code == 303 and (folder / "prices.yaml").read_bytes() == before


def test_no_other_file_is_touched_and_the_list_is_no_job(page, folder):
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    begin(page)
    page.post("/prices/0", "/prices", FIRST)
    assert {path: path.read_bytes() for path in before} == before
    assert {path.name for path in folder.iterdir()} - {path.name for path in before} == {"prices.yaml"}
    for path in ("/job/prices", "/job/prices/delete", "/job/prices/close"):
        assert page.post(path, "/new", {}).status_code in (404, 405, 422)
    assert (folder / "prices.yaml").exists() and 'href="/job/prices"' not in text(page.get("/"))


def test_a_list_that_is_a_link_is_not_written_and_one_that_is_there_is_not_begun_again(folder, shop, tmp_path):
    outside = tmp_path / "ours.yaml"
    shutil.copy(ROOT / "rules" / "prices" / "example-shop.yaml", outside)
    (folder / "prices.yaml").symlink_to(outside)
    page = Page(create_app(folder, shop))
    before = outside.read_bytes()
    for path, fields in (("/prices/0", FIRST), ("/prices", {"list.name": "Mine"})):
        done = page.post(path, "/prices", fields)
        assert done.status_code == 422 and outside.read_bytes() == before
    assert (folder / "prices.yaml").is_symlink()


def test_the_shipped_example_is_never_written(folder, shop, monkeypatch):
    monkeypatch.setenv("HOWDEEP_PRICES", str(example_prices()))
    before = example_prices().read_bytes()
    page = Page(create_app(folder, shop))
    begin(page)
    page.post("/prices/0", "/prices", FIRST)
    assert example_prices().read_bytes() == before


def test_a_list_broken_by_hand_is_told_with_its_line_and_nothing_is_advised_from_it(page, folder):
    begin(page)
    whole = (folder / "prices.yaml").read_text()
    (folder / "prices.yaml").write_text(whole.replace("labour_rate: ", "labour_rate: -5 #"))
    for path in ("/job/hill-farm", "/prices", "/job/hill-farm/quote", "/new"):
        done = page.get(path)
        assert done.status_code == 422 and "prices.yaml:10" in text(done), path
    (folder / "prices.yaml").write_text(whole)
    assert page.get("/job/hill-farm").status_code == 200


@pytest.mark.parametrize(
    ("path", "at", "fields"),
    [
        ("/prices/0", "/prices", {"labour_rate": "82.50"}),
        ("/prices", "/prices", {"list.name": "Hill Farm"}),
        (
            "/job/hill-farm/prices",
            "/job/hill-farm/prices",
            {"place": "parts.head_gasket", "parts.head_gasket": "48.50"},
        ),
    ],
)
@pytest.mark.parametrize("token", ["", "0" * 64])
def test_no_form_is_taken_without_its_token_and_what_was_typed_comes_back(page, folder, path, at, fields, token):
    if path != "/prices":
        begin(page)
    before = {path: path.read_bytes() for path in folder.iterdir()}
    done = page.post(path, at, fields, form_token=token)
    html = text(done)
    assert done.status_code == 403 and "expired" in html and f'value="{list(fields.values())[-1]}"' in html
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize("path", ["/prices", "/prices/0", "/shop", "/job/hill-farm/prices"])
def test_behind_the_page_s_token_a_typed_form_is_carried_along(folder, shop, path):
    locked = Page(create_app(folder, shop, token="open sesame"))
    response = locked.client.post(path, data={"labour_rate": "82.50"}, headers=HOST)
    assert response.status_code == 403 and 'name="kept.labour_rate" value="82.50"' in text(response)


def test_markup_in_a_name_is_shown_as_text_and_no_form_needs_script(page):
    begin(page, **{"list.name": "<script>alert(1)</script>"})
    for path in ("/prices", "/job/hill-farm/prices", "/job/hill-farm/quote"):
        assert not strange_script(text(page.get(path)))


def test_in_a_browser_on_a_phone_prices_are_typed_and_the_quote_changes(folder, shop, tmp_path):
    from selenium.webdriver.common.by import By

    from .test_web_browser import press

    with served(create_app(folder, shop)) as base, browser(360, 740) as window:

        def fits(path):
            window.get(base + path)
            window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
            assert serious(window) == [], path
            wide = window.execute_script("return document.documentElement.scrollWidth - window.innerWidth")
            assert wide <= 1, (path, "scrolls sideways")
            small = [
                item.get_attribute("id")
                for item in window.find_elements(By.CSS_SELECTOR, "main button, main a")
                if item.is_displayed() and item.tag_name == "button" and item.size["height"] < 44
            ]
            assert not small, (path, small)

        fits("/prices")
        window.find_element(By.ID, "list.name").send_keys("Hill Farm")
        press(window, window.find_element(By.CSS_SELECTOR, "main form button"))
        fits("/prices")
        assert window.find_element(By.ID, "labour_rate").get_attribute("inputmode") == "decimal"
        window.find_element(By.ID, "labour_rate").send_keys("82,50")
        press(window, window.find_element(By.CSS_SELECTOR, "main form button"))
        assert Decimal(mine(folder, shop).labour_rate) == Decimal("82.50")
        fits("/job/hill-farm/prices")
        window.get(f"{base}/job/hill-farm/quote")
        link = window.find_element(By.PARTIAL_LINK_TEXT, "Type these")
        many = int(link.text.split()[2])
        press(window, link)
        fields = window.find_elements(By.CSS_SELECTOR, ".price input[inputmode=decimal]")
        assert len(fields) == many
        fields[0].send_keys("12.50")
        press(window, window.find_element(By.CSS_SELECTOR, "main form .buttons button"))
        assert window.current_url.endswith("/job/hill-farm/quote")
        assert window.find_element(By.PARTIAL_LINK_TEXT, "Type these").text == f"Type these {many - 1} now"
        fits("/job/hill-farm/quote")
