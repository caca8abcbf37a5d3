"""Sheets as they leave the printer: pages counted on both papers, nothing told twice, blanks as the bench asks."""

import base64
import dataclasses
import re

import pytest

from howdeep.interview.flow import CONDITIONS, flow
from howdeep.interview.opened import opened
from howdeep.interview.to_fill import sheet_to_fill
from howdeep.job.values import value_of
from howdeep.knowledge.engine_facts import count_of
from howdeep.quote.blank import blank_sheet, within
from howdeep.quote.sheet_figures import MISSING, figure_text, filled
from howdeep.quote.sheets import sheets_of, wanted_of
from howdeep.quote.sizes_chosen import sizes_chosen, together
from howdeep.show.sheet_page import assembly_page, blank_page, proof_page

from .commands import howdeep
from .pages import browser
from .places import ROOT
from .sampling import some

LONGEST = "a_crank_hammered_at_pins_and_mains_is_ground_whole"
SLEEVED = "one_hole_past_the_last_size_is_sleeved_and_the_others_are_bored"
CLOSED = "smoke_and_low_compression_with_dry_seals_stays_in_the_frame"
PAPERS = {"Letter": (8.5, 11), "A4": (8.27, 11.69)}


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """page -> {paper: how many sheets it prints on}."""
    folder = tmp_path_factory.mktemp("print")
    with browser() as window:

        def count(page):
            (folder / "page.html").write_text(page)
            window.get((folder / "page.html").as_uri())
            found = {}
            for name, (width, height) in PAPERS.items():
                printed = window.execute_cdp_cmd(
                    "Page.printToPDF",
                    {
                        "paperWidth": width,
                        "paperHeight": height,
                        "preferCSSPageSize": False,
                        "printBackground": False,
                        "marginTop": 0.32,
                        "marginBottom": 0.32,
                        "marginLeft": 0.36,
                        "marginRight": 0.36,
                    },
                )
                pdf = base64.b64decode(printed["data"])
                found[name] = len(re.findall(rb"/Type /Page[^s]", pdf))
            return found

        yield count


@pytest.mark.parametrize("units", ["", "metric"])
def test_the_assembly_of_the_longest_worked_case_prints_on_two_to_four_pages(shop, assessed, pages, units):
    for case in (LONGEST, SLEEVED) if not units else (SLEEVED,):
        page = assembly_page(sheets_of(shop.knowledge, assessed[case], None, units), assessed[case], units=units)
        counted = pages(page)
        assert all(2 <= count <= 4 for count in counted.values()), (case, counted)


def test_the_longest_is_the_longest(shop, assessed):
    """More steps than the sheets of a dozen other open engines, so that the test above is of the worst."""

    def steps(name):
        return sum(len(part.steps) for part in sheets_of(shop.knowledge, assessed[name]).parts)

    others = sorted(path.stem for path in (ROOT / "cases").glob("*.yaml") if "teardown:" in path.read_text())[::12]
    assert len(others) >= 6 and max(map(steps, others)) <= max(steps(LONGEST), steps(SLEEVED))


def test_no_caution_stands_twice_in_print(shop, assessed):
    for case in (LONGEST, SLEEVED, CLOSED):
        sheets = sheets_of(shop.knowledge, assessed[case])
        page = assembly_page(sheets, assessed[case])
        named = {caution.title for part in sheets.parts for caution in part.cautions}
        assert named
        for caution in shop.knowledge.cautions.values():
            start = caution.text[:60].replace("'", "&#39;")
            assert page.count(start) == (caution.title in named), caution.title


def test_a_teardown_prints_on_at_most_four_pages_and_a_test_on_one(shop, assessed, pages):
    knowledge, answer = shop.knowledge, assessed[LONGEST]
    sheets = sheets_of(knowledge, answer)
    names = within(knowledge, answer, opened(knowledge, answer.job, answer), "rebuild")
    teardown = blank_sheet(
        knowledge,
        answer,
        "Teardown sheet",
        names,
        strip=sheets.strip,
        strip_cautions=sheets.strip_cautions,
        procedures=False,
    )
    assert all(2 <= count <= 4 for count in pages(blank_page(teardown, answer)).values())
    closed = assessed[CLOSED]
    for check in ("compression_test", "leakage_test", "vacuum_test"):
        if check in knowledge.checks:
            made = knowledge.checks[check].observations
            ticked = [name for name in made if knowledge.observations[name].group == CONDITIONS]
            test = blank_sheet(
                knowledge, closed, check, [name for name in made if name not in ticked], conditions=ticked
            )
            assert set(pages(blank_page(test, closed)).values()) == {1}, check
    assert set(pages(proof_page(sheets, answer)).values()) <= {1, 2}


