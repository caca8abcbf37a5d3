"""Quotes: sums to the cent, a reason for every line, nothing that looks whole when it is not, promises kept exactly."""

import dataclasses
import json
import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markupsafe import escape

from howdeep.assessment.explain import explain
from howdeep.assessment.session import open_shop
from howdeep.cases.run import case_files
from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import read
from howdeep.job import write
from howdeep.job.decide import waiving
from howdeep.knowledge.where import shipped_cases
from howdeep.model.terms import RUNGS
from howdeep.pricing.money import cents, share
from howdeep.quote import promise as promises
from howdeep.quote.build import build_quote
from howdeep.quote.change_sheet import change_sheet
from howdeep.quote.held import standing
from howdeep.quote.orders import order_list
from howdeep.quote.sheet_figures import BLANK, MISSING, figure_text, filled
from howdeep.quote.sheets import sheets_of
from howdeep.show.change_page import change_page
from howdeep.show.sheet_page import assembly_page

from .commands import howdeep
from .pages import CASE, paper
from .sampling import some


@pytest.fixture(scope="module")
def answer(shop):
    return shop.assess(shop.open_job(CASE), checks=False)


@pytest.fixture(scope="module")
def answers(assessed):
    """Every twelfth worked case."""
    return {path.stem: assessed[path.stem] for path in some(case_files(shipped_cases())[::12], 3)}


def test_every_total_of_every_case_adds_up_to_the_cent(shop, answers):
    for name, answer in answers.items():
        for rung in RUNGS:
            quote = build_quote(shop.knowledge, answer, shop.prices, rung)
            assert quote.missing == (), (name, rung)
            assert quote.subtotal == sum((line.amount for line in quote.lines), Decimal("0.00"))
            assert quote.total == quote.subtotal + quote.tax
            assert all(line.amount == cents(line.amount) for line in quote.lines)
            assert quote.total <= quote.low <= quote.likely <= quote.high
            for line in quote.lines:
                if line.unit_price is not None:
                    assert line.amount == cents(line.quantity * line.unit_price)


def test_every_line_of_every_case_reaches_an_answer_or_a_stated_general_rule(shop, answers):
    knowledge = shop.knowledge
    for name, answer in answers.items():
        quote = build_quote(knowledge, answer, shop.prices)
        for line in quote.lines:
            assert len(line.why) > 20, (name, line.subject)
            if line.kind in ("supplies", "replacement"):
                continue
            assert line.evidence, (name, line.subject)
            reached = False
            for reason in line.evidence:
                kind, _, subject = reason.partition("/")
                said = explain(knowledge, answer, subject)
                if kind == "causes":
                    leaves = [leaf for branch in said.chains for leaf in branch.leaves()]
                    reached |= any(
                        leaf.subject in answer.job.values or leaf.kind in ("answer", "reading", "reduced")
                        for leaf in leaves
                    )
                else:
                    reached = True
                    own = explain(knowledge, answer, line.subject) if line.kind == "labour" else said
                    assert any(
                        "eneral rule" in text or "cures" in text or "condition" in text or "stands open" in text
                        for text in own.says
                    ) or (line.kind != "labour"), (name, line.subject)
            assert reached, (name, line.subject)


def test_a_price_that_is_missing_is_named_and_no_total_is_shown(shop, answer):
    part = next(line.subject for line in build_quote(shop.knowledge, answer, shop.prices).lines if line.kind == "part")
    poorer = dataclasses.replace(
        shop.prices, parts={key: value for key, value in shop.prices.parts.items() if key != part}
    )
    quote = build_quote(shop.knowledge, answer, poorer)
    assert quote.total is quote.likely is quote.high is quote.deposit is None
    assert any(part in text for text in quote.missing)
    page = paper(shop, answer, quote)
    assert "Not complete" in page and "<caption>Total</caption>" not in page


@given(st.integers(0, 10**7), st.integers(0, 4000))
@settings(max_examples=200, deadline=None)
def test_a_share_is_rounded_half_up_to_the_cent(amount_cents, percent_hundredths):
    amount, percent = Decimal(amount_cents) / 100, Decimal(percent_hundredths) / 100
    exact = amount * percent / 100
    got = share(amount, str(percent))
    assert abs(got - exact) <= Decimal("0.005")
    assert got - exact != Decimal("-0.005")


