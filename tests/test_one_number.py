"""A number of a paper says one thing, and a job that was promised or closed says so on every surface."""

import re
import shutil
from html import unescape

import pytest

from howdeep.assessment.session import open_shop
from howdeep.files.strict_yaml import read
from howdeep.job.write import save
from howdeep.pricing.read import example_prices
from howdeep.quote.texts import lower_first
from howdeep.record.close import close_change
from howdeep.shop.write import put_settings
from howdeep.show.verdict import verdict_of
from howdeep.show.words import percent
from howdeep.web.app import create_app

from .commands import howdeep
from .pages import Page, text
from .places import ROOT
from .test_quote import copy_of_case

FIRST = "What we need to find out first"


@pytest.fixture(scope="module")
def promised(tmp_path_factory, shop):
    """A folder with a job whose holds were all waived and that was promised, in a shop that numbers."""
    folder = tmp_path_factory.mktemp("promised")
    path = copy_of_case(folder)
    put_settings(folder / "shop.yaml", shop.knowledge, {"next_number": 1001, "number_prefix": "WB-"})
    before = howdeep("quote", path, "--html", folder / "before.html")
    made = howdeep("promise", "make", path)
    assert before.returncode == made.returncode == 0, before.stderr + made.stderr
    return path, (folder / "before.html").read_text(), made.stdout


@pytest.fixture
def copied(promised, tmp_path):
    path = tmp_path / "job.yaml"
    shutil.copy(promised[0], path)
    shutil.copytree(promised[0].with_name("job.promises"), tmp_path / "job.promises")
    shutil.copy(promised[0].with_name("shop.yaml"), tmp_path / "shop.yaml")
    return path


def test_what_is_found_out_first_and_the_promise_of_the_same_sums_have_each_its_number(promised):
    _, before, made = promised
    assert FIRST in before and "WB-1001" in before
    assert "No. WB-1002" in made and FIRST not in made


def test_once_a_promise_stands_letter_order_and_estimate_are_of_it(promised, shop):
    path, _, made = promised
    letter, estimate = howdeep("letter", path).stdout, howdeep("quote", path).stdout
    assert letter == howdeep("letter", path, "--promise", "WB-1002").stdout
    assert FIRST not in letter and "Find this out first" not in letter and "I agree to this work" in letter
    assert "No. WB-1002" in letter and estimate == made
    page = Page(create_app(path.parent, shop))
    for paper in ("letter", "quote"):
        told = text(page.get(f"/job/job/{paper}"))
        assert "WB-1002" in told and FIRST not in told, paper
    other = howdeep("letter", path, "--scope", "rebuild").stdout
    assert "not yet numbered" in other and "This is not a promise" in other


def test_a_promised_job_says_promised_and_a_closed_one_closed_and_asks_nothing(copied, shop):
    page = Page(create_app(copied.parent, shop))
    waits = howdeep("assess", copied).stdout
    assert "PROMISED, WAITS FOR A YES: REFRESH IN THE FRAME" in waits and "CHECK FIRST" not in waits
    done = howdeep("promise", "approve", copied, "--by", "J. Fenn", "--how", "in person")
    assert done.returncode == 0, done.stderr
    said, shown = howdeep("assess", copied).stdout, text(page.get("/job/job"))
    assert "PROMISED: REFRESH IN THE FRAME" in said and "Air cleaner (" not in said
    assert "Go on asking" not in shown and "The promise, and the customer" in shown
    assert '<p class="kind">Promised</p>' in shown
    save(
        copied,
        read(copied).digest,
        close_change(shop.knowledge, date="2026-04-01", causes={"worn_rings": "present"}, scope_done="refresh"),
    )
    said, shown = howdeep("assess", copied).stdout, text(page.get("/job/job"))
    assert "CLOSED: REFRESH IN THE FRAME" in said and "Found: piston rings worn" in said
    assert "Go on asking" not in shown and '<p class="kind">Closed</p>' in shown


def test_every_waiver_stands_in_full_with_who_decided_on_the_paper_that_is_signed(promised, shop):
    path, _, made = promised
    page = Page(create_app(path.parent, shop))
    job = shop.open_job(path)
    for name in job.job.waived:
        hold = shop.knowledge.holds.get(name)
        if hold is not None:
            check = (shop.knowledge.checks.get(hold.check) or shop.knowledge.observations[hold.check]).title
            for told in (" ".join(made.split()), text(page.get("/job/job/promise/WB-1002"))):
                assert f"{check} ({lower_first(hold.title)})" in told, name
    for told in (made, text(page.get("/job/job/promise/WB-1002"))):
        told = " ".join(told.split())
        assert "more</p>" not in told and "Waived by Ann O., in person, 2026-03-04." in told
        assert told.count("Waived by") == 1, "what one person decided at once stands under one name"


def test_prices_that_nobody_set_are_named_on_every_copy_and_when_it_is_promised(tmp_path, shop):
    """Two prices marked as examples in a list that is the shop's own otherwise."""
    path = copy_of_case(tmp_path)
    plain = example_prices().read_text().replace("example: true\n", "", 1)
    for part in ("head_gasket", "ring_set"):
        plain = re.sub(rf'(?m)^  {part}: ("[0-9.]+")$', rf"  {part}: {{figure: \1, example: true}}", plain)
    (tmp_path / "prices.yaml").write_text(plain)
    made = howdeep("promise", "make", path, "first")
    assert made.returncode == 0 and "Mind: Examples, not this shop's prices: " in made.stderr, made.stderr
    page = Page(create_app(tmp_path, open_shop(job=path)))
    shown = [text(page.get(f"/job/job/{paper}")) for paper in ("promise/first", "quote", "letter")]
    shown += [howdeep("promise", "show", path, "first").stdout, howdeep("letter", path).stdout]
    for copy in shown:
        told = unescape(" ".join(copy.split()))
        assert re.search("Examples, not this shop's prices: .*head gasket.* lines", told), told[:3000]
    before = text(page.get("/job/job/promises"))
    assert "Examples, not this shop" in unescape(before)


def test_a_job_of_which_nothing_was_asked_has_no_verdict(tmp_path, shop):
    (tmp_path / "new.yaml").write_text(
        "howdeep_job: 1\nengine: brockwell-4\ncustomer: {name: A, words: It smokes blue and drinks oil.}\n"
    )
    page = Page(create_app(tmp_path, shop))
    for place in ("ask", "readings", ""):
        shown = text(page.get(f"/job/new/{place}".rstrip("/")))
        assert "Nothing asked yet" in shown and "It can wait" not in shown and "So far: <strong>" not in shown, place
    said = howdeep("assess", tmp_path / "new.yaml").stdout
    assert "NOTHING ASKED YET" in said and "IT CAN WAIT" not in said


def test_the_strip_of_a_phone_says_both_chances(shop, assessed):
    """What it was brought in for is much surer to go than all else."""
    answer = assessed["a_core_plug_rusted_through_in_the_valve_chest_makes_cream_without_gas"]
    line = answer.decision.line(answer.decision.job)
    assert line.came_for >= line.enough + 0.1
    (job, *_) = verdict_of(shop.knowledge, answer, shop.prices).lines("job")
    assert job.short.endswith(f"what it was brought in for goes away: {percent(line.came_for)}")
    strip = (ROOT / "src" / "howdeep" / "web" / "templates" / "macros.html").read_text()
    assert "line.short" in strip and "split(': ')" not in strip