def test_a_blank_sheet_follows_the_bench_and_has_a_place_for_every_figure(shop, assessed):
    """Filled in row by row, what stands in its places is what the job takes."""
    knowledge, answer = shop.knowledge, assessed[LONGEST]
    names = within(knowledge, answer, opened(knowledge, answer.job, answer), "rebuild")
    sheet = blank_sheet(knowledge, answer, "x", names)
    assert tuple(row.observation for row in sheet.rows) == names and len(names) > 20
    assert set(within(knowledge, answer, names, "top_end")) < set(names)
    page = blank_page(sheet, answer)
    assert page.count('class="write"') == sum(
        row.count * len(row.places) for row in sheet.rows if row.each or not row.answers
    )
    kinds = set()
    for row in sheet.rows:
        item = knowledge.observations[row.observation]
        assert row.count == count_of(answer.job.engine, item.each)
        assert len(row.places) == max(1, len(item.rows) * max(1, len(item.columns)))
        assert len(row.answers) == len(item.answers)
        kinds.add((item.kind, bool(item.each), bool(item.rows)))
        if item.kind == "number" and item.rows:
            low, high = item.range or (0.1, 1.0)
            middle = f"{(low + high) / 2:.4f} {item.unit}"
            typed = {
                number: {name: [middle] * max(1, len(item.columns)) for name in item.rows}
                for number in range(1, row.count + 1)
            }
            value = value_of(item, typed, row.count, lambda where, message, hint: pytest.fail(message))
            assert sum(len(line) for one in value for line in one) == row.count * len(row.places)
    assert {("number", True, True), ("number", True, False), ("choice", True, False), ("choice", False, False)} <= kinds


def test_a_blank_sheet_has_the_sheets_figures_and_says_where_there_is_none(shop, assessed):
    knowledge, answer = shop.knowledge, assessed[LONGEST]
    (row,) = blank_sheet(knowledge, answer, "x", ["ring_gap_measured"]).rows
    assert row.wanted == figure_text(answer.job.engine, "ring_gap") != ""
    bare = dataclasses.replace(
        answer, job=dataclasses.replace(answer.job, engine=dataclasses.replace(answer.job.engine, ring_gap=None))
    )
    (row,) = blank_sheet(knowledge, bare, "x", ["ring_gap_measured"]).rows
    assert "a general limit stands in" in row.wanted


def test_exhausts_with_a_figure_of_their_own_are_held_to_that_alone(shop):
    engine = shop.open_job(ROOT / "cases" / f"{LONGEST}.yaml").engine
    assert engine.cam_lift_exhaust is not None
    exhaust = next(
        item for item in shop.knowledge.observations.values() if item.sheet == ("cam_lift_exhaust", "cam_lift")
    )
    inlet = next(item for item in shop.knowledge.observations.values() if item.sheet == ("cam_lift",))
    assert wanted_of(exhaust, engine) == figure_text(engine, "cam_lift_exhaust", own=True)
    assert wanted_of(inlet, engine) == figure_text(engine, "cam_lift", own=True) != wanted_of(exhaust, engine)


