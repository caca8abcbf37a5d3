"""The page of readings as one person uses it on a phone: the caution before its own step, the conditions and what is
expected beside the reading, which test is next, and that it was saved; what the answer page prints."""

import re
import shutil
from html import unescape

import pytest

from howdeep.web.app import create_app

from .pages import browser, served, text
from .places import ROOT

READINGS = "/job/hill-farm/readings"


def fold_of(html, title):
    """One subject of the page."""
    start = html.index(f"<summary>{title} ")
    return unescape(html[start : html.index('<button name="saved"', start)])


def test_the_conditions_and_the_expected_figure_stand_with_the_reading_and_each_field_once(page, shop):
    html = text(page.get(READINGS))
    assert "<summary>Test conditions" not in html
    compression = fold_of(html, "Compression")
    field = compression.index('id="compression_dry.1"')
    for condition in ("test_engine_warm", "test_throttle_open", "test_gauge_known"):
        assert html.count(f'name="observation" value="{condition}"') == 1
        assert compression.index(f'value="{condition}"') < field, condition
    assert re.search(r"Expected here: \d+ to \d+ psi", compression[:field])
    assert "engine warm for the test (Warm" in fold_of(html, "Leakage")


def test_a_caution_stands_before_its_own_step_and_not_all_before_the_first(page, shop):
    html = fold_of(text(page.get(READINGS)), "Compression")
    cautions = [match.start() for match in re.finditer('class="caution"', html)]
    first = html.index('id="compression_strokes"')
    assert len(cautions) >= 4 and not [place for place in cautions if place < first]
    for caution in shop.knowledge.observations["compression_dry"].cautions:
        told = shop.knowledge.cautions[caution].title.lower()
        if told in html:
            assert html.index(told) < html.index('id="compression_dry.1"'), caution


def test_the_next_test_is_marked_and_what_was_saved_is_said(page, shop):
    html = text(page.get(READINGS))
    assert html.count('class="next"') == 1
    assert "next: air cleaner" in fold_of(html, "Fuel")
    done = page.post(READINGS, READINGS, {"observation": "battery_rest", "battery_rest": "12.4 V", "saved": "starting"})
    assert done.status_code == 303 and done.headers["Location"].endswith("?saved=starting#saved")
    after = text(page.get(done.headers["Location"].partition("#")[0]))
    assert after.count('role="status" id="saved">Saved.') == 1
    assert re.search(r"<details open><summary>Starting", after)
    assert "Saved." not in text(page.get(f"{READINGS}?saved=<b>"))


@pytest.fixture(scope="module")
def wide():
    with browser() as window:
        yield window


def test_the_answer_prints_what_is_open_and_no_controls(folder, shop, wide):
    with served(create_app(folder, shop)) as at:
        wide.get(f"{at}/job/hill-farm")
        wide.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        seen = wide.execute_script("return document.querySelector('main').innerText")
        wide.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    for control in ("Delete this job", "go on without it", "Make it", "Go on asking", "Change the engine"):
        assert control not in seen, control
    assert "Likely causes" in seen and "What speaks for and against each" not in seen
    assert "prices before tax" in seen


def test_the_column_to_write_in_is_the_widest_but_the_test(folder, shop, wide):
    with served(create_app(folder, shop)) as at:
        wide.get(f"{at}/job/hill-farm/sheet/proof")
        wide.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        wide.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": 726, "height": 1000, "deviceScaleFactor": 1, "mobile": False},
        )
        widths = wide.execute_script(
            "return [...document.querySelectorAll('.proof thead th')].map(cell => cell.getBoundingClientRect().width)"
        )
        wide.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
        wide.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    _, number, before, after = widths
    assert after > before > number and after > 40 * 96 / 25.4 and number < 12 * 96 / 25.4


def test_the_help_of_an_engine_form_stands_below_its_box(tmp_path, shop, wide):
    sheets = tmp_path / "engines"
    sheets.mkdir()
    shutil.copy(ROOT / "rules" / "engines" / "brockwell-4.yaml", sheets / "own-4.yaml")
    with served(create_app(tmp_path, shop)) as at:
        wide.get(f"{at}/engine/own-4")
        wide.execute_script("document.querySelectorAll('details').forEach(fold => fold.open = true)")
        beside = wide.execute_script(
            "return [...document.querySelectorAll('[id$=\".for\"]')].filter(help => {"
            " const box = document.getElementById(help.id.slice(0, -4));"
            " return help.getBoundingClientRect().top < box.getBoundingClientRect().bottom }).length"
        )
        assert wide.execute_script("return document.querySelectorAll('[id$=\".for\"]').length") > 20 and beside == 0
