"""The page in a real browser: clicks, keyboard alone, phone and desktop, accessibility. Chromium must be there."""

import json

import pytest
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from howdeep.job.read import read_job
from howdeep.model.quantity import parse
from howdeep.web.app import create_app
from howdeep.web.passes import Passes

from .boxes import KEPT, SIZES, fonts, measured
from .by_hand import Clicks, Keyboard, whole_job
from .pages import CASE, Page, browser, folder_with_case, heights, in_scheme, serious, served, wider_than_window
from .sampling import WHOLE, some
from .test_quote import copy_of_case, opened_up
from .test_web_price_check import with_slips
from .working_day import folder_of_a_day, pages_of_a_day

MOST_QUESTIONS = 60
TALKED = MOST_QUESTIONS if WHOLE else 8
"""Questions of the longest talk: all of them in a whole run, when it must end."""
TOKEN = "a long enough token"
NEAR = 4
"""Points by which a box may stand elsewhere than it was kept, for the rounding of fonts."""


def answered(folder, shop, name):
    job = read_job(folder / f"{name}.yaml", shop.knowledge, shop.folders)
    return len(job.values) + len(job.unknown)


def press(window, element):
    """Click, and wait for the page that follows."""
    window.execute_script("window.before = 1; arguments[0].scrollIntoView({block: 'center'})", element)
    element.click()
    WebDriverWait(window, 30, ignored_exceptions=[WebDriverException]).until(
        lambda w: w.execute_script("return window.before !== 1 && document.readyState === 'complete'")
    )


def bores(shop):
    """What the open engine shows: bores beyond their limit, as they are typed on the page."""
    bore = parse(shop.open_job(CASE).engine.bore.high, unit="in").to("in")
    worn = {"top": (0.016, 0.012), "middle": (0.008, 0.006), "bottom": (0.001, 0.001)}
    return {
        f"bore_size.{cylinder}.{row}.{column}": f"{bore + more:.4f}"
        for cylinder in range(1, 5)
        for row, wear in worn.items()
        for column, more in enumerate(wear)
    }


@pytest.mark.parametrize(
    ("width", "height", "questions"),
    [(1440, 900, TALKED), (768, 1024, 4), (360, 740, 4)],
    ids=["desktop", "tablet", "phone"],
)
def test_a_whole_job_by_clicks_from_the_first_words_to_the_final_bill(
    folder_and_base, shop, tmp_path, width, height, questions
):
    folder, base = folder_and_base
    count = [0]

    def on_disk(name):
        count[0] += 1
        assert answered(folder, shop, name) >= count[0], "an answer was not on disk"

    with browser(width, height) as window:
        hand = Clicks(window, base)
        name, ended = whole_job(hand, questions, bores(shop), on_disk)
    assert ended or questions < MOST_QUESTIONS, "the interview did not end"
    check_closed(folder, shop, name)


def test_a_whole_job_by_the_keyboard_alone(folder_and_base, shop, tmp_path):
    folder, base = folder_and_base
    with browser() as window:
        name, _ = whole_job(Keyboard(window, base), 3, bores(shop))
    check_closed(folder, shop, name)


def check_closed(folder, shop, name):
    job = read_job(folder / f"{name}.yaml", shop.knowledge, shop.folders)
    assert job.values["compression_dry"][0] == 52 and job.job.waived and list(job.job.promises) == ["first"]
    assert len(job.job.approvals) == 2 and job.job.teardown and job.job.found.cost == "3240.50"


