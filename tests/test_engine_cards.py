"""The spec card and the list of sheets: a page of 80 columns, blanks where nobody knows, sheets beside the jobs."""

import json
import re
from pathlib import Path

import pytest

from howdeep.job.read import read_job
from howdeep.knowledge.engines import find, load_sheet, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.sheets.card import BLANK, card_of
from howdeep.sheets.draft import open_draft, saved, sheet_id, with_values
from howdeep.sheets.layout import sheet_text
from howdeep.sheets.shelf import new_sheet_folder, shelf
from howdeep.show.card_page import card_page
from howdeep.show.card_text import card_lines

from .commands import howdeep
from .sampling import WHOLE

SHIPPED = shipped_rules()
SHEETS = sheet_ids([SHIPPED])
PAGE = 66
"""Lines of a Letter page at six an inch."""


def card(name):
    path = find(name, [SHIPPED])
    return card_of(open_draft(path, name, [SHIPPED]), load_sheet(path).questions)


def bare(folder, name="ferrier"):
    draft = open_draft(folder / "engines" / f"{name}.yaml", name.title(), [SHIPPED])
    return saved(draft, with_values(draft, {"build.fuel": "petrol"}))


@pytest.mark.parametrize("name", SHEETS)
def test_a_card_is_one_page_of_80_columns_and_holds_every_figure_of_its_sheet(name):
    lines = list(card_lines(card(name)))
    assert len(lines) <= PAGE and max(map(len, lines)) <= 80
    text = " ".join(" ".join(lines).split())
    plain = open_draft(find(name, [SHIPPED]), name, [SHIPPED]).plain
    figures = set()

    def gather(value, key=""):
        if isinstance(value, dict):
            for name, item in value.items():
                if name not in ("note", "source", "sure", "count", "grade", "stages"):
                    gather(item, name)
        elif isinstance(value, list):
            for item in value:
                gather(item, key)
        elif isinstance(value, (str, int, float)) and not isinstance(value, bool):
            figures.update(re.findall(r"\d+\.?\d*", str(value)))

    gather(plain)
    missing = {figure for figure in figures if figure.rstrip("0").rstrip(".") not in text and figure not in text}
    assert not missing


def test_a_blank_stands_for_everything_that_nobody_knows_and_usual_words_are_marked(tmp_path):
    draft = bare(tmp_path)
    made = card_of(draft)
    rows = [row for part in made.parts for row in part.rows]
    assert {
        row.text for row in rows if row.label in ("Bore", "Ring gap", "Big end clearance", "Head", "Points gap")
    } == {BLANK}
    assert all(row.usual for row in rows if row.label in ("Bearings", "Volts", "Rear seal", "Firing order"))
    assert not next(row for row in rows if row.label == "Fuel").usual
    lines = list(card_lines(made))
    assert len(lines) <= PAGE and max(map(len, lines)) <= 80 and "nobody has looked" in " ".join(lines)


def test_the_printed_page_holds_the_same_rows_is_alone_and_shows_text_as_text(tmp_path):
    draft = bare(tmp_path)
    draft = saved(draft, with_values(draft, {"note": "<script>alert(1)</script> & more", "lash_inlet": "0.013 in"}))
    page = card_page(card_of(draft))
    assert "<script" not in page and "&lt;script&gt;" in page and "http" not in page
    assert page.count('class="blank"') == sum(row.text == BLANK for part in card_of(draft).parts for row in part.rows)
    assert "0.013 in" in page and 'lang="en"' in page and "<h1>" in page
    whole = card_page(card("tarn-30"))
    assert "3.4370-3.4380 in" in whole and "viewport" in whole


def test_show_writes_the_page_and_replaces_none_unasked(tmp_path):
    done = howdeep("engine", "show", "tarn-30", "--html", tmp_path / "card.html")
    assert done.returncode == 0 and (tmp_path / "card.html").read_text().startswith("<!doctype html>")
    assert howdeep("engine", "show", "tarn-30", "--html", tmp_path / "card.html").returncode == 2
    assert howdeep("engine", "show", "tarn-30", "--html", tmp_path / "card.html", "--force").returncode == 0
    assert howdeep("engine", "show", "tarn-30", "--force").returncode == 2
    plain = json.loads(howdeep("engine", "show", "tarn-30", "--json").stdout)
    assert plain["howdeep_card"] == 1 and plain["id"] == "tarn-30" and plain["known"] > 80
    done = howdeep("engine", "show", "tarn-3")
    assert done.returncode == 2 and "tarn-30" in done.stderr


