"""What is typed is kept in the browser until the server said that it is saved: reloads, dropped lines, dead servers."""

import shutil
import time
from pathlib import Path

import pytest
from PIL import Image
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import Select, WebDriverWait

from howdeep.files.strict_yaml import read
from howdeep.job import write
from howdeep.job.read import read_job
from howdeep.web.app import create_app
from howdeep.web.passes import Passes

from .over_http import Server
from .pages import CASE, browser, folder_with_case, served

JOB = "/job/hill-farm"
NOTE, IDLE = f"{JOB}/note", f"{JOB}/ask?question=oil_pressure_idle"
LEAK, DRY, DAMP = f"{JOB}/ask?question=leak_rear", "input[value=dry]", "input[value=damp]"
SAVE = "form[method=post]:not(.offer) .buttons button"
FORMS = {
    IDLE: {"oil_pressure_idle": "12,5"},
    f"{JOB}/readings": {"leakage.1": "18", "battery_rest": "12,4 V"},
    f"{JOB}/open": {"deck_flatness_along": "0,003"},
    NOTE: {"text": "The pan was wet", "words": "pan"},
    f"{JOB}/close": {"hours": "12,25", "note": "as said"},
    f"{JOB}/waive": {"by": "A. Customer"},
    f"{JOB}/place": {"air_temperature": "71 degF"},
    "/new": {"words": "It knocks", "name": "B. Customer"},
    "/shop": {"guarantee": "a year"},
}
"""Page -> field -> what is typed there."""
_KEPT = """
const done = arguments[0], asked = indexedDB.open('howdeep', 1);
asked.onupgradeneeded = () => asked.result.createObjectStore('typed', {keyPath: 'at'});
asked.onsuccess = () => {
  const all = asked.result.transaction('typed').objectStore('typed').getAll();
  all.onsuccess = () => { asked.result.close(); done(all.result); };
};"""


def kept(window):
    """Address of a form -> what the browser keeps of it."""
    return {one["at"]: one["fields"] for one in window.execute_async_script(_KEPT)}


def until(window, wanted, seconds=20):
    return WebDriverWait(window, seconds, 0.05, ignored_exceptions=[Exception]).until(lambda _: wanted())


def one(window, selector):
    return window.find_element(By.CSS_SELECTOR, selector)


def press(window, selector):
    element = one(window, selector)
    window.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
    element.click()


def value(window, field):
    return window.find_element(By.ID, field).get_attribute("value")


def type_into(window, fields):
    """Type, and wait until it is kept."""
    window.execute_script("document.querySelectorAll('details').forEach(item => item.open = true)")
    for field, text in fields.items():
        window.find_element(By.ID, field).clear()
        window.find_element(By.ID, field).send_keys(text)
    names = {field: window.find_element(By.ID, field).get_attribute("name") for field in fields}
    until(
        window,
        lambda: any(
            all(record.get(names[field], {}).get("value") == text for field, text in fields.items())
            for record in kept(window).values()
        ),
    )


def line(window, up):
    window.execute_cdp_cmd("Network.enable", {})
    window.execute_cdp_cmd(
        "Network.emulateNetworkConditions",
        {"offline": not up, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1},
    )


def notes(folder):
    return [note["text"] for note in read(folder / "hill-farm.yaml").value.get("notes") or ()]


@pytest.fixture(scope="module")
def server(tmp_path_factory, shop):
    """(folder, address) of one server for all tests."""
    folder = folder_with_case(tmp_path_factory.mktemp("kept"))
    with served(create_app(folder, shop)) as base:
        yield folder, base


@pytest.fixture
def base(server):
    return server[1]


@pytest.fixture
def folder(server):
    """Its folder with one job, as it came."""
    folder = server[0]
    for file in folder.iterdir():
        if file.is_file():
            file.unlink()
    shutil.copy(CASE, folder / "hill-farm.yaml")
    return folder


@pytest.fixture
def window(server):
    with browser(360, 740) as window:
        window.execute_cdp_cmd("Storage.clearDataForOrigin", {"origin": server[1], "storageTypes": "indexeddb"})
        yield window