def test_sizes_say_why_not_the_others_and_how_they_are_confirmed(shop, assessed):
    lines = {line.fact: line for line in sizes_chosen(shop.knowledge, assessed[LONGEST])}
    mains = lines["size.main_bearings"]
    assert "0.010 in under" in mains.size and any("0.020 in under" in text for text in mains.rejected)
    assert "gauge strip" in mains.confirm and mains.measured_from == shop.knowledge.observations["main_size"].title
    sleeved = {line.fact: line for line in sizes_chosen(shop.knowledge, assessed[SLEEVED])}
    assert sleeved["size.rod_bearings"].confirmed.startswith("1, 2, 3, 4, 5, 6: ")
    assert not any(text.startswith("0.030 in over") for text in sleeved["size.pistons"].rejected), "what was chosen"
    page = assembly_page(sheets_of(shop.knowledge, assessed[LONGEST]), assessed[LONGEST])
    assert "Not: 0.020 in under takes off more than is needed" in page and "out of round or tapered" in page
    assert together("1: a; 2: a; 3: b; all ground") == ("1, 2: a", "3: b", "all ground")


def test_torque_has_stages_only_where_the_sheet_gives_them_and_a_second_mention_is_short(shop):
    engine = shop.open_job(ROOT / "cases" / f"{LONGEST}.yaml").engine
    staged = next(name for name, torque in engine.torques.items() if torque.stages)
    plain = next(name for name, torque in engine.torques.items() if not torque.stages)
    text = filled(f"To {{torques.{staged}}}, again to {{torques.{staged}}}.", engine, {}).text
    assert text.count("in stages of") == 1 and text.count(engine.torques[staged].value) >= 2
    assert "stages: ____" in filled(f"To {{torques.{plain}}}.", engine, {}).text
    assert MISSING in filled("To {torques.no_such_bolt}.", engine, {}).text


def test_the_command_prints_a_blank_sheet_of_what_comes_next_and_names_the_nearest(tmp_path):
    job = ROOT / "cases" / f"{CLOSED}.yaml"
    done = howdeep("sheet", "blank", job, "--for", "compression_dry")
    assert done.returncode == 0 and done.stdout.index("CAUTIONS") < done.stdout.index("TO FILL IN")
    assert "cylinder 1 ____  2 ____  3 ____  4 ____" in done.stdout
    refused = howdeep("sheet", "blank", job, "--for", "compresion_dry")
    assert refused.returncode == 2 and "did you mean compression_dry" in refused.stderr
    done = howdeep("sheet", "blank", ROOT / "cases" / f"{LONGEST}.yaml")
    assert done.returncode == 0 and "Teardown sheet" in done.stdout


def test_a_pdf_is_printed_by_the_browser_and_its_lack_is_said_in_plain_words(tmp_path):
    job = ROOT / "cases" / f"{CLOSED}.yaml"
    done = howdeep("sheet", "proof", job, "--pdf", tmp_path / "proof.pdf")
    assert done.returncode == 0 and (tmp_path / "proof.pdf").read_bytes().startswith(b"%PDF")
    again = howdeep("sheet", "proof", job, "--pdf", tmp_path / "proof.pdf")
    assert again.returncode == 2 and "--force" in again.stderr
    for named, says in (("/nowhere/browser", "there is no program"), ("false", "ended without a paper")):
        lacking = howdeep("sheet", "proof", job, "--pdf", tmp_path / "none.pdf", env={"HOWDEEP_BROWSER": named})
        assert lacking.returncode == 2 and says in lacking.stderr and "--html" in lacking.stderr
        assert len(lacking.stderr.splitlines()) == 1 and not (tmp_path / "none.pdf").exists()


def test_the_sheet_of_the_next_round_stands_in_the_order_of_the_bench_and_names_the_sheets_figure_as_such(shop):
    knowledge = shop.knowledge
    moved = 0
    for path in some(sorted((ROOT / "cases").glob("*.yaml")), 40):
        job = shop.open_job(path)
        answer = shop.assess(job, flips=False, steps=False)
        sheet = sheet_to_fill(knowledge, answer, "bench")
        asked = [question.observation for question in flow(knowledge, job, answer, bench=True).worth_asking]
        places = [asked.index(row.observation) for row in sheet.rows if row.observation in asked]
        assert places == sorted(places), path.name
        moved += len(places)
    assert moved > 10


def test_a_figure_beside_a_row_says_whose_it_is(shop, assessed):
    answer = assessed[LONGEST]
    sheet = blank_sheet(shop.knowledge, answer, "x", ["ring_gap_measured"])
    assert f"; <b class=\"fig\">sheet: {sheet.rows[0].wanted}</b>" in blank_page(sheet, answer)