def test_the_list_has_kind_cylinders_and_bore_beside_each_name(tmp_path):
    bare(tmp_path)
    (tmp_path / "engines" / "broken.yaml").write_text("name: Broken\n")
    done = howdeep("engine", "list", cwd=tmp_path)
    assert done.returncode == 0 and max(map(len, done.stdout.splitlines())) <= 80
    assert re.search(r"brockwell-4 +petrol, side valves, farm +4 cyl, bore 3\.1250 in", done.stdout)
    assert re.search(r"ferrier +petrol, side valves, farm +4 cyl, bore not known", done.stdout)
    assert re.search(r"broken +cannot be used", done.stdout) and "Beside the jobs here" in done.stdout
    plain = json.loads(howdeep("engine", "list", "--json", cwd=tmp_path).stdout)
    assert {item["id"] for item in plain["engines"]} >= {*SHEETS, "ferrier", "broken"}
    by = {item["id"]: item for item in plain["engines"]}
    assert by["tarn-30"]["cylinders"] == 4 and by["tarn-30"]["bore"] == "3.4370 in" and by["ferrier"]["where"] == "here"


def test_a_job_beside_the_folder_engines_uses_the_sheet_there_before_any_other(tmp_path, shop):
    bare(tmp_path)
    job = tmp_path / "job.yaml"
    job.write_text("howdeep_job: 1\nengine: ferrier\nanswers: {runs: yes, smoke_any: yes}\n")
    assert read_job(job, shop.knowledge, shop.folders).engine.name == "Ferrier"
    done = howdeep("assess", job)
    assert done.returncode == 0, done.stderr
    (tmp_path / "engines" / "tarn-30.yaml").write_text((tmp_path / "engines" / "ferrier.yaml").read_text())
    job.write_text("howdeep_job: 1\nengine: tarn-30\n")
    assert read_job(job, shop.knowledge, shop.folders).engine.name == "Ferrier"
    away = tmp_path / "away"
    away.mkdir()
    (away / "job.yaml").write_text("howdeep_job: 1\nengine: ferrier\n")
    assert howdeep("assess", away / "job.yaml").returncode == 2
    assert {item.id for item in shelf(shop.folders, tmp_path)} == {*SHEETS, "ferrier"}


@pytest.mark.parametrize("name", ["../x", "engines/../../x", ".hidden", "a/b", "x\0y"])
def test_no_name_leads_out_of_the_folders_of_sheets(tmp_path, name):
    from howdeep.errors import HowdeepError

    (tmp_path / "x.yaml").write_text((SHIPPED / "engines" / "tarn-30.yaml").read_text())
    (tmp_path / "jobs" / "engines").mkdir(parents=True)
    with pytest.raises(HowdeepError):
        find(name, [SHIPPED], tmp_path / "jobs")


def test_every_subset_of_a_sheet_is_a_sheet_that_answers_and_has_a_card(tmp_path, shop):
    """Blanks anywhere: figures taken out in many ways, and every part of the program still answers."""
    import random

    chance = random.Random(11)
    for number in range(12 if WHOLE else 5):
        draft = open_draft(find(chance.choice(SHEETS), [SHIPPED]), "x", [SHIPPED])
        paths = [path for group in draft.form.groups.values() for path in group.fields if not path.startswith("build.")]
        plain = with_values(draft, dict.fromkeys(chance.sample(paths, chance.randint(5, len(paths)))))
        (tmp_path / "engines").mkdir(exist_ok=True)
        (tmp_path / "engines" / "part.yaml").write_text(sheet_text(plain))
        job = tmp_path / f"job{number}.yaml"
        job.write_text("howdeep_job: 1\nengine: part\nanswers: {complaint: smokes, runs: yes, smoke_any: yes}\n")
        answer = shop.assess(shop.open_job(job), flips=False)
        assert answer.decision.kind
        made = card_of(open_draft(tmp_path / "engines" / "part.yaml", "x", [SHIPPED]))
        assert max(map(len, card_lines(made))) <= 80


def test_names_and_places_of_new_sheets(tmp_path):
    from howdeep.errors import HowdeepError

    assert sheet_id("Old Ferrier No. 3") == "old-ferrier-no-3"
    with pytest.raises(HowdeepError):
        sheet_id("!!!")
    assert new_sheet_folder([SHIPPED], tmp_path) == tmp_path / "engines"
    assert new_sheet_folder([SHIPPED, Path("shop")], tmp_path) == Path("shop/engines")


@pytest.mark.parametrize("name", SHEETS)
def test_the_layout_of_a_sheet_reads_back_to_the_same_values(name):
    from howdeep.files.strict_yaml import parse

    plain = open_draft(find(name, [SHIPPED]), name, [SHIPPED]).plain
    assert parse(sheet_text(plain)).value == plain


@pytest.mark.parametrize("name", ["tarn-30", "dunmore-d4"])
def test_the_fullest_cards_print_on_one_page_of_letter(name, tmp_path):
    import base64

    from .pages import browser

    (tmp_path / "card.html").write_text(card_page(card(name)), encoding="utf-8")
    with browser() as window:
        window.get((tmp_path / "card.html").as_uri())
        pdf = base64.b64decode(window.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})["data"])
    assert re.findall(rb"/Count (\d+)", pdf) == [b"1"]