def test_what_was_typed_and_not_saved_is_there_when_the_page_is_opened_again(base, folder, window):
    before = (folder / "hill-farm.yaml").read_bytes()
    for path, fields in FORMS.items():
        window.get(base + path)
        type_into(window, fields)
    window.get(f"{base}{NOTE}")
    until(window, lambda: one(window, ".put-back"))
    Select(one(window, "#of")).select_by_index(2)
    chosen = value(window, "of")
    window.get(base + LEAK)
    assert one(window, DRY).is_selected()
    press(window, DAMP)
    for path, fields in FORMS.items():
        window.get(base + path)
        told = until(window, lambda: one(window, ".put-back").text)
        assert told.startswith("Not yet saved: put back what you typed at "), path
        for field, text in fields.items():
            assert value(window, field) == text and window.find_element(By.ID, field).is_displayed(), path
        if path == NOTE:
            assert value(window, "of") == chosen
    window.get(base + LEAK)
    until(window, lambda: one(window, ".put-back"))
    assert one(window, DAMP).is_selected() and not one(window, DRY).is_selected()
    window.get(base)
    assert len(until(window, lambda: window.find_elements(By.CSS_SELECTOR, "#typed li"))) == len(FORMS) + 1
    one(window, f"#typed a[href='{IDLE}']").click()
    until(window, lambda: one(window, ".put-back"))
    press(window, ".put-back button")
    until(window, lambda: IDLE not in kept(window))
    assert value(window, "oil_pressure_idle") == ""
    window.refresh()
    time.sleep(0.2)
    assert value(window, "oil_pressure_idle") == "" and not window.find_elements(By.CSS_SELECTOR, ".put-back")
    assert (folder / "hill-farm.yaml").read_bytes() == before


def test_a_photograph_that_was_chosen_is_kept_too(base, folder, window, tmp_path):
    """A telephone may end the browser while its camera is open; what the page's camera took stands nowhere else."""
    Image.new("RGB", (60, 40), "grey").save(tmp_path / "bore.jpg")
    window.get(base + NOTE)
    one(window, "#photo").send_keys(str(tmp_path / "bore.jpg"))
    type_into(window, {"words": "bore 3"})
    window.get(base)
    window.get(base + NOTE)
    until(window, lambda: window.execute_script("return document.getElementById('photo').files[0].name") == "bore.jpg")
    press(window, SAVE)
    until(window, lambda: one(window, ".photos img").get_attribute("alt") == "bore 3" and not kept(window))
    assert len(read(folder / "hill-farm.yaml").value["photos"]) == 1


def test_an_older_draft_is_never_put_over_a_newer_saved_value_without_showing_both(base, folder, window, shop):
    path = folder / "hill-farm.yaml"
    window.get(base + IDLE)
    type_into(window, {"oil_pressure_idle": "12"})
    write.save(path, read(path).digest, write.with_answer(shop.knowledge, "oil_pressure_idle", "20 psi"))
    window.get(base + IDLE)
    both = until(window, lambda: one(window, "form .clash"))
    assert "Saved since: 20 psi; you had typed 12 at " in both.text and value(window, "oil_pressure_idle") == "20 psi"
    press(window, "form .clash button")
    assert value(window, "oil_pressure_idle") == "12"
    press(window, SAVE)
    until(window, lambda: "last=oil_pressure_idle" in window.current_url)
    assert read(path).value["readings"]["oil_pressure_idle"] == "12 psi" and kept(window) == {}


def test_a_form_sent_over_a_dropped_line_stays_and_is_sent_again_when_the_line_is_back(base, folder, window):
    window.get(base + NOTE)
    type_into(window, {"text": "said on the phone"})
    line(window, up=False)
    press(window, SAVE)
    told = until(window, lambda: one(window, ".unsent").text)
    assert told.startswith("Not saved: the page cannot be reached.") and value(window, "text") == "said on the phone"
    assert notes(folder) == []
    line(window, up=True)
    until(
        window,
        lambda: notes(folder) and "said on the phone" in one(window, "main").text and value(window, "text") == "",
    )
    assert notes(folder) == ["said on the phone"] and kept(window) == {}


