"""The page touches jobs of its folder and nothing else: no price list, engine sheet, rule, link or odd file."""

import os
import shutil

import pytest

from howdeep.web.jobs import is_reserved, name_from

from .pages import CASE, HOST, hidden, text
from .places import ROOT

PRICES = next((ROOT / "rules" / "prices").glob("*.yaml"))
SHEET = ROOT / "rules" / "engines" / "tarn-30.yaml"
RULES = next((ROOT / "rules" / "findings").glob("*.yaml"))
SECRET = (
    CASE.read_text()
    .replace("Invented customer, Hill Farm", "A Hidden Customer")
    .replace("Smoke and low compression with dry seals stays in the frame", "A hidden title")
)


def link(at, content, outside):
    (outside / "elsewhere.yaml").write_text(content)
    at.symlink_to(outside / "elsewhere.yaml")


def put(kind, folder):
    """A file (or what looks like one) that is no job, under a name of its own; returns the name and what to hold to."""
    if kind == "prices":
        shutil.copy(PRICES, folder / "prices.yaml")
        return "prices", folder / "prices.yaml"
    if kind == "capital prices":
        shutil.copy(CASE, folder / "Prices.yaml")  # also where it holds a job: some systems take it for the price list
        return "Prices", folder / "Prices.yaml"
    here = folder / "thing.yaml"
    outside = folder.parent / "elsewhere.yaml"
    if kind == "link out":
        link(here, SECRET, folder.parent)
        return "thing", outside
    if kind == "link to a job":
        here.symlink_to(folder / "hill-farm.yaml")
        return "thing", folder / "hill-farm.yaml"
    if kind == "dead link":
        here.symlink_to(outside)
        return "thing", None
    if kind == "pipe":
        os.mkfifo(here)
        return "thing", None
    if kind == "folder":
        here.mkdir()
        (here / "kept.yaml").write_text(SECRET)
        return "thing", here / "kept.yaml"
    content = {
        "own prices": PRICES.read_text(),
        "sheet": SHEET.read_text(),
        "rules": RULES.read_text(),
        "empty": "",
        "a list": "- howdeep_job: 1\n",
        "a word": "howdeep_job",
        "damaged": "howdeep_job: 1\na: [1",
        "inside text": "note: |\n  howdeep_job: 1\n",
        "letters": "caf\u00e9",
    }[kind]
    here.write_text(content, encoding="latin-1" if kind == "letters" else "utf-8")
    return "thing", here


KINDS = [
    "prices",
    "capital prices",
    "own prices",
    "sheet",
    "rules",
    "empty",
    "a list",
    "a word",
    "damaged",
    "letters",
    "inside text",
    "link out",
    "link to a job",
    "dead link",
    "pipe",
    "folder",
]


def requests(name):
    token = object()
    answer = {"form_token": token, "question": "noise", "noise": "ping"}
    return [
        ("GET", f"/job/{name}{rest}", None)
        for rest in ("", "/ask", "/readings", "/answers", "/quote", "/close", "/delete", "/why/worn_rings")
    ] + [
        ("POST", f"/job/{name}/answer", answer),
        ("POST", f"/job/{name}/readings", {"form_token": token, "observation": "cranking_rpm", "cranking_rpm": "90"}),
        ("POST", f"/job/{name}/close", {"form_token": token, "hours": "3"}),
        ("POST", f"/job/{name}/delete", {"form_token": token}),
    ], token


@pytest.mark.parametrize("kind", KINDS)
def test_no_request_reads_changes_or_deletes_what_is_no_job(page, folder, kind):
    name, held = put(kind, folder)
    before = held.read_bytes() if held else None
    there = sorted(os.listdir(folder))
    good = hidden(text(page.get("/new")), "form_token")
    wanted, token = requests(name)
    for method, path, fields in wanted:
        data = {key: good if value is token else value for key, value in (fields or {}).items()}
        for sent in [data, {**data, "form_token": "0"}] if method == "POST" else [None]:
            response = page.client.open(path, method=method, data=sent, headers=HOST)
            html = text(response)
            assert response.status_code in (403, 404, 422), (path, response.status_code)
            assert "labour_rate" not in html and "Hidden" not in html and "hidden title" not in html
    assert (held.read_bytes() if held else None) == before
    assert sorted(os.listdir(folder)) == there


@pytest.mark.parametrize("kind", KINDS)
def test_the_list_shows_nothing_of_what_stands_outside_and_no_price_list(page, folder, kind):
    put(kind, folder)
    response = page.get("/")
    html = text(response)
    assert response.status_code == 200 and "Smoke and low compression" in html
    assert "Hidden Customer" not in html and "hidden title" not in html
    assert 'href="/job/thing"' not in html and 'href="/job/prices"' not in html.lower()
    assert "Hidden" not in text(page.get("/?search=Hidden")).replace('value="Hidden"', "")
    if kind in ("own prices", "sheet"):
        assert "thing" not in html
    elif name_is_told(kind):
        assert "thing" in html, "a file that cannot be shown is named"


def name_is_told(kind):
    return "prices" not in kind and kind != "sheet"


@pytest.mark.parametrize(
    "title",
    ["Prices", "prices", "PRICES!", " prices ", "Con", "nul", "LPT1", "\u2026", "--", "a" * 200, "Hill farm", "thing"],
)
def test_a_title_never_takes_a_reserved_or_a_taken_name(page, folder, title):
    put("own prices", folder)
    shutil.copy(PRICES, folder / "prices.yaml")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    response = page.post("/new", "/new", {"engine": "tarn-30", "title": title})
    assert response.status_code == 303
    assert {name: (folder / name).read_bytes() for name in before} == before
    (made,) = {path.name for path in folder.glob("*.yaml")} - before.keys()
    name = made.removesuffix(".yaml")
    assert not is_reserved(name) and response.headers["Location"].startswith(f"/job/{name}/")
    assert page.get(f"/job/{name}/quote").status_code == 200
    assert f'href="/job/{name}"' in text(page.get("/"))


def test_a_name_taken_by_a_dead_link_or_in_capitals_is_taken(folder):
    (folder / "saw.yaml").symlink_to(folder / "gone.yaml")
    assert name_from("Saw", folder) == "saw-2"
    (folder / "BENCH.yaml").write_text("")
    assert name_from("bench", folder) == "bench-2"


def test_a_job_is_still_deleted_and_a_faulty_one_too(page, folder):
    (folder / "faulty.yaml").write_text("howdeep_job: 1\nengine: tarn-30\nanswers: {nonsense: 1}\n")
    good = hidden(text(page.get("/new")), "form_token")
    for name in ("hill-farm", "faulty"):
        assert page.client.post(f"/job/{name}/delete", data={"form_token": good}, headers=HOST).status_code == 303
    assert list(folder.iterdir()) == []
