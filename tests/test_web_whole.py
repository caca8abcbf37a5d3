"""The whole of howdeep by hand on the page: every command has its place there, and no way on the page leads nowhere."""

import io
import re
from html import unescape

import pytest
import typer.main

from howdeep.cli.main import app as commands
from howdeep.shop.write import put_settings
from howdeep.web.app import create_app

from .pages import HOST, Page, hidden, text
from .places import ROOT
from .test_quote import copy_of_case, opened_up

DOC = (ROOT / "docs" / "page.md").read_text(encoding="utf-8")
TABLE = {
    line[0]: line[1]
    for line in re.findall(r"^\| `([a-z ]+)` \| (.+) \|$", DOC, re.MULTILINE)
    if line[1].startswith(("`/", "not there"))
}
BEYOND = re.findall(r"`(/[^`]*)`", DOC.split("What the page has beyond the commands")[1].split("\n\n")[0])
CSV = b"Part;Price\nHead gasket;41,50\nPistn rings;88,00\nHead gasket;41,50\nWidget;3,00\nExhaust valve;0\n"


def all_commands(group=None, before=()):
    """'sheet blank' and so on: every command that can be typed."""
    group = group or typer.main.get_command(commands)
    found = []
    for name, command in group.commands.items():
        deeper = getattr(command, "commands", None)
        found += all_commands(command, (*before, name)) if deeper else [" ".join((*before, name))]
    return found


@pytest.fixture(scope="module")
def folder_of(tmp_path_factory):
    return tmp_path_factory.mktemp("whole")


@pytest.fixture(scope="module")
def stands(folder_of, shop):
    """(page, name -> what stands for it in an address) of a job with a promise and a list and a sheet of its own."""
    folder = folder_of
    path = copy_of_case(folder)
    put_settings(folder / "shop.yaml", shop.knowledge, {"next_number": 7})
    page = Page(create_app(folder, shop))
    assert page.post("/prices", "/prices", {"list.name": "Lane End", "list.currency": "USD"}).status_code == 303
    assert page.post("/engines", "/engines", {"name": "Harrow 9"}).status_code == 303
    assert page.post("/job/job/promises", "/job/job/promises", {"promise": "first"}).status_code == 303
    opened_up(shop, path)
    return page, {"JOB": "job", "PROMISE": "first", "SHEET": "harrow-9", "WHAT": "worn_rings", "KEY": "AAAAA"}


def address(told, names):
    for word, stands_for in names.items():
        told = re.sub(rf"\b{word}\b", stands_for, told)
    return told


def test_every_command_has_its_place_on_the_page_or_a_reason_and_the_list_names_no_other():
    assert sorted(TABLE) == sorted(all_commands())
    for command, told in TABLE.items():
        assert re.findall(r"`/[^`]+`", told) or len(told.removeprefix("not there: ")) > 10, command


def test_every_place_that_a_command_has_is_there(stands):
    page, names = stands
    places = {place for told in TABLE.values() for place in re.findall(r"`(/[^`]+)`", told)} | set(BEYOND)
    assert len(places) > 40
    for place in sorted(places):
        assert page.get(address(place, names)).status_code in (200, 303), place


def test_every_page_has_a_command_or_a_reason(stands):
    page, _names = stands
    told = " ".join((*TABLE.values(), *(f"`{one}`" for one in BEYOND)))
    places = {re.sub(r"\b[A-Z]+\b", "*", place.split("?")[0]) for place in re.findall(r"`(/[^`]*)`", told)}
    parts = ("/static/", "/job/*/photo/")  # what pages are made of
    for rule in page.client.application.url_map.iter_rules():
        shape = re.sub(r"<[^>]+>", "*", rule.rule)
        if "GET" in rule.methods and not shape.startswith(parts):
            assert shape in places, shape