def test_what_cannot_be_saved_comes_back_in_its_field_and_is_kept_until_it_is_mended(base, folder, window, shop):
    window.get(base + IDLE)
    type_into(window, {"oil_pressure_idle": "12x"})
    press(window, SAVE)
    until(window, lambda: "is not a unit" in one(window, ".faults").text)
    assert value(window, "oil_pressure_idle") == "12x" and IDLE in kept(window)
    assert window.execute_script("return document.activeElement.className") == "faults"
    window.refresh()
    until(window, lambda: value(window, "oil_pressure_idle") == "12x" and one(window, ".put-back"))
    one(window, "#oil_pressure_idle").clear()
    type_into(window, {"oil_pressure_idle": "12"})
    press(window, SAVE)
    until(window, lambda: "last=oil_pressure_idle" in window.current_url)
    assert kept(window) == {}
    job = read_job(folder / "hill-farm.yaml", shop.knowledge, shop.folders)
    assert job.values["oil_pressure_idle"] == 12


def test_a_server_that_dies_while_a_form_is_sent_loses_nothing_and_saves_it_once(folder, window, tmp_path):
    """Killed before the press, and at moments after it: started again, it has each note once and in its order."""
    with Server(folder, tmp_path / "state") as server:
        base, port, typed = f"http://127.0.0.1:{server.port}", server.port, []
        for number, moment in enumerate((None, 0.02, 0.1)):
            window.get(base + NOTE)
            typed.append(f"note {number}")
            type_into(window, {"text": typed[-1]})
            if moment is None:
                server.kill()
            press(window, SAVE)
            if moment is not None:
                time.sleep(moment)
                server.kill()
            if number == 1:  # the browser's page is gone meanwhile, too
                window.get("about:blank")
            server = Server(folder, tmp_path / "state", port=port)
            server.listening()
            if number == 1:
                window.get(base + NOTE)
                until(window, lambda: not kept(window) or one(window, ".put-back"))
                if kept(window):
                    assert value(window, "text") == "note 1"
                    press(window, SAVE)
            if not window.find_elements(By.TAG_NAME, "main"):  # it was saved and said so, and died then
                window.get(base + NOTE)
            until(window, lambda number=number: f": note {number}" in one(window, "main").text and not kept(window), 60)
            assert notes(folder) == typed
        server.__exit__()


def test_no_token_is_kept_and_a_device_whose_pass_is_revoked_forgets_what_was_typed(folder, window, shop, tmp_path):
    passes = Passes(tmp_path / "state", folder)
    key = passes.make("Yard phone")
    app = create_app(folder, shop, token="a long enough token", passes=passes)
    with served(app) as base:
        window.get(f"{base}/enter")
        one(window, "#token").send_keys("some")
        assert kept(window) == {}
        one(window, "#token").send_keys("\b" * 4 + key)
        one(window, "main button").click()
        until(window, lambda: one(window, "#search"))
        window.get(base + NOTE)
        type_into(window, {"text": "between us"})
        passes.revoke("Yard phone")
        press(window, SAVE)
        until(window, lambda: "let in again" in one(window, ".unsent").text)
        until(window, lambda: kept(window) == {})
        assert one(window, ".unsent a").get_attribute("href").endswith("/enter")
        assert value(window, "text") == "between us", "what stands on the screen stays there"
    assert notes(folder) == []


def test_a_job_that_is_deleted_takes_along_what_was_typed_for_it(base, folder, window):
    window.get(f"{base}/new")
    type_into(window, {"words": "It knocks"})
    window.get(base + NOTE)
    type_into(window, {"text": "between us"})
    window.get(f"{base}{JOB}/delete")
    time.sleep(0.1)
    one(window, "main button").click()
    until(window, lambda: one(window, "#typed li"))
    assert list(kept(window)) == ["/new"] and not Path(folder / "hill-farm.yaml").exists()