def test_the_two_step_promise_has_a_stop_and_a_way_back(shop, answer):
    steps = build_quote(shop.knowledge, answer, shop.prices, two_step=True).two_steps
    assert steps.inspection > 0 and steps.way_back_assembled > 0 and steps.cap > 0 and "stop" in steps.stop


def test_a_deeper_allowance_is_priced_as_growth(shop, answer):
    quote = build_quote(shop.knowledge, answer, shop.prices, "refresh")
    deeper = [item for item in quote.allowances if "grows to" in item.title]
    rebuild = build_quote(shop.knowledge, answer, shop.prices, "rebuild")
    assert deeper and all(
        item.amount >= rebuild.total - quote.total - Decimal("0.02") for item in deeper if "full rebuild" in item.title
    )


def copy_of_case(tmp_path):
    """The case with all that stands before a promise waived, so that it may be made."""
    path = tmp_path / "job.yaml"
    path.write_text(CASE.read_text())
    shop = open_shop(job=path)
    answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    for name in (*(hold.hold for hold in standing(answer, answer.decision.rung)), "floor", "two_steps"):
        write.save(path, read(path).digest, waiving(name, by="Ann O.", how="in person", date="2026-03-04"))
    return path


def test_a_promise_is_shown_again_exactly_and_never_changed(shop, tmp_path):
    path = copy_of_case(tmp_path)
    done = howdeep("promise", "make", path, "first", "--date", "2026-03-05")
    assert done.returncode == 0, done.stderr
    stored = promises.stored(shop.open_job(path), "first")
    assert stored["date"] == "2026-03-05" and stored["rule_base"] == shop.knowledge.version
    assert set(stored["enough"]) == set(RUNGS) and stored["price_date"] == shop.prices.date
    again = howdeep("promise", "show", path, "first")
    assert again.stdout == done.stdout
    refused = howdeep("promise", "make", path, "first")
    assert refused.returncode == 2 and "never changed" in refused.stderr
    assert howdeep("promise", "show", path, "frist").returncode == 2


def test_a_stored_quote_is_read_back_to_the_same_value(shop, answer):
    quote = build_quote(shop.knowledge, answer, shop.prices, two_step=True)
    plain = json.loads(json.dumps(promises.quote_to_plain(quote)))
    assert promises.quote_from_plain(plain, "x") == dataclasses.replace(
        quote,
        enough=round(quote.enough, 6),
        every=None if quote.every is None else round(quote.every, 6),
        allowances=tuple(dataclasses.replace(item, chance=round(item.chance, 6)) for item in quote.allowances),
    )
    older = {key: value for key, value in plain.items() if key not in ("every", "job", "worth")}
    assert promises.quote_from_plain(older, "x").every is None and promises.quote_from_plain(older, "x").job == ""
    del plain["total"]
    with pytest.raises(HowdeepError, match="read back"):
        promises.quote_from_plain(plain, "x")


def opened_up(shop, path):
    """The case after teardown: the bores are beyond their limit."""
    bore = 3.125
    sheet = shop.open_job(path).engine
    from howdeep.model.quantity import parse

    bore = parse(sheet.bore.high, unit="in").to("in")
    worn = {
        index: {
            "top": [f"{bore + 0.016:.4f} in", f"{bore + 0.012:.4f} in"],
            "middle": [f"{bore + 0.008:.4f} in", f"{bore + 0.006:.4f} in"],
            "bottom": [f"{bore + 0.001:.4f} in", f"{bore + 0.001:.4f} in"],
        }
        for index in range(1, 5)
    }
    write.save(path, read(path).digest, write.with_answer(shop.knowledge, "bore_size", worn))
    write.save(path, read(path).digest, write.with_answer(shop.knowledge, "ridge", "catches_nail"))