PAGES = (
    "/",
    "/new",
    "/engines",
    "/engine/tarn-30/check",
    "/prices",
    "/prices/import",
    "/prices/check",
    "/shop",
    "/record",
    "/devices",
    "/job/nobody",
    "/enter",
    "/pass/AAAAA",
    "/job/hill-farm",
    *(
        f"/job/hill-farm/{page}"
        for page in (
            "ask",
            "ask?question=compression_dry",
            "readings",
            "open",
            "answers",
            "why",
            "why/worn_rings",
            "papers",
            "quote?annex=yes",
            "letter",
            "order",
            "promises",
            "changes/first",
            "changes/first/paper",
            "waive",
            "place",
            "engine",
            "prices",
            "note",
            "history",
            "prove",
            "sheet/assembly",
            "sheet/proof",
            "sheet/blank",
            "close",
            "delete",
        )
    ),
)
"""Every page, those of a job that has a promise with a change since."""
NEW = ("/prices/check", "/job/hill-farm/papers", "/job/hill-farm/promises")
"""Pages with forms behind lines that open: looked at with every line open, and nothing scrolls sideways."""


def test_no_page_of_a_job_has_a_serious_accessibility_finding_in_light_or_dark(tmp_path, shop):
    folder = folder_with_case(tmp_path)
    copy_of_case(tmp_path).rename(folder / "hill-farm.yaml")
    passes = Passes(tmp_path / "state", folder)
    passes.make("Yard phone")
    page = Page(create_app(folder, shop))
    assert page.post("/job/hill-farm/promises", "/job/hill-farm/promises", {"promise": "first"}).status_code == 303
    opened_up(shop, folder / "hill-farm.yaml")
    assert page.post("/prices", "/prices", {"list.name": "Lane End", "list.currency": "USD"}).status_code == 303
    with_slips(folder / "prices.yaml")
    with served(create_app(folder, shop, token=TOKEN, passes=passes)) as base, browser(360, 720) as window:
        window.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        window.get(f"{base}/enter")
        window.find_element(By.ID, "token").send_keys(TOKEN)
        press(window, window.find_element(By.CSS_SELECTOR, "main button"))
        for path in PAGES:
            in_scheme(window, "light")
            window.get(base + path)
            if path in NEW:
                assert wider_than_window(window) == [], path  # which opens every line, too
            assert serious(window) == [], path
            if path not in some(PAGES, 3):
                continue
            in_scheme(window, "dark")
            assert serious(window) == [], f"{path} in the dark"


def test_without_script_a_dropped_line_loses_nothing_typed_into_any_form(folder_and_base, shop, tmp_path):
    """Without script: the line is down when the form is sent, Back shows what was typed, and sending it saves it."""
    folder, base = folder_and_base
    forms = {
        "/job/hill-farm/open": ("bore_size.1.top.0", "3,4375"),
        "/new": ("title", "Dropped line"),
        "/job/hill-farm/ask?question=oil_pressure_idle": ("oil_pressure_idle", "12,5"),
        "/job/hill-farm/close": ("hours", "12,25"),
    }
    with browser(360, 720) as window:

        def line(up):
            window.execute_cdp_cmd(
                "Network.emulateNetworkConditions",
                {"offline": not up, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1},
            )

        window.execute_cdp_cmd("Network.enable", {})
        window.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        for path, (field, typed) in forms.items():
            window.get(f"{base}/")
            window.get(base + path)
            window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
            if path == "/new":
                window.find_element(By.CSS_SELECTOR, "input[name=engine][value=tarn-30]").click()
            window.find_element(By.ID, field).send_keys(typed)
            line(False)
            window.execute_script(
                "arguments[0].click()", window.find_elements(By.CSS_SELECTOR, "form[method=post] button")[0]
            )
            WebDriverWait(window, 20, ignored_exceptions=[WebDriverException]).until(
                lambda w: not w.find_elements(By.CSS_SELECTOR, "form[method=post]")
            )
            line(True)
            window.back()
            WebDriverWait(window, 20, ignored_exceptions=[WebDriverException]).until(
                lambda w, field=field: w.find_elements(By.ID, field)
            )
            assert window.find_element(By.ID, field).get_attribute("value") == typed, path
            window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
            press(window, window.find_elements(By.CSS_SELECTOR, "form[method=post] button")[0])
    job = read_job(folder / "hill-farm.yaml", shop.knowledge, shop.folders)
    assert job.values["bore_size"][0][0][0] == 3.4375 and job.values["oil_pressure_idle"] == 12.5
    assert job.job.found.hours == 12.25 and (folder / "dropped-line.yaml").exists()


