"""The page in a real browser: clicks, keyboard alone, phone and desktop, accessibility. Chromium must be there."""

import pytest
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from howdeep.job.read import read_job
from howdeep.web.app import create_app

from .pages import browser, folder_with_case, serious, served

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


def new_job(window, base):
    window.get(f"{base}/new")
    window.find_element(By.ID, "words").send_keys("It is hard to start when cold and has no power")
    window.find_element(By.CSS_SELECTOR, "input[name=engine][value=tarn-30]").click()
    press(window, window.find_element(By.CSS_SELECTOR, "main form button"))
    return window.current_url.split("/job/")[1].split("/")[0]


@pytest.mark.parametrize(("width", "height"), [(375, 720), (1280, 900)], ids=["phone", "desktop"])
def test_a_full_interview_by_clicks_ends_by_itself(folder_and_base, shop, tmp_path, width, height):
    folder, base = folder_and_base
    with browser(tmp_path, width, height) as window:
        name = new_job(window, base)
        asked = 0
        while "That is the customer's part" not in window.page_source:
            assert asked < MOST_QUESTIONS, "the interview did not end"
            choices = window.find_elements(By.CSS_SELECTOR, "fieldset.choices input[type=radio]")
            before = answered(folder, shop, name)
            if choices:
                window.execute_script("arguments[0].scrollIntoView({block: 'center'})", choices[0])
                choices[0].click()
                press(window, window.find_element(By.CSS_SELECTOR, "form .buttons button:first-child"))
            else:
                press(window, window.find_element(By.CSS_SELECTOR, "button[name=how][value=unknown]"))
            asked += 1
            assert answered(folder, shop, name) == before + 1, "an answer was not on disk"
            assert "SO FAR" in window.find_element(By.CSS_SELECTOR, ".verdict").text.upper()
        assert asked >= 5
        wide = window.execute_script("return document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 1, "the page scrolls sideways"


def test_an_interview_by_keyboard_alone(folder_and_base, shop, tmp_path):
    folder, base = folder_and_base
    with browser(tmp_path) as window:
        name = new_job(window, base)
        for _ in range(4):
            before = answered(folder, shop, name)
            for _ in range(60):
                window.switch_to.active_element.send_keys(Keys.TAB)
                here = window.switch_to.active_element
                if here.get_attribute("type") == "radio" or here.get_attribute("name") == "how":
                    break
            if window.switch_to.active_element.get_attribute("type") == "radio":
                window.switch_to.active_element.send_keys(Keys.SPACE)
                old = window.current_url
                window.switch_to.active_element.send_keys(Keys.ENTER)
            else:
                old = window.current_url
                window.switch_to.active_element.send_keys(Keys.ENTER)
            WebDriverWait(window, 20).until(lambda w, old=old: w.current_url != old)
            assert answered(folder, shop, name) == before + 1


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
