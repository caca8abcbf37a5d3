"""The page in a real browser: clicks, keyboard alone, phone and desktop, accessibility. Chromium must be there."""

import pytest
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from howdeep.job.read import read_job
from howdeep.quantity import parse
from howdeep.web.app import create_app

from .by_hand import Clicks, Keyboard, whole_job
from .pages import CASE, browser, folder_with_case, serious, served

MOST_QUESTIONS = 60


def answered(folder, shop, name):
    job = read_job(folder / f"{name}.yaml", shop.knowledge, shop.folders)
    return len(job.values) + len(job.unknown)


def press(window, element):
    """Click, and wait for the page that follows."""
    window.execute_script("window.before = 1; arguments[0].scrollIntoView({block: 'center'})", element)
    element.click()
    WebDriverWait(window, 30, ignored_exceptions=[WebDriverException]).until(lambda w: w.execute_script(
        "return window.before !== 1 && document.readyState === 'complete'"))


def bores(shop):
    """What the open engine shows: bores beyond their limit, as they are typed on the page."""
    bore = parse(shop.open_job(CASE).engine.bore.high, unit="in").to("in")
    worn = {"top": (0.016, 0.012), "middle": (0.008, 0.006), "bottom": (0.001, 0.001)}
    return {f"bore_size.{cylinder}.{row}.{column}": f"{bore + more:.4f}"
            for cylinder in range(1, 5) for row, wear in worn.items() for column, more in enumerate(wear)}


@pytest.mark.parametrize(("width", "height", "questions"), [(1440, 900, MOST_QUESTIONS), (768, 1024, 4), (360, 740, 4)],
                         ids=["desktop", "tablet", "phone"])
def test_a_whole_job_by_clicks_from_the_first_words_to_the_final_bill(folder_and_base, shop, tmp_path, width, height,
                                                                      questions):
    folder, base = folder_and_base
    count = [0]

    def on_disk(name):
        count[0] += 1
        assert answered(folder, shop, name) >= count[0], "an answer was not on disk"

    with browser(tmp_path, width, height) as window:
        hand = Clicks(window, base)
        name, ended = whole_job(hand, questions, bores(shop), on_disk)
    assert ended or questions < MOST_QUESTIONS, "the interview did not end"
    check_closed(folder, shop, name)


def test_a_whole_job_by_the_keyboard_alone(folder_and_base, shop, tmp_path):
    folder, base = folder_and_base
    with browser(tmp_path) as window:
        name, _ = whole_job(Keyboard(window, base), 3, bores(shop))
    check_closed(folder, shop, name)


def check_closed(folder, shop, name):
    job = read_job(folder / f"{name}.yaml", shop.knowledge, shop.folders)
    assert job.values["compression_dry"][0] == 52 and job.job.waived and list(job.job.promises) == ["first"]
    assert len(job.job.approvals) == 2 and job.job.teardown and job.job.found.cost == "3240.50"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_has_a_serious_accessibility_finding(folder_and_base, tmp_path, scheme):
    _, base = folder_and_base
    with browser(tmp_path, 375, 720) as window:
        window.execute_cdp_cmd("Emulation.setEmulatedMedia", {
            "features": [{"name": "prefers-color-scheme", "value": scheme}]})
        for path in ("/", "/new", "/job/hill-farm", "/job/hill-farm/ask?question=compression_dry", "/job/hill-farm/ask",
                     "/job/hill-farm/readings", "/job/hill-farm/answers", "/job/hill-farm/why/worn_rings",
                     "/job/hill-farm/close", "/job/hill-farm/delete", "/job/nobody", "/job/hill-farm/quote"):
            window.get(base + path)
            assert serious(window) == [], path


def test_a_dropped_line_loses_nothing_typed_into_any_form(folder_and_base, shop, tmp_path):
    """The line is down when the form is sent: Back shows what was typed, and sending it then saves it."""
    folder, base = folder_and_base
    forms = {"/job/hill-farm/readings": ("bore_size.1.top.0", "3,4375"), "/new": ("title", "Dropped line"),
             "/job/hill-farm/ask?question=oil_pressure_idle": ("oil_pressure_idle", "12,5"),
             "/job/hill-farm/close": ("hours", "12,25")}
    with browser(tmp_path, 360, 720) as window:
        def line(up):
            window.execute_cdp_cmd("Network.emulateNetworkConditions", {
                "offline": not up, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1})

        window.execute_cdp_cmd("Network.enable", {})
        for path, (field, typed) in forms.items():
            window.get(f"{base}/")
            window.get(base + path)
            window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
            if path == "/new":
                window.find_element(By.CSS_SELECTOR, "input[name=engine][value=tarn-30]").click()
            window.find_element(By.ID, field).send_keys(typed)
            line(False)
            window.execute_script("arguments[0].click()",
                                  window.find_elements(By.CSS_SELECTOR, "form[method=post] button")[0])
            WebDriverWait(window, 20, ignored_exceptions=[WebDriverException]).until(
                lambda w: not w.find_elements(By.CSS_SELECTOR, "form[method=post]"))
            line(True)
            window.back()
            WebDriverWait(window, 20, ignored_exceptions=[WebDriverException]).until(
                lambda w, field=field: w.find_elements(By.ID, field))
            assert window.find_element(By.ID, field).get_attribute("value") == typed, path
            window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
            press(window, window.find_elements(By.CSS_SELECTOR, "form[method=post] button")[0])
    job = read_job(folder / "hill-farm.yaml", shop.knowledge, shop.folders)
    assert job.values["bore_size"][0][0][0] == 3.4375 and job.values["oil_pressure_idle"] == 12.5
    assert job.job.found.hours == 12.25 and (folder / "dropped-line.yaml").exists()


def test_nothing_scrolls_sideways_on_a_narrow_phone_and_numbers_bring_the_decimal_keypad(folder_and_base, tmp_path):
    _, base = folder_and_base
    with browser(tmp_path, 360, 740) as window:
        for path in ("/", "/new", "/job/hill-farm", "/job/hill-farm/ask?question=compression_dry", "/job/hill-farm/ask",
                     "/job/hill-farm/ask?question=bore_size", "/job/hill-farm/readings", "/job/hill-farm/answers",
                     "/job/hill-farm/close", "/job/hill-farm/delete", "/job/nobody", "/job/hill-farm/quote"):
            window.get(base + path)
            window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
            wide = window.execute_script(
                "return [...document.querySelectorAll('html, .wide')]"
                ".filter(item => item.scrollWidth > item.clientWidth + 1)"
                ".map(item => item.getAttribute('aria-label') || item.tagName)")
            assert wide == [], path
        window.get(f"{base}/job/hill-farm/ask?question=bore_size")
        fields = window.find_elements(By.CSS_SELECTOR, "td input")
        assert len(fields) == 24 and {item.get_attribute("inputmode") for item in fields} == {"decimal"}


@pytest.fixture
def folder_and_base(tmp_path, shop):
    folder = folder_with_case(tmp_path)
    with served(create_app(folder, shop)) as base:
        yield folder, base
