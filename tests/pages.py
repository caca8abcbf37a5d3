"""Helpers for the tests of the page: a folder of jobs, a client that sends its forms whole, a server, a browser."""

import atexit
import contextlib
import functools
import re
import shutil
import tempfile
import threading
from html import unescape

from .places import ROOT

CASE = ROOT / "cases" / "smoke_and_low_compression_with_dry_seals_stays_in_the_frame.yaml"
HOST = {"Host": "localhost"}


def text(response):
    return response.get_data(as_text=True)


def hidden(html, name):
    found = re.search(rf'name="{name}" value="([^"]*)"', html)
    return found.group(1) if found else ""


OWN_SCRIPT = '<script src="/static/kept.js" defer></script>'


def strange_script(html):
    """Whether a page holds any script but its own, which keeps what is typed."""
    return "<script" in html.replace(OWN_SCRIPT, "", 1)


def shown(html):
    """The hidden fields that say what a form was filled in from."""
    return {name: unescape(value) for name, value in re.findall(r'name="(was\.[^"]*)" value="([^"]*)"', html)}


class Page:
    """A test client that fills in the hidden fields of the form it answers, as a browser would."""

    def __init__(self, app):
        self.client = app.test_client()

    def get(self, path, **options):
        return self.client.get(path, headers={**HOST, **options.pop("headers", {})}, **options)

    def post(self, path, form_at, fields, headers=(), **changes):
        html = self.get(form_at).get_data(as_text=True)
        data = {"form_token": hidden(html, "form_token"), **shown(html), **fields, **changes}
        return self.client.post(path, data=data, headers={**HOST, **dict(headers)})


def folder_with_case(tmp_path, name="hill-farm"):
    folder = tmp_path / "jobs"
    folder.mkdir()
    shutil.copy(CASE, folder / f"{name}.yaml")
    return folder


@contextlib.contextmanager
def served(app):
    """The app behind its production server on a free port of the loopback address."""
    from waitress.server import create_server

    server = create_server(app, host="127.0.0.1", port=0, threads=8, ident=None, asyncore_loop_timeout=0.2)

    def run():
        with contextlib.suppress(OSError):  # a line that is closed at the end may just be waited for
            server.run()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        server.close()
        # a browser keeps its lines open: the loop ends when the last of them is closed
        for line in list(server._map.values()):
            line.close()
        thread.join(5)
        assert not thread.is_alive()


@contextlib.contextmanager
def browser(width=1280, height=900):
    """A tab of headless Chromium that knows nothing of the tabs before it; a missing Chromium fails the test."""
    window = _chromium()
    window.switch_to.window(window.window_handles[0])
    window.execute_cdp_cmd("Network.clearBrowserCookies", {})
    window.set_window_size(width, height)
    window.switch_to.new_window("tab")
    try:
        if width < 500:
            window.execute_cdp_cmd(
                "Emulation.setDeviceMetricsOverride",
                {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": True},
            )
        yield window
    finally:
        for tab in window.window_handles[1:]:
            window.switch_to.window(tab)
            window.close()


@functools.cache
def _chromium():
    """The browser of this process, which takes a second or two to start."""
    profile = tempfile.mkdtemp(prefix="howdeep-browser-")
    window = new_chromium(profile)
    atexit.register(shutil.rmtree, profile, ignore_errors=True)
    atexit.register(window.quit)
    return window


def new_chromium(profile):
    """A headless Chromium that keeps what it keeps in the folder `profile`."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    assert chromium and driver, "chromium and chromedriver are needed (Debian: chromium, chromium-driver)"
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for word in (
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--disable-dev-shm-usage",
        "--force-device-scale-factor=1",
        f"--user-data-dir={profile}",
    ):
        options.add_argument(word)
    return webdriver.Chrome(options=options, service=Service(driver))


def wider_than_window(window):
    """What of the page that is open scrolls sideways, with every line opened; tables may, in their own frame."""
    return window.execute_script(
        "document.querySelectorAll('details').forEach(item => item.open = true);"
        "return [...document.querySelectorAll('html, .wide')]"
        ".filter(item => item.scrollWidth > item.clientWidth + 1)"
        ".map(item => item.getAttribute('aria-label') || item.tagName)"
    )


def heights(window, base, paths):
    """Path -> how many points of the screen the page has from top to bottom, lines that open shut as they come."""
    found = {}
    for path in paths:
        window.get(base + path)
        found[path] = window.execute_script("return document.documentElement.scrollHeight")
    return found


def in_scheme(window, scheme):
    """The page as a device in a light or a dark scheme shows it."""
    window.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    )


def serious(window):
    """Serious and critical findings of the accessibility checker on the page that is open."""
    from axe_selenium_python import Axe

    if not window.execute_script("return typeof axe !== 'undefined'"):
        window.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        Axe(window).inject()
    found = Axe(window).run()["violations"]
    return [
        f"{item['id']}: {item['help']} ({item['nodes'][0]['html'][:120]})"
        for item in found
        if item["impact"] in ("serious", "critical")
    ]


def paper(shop, answer, quote, *, annex=True, shop_copy=False, date="", units="", asked=False):
    """The estimate of a quote as a page, by default with its annex."""
    from howdeep.quote.estimate import estimate_of
    from howdeep.show.annex import annex_of
    from howdeep.show.estimate_page import estimate_page
    from howdeep.show.price_notes import price_notes

    estimate = estimate_of(
        shop.knowledge, answer, quote, shop.prices, shop.settings, date=date, units=units, asked=asked
    )
    behind = annex_of(quote, shop.knowledge, answer, estimate, shop_copy=shop_copy, date=date, units=units)
    return estimate_page(
        estimate, shop=shop.prices.shop, annex=behind if annex else None, units=units, notes=price_notes(quote, date)
    )
