"""Draws the pictures of the page in the docs from a real job: python docs/make_page_pictures.py

Needs Debian's chromium and chromium-driver and the test extras. Engine, customer and prices are invented.
"""

from __future__ import annotations

import base64
import os
import shutil
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from howdeep.assessment.session import open_shop  # noqa: E402
from howdeep.web.app import create_app  # noqa: E402
from tests.pages import browser, served  # noqa: E402

FOLDER = ROOT / "docs" / "pictures"
CASE = ROOT / "cases" / "smoke_and_low_compression_with_dry_seals_stays_in_the_frame.yaml"
PICTURES = (
    ("page-answer", "/job/hill-farm", 1180, 1000),
    ("page-question", "/job/hill-farm/ask?question=leak_rear", 390, 760),
)
"""(file, address, width and height of the window)."""


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HOWDEEP_STATE"] = folder
        jobs = Path(folder) / "jobs"
        jobs.mkdir()
        shutil.copy(CASE, jobs / "hill-farm.yaml")
        shop = open_shop(example_prices=True)
        with served(create_app(jobs, shop)) as base:
            for name, address, width, height in PICTURES:
                with browser(width, height) as window:
                    window.get(base + address)
                    shot = window.execute_cdp_cmd(
                        "Page.captureScreenshot",
                        {
                            "format": "png",
                            "captureBeyondViewport": True,
                            "clip": {"x": 0, "y": 0, "width": width, "height": height, "scale": 1},
                        },
                    )
                path = FOLDER / f"{name}.png"
                path.write_bytes(base64.b64decode(shot["data"]))
                print(f"drawn: {path.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
