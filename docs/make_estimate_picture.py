"""Draws docs/pictures/estimate.png, the estimate of a worked case on Letter: python docs/make_estimate_picture.py

Needs the test extras and Chromium. Customer, shop and prices are invented.
"""

from __future__ import annotations

import base64
import io
import shutil
import tempfile
from pathlib import Path

from PIL import Image
from selenium import webdriver
from selenium.webdriver.chrome.service import Service

from howdeep.assessment.session import open_shop
from howdeep.knowledge.where import shipped_cases
from howdeep.model.shop import ShopSettings
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.show.estimate_page import estimate_page
from howdeep.show.price_notes import price_notes

PICTURE = Path(__file__).with_name("pictures") / "estimate.png"
CASE = "a_boiled_head_that_bowed_lets_two_neighbours_blow_into_each_other.yaml"
DATE = "2026-11-29"
SETTINGS = ShopSettings(
    guarantee="One year on our work and the parts we fitted, with oil changed as the sheet says.",
    terms="The deposit when we begin, the rest when you fetch it. We store it free of charge for two weeks.",
    signs="A. Smith",
)
PAPER = 8.5 * 96, 11 * 96
MARGIN = 53, 42
"""Dots left and above, as the page prints."""


def page() -> str:
    """The page of the picture."""
    shop = open_shop(example_prices=True)
    answer = shop.assess(shop.open_job(shipped_cases() / CASE), flips=False)
    quote = build_quote(shop.knowledge, answer, shop.prices)
    estimate = estimate_of(shop.knowledge, answer, quote, shop.prices, SETTINGS, number="2026-014", date=DATE)
    return estimate_page(estimate, shop=shop.prices.shop, notes=price_notes(quote, DATE))


def picture(text: str) -> Image.Image:
    """The page on white paper, as Chromium lays it out for print."""
    width, height = (round(side - 2 * margin) for side, margin in zip(PAPER, MARGIN, strict=True))
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if not chromium or not driver:
        raise SystemExit("chromium and chromedriver are needed (Debian: chromium, chromium-driver)")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    with tempfile.TemporaryDirectory() as folder:
        for word in (
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-dev-shm-usage",
            f"--user-data-dir={folder}/profile",
        ):
            options.add_argument(word)
        path = Path(folder) / "page.html"
        path.write_text(text, encoding="utf-8")
        window = webdriver.Chrome(options=options, service=Service(driver))
        try:
            window.get(path.as_uri())
            window.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
            window.execute_cdp_cmd(
                "Emulation.setDeviceMetricsOverride",
                {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False},
            )
            shot = window.execute_cdp_cmd(
                "Page.captureScreenshot",
                {"format": "png", "clip": {"x": 0, "y": 0, "width": width, "height": height, "scale": 1}},
            )
        finally:
            window.quit()
    paper = Image.new("L", (round(PAPER[0]), round(PAPER[1])), "white")
    paper.paste(Image.open(io.BytesIO(base64.b64decode(shot["data"]))).convert("L"), MARGIN)
    return paper


if __name__ == "__main__":
    PICTURE.parent.mkdir(exist_ok=True)
    picture(page()).quantize(8).save(PICTURE, optimize=True)
    print(f"Written: {PICTURE}")