def test_nothing_scrolls_sideways_on_a_narrow_phone_and_numbers_bring_the_decimal_keypad(
    folder_and_base, shop, tmp_path
):
    _, base = folder_and_base
    with browser(360, 740) as window:
        questions = [f"/job/hill-farm/ask?question={name}" for name in list(shop.knowledge.observations)[::30]]
        for path in (
            "/",
            "/new",
            "/engines",
            "/prices",
            "/prices/import",
            "/shop",
            "/devices",
            "/job/hill-farm",
            "/job/hill-farm/ask?question=compression_dry",
            "/job/hill-farm/ask",
            "/job/hill-farm/readings",
            "/job/hill-farm/open",
            "/job/hill-farm/answers",
            "/job/hill-farm/promises",
            "/job/hill-farm/prove",
            "/job/hill-farm/history",
            "/job/hill-farm/close",
            "/job/hill-farm/delete",
            "/job/nobody",
            "/job/hill-farm/quote",
            *questions,
        ):
            window.get(base + path)
            assert wider_than_window(window) == [], path
        window.get(f"{base}/job/hill-farm/ask?question=bore_size")
        fields = window.find_elements(By.CSS_SELECTOR, "td input")
        assert len(fields) == 24 and {item.get_attribute("inputmode") for item in fields} == {"decimal"}


LONG = 2000
"""Points of the screen: the longest page of the working day on a phone, less than three windows."""
WARNED = ("/job/job-3", "/job/job-2/ask?question=compression_dry")
"""A danger stands before the answer; cautions that were not read yet before what is measured."""


def test_a_page_of_the_working_day_is_short_on_a_phone(tmp_path, shop):
    """Every page of a promised job that was opened up, and of the shop; of three other jobs where the day goes on."""
    folder = folder_of_a_day(tmp_path, shop)
    pages = pages_of_a_day(folder)
    mine = [path for path in pages if not path.startswith("/job/") or path.startswith("/job/job-0")]
    others = [path for path in pages if path not in mine]
    ways = ("", "/ask", "/ask?question=compression_dry", "/why/worn_rings", "/waive", "/prices", "/close")
    looked = [
        path for path in others if path.endswith(tuple(f"job-{number}{way}" for number in (1, 2, 3) for way in ways))
    ]
    assert set(WARNED) <= set(looked)
    with served(create_app(folder, shop)) as base, browser(360, 740) as window:
        found = heights(window, base, [*mine, *some(looked, 2)])
        found |= heights(window, base, WARNED)
    long = [f"{path}: {tall}" for path, tall in found.items() if tall > LONG]
    assert long == []


@pytest.mark.parametrize("size", SIZES)
def test_the_main_boxes_of_ten_pages_stand_where_they_were_kept(folder_and_base, tmp_path, size):
    """Kept by `python -m tests.boxes`. With other fonts lines break elsewhere: then widths alone are held."""
    kept, (_, base) = json.loads(KEPT.read_text(encoding="utf-8")), folder_and_base
    with browser(*SIZES[size]) as window:
        found, same = measured(window, base), fonts(window) == kept["fonts"]
    assert list(found) == list(kept[size])
    moved = [
        f"{page} {name} {figure}: {boxes[name].get(figure)}, kept {value}"
        for page, boxes in found.items()
        for name, box in kept[size][page].items()
        for figure, value in box.items()
        if (same or (figure == "w" and "button" not in name))
        and abs(boxes.get(name, {}).get(figure, -99) - value) > NEAR
    ]
    assert not moved, "\n".join(moved)


@pytest.fixture
def folder_and_base(tmp_path, shop):
    folder = folder_with_case(tmp_path)
    with served(create_app(folder, shop)) as base:
        yield folder, base