def test_the_change_sheet_shows_what_moved_and_what_needs_a_yes(shop, tmp_path):
    path = copy_of_case(tmp_path)
    assert howdeep("promise", "make", path, "first", "--date", "2026-03-05").returncode == 0
    opened_up(shop, path)
    after = shop.assess(shop.open_job(path), checks=False, flips=False)
    assert next(b.posterior for b in after.beliefs if b.cause == "worn_bores") > 0.8
    assert after.decision.rung in ("rebuild", "replace")
    sheet = change_sheet(shop.knowledge, after, shop.prices, "first")
    assert sheet.needs_yes == sheet.total_after - sheet.total_before > 0
    assert sheet.found and any("bore" in text.lower() for text in sheet.found)
    assert any("rebore" in change.subject for change in sheet.added)
    done = howdeep("promise", "changes", path)
    assert done.returncode == 0 and "Needs the customer's yes" in " ".join(done.stdout.split())
    assert (
        howdeep(
            "promise", "approve", path, "99999", "--by", "Hill Farm", "--how", "in person", "--date", "2026-03-06"
        ).returncode
        == 0
    )
    calm = howdeep("promise", "changes", path, "first")
    assert "Within what was agreed" in calm.stdout
    assert "Needs" in change_page(sheet, after, "USD")


def test_the_order_list_waits_for_what_must_be_measured(shop, answer):
    lines = order_list(shop.knowledge, answer)
    assert any(line.waits_for and "ring" in line.title.lower() for line in lines)
    assert [bool(line.waits_for) for line in lines] == sorted(bool(line.waits_for) for line in lines)


def test_the_assembly_sheet_has_cautions_first_figures_and_blanks(shop, answer):
    sheets = sheets_of(shop.knowledge, answer)
    assert sheets.parts and sheets.proof
    page, place = assembly_page(sheets, answer), 0
    told = {
        caution.mark: page.index(f"<strong>{caution.mark} {escape(caution.title)}.</strong>")
        for caution in sheets.cautions
    }
    for part in sheets.parts:
        title = page.index(f"<h3>{escape(part.title)}", place)
        place = page.index("<ul>", title)
        for caution in part.cautions:
            if caution.text:
                told[caution.mark] = page.index(f"Caution {caution.mark}, {escape(caution.title.lower())}:", title)
            assert told[caution.mark] < place, "a caution stands before the step that it belongs to"
    assert told
    texts = [step.text for part in sheets.parts for step in part.steps]
    assert not any(re.search(r"\{[a-z_.]+\}", text) for text in texts)
    assert any(figure_text(answer.job.engine, "torques.head") in text for text in texts)
    before = {line.check: line.before for line in sheets.proof}
    assert "52 psi" in before["compression_dry"]


def test_a_figure_the_sheet_does_not_give_is_a_blank_that_says_so(answer):
    step = filled("Set the gap to {no_such_figure}.", answer.job.engine, {})
    assert MISSING in step.text and BLANK in step.text and step.blank


@pytest.mark.parametrize(
    "words",
    ["<script>alert(1)</script>", "a\u202eb", "x" * 10_000, "{{ 7*7 }}", "\x1b[31mred", "'; DROP TABLE jobs; --"],
)
def test_a_customers_words_are_plain_text_on_every_paper(shop, answer, words):
    customer = dataclasses.replace(answer.job.job.customer, words=write.clean_text(words), name=write.clean_text(words))
    job = dataclasses.replace(answer.job, job=dataclasses.replace(answer.job.job, customer=customer))
    changed = dataclasses.replace(answer, job=job)
    page = paper(shop, changed, build_quote(shop.knowledge, changed, shop.prices))
    assert "<script" not in page and "\x1b" not in page
    assert page.count("<blockquote>") == 1 and "49" not in page.split("<blockquote>")[1][:10]


def test_a_page_is_whole_self_contained_and_never_replaces_a_file_unasked(tmp_path):
    page = tmp_path / "quote.html"
    assert howdeep("quote", CASE, "--html", page, "--date", "2026-03-05").returncode == 0
    html = page.read_text()
    assert "<script" not in html and not re.search(r"(src|href)=\"(?!#|/job)", html) and "<svg" in html
    assert "aria-labelledby" in html and html.count("<h1") == 1
    again = howdeep("quote", CASE, "--html", page)
    assert again.returncode == 2 and "--force" in again.stderr and page.read_text() == html
    assert howdeep("quote", CASE, "--html", page, "--force", "--date", "2026-03-05").returncode == 0
    assert page.read_text() == html
    assert sorted(path.name for path in tmp_path.iterdir()) == ["quote.html"]