def test_no_way_on_the_page_leads_nowhere(stands):
    """Every link from the list on is followed, each kind of address once for each number of its figures."""
    page, _ = stands
    open_, seen, kinds = ["/"], set(), {}
    while open_:
        here = open_.pop()
        answer = page.get(here)
        assert answer.status_code in (200, 303), here
        if answer.mimetype != "text/html" or answer.status_code == 303:
            continue
        for found in re.findall(r'(?:href|src)="([^"]*)"', text(answer)):
            link = unescape(found).split("#")[0]
            kind = re.sub(r"(?<=/why/)[^/?]+|(?<=question=)[^&]+|(?<=hold=)[^&]+|(?<=/engine/)[^/?]+", "*", link)
            if not link.startswith("/") or link in seen or kinds.get(kind, 0) >= 3:
                continue
            seen.add(link)
            kinds[kind] = kinds.get(kind, 0) + 1
            open_.append(link)
    assert {
        "/job/job/prove",
        "/job/job/sheet/proof",
        "/job/job/close",
        "/prices/import",
        "/job/job/order.csv",
        "/job/job/changes/first/paper",
    } <= seen, "these were meant to be reached"


def test_prove_leads_to_its_sheets_and_to_closing_with_the_final_bill(stands):
    page, _ = stands
    html = text(page.get("/job/job/prove"))
    for link in ("/job/job/sheet/assembly", "/job/job/sheet/proof", "/job/job/close"):
        assert f'href="{link}"' in html
    closed = page.post(
        "/job/job/close",
        "/job/job/close",
        {"date": "2026-11-20", "cost": "1240,00", "came_back": "no", "cause.worn_rings": "present"},
    )
    assert closed.status_code == 303
    assert "closed on 2026-11-20" in text(page.get("/job/job/prove"))
    assert "1240.00" in text(page.get("/job/job/close")) or "1240,00" in text(page.get("/job/job/close"))


def send(page, data=CSV, **fields):
    token = hidden(text(page.get("/prices/import")), "form_token")
    return page.client.post(
        "/prices/import",
        headers=HOST,
        content_type="multipart/form-data",
        data={"form_token": token, "table": (io.BytesIO(data), "list.csv"), **fields},
    )


def test_a_table_of_prices_shows_what_matched_and_writes_only_what_is_ticked(stands, shop):
    page, _ = stands
    html = text(send(page))
    counts = re.findall(r"<summary>(?:Exact|Near|Not|Matched)[^<]*\((\d+)\)", html)
    assert list(map(int, counts)) == [2, 1, 1, 1]
    ticked = re.findall(r'type="checkbox" name="take" value="([^"]*)" checked', html)
    assert ticked == ["parts.head_gasket 41.50"] * 2 and '<rect class="full"' in html
    near = re.findall(r'<option value="(parts[^"]+)"', html)
    assert "41.50" not in text(page.get("/prices"))
    sent = page.post("/prices/import/take", "/prices/import", {"take": [ticked[0], "", near[0]]})
    assert sent.status_code == 303 and "taken=2" in sent.headers["Location"]
    after = text(page.get("/prices"))
    assert "41.50" in after and "88.00" in after


@pytest.mark.parametrize(
    "take",
    [
        [],
        [""],
        ["parts.head_gasket nan"],
        ["parts.head_gasket -3"],
        ["labour_rate 1.00"],
        ["parts.no_such_part 4.00"],
        ["parts.head_gasket 40.00", "parts.head_gasket 42.00"],
    ],
)
def test_what_was_not_offered_is_not_written(stands, take):
    page, _ = stands
    before = text(page.get("/prices"))
    assert page.post("/prices/import/take", "/prices/import", {"take": take}).status_code == 422
    assert re.sub(r"save=\w+", "", text(page.get("/prices"))) == re.sub(r"save=\w+", "", before)


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"\0\0", b"one\ntwo\n"])
def test_what_is_no_table_is_said_in_words(stands, data):
    page, _ = stands
    answer = send(page, data)
    assert answer.status_code == 422 and "Nothing was written" in text(answer)


def test_what_is_wrong_with_a_sheet_stands_on_the_page_with_its_line(stands, folder_of):
    page, _ = stands
    sheet = next(folder_of.rglob("harrow-9.yaml"))
    (sheet.parent / "worse.yaml").write_text(sheet.read_text().replace("cylinders:", "cilinders:"))
    (sheet.parent / "none.yaml").write_text("engine: [")
    worse, none = text(page.get("/engine/worse/check")), text(page.get("/engine/none/check"))
    assert "To be put right" in worse and "cilinders" in worse and re.search(r"Line \d+:", worse)
    assert "before the rest can be read" in none
    assert text(page.get("/engines")).count("What is wrong") == 2
    assert page.get("/engine/no-such-one/check").status_code == 404
    assert "tarn-30.yaml: sound" in text(page.get("/engine/tarn-30/check"))