def test_two_scopes_side_by_side(shop):
    done = howdeep("quote", CASE, "--compare", "rebuild")
    assert "Difference" in done.stdout and "only in full rebuild" in done.stdout
    assert howdeep("quote", CASE, "--scope", "refesh").returncode == 2


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_the_page_prints_on_both_papers_with_its_pictures(tmp_path, paper):
    """Headless Chromium prints it; a missing one fails the test."""
    import base64

    from .pages import browser

    page = tmp_path / "quote.html"
    assert howdeep("quote", CASE, "--annex", "--html", page, "--date", "2026-03-05").returncode == 0
    width, height = {"Letter": (8.5, 11), "A4": (8.27, 11.69)}[paper]
    with browser() as window:
        window.get(page.as_uri())
        assert window.execute_script("return document.querySelectorAll('figure svg').length") >= 3
        printed = window.execute_cdp_cmd(
            "Page.printToPDF", {"paperWidth": width, "paperHeight": height, "preferCSSPageSize": False}
        )
        over = window.execute_script("return document.documentElement.scrollWidth - window.innerWidth")
    pdf = base64.b64decode(printed["data"])
    assert pdf.startswith(b"%PDF") and 3 <= pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") <= 20
    assert over <= 1


def test_no_paper_has_a_serious_accessibility_finding(tmp_path):
    from .pages import browser, serious

    path = copy_of_case(tmp_path)
    assert howdeep("promise", "make", path, "first", "--date", "2026-03-05").returncode == 0
    papers = {
        "quote": ("quote", path, "--html", tmp_path / "quote.html", "--shop-copy", "--compare", "rebuild"),
        "sheet": ("sheet", "assembly", path, "--html", tmp_path / "sheet.html"),
        "change": ("promise", "changes", path, "first", "--html", tmp_path / "change.html"),
    }
    with browser() as window:
        for name, command in papers.items():
            assert howdeep(*command).returncode == 0
            window.get((tmp_path / f"{name}.html").as_uri())
            assert serious(window) == [], name


def test_a_yes_takes_the_name_of_its_promise_as_the_other_commands_do_and_no_number_for_nothing(shop, tmp_path):
    path = copy_of_case(tmp_path)
    (tmp_path / "shop.yaml").write_text("howdeep_shop: 1\nnext_number: 1001\n")
    assert howdeep("promise", "make", path, "first", "--date", "2026-03-05").returncode == 0
    yes = ("--by", "Hill Farm", "--how", "in person", "--date", "2026-03-06")
    done = howdeep("promise", "approve", path, "first", *yes)
    assert done.returncode == 0, done.stderr
    assert "next_number: 1002" in (tmp_path / "shop.yaml").read_text()  # the estimate alone took one
    approved = read(path).value["approvals"][-1]
    assert approved["promise"] == "first" and "number" not in approved
    assert howdeep("promise", "approve", path, "first", "99999", *yes).returncode == 0
    assert read(path).value["approvals"][-1]["sum"] == "99999.00"
    for wrong, said in ((["frist"], "none of the promises first"), (["frist", "90"], "did you mean first")):
        refused = howdeep("promise", "approve", path, *wrong, *yes)
        assert refused.returncode == 2 and said in refused.stderr, refused.stderr
    assert howdeep("promise", "approve", path, "first", "second", "90", *yes).returncode == 2


def test_two_steps_that_a_page_has_no_place_for_are_said_to_be_left_out(tmp_path):
    path = tmp_path / "job.yaml"
    path.write_text(CASE.read_text())
    told = howdeep("quote", path, "--two-step")
    assert "--two-step is not on this page" in told.stderr and "Or look first" not in told.stdout.title()
    told = howdeep("quote", path, "--two-step", "--scope", "refresh")
    assert "--two-step" not in told.stderr and "Strip, measure and report" in told.stdout
